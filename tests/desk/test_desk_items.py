"""Items typed, pasted and brought make the case of the casebook. Kind: independent, the file that was written by hand."""

import io
import tomllib

import openpyxl
import pytest
from desk_cases import ITEMS, ROWS, SHOP, SHOP_DATA, finish, without_items

from lostneutral.case import parse_case
from lostneutral.case.meant import everyday as words_of_file
from lostneutral.desk import everyday, tables
from lostneutral.desk.case import EMPTY, DeskCase
from lostneutral.desk.items import (
    NOT_KNOWN,
    OFF,
    ON,
    Written,
    add_item,
    circuit,
    fate_of,
    items,
    remove_item,
    set_fate,
    set_name,
    set_on,
    set_point_name,
    set_text,
    set_what,
)
from lostneutral.desk.readings import LOADS_OFF, Reading, add_reading
from lostneutral.errors import UsageError


def shop():
    return DeskCase(without_items(), str(SHOP))


def is_the_shop(case):
    assert tomllib.loads(case.text) == SHOP_DATA
    made, own = case.check().case, parse_case(SHOP.read_bytes(), str(SHOP))
    assert (made.loads, made.points, made.observations, made.breaks) == (own.loads, own.points, own.observations, own.breaks)


def test_typed():
    case = shop()
    for written in ITEMS:
        add_item(case, written)
    finish(case)
    is_the_shop(case)


@pytest.mark.parametrize("mark", ["\t", ";"])
def test_pasted(mark):
    case = shop()
    table = tables.read_text("\n".join(mark.join(row) for row in ROWS))
    assert table.headed and table.columns == ("what", "name", "power", "voltage", "count", "point", "connect", "on")
    tables.take(case, table.written())
    finish(case)
    is_the_shop(case)


def test_brought_as_a_workbook():
    book = openpyxl.Workbook()
    for row in ROWS:
        book.active.append(list(row))
    held = io.BytesIO()
    book.save(held)
    case = shop()
    tables.take(case, tables.read_file("shop.xlsx", held.getvalue()).written())
    finish(case)
    is_the_shop(case)


def test_taking_a_list_is_one_step():
    case = DeskCase()
    tables.take(case, tables.read_text("\n".join("\t".join(row) for row in ROWS)).written())
    assert len(case.entries("load")) == 15 and [b.data["name"] for b in case.entries("point")] == [
        "intake", "shop board", "kitchen board", "back room board"]
    assert case.undo() and case.text == EMPTY and not case.can_undo
    assert case.redo() and len(case.entries("load")) == 15


def test_columns_without_headings_are_known_by_what_they_hold():
    table = tables.read_text("kettle;2 kW;L1\nfridge;100 W;L2")
    assert not table.headed and table.columns == ("what", "power", "connect")
    assert tables.read_text("Till, L3-N, 45 W, 2, on").columns[1:] == ("connect", "power", "count", "on")
    moved = table.with_column(0, "power")
    assert moved.columns == ("power", "", "connect")


@pytest.mark.parametrize("content", [b"\x00\x01\x02", b"PK\x03\x04 not a workbook", b"\xd0\xcf\x11\xe0old", b"", b"x" * 5_000_001])
def test_a_file_that_is_no_table_is_refused_with_words(content):
    with pytest.raises(UsageError):
        tables.read_file("x", content)


def test_a_figure_without_unit_has_that_of_its_heading():
    written = tables.read_text("Item,Power (kW)\nFryer,3\nUrn,2.5 kW").written()
    assert [w.power for w in written] == ["3 kW", "2.5 kW"]
    case = DeskCase()
    assert case.entry(add_item(case, written[0]))["power"] == 3000


@pytest.mark.parametrize(("text", "point", "connect"), [
    ("kitchen board L2", "kitchen board", "L2-N"), ("L1-L2-L3", "", "L1-L2-L3"), ("Phase 3", "", "L3-N"), ("KITCHEN BOARD", "kitchen board", ""),
    ("cellar, L1", "cellar", "L1-N"), ("three-phase", "", "L1-L2-L3"), ("L1/L2", "", "L1-L2"), ("", "", ""), ("2", "2", "")])
def test_circuits_as_people_write_them(text, point, connect):
    assert circuit(text, shop()) == (point, connect)


def test_everyday_words_find_what_an_item_is():
    # practice: what these things are called in a shop
    for word, name in (("telly", "television"), ("fridge", "fridge"), ("TV", "television"), ("cash register", everyday.name_of("electronic", None)),
                       ("Kitchen bulbs", "filament lamp"), ("wifi router", "router"), ("hairdryer", "hair dryer")):
        assert everyday.meant(word).name == name, word
    assert everyday.meant("something unheard of") is None and everyday.meant("kettles").name == everyday.meant("two electric kettles").name == "kettle"
    assert everyday.meant("shop lamps").kind == "lamp"
    # one way for the desk and for the errors of a file: whatever a list shows is known to both, as the same
    assert all(words_of_file(w) == c.keys == everyday.meant(w).keys for c in everyday.choices() for w in (c.name, *c.words))
    assert [c.name for c in everyday.find("ketle")] == ["kettle"]
    assert everyday.meant("charger").name == "phone charger" and everyday.meant("wallbox").kind == "charger"
    assert len({w for c in everyday.choices() for w in (c.name, *c.words)}) == sum(1 + len(c.words) for c in everyday.choices())


