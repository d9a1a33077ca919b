"""The case on the desk at its edges, by small cases: changes, items, readings. Kind of all: behaviour laid down."""

from types import SimpleNamespace

import pytest
from desk_cases import SMALL

from lostneutral.desk import case as desk_case
from lostneutral.desk import everyday, items
from lostneutral.desk.case import DeskCase
from lostneutral.desk.document import Document, value_text
from lostneutral.desk.everyday import Choice
from lostneutral.desk.items import Written, add_item
from lostneutral.desk.readings import LOADS_OFF, Reading, add_reading


def small():
    case = DeskCase(SMALL)
    return case, case.entries("load")[0].uid


# Text in blocks

def test_values_are_written_as_toml():
    assert [value_text(x) for x in (2.0, 2.5, 1e15, True, "a", [1.0, 2.5], {"a": 1.0, "b": [2.0]}, (1, "x"))] == [
        "2", "2.5", "1000000000000000.0", "true", '"a"', "[1, 2.5]", "{a = 1, b = [2]}", '[1, "x"]']


def test_a_table_inside_comes_with_its_first_value_and_goes_with_its_last():
    document = Document.read(SMALL)
    uid = document.of("point")[0].uid
    made = document.changed(uid, ("cable", "length"), 4.0)
    assert made.of("point")[0].data == {"name": "intake", "cable": {"length": 4}}
    assert made.changed(uid, ("cable", "length"), None).of("point")[0].data == {"name": "intake"}
    assert document.changed(uid, ("cable", "length"), None) is document is document.changed(uid, ("none",), None)
    assert document.changed(uid, ("name",), "intake") is document and document.changed(999999, ("name",), "x") is document
    assert document.removed(999999) is document and document.removed(document.head.uid) is document
    one = Document.read("title = 'x'\n[[load]]\non = true\n")
    assert "on = 1" in one.changed(one.of("load")[0].uid, ("on",), 1.0).text  # yes is not one


def test_a_new_key_goes_behind_the_last_and_a_changed_one_keeps_its_comment():
    document = Document.read('[[load]]\nname = "a"  # first\nkind = "lamp"\n\n# of the next\n[[load]]\nname = "b"\n')
    uid = document.of("load")[0].uid
    assert document.changed(uid, ("power",), 60.0).text == '[[load]]\nname = "a"  # first\nkind = "lamp"\npower = 60\n\n# of the next\n[[load]]\nname = "b"\n'
    assert document.changed(uid, ("name",), "c").text.startswith('[[load]]\nname = "c"  # first\n')
    bare = Document.read("[supply]\n")
    assert bare.changed(bare.of("supply")[0].uid, ("earthing",), "TT").text == '[supply]\nearthing = "TT"\n'


def test_a_place_in_the_file_is_that_of_its_block():
    document = Document.read(SMALL + "\n[[load]]\nname = \"Urn\"\n")
    second = document.of("load")[1]
    assert document.at(("load", 1, "power")) == (second, ("power",)) and document.at(("load", 2, "power")) == (None, ("load", 2, "power"))
    assert document.at(("supply", "earthing")) == (document.of("supply")[0], ("earthing",)) and document.at(("title",)) == (document.head, ("title",))
    assert document.at(()) == (document.head, ())


# Changes and undo

def test_undo_and_redo_say_whether_there_is_a_step():
    case, uid = small()
    seen = []
    case.listeners.append(lambda: seen.append(case.revision))
    assert not case.can_undo and not case.can_redo and case.undo() is False and case.redo() is False and seen == []
    items.set_text(case, uid, "power", "61")
    items.set_text(case, uid, "power", "60")
    assert case.data["load"][0]["power"] == 60 and case.can_undo and seen == [2, 3]
    assert case.undo() is True and case.can_redo and case.redo() is True and not case.can_redo and seen == [2, 3, 4, 5]
    case.undo()
    case.put(None, ("title",), "Other")
    assert not case.can_redo  # what was taken back is gone once something else is changed
    case.put(None, ("title",), "Other")
    assert seen[-1] == case.revision == 7


def test_changes_of_one_field_are_one_step_for_a_second_and_a_half(monkeypatch):
    case, uid = small()
    now = [100.0]
    monkeypatch.setattr(desk_case.time, "monotonic", lambda: now[0])
    for text, at in (("61", 100.0), ("62", 101.4), ("63", 103.0)):  # 1.6 s later
        now[0] = at
        items.set_text(case, uid, "power", text)
    assert case.undo() and case.entry(uid)["power"] == 62 and case.undo() and case.entry(uid)["power"] == 60 and not case.can_undo


