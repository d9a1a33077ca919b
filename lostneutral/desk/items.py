"""Items of equipment as the desk has them: one row each, gathered from the load and from what is unknown or seen of it."""

import re
from collections.abc import Mapping
from dataclasses import fields
from itertools import chain, count
from typing import get_args

from lostneutral.case.values import Connect
from lostneutral.desk import everyday, plates
from lostneutral.desk.case import DeskCase
from lostneutral.desk.document import Block
from lostneutral.desk.fields import field, kind_fields
from lostneutral.desk.fields import fields as table_fields
from lostneutral.frozen import dataclass

ON, OFF, NOT_KNOWN = "on", "off", "not known"
FATES = {"": "not looked at", "survived": "works", "failed": "does not work", "burnt": "burnt"}
"""What became of an item -> as the desk words it. "burnt" is "failed" with a note."""
LIGHTS = {"": "not noted", "brighter": "brighter", "dimmer": "dimmer", "unchanged": "as before", "off": "went off"}
"""What was seen of it during the fault."""
BURNT = "burnt"
CONNECTIONS = get_args(Connect)
HALF = 0.5  #: probability of having been on, where that is not known and nobody says more
REFERS = {"unknown": ("load", "one_of"), "observation": ("load",), "event": ("load",), "photo": ("load",)}
"""Tables that name a load -> their keys."""


@dataclass(frozen=True)
class Item:
    """One load of the case, as a row shows it; texts as fields show them."""

    uid: int
    name: str
    what: str
    power: str
    voltage: str
    count: str
    point: str
    connect: str
    on: str  #: ON, OFF or NOT_KNOWN
    fate: str  #: key of FATES
    light: str  #: key of LIGHTS
    usual_power: str = ""  #: what is taken where the plate gives none
    photos: int = 0


@dataclass(frozen=True)
class Written:
    """An item as somebody wrote it down."""

    what: str = ""
    name: str = ""
    power: str = ""
    voltage: str = ""
    count: str = ""
    point: str = ""
    connect: str = ""
    on: str = ""
    fate: str = ""
    light: str = ""
    note: str = ""


WRITTEN = tuple(f.name for f in fields(Written))


def items(case: DeskCase) -> tuple[Item, ...]:
    """Return every item of the case, in file order."""
    return tuple(_item(case, block) for block in case.entries("load"))


def item(case: DeskCase, uid: int) -> Item | None:
    block = case.document.block(uid)
    return None if block is None else _item(case, block)


def _item(case, block: Block):
    data = block.data
    name = str(data.get("name", ""))
    text = {key: field("load", key).shown(data.get(key)) for key in ("voltage", "count", "point", "connect")}
    unknown = next((u for u in case.entries("unknown") if u.data.get("load") == name and "on" in u.data), None)
    on = NOT_KNOWN if unknown else OFF if data.get("on") is False else ON
    choice = next((c for c in everyday.choices() if c.model and c.model == data.get("model")), None)
    return Item(block.uid, name, everyday.name_of(data.get("kind"), data.get("model")), plates.shown(data.get("power")),
                text["voltage"], text["count"], text["point"], text["connect"], on, _fate(case, name), _light(case, name),
                plates.shown(choice.power) if choice else "", sum(p.data.get("load") == name for p in case.entries("photo")))


def _observed(case, name, kinds):
    return [o for o in case.entries("observation") if o.data.get("load") == name and o.data.get("seen") in kinds]


def _fate(case, name):
    found = _observed(case, name, ("survived", "failed"))
    if not found:
        return ""
    data = found[-1].data
    return "burnt" if data["seen"] == "failed" and BURNT in str(data.get("note", "")).lower() else data["seen"]


def _light(case, name):
    found = _observed(case, name, LIGHTS)
    return found[-1].data["seen"] if found else ""


def add_item(case: DeskCase, written: Written) -> int:
    """Add what somebody wrote down as one step of undo; return the new item's number. What is no value stays as written."""
    what = written.what or written.name
    choice = everyday.meant(what)
    data: dict = {"name": free_name(case, written.name or what or "Item")}
    data |= choice.keys if choice else {"kind": "appliance", "model": what} if what else {}
    data |= read_values(written, case)
    with case.one_step():
        uid = case.add("load", data)
        if written.on:
            set_on(case, uid, {True: ON, False: OFF}.get(plates.truth(written.on).value, NOT_KNOWN))
        if written.fate:
            set_fate(case, uid, fate_of(written.fate))
        if written.light in LIGHTS and written.light:
            set_light(case, uid, written.light)
    return uid