def test_a_renamed_item_is_renamed_wherever_it_is_named():
    case = DeskCase(SHOP.read_text("utf-8"), str(SHOP))
    till = next(b.uid for b in case.entries("load") if b.data["name"] == "Till")
    set_name(case, till, "Cash till")
    assert case.check().case is not None and not any('"Till"' in line for line in case.text.splitlines())
    board = next(b.uid for b in case.entries("point") if b.data["name"] == "intake")
    set_point_name(case, board, "meter board")
    assert case.check().case.points[1].fed_from == "meter board" and case.check().case.breaks[0].feeding == "meter board"


@pytest.mark.parametrize(("plate", "keys"), [
    ("2.2 kW", {"power": 2200}), ("2.2 kW 400 V", {"power": 2200, "voltage": 400}), ("220-240V~ 50/60 Hz 45W", {"power": 45}),
    ("230 V 6 A", {"power": 1380, "voltage": 230}), ("12 VA", {"power": 12}), ("", {}), ("1850-2200 W", {"power": "1850-2200 W"})])
def test_what_stands_on_a_plate(plate, keys):
    case = DeskCase()
    data = case.entry(add_item(case, Written("kettle", power=plate, connect="L1-N")))
    assert {key: data[key] for key in ("power", "voltage") if key in data} == keys


def test_on_off_and_not_known():
    case = DeskCase(SHOP.read_text("utf-8"), str(SHOP))
    uid = case.entries("load")[8].uid
    assert [i.on for i in items(case)][7:9] == [ON, OFF]
    set_on(case, uid, NOT_KNOWN)
    assert case.check().case.unknowns[0].on == 0.5 and case.check().case.loads[8].on
    set_on(case, uid, ON)
    assert not case.entries("unknown") and "on" not in case.entry(uid)


def test_what_became_of_an_item():
    case = DeskCase()
    uid = add_item(case, Written("lamp", power="60", fate="burnt out", connect="L1-N"))
    assert items(case)[0].fate == "burnt" and case.check().case.observations[0].details["note"] == "burnt"
    set_fate(case, uid, "failed")
    assert items(case)[0].fate == "failed" and "note" not in case.text
    set_fate(case, uid, "")
    assert not case.entries("observation")
    assert [fate_of(w) for w in ("Does not work", "OK", "no longer works", "works", "smoke came out", "?")] == [
        "failed", "survived", "failed", "survived", "burnt", ""]


def test_an_item_that_is_something_else_loses_the_keys_of_the_old_kind():
    case = DeskCase()
    uid = add_item(case, Written("lamp", power="60", connect="L1-N"))
    case.put(uid, ("technology",), "halogen")
    set_what(case, uid, "bain-marie")
    assert dict(case.entry(uid)) == {"name": "Lamp", "kind": "heater", "power": 60, "connect": "L1-N"}
    assert case.check().case is not None


def test_faults_stand_at_their_field_in_the_words_of_check():
    case = DeskCase(SHOP.read_text("utf-8"), str(SHOP))
    uid = case.entries("load")[0].uid
    set_text(case, uid, "power", "heaps")
    case.put(case.entries("observation")[2].uid, ("load",), "Tilt")
    checked = case.check()
    assert checked.case is None
    assert checked.of(uid, "power") == '"heaps" is text — a number from 0.001 to 10000000, in W'
    assert "did you mean" in checked.of(case.entries("observation")[2].uid, "load")
    set_text(case, uid, "power", "45 W")
    assert [f.path for f in case.check().faults] == [("load",)]


def test_removing_an_item_takes_what_was_said_of_it():
    case = DeskCase(SHOP.read_text("utf-8"), str(SHOP))
    remove_item(case, case.entries("load")[0].uid)
    assert case.check().case is not None and "Till" not in [o.load for o in case.check().case.observations]


def test_a_reading_with_the_loads_off_is_recorded_and_not_weighed():
    case = DeskCase(SHOP.read_text("utf-8"), str(SHOP))
    words = add_reading(case, Reading("intake", "L1-N", "231 V", loads=LOADS_OFF))
    assert "not compared" in words and len(case.entries("observation")) == 5
    assert case.check().case.tests[-1].test == "voltage L1-N, loads off" and case.check().case.tests[-1].value == 231
    add_reading(case, Reading("intake", "L1-N", "171,5", "3", "multimeter", observer="me"))
    seen = case.check().case.observations[-1]
    assert (seen.voltage, seen.uncertainty, seen.between, seen.details["observer"]) == (171.5, 3, ("L1", "N"), "me")


def test_changes_of_one_field_are_one_step_of_undo():
    case = DeskCase(SHOP.read_text("utf-8"), str(SHOP))
    uid = case.entries("load")[0].uid
    for text in ("5", "50", "500"):
        set_text(case, uid, "power", text)
    set_text(case, uid, "voltage", "240")
    assert case.undo() and case.entry(uid)["power"] == 500 and "voltage" not in case.entry(uid)
    assert case.undo() and case.entry(uid)["power"] == 45 and not case.can_undo


def test_two_tabs_do_not_lose_each_others_edits():
    case = DeskCase(SHOP.read_text("utf-8"), str(SHOP))
    first, second = case.entries("load")[0].uid, case.entries("load")[5].uid
    set_text(case, second, "power", "150")
    remove_item(case, first)  # in another tab: every later item moves up in the file
    set_text(case, second, "voltage", "230")
    set_text(case, first, "power", "1")  # of an item that is gone
    by_name = {load["name"]: load for load in tomllib.loads(case.text)["load"]}
    assert by_name["Cold counter"]["power"] == 150 and by_name["Cold counter"]["voltage"] == 230 and len(by_name) == 14