def test_only_so_many_steps_are_kept(monkeypatch):
    monkeypatch.setattr(desk_case, "MOST_STEPS", 3)
    case, _ = small()
    for n in range(5):
        case.add("load", {"name": str(n)})
    assert [case.undo() for _ in range(4)] == [True, True, True, False] and len(case.entries("load")) == 3
    with case.one_step():
        case.put(None, ("title",), "a"), case.put(None, ("description",), "b")
    assert case.undo() and case.entry(None) == {"title": "Small"}
    with case.one_step():
        pass
    assert case.can_redo  # nothing was changed


def test_tables_that_there_are_once():
    case, _ = small()
    case.put_single("document", ("reference",), None)
    assert case.single("document") is None and not case.can_undo
    case.put_single("document", ("reference",), "A 1"), case.put_single("supply", ("earthing",), "TN-S")
    assert case.single("document").data == {"reference": "A 1"} and case.single("supply").data == {"earthing": "TN-S"}
    assert case.entry(999999) == {}
    case.remove(case.single("document").uid)
    assert case.single("document") is None
    with pytest.raises(ValueError):
        case.replace("title = ")
    case.replace('title = "New"\n')
    assert case.data == {"title": "New"} and case.undo() and case.data["title"] == "Small"


def test_faults_stand_at_their_place():
    case, uid = small()
    case.put(None, ("titel",), "x"), case.put(None, ("title",), None), case.put(uid, ("power",), -1.0)
    checked = case.check()
    assert checked.case is None and checked.revision == case.revision and checked.text == case.text and case.check() is checked
    assert checked.of(uid, "power") and not checked.of(uid, "name") and checked.of(None, "titel")
    (title,) = [f for f in checked.faults if f.path == ("title",)]
    assert (title.uid, title.root) == (None, "title")
    assert desk_case._words_alone("a/case.toml:3:14: what is wrong: 1:2") == "what is wrong: 1:2"
    case.put(uid, ("power",), 60.0)
    assert case.check() is not checked


# What an item is

def test_words_find_choices_in_the_order_of_their_likeness(monkeypatch):
    made = tuple(Choice(name, "lamp", words=words) for name, words in (
        ("table lamp", ()), ("lamp", ("light",)), ("lampshade", ()), ("stand lamp of old", ("bulb",)), ("old damp press", ()), ("lanp", ()), ("kettle", ())))
    monkeypatch.setattr(everyday, "choices", lambda: made)
    # the word itself; what begins with it, the shorter first; as early as it stands; nearly the same letters
    assert [c.name for c in everyday.find("lamp")] == ["lamp", "lampshade", "table lamp", "stand lamp of old"]
    assert [c.name for c in everyday.find("Lamp", 2)] == ["lamp", "lampshade"] and everyday.find(" ") == () == everyday.find("zzzz")
    assert [c.name for c in everyday.find("old stand")] == ["stand lamp of old"]
    assert [c.name for c in everyday.find("kettel")] == ["kettle"] and everyday.find("kettel"[:3])[0].name == "kettle"
    # equal likeness: in the order of the choices
    assert [c.name for c in everyday.find("old")] == ["old damp press", "stand lamp of old"]


def test_the_best_likeness_leads(monkeypatch):
    score = lambda wanted, name, *words: everyday._score(wanted, Choice(name, "lamp", words=words))
    assert score("lamp", "lamp") == 3.0 == score("lamp", "other", "lamp") and score("lamp", "kettle") == 0.0
    # two, and the share of the word that is typed: 4 of 9 letters and one
    assert score("lamp", "lampshade") == pytest.approx(2.4) and score("lamp", "table lamp") == pytest.approx(2 + 4 / 11)
    assert score("shade lam", "lamp shade") == 1.5 and score("kettel", "kettle") == 1.0 and score("ket", "kte") == 0.0