def read_values(written: Written, case: DeskCase) -> dict:
    """Return the keys of a load that the plate, count and circuit of `written` give."""
    made: dict = {}
    power, voltage = plates.plate(written.power, nominal(case))
    voltage = written.voltage or voltage
    volts = plates.number(voltage, "V").value if voltage else nominal(case)
    if power:
        made["power"] = plates.number(power, "W", volts if isinstance(volts, float) else None).value
    for key, text in (("voltage", voltage), ("count", written.count)):
        if text.strip():
            made[key] = field("load", key).read(text).value
    if made.get("count") == 1:
        del made["count"]
    point, connect = circuit(f"{written.point} {written.connect}", case)
    if connect:
        made["connect"] = connect
    if point:
        made["point"] = point
    return made


def nominal(case: DeskCase) -> float:
    """Return the nominal voltage line to neutral that the supply says, V."""
    supply = case.single("supply")
    data = supply.data if supply else {}
    value = data.get("nominal")
    return float(value) if isinstance(value, (int, float)) else 120.0 if data.get("system") == "split-phase" else 230.0


def circuit(text: str, case: DeskCase) -> tuple[str, str]:
    """Return (point, connection) that a text such as "kitchen board L2" says; "" for what it does not say."""
    bare = " ".join(text.split())
    points = sorted((str(p.data.get("name", "")) for p in case.entries("point")), key=len, reverse=True)
    found = re.search(r"\b(?:phase|line)?\s*L?([123])\s*[-–/]\s*L?([123])(?:\s*[-–/]\s*L?([123]))?\b|\bL([123])(?:\s*[-–/]\s*(N|PE))?\b"
                      r"|\bphase\s*([123])\b", bare, re.IGNORECASE)
    connect = ""
    if found:
        rest = (bare[:found.start()] + " " + bare[found.end():]).strip(" ,;:·-/")
        a, b, c, line, other, phase = found.groups()
        connect = "L1-L2-L3" if c else f"L{a}-L{b}" if a else f"L{line or phase}-{(other or 'N').upper()}"
    else:
        rest = bare
        if re.search(r"\b(3|three)[- ]?phase\b", bare, re.IGNORECASE):
            connect, rest = "L1-L2-L3", re.sub(r"\b(3|three)[- ]?phase\b", "", bare, flags=re.IGNORECASE).strip()
        elif re.search(r"\bN-PE\b", bare):
            connect, rest = "N-PE", bare.replace("N-PE", "").strip()
    known = next((p for p in points if p and p.casefold() == rest.casefold()), None)
    known = known or next((p for p in points if p and p.casefold() in rest.casefold()), None)
    return known or rest, connect


def free_name(case: DeskCase, wanted: str, own: int | None = None) -> str:
    """Return `wanted` with a capital, and with a number where another item has that name."""
    wanted = " ".join(wanted.split())[:190]
    wanted = wanted[:1].upper() + wanted[1:]
    taken = {b.data.get("name") for b in case.entries("load") if b.uid != own}
    return next(name for name in chain([wanted], (f"{wanted} {n}" for n in count(2))) if name not in taken)


def fate_of(text: str) -> str:
    """Return the key of FATES that a written word means; "" where it says nothing.

    >>> fate_of("Does not work"), fate_of("burnt out"), fate_of("OK"), fate_of("")
    ('failed', 'burnt', 'survived', '')
    """
    word = text.strip().lower()
    if word in FATES:
        return word
    if any(w in word for w in ("burn", "smok", "melt", "charred", "scorch")):
        return "burnt"
    if any(w in word for w in ("not work", "fail", "broken", "dead", "faulty", "defect", "no longer", "kaput", "damaged", "destroyed")):
        return "failed"
    if any(w in word for w in ("not looked", "not check", "unknown", "not known", "?", "not tested")):
        return ""
    return "survived" if any(w in word for w in ("ok", "work", "fine", "good", "undamaged", "surviv", "runs")) else ""


# Changes of one item


def set_text(case: DeskCase, uid: int, key: str, text: str) -> str:
    """Set a value of an item from its text; return the note on what was taken."""
    data = case.entry(uid)
    volts = data.get("voltage")
    found = _load_field(data, key).read(text, float(volts) if isinstance(volts, (int, float)) else nominal(case))
    case.put(uid, (key,), None if key == "count" and found.value == 1 else found.value)
    return found.note


def _load_field(data, key):
    own = kind_fields(str(data.get("kind"))) or kind_fields("appliance")
    return next(f for f in (*table_fields("load"), *own, *kind_fields("appliance")) if f.key == key)


def own_fields(data: Mapping):
    """Return the fields that an item has by its kind; those of the kind behind an appliance, without its name."""
    kind = str(data.get("kind"))
    if kind == "appliance":
        kind = next((c.kind for c in everyday.choices() if c.model and c.model == data.get("model")), kind)
    return tuple(f for f in kind_fields(kind) if f.key not in ("model", "power"))