def test_everyday_names_of_what_the_file_says():
    assert everyday.name_of("appliance", "kettle") == "kettle" and everyday.name_of("appliance", None) == "" and everyday.name_of(None, None) == ""
    assert everyday.name_of("no_kind", None) == "no_kind"
    assert Choice("x", "heater", "kettle").keys == {"kind": "appliance", "model": "kettle"} and Choice("x", "heater").keys == {"kind": "heater"}
    entry = SimpleNamespace(operation="boiling", parameters={"power": 2000.0}, power_range=(1800.0, 3000.0))
    assert everyday._usual(entry) == "boiling: 2000 W if the plate is not known, usual 1800 to 3000 W"
    assert everyday._usual(SimpleNamespace(operation="boiling", parameters={"power": 2000.0}, power_range=None)) == "boiling: 2000 W if the plate is not known"
    assert everyday._usual(SimpleNamespace(operation="boiling", parameters={}, power_range=None)) == "boiling"


# Items

def test_an_item_as_a_row():
    case, uid = small()
    for data in ({"load": "Lamp", "seen": "dimmer"}, {"load": "Lamp", "seen": "failed", "note": "Burnt through"}, {"load": "Other", "seen": "survived"}):
        case.add("observation", data)
    case.add("photo", {"file": "a.jpg", "load": "Lamp"}), case.add("photo", {"file": "b.jpg", "load": "Other"})
    kettle = add_item(case, Written("kettle", connect="L2-N", on="off", count="2", light="off"))
    lamp, other = items.items(case)
    assert (lamp.what, lamp.power, lamp.connect, lamp.on, lamp.fate, lamp.light, lamp.photos, lamp.usual_power) == (
        "lamp with filament (plain)", "60", "L1-N", items.ON, "burnt", "dimmer", 1, "")
    assert (other.name, other.what, other.power, other.count, other.on, other.fate, other.light, other.photos) == ("Kettle", "kettle", "", "2", items.OFF, "", "off", 0)
    assert float(other.usual_power) > 1000 and items.item(case, kettle) == other and items.item(case, 999999) is None


def test_what_is_written_down_becomes_an_item():
    case, _ = small()
    entry = lambda **written: dict(case.entry(add_item(case, Written(**written))))
    assert entry(what="thing", name="odd thing") == {"name": "Odd thing", "kind": "appliance", "model": "thing"}
    assert entry(name="kettle") == {"name": "Kettle", "kind": "appliance", "model": "kettle"} and entry() == {"name": "Item"}
    assert entry(name="kettle")["name"] == "Kettle 2" and entry(name="kettle", count="1") == {"name": "Kettle 3", "kind": "appliance", "model": "kettle"}
    amps = entry(what="kettle", name="a", power="10 A", voltage="110 V")
    assert (amps["power"], amps["voltage"]) == (1100, 110) and entry(what="kettle", name="b", power="10 A")["power"] == 2300
    assert entry(what="kettle", name="c", power="10 A", voltage="some")["power"] == "10 A"
    assert {k: v for k, v in entry(what="kettle", name="d", point="barn", connect="L3").items() if k in ("point", "connect")} == {"point": "barn", "connect": "L3-N"}
    for on, shown in (("yes", items.ON), ("no", items.OFF), ("perhaps", items.NOT_KNOWN)):
        assert items.item(case, add_item(case, Written("kettle", on=on))).on == shown
    assert items.item(case, add_item(case, Written("kettle", light="dimmer"))).light == "dimmer" and items.item(case, add_item(case, Written("kettle", light="odd"))).light == ""
    assert items.item(case, add_item(case, Written("kettle", fate="melted"))).fate == "burnt" and [o["seen"] for o in case.data["observation"]] == ["dimmer", "failed"]
    case.add("point", {"name": "board"}), case.add("point", {"name": "kitchen board"})
    assert items.circuit("the kitchen board, L1", case) == ("kitchen board", "L1-N") and items.circuit("the board L1", case) == ("board", "L1-N")


def test_the_nominal_voltage_is_that_of_the_supply():
    of = lambda text: items.nominal(DeskCase(text))
    assert [of(t) for t in ("", "[supply]\n", "[supply]\nnominal = 240\n", '[supply]\nsystem = "split-phase"\n', '[supply]\nnominal = "x"\n')] == [230.0, 230.0, 240.0, 120.0, 230.0]


def test_names_are_free():
    case, uid = small()
    assert [items.free_name(case, x) for x in ("lamp", "Urn", "  a   b ")] == ["Lamp 2", "Urn", "A b"] and items.free_name(case, "lamp", uid) == "Lamp"
    assert len(items.free_name(case, "x" * 300)) == 190


def test_texts_of_an_item_are_read_by_its_kind():
    case, uid = small()
    case.put(uid, ("voltage",), 110.0)
    assert items.set_text(case, uid, "power", "2 A") == "2 A × 110 V, power factor 1 taken" and case.entry(uid)["power"] == 220
    case.put(uid, ("voltage",), "odd")
    items.set_text(case, uid, "power", "2 A")
    assert case.entry(uid)["power"] == 460
    items.set_text(case, uid, "count", "3"), items.set_text(case, uid, "colour_temperature", "2700 K")
    assert (case.entry(uid)["count"], case.entry(uid)["colour_temperature"]) == (3, 2700)
    items.set_text(case, uid, "count", "1x")
    assert "count" not in case.entry(uid)


def test_an_item_has_the_fields_of_its_kind():
    lamp, kettle, odd = ({f.key for f in items.own_fields(data)} for data in ({"kind": "lamp"}, {"kind": "appliance", "model": "kettle"}, {"kind": "appliance", "model": "none"}))
    assert lamp == {"technology", "colour_temperature"} and kettle == {f.key for f in items.own_fields({"kind": "heater"})} and "model" not in odd and "power" not in odd


def test_what_an_item_is_may_change_and_be_taken_away():
    case, uid = small()
    items.set_what(case, uid, "strange thing")
    assert (case.entry(uid)["kind"], case.entry(uid)["model"], case.entry(uid)["power"]) == ("appliance", "strange thing", 60)
    items.set_what(case, uid, "kettle")
    assert case.entry(uid)["model"] == "kettle"
    items.set_what(case, uid, "lamp")
    assert dict(case.entry(uid)) == {"name": "Lamp", "kind": "lamp", "power": 60, "connect": "L1-N"}
    items.set_what(case, uid, " ")
    assert dict(case.entry(uid)) == {"name": "Lamp", "power": 60, "connect": "L1-N"}


def test_a_new_name_goes_wherever_the_old_one_stands():
    case, uid = small()
    case.add("unknown", {"one_of": ["Lamp", "Urn"]}), case.add("unknown", {"load": "Urn", "on": 0.5}), case.add("observation", {"load": "Lamp", "seen": "dimmer"})
    case.add("event", {"load": "Lamp", "time": 3})
    items.set_name(case, uid, "Bulb")
    assert [u.get("one_of", u.get("load")) for u in case.data["unknown"]] == [["Bulb", "Urn"], "Urn"]
    assert case.data["observation"][0]["load"] == case.data["event"][0]["load"] == case.entry(uid)["name"] == "Bulb"
    nameless = case.add("load", {"kind": "lamp"})
    items.set_name(case, nameless, "New")
    assert case.entry(nameless)["name"] == "New" and [u.get("load") for u in case.data["unknown"]] == [None, "Urn"]
    point = case.entries("point")[0].uid
    case.add("point", {"name": "barn", "fed_from": "intake"}), case.add("break", {"feeding": "intake", "conductor": "N"}), case.add("path", {"from": "barn", "to": "intake"})
    items.set_point_name(case, point, "head")
    assert [p["name"] for p in case.data["point"]] == ["head", "barn"] and case.data["point"][1]["fed_from"] == "head"
    assert case.data["break"][0]["feeding"] == "head" and case.data["path"][0] == {"from": "barn", "to": "head"}
    assert case.undo() and case.data["path"][0] == {"from": "barn", "to": "intake"}


def test_what_is_not_known_keeps_what_else_is_said_of_it():
    case, uid = small()
    other = case.add("unknown", {"load": "Urn", "on": 0.25})
    items.set_on(case, uid, items.NOT_KNOWN)
    items.set_on(case, uid, items.NOT_KNOWN)
    unknown = case.entries("unknown")[1]
    case.put(unknown.uid, ("power",), 5.0)
    items.set_on(case, uid, items.OFF)
    assert case.data["unknown"] == [{"load": "Urn", "on": 0.25}, {"load": "Lamp", "power": 5}] and case.entry(uid)["on"] is False and case.entry(other)["on"] == 0.25