def set_what(case: DeskCase, uid: int, text: str) -> None:
    """Say what an item is; keys that its new kind does not have go."""
    choice = everyday.meant(text)
    keys = choice.keys if choice else {"kind": "appliance", "model": text.strip()} if text.strip() else {}
    document, data = case.document, case.entry(uid)
    kept = {f.key for f in own_fields(keys)} | {"power", "name", "connect", "point", "voltage", "count", "on"}
    for key in ("kind", "model", *data):
        if key in keys:
            document = document.changed(uid, (key,), keys[key])
        elif key in data and key not in kept:
            document = document.changed(uid, (key,), None)
    case.take(document, (uid, ("what",)))


def set_name(case: DeskCase, uid: int, name: str) -> None:
    """Rename an item, everywhere that it is named."""
    old = case.entry(uid).get("name")
    document = case.document.changed(uid, ("name",), name)
    for root, keys in REFERS.items():
        for block in document.of(root):
            for key in keys:
                value = block.data.get(key)
                if value == old and old:
                    document = document.changed(block.uid, (key,), name)
                elif isinstance(value, list) and old in value:
                    document = document.changed(block.uid, (key,), [name if v == old else v for v in value])
    case.take(document, (uid, ("name",)))


def set_point_name(case: DeskCase, uid: int, name: str) -> None:
    """Rename a point, everywhere that it is named."""
    old = case.entry(uid).get("name")
    document = case.document.changed(uid, ("name",), name)
    places = {"point": ("fed_from",), "load": ("point",), "break": ("feeding",), "cross": ("point",), "event": ("break",),
              "observation": ("point",), "unknown": ("point", "break"), "photo": ("point",), "path": ("from", "to"),
              "group": ("fed_from",), "changeover": ("point",), "device": ("point",), "record": ("point",)}
    for root, keys in places.items():
        for block in document.of(root):
            for key in keys:
                if old and block.data.get(key) == old and block.uid != uid:
                    document = document.changed(block.uid, (key,), name)
    case.take(document, (uid, ("name",)))


def set_on(case: DeskCase, uid: int, on: str) -> None:
    """Set whether an item was on: ON, OFF, or NOT_KNOWN with even odds until somebody says more."""
    name, document = case.entry(uid).get("name"), case.document
    unknown = next((u for u in document.of("unknown") if u.data.get("load") == name and "on" in u.data), None)
    document = document.changed(uid, ("on",), False if on == OFF else None)
    if on == NOT_KNOWN and unknown is None:
        document, _ = document.added("unknown", {"load": name, "on": HALF})
    elif on != NOT_KNOWN and unknown is not None:
        more = {key for key in unknown.data if key not in ("load", "on")}
        document = document.changed(unknown.uid, ("on",), None) if more else document.removed(unknown.uid)
    case.take(document, (uid, ("on",)))


def set_fate(case: DeskCase, uid: int, fate: str) -> None:
    """Set what became of an item: a key of FATES; other words on the observation stay."""
    name, document = case.entry(uid).get("name"), case.document
    found = _observed(case, name, ("survived", "failed"))
    if not fate:
        for block in found:
            document = document.removed(block.uid)
        return case.take(document, (uid, ("fate",)))
    if found:
        number = found[-1].uid
        document = document.changed(number, ("seen",), "failed" if fate == "burnt" else fate)
    else:
        document, number = document.added("observation", {"load": name, "seen": "failed" if fate == "burnt" else fate})
    note = document.block(number).data.get("note")
    if fate == "burnt" and not note:
        document = document.changed(number, ("note",), BURNT)
    elif fate != "burnt" and note == BURNT:
        document = document.changed(number, ("note",), None)
    return case.take(document, (uid, ("fate",)))


def set_light(case: DeskCase, uid: int, light: str) -> None:
    """Set what was seen of an item during the fault: a key of LIGHTS."""
    name, document = case.entry(uid).get("name"), case.document
    found = _observed(case, name, LIGHTS)
    if found and light:
        document = document.changed(found[-1].uid, ("seen",), light)
    elif found:
        document = document.removed(found[-1].uid)
    elif light:
        document, _ = document.added("observation", {"load": name, "seen": light})
    case.take(document, (uid, ("light",)))


def remove_item(case: DeskCase, uid: int) -> None:
    """Take an item away, with what is unknown and seen of it."""
    name, document = case.entry(uid).get("name"), case.document
    same = sum(b.data.get("name") == name for b in case.entries("load"))
    for root in ("unknown", "observation", "event", "photo") if same == 1 else ():
        for block in document.of(root):
            if block.data.get("load") == name:
                document = document.removed(block.uid)
    case.take(document.removed(uid))