def test_what_became_of_an_item_and_its_note():
    case, uid = small()
    items.set_fate(case, uid, "burnt")
    assert case.data["observation"] == [{"load": "Lamp", "seen": "failed", "note": "burnt"}]
    items.set_fate(case, uid, "survived")
    assert case.data["observation"] == [{"load": "Lamp", "seen": "survived"}]
    case.put(case.entries("observation")[0].uid, ("note",), "seen by the tenant")
    items.set_fate(case, uid, "burnt"), items.set_fate(case, uid, "failed")
    assert case.data["observation"] == [{"load": "Lamp", "seen": "failed", "note": "seen by the tenant"}]
    items.set_light(case, uid, "dimmer"), items.set_light(case, uid, "brighter")
    assert [o["seen"] for o in case.data["observation"]] == ["failed", "brighter"]
    items.set_light(case, uid, "")
    assert [o["seen"] for o in case.data["observation"]] == ["failed"]
    items.set_light(case, uid, "")
    items.set_fate(case, uid, "")
    assert "observation" not in case.data


def test_of_two_items_of_one_name_what_was_seen_stays():
    case, uid = small()
    second = case.add("load", {"name": "Lamp", "kind": "lamp"})
    case.add("observation", {"load": "Lamp", "seen": "dimmer"}), case.add("photo", {"file": "a.jpg", "load": "Urn"})
    items.remove_item(case, second)
    assert len(case.entries("observation")) == 1 == len(case.entries("load"))
    items.remove_item(case, uid)
    assert not case.entries("observation") and len(case.entries("photo")) == 1


# Readings

def test_a_reading_goes_where_it_was_taken():
    case, _ = small()
    assert add_reading(case, Reading(between=" L1–N ", voltage="231", uncertainty="", loads=LOADS_OFF, instrument=" meter ")).startswith("Taken as a test result")
    assert case.data["test"] == [{"circuit": "intake", "test": "voltage L1-N, loads off", "value": 231, "unit": "V", "instrument": "meter"}]
    assert add_reading(case, Reading(between="L1-N", voltage="0,23 kV", uncertainty="3 V", impedance="300 kΩ", state="before", time="10 min", note=" n ")) == ""
    assert case.data["observation"] == [{"between": "L1-N", "voltage": 230, "uncertainty": 3, "impedance": 300000, "state": "before", "time": 600, "note": "n"}]
    case.add("point", {"name": "barn", "fed_from": "intake"})
    add_reading(case, Reading("barn", "L1-N", "5", state="after"))
    assert case.data["observation"][1] == {"point": "barn", "between": "L1-N", "voltage": 5}
    bare = DeskCase('title = "x"\n')
    add_reading(bare, Reading(voltage="5", loads=LOADS_OFF))
    assert bare.data["test"][0]["circuit"] == "intake"


def test_a_reading_at_the_only_point_may_name_it():
    case, _ = small()
    add_reading(case, Reading("intake", "L1-N", "231"))
    assert case.data["observation"] == [{"point": "intake", "between": "L1-N", "voltage": 231}]


def test_a_new_table_stands_behind_a_blank_line():
    added = lambda text, root="load": Document.read(text).added(root, {"name": "a"})[0].text
    table = '[[load]]\nname = "a"\n\n'
    assert [added(t) for t in ("", "title = 'x'", "title = 'x'\n", "title = 'x'\n\n")] == [table, *[f"title = 'x'\n\n{table}"] * 3]
    assert added("title = 'x'\n\n[supply]\n\n[[load]]\nname = 'b'\n[[observation]]\n") == f"title = 'x'\n\n[supply]\n\n[[load]]\nname = 'b'\n\n{table}[[observation]]\n"
    assert added("[[event]]\n", "point") == '[[point]]\nname = "a"\n\n[[event]]\n' and added("[supply]\n", "document").startswith('[document]\nname = "a"\n')
    assert Document.read("[supply]\n").text == "[supply]\n"  # a file without a head stays as it is too
    with pytest.raises(ValueError):
        Document.read("title = 'x'\n[supply]\nnominal = \n")


def test_every_kind_can_be_chosen_once():
    from lostneutral.case.load_schema import KINDS

    plain = [c.kind for c in everyday.choices() if not c.model]
    assert sorted(plain) == sorted(set(KINDS) - {"appliance"})
    keys = lambda **data: {f.key for f in items.own_fields(data)}
    assert keys(kind="appliance", model="television") == keys(kind="electronic") != keys(kind="heater") == keys(kind="appliance", model="kettle")
