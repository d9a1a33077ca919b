"""The corner shop as somebody has it on a list, and how it is typed: what tests of the desk share."""

import tomllib
from pathlib import Path

from lostneutral.desk.items import Written

CASEBOOK = Path(__file__).parents[2] / "casebook"
SHOP = CASEBOOK / "corner-shop.toml"
SHOP_DATA = tomllib.loads(SHOP.read_text("utf-8"))

POWER = "power supply (other electronics)"
ITEMS = (
    Written(POWER, "Till", "45 W", "", "", "shop board", "L3-N"),
    Written(POWER, "Card terminal", "8", "", "", "shop board", "L3-N"),
    Written("LED ceiling light", "Shop ceiling lights", "", "", "3", "shop board", "L3-N"),
    Written("tv", "Screen with the offers", "", "", "", "shop board", "L2-N"),
    Written("halogen", "Window spot lamps", "0,05 kW", "", "3", "shop board", "L3-N"),
    Written("bottle cooler", "Cold counter", "", "", "", "shop board", "L2-N"),
    Written("deep fryer", "Deep fryer", "", "", "", "kitchen board", "L1-N"),
    Written("bain-marie", "Bain-marie", "1.2 kW", "", "", "kitchen board", "L2-N"),
    Written("kettle", "Kettle", "", "", "1", "kitchen board", "L3-N", "off"),
    Written("immersion heater", "Water heater", "2 000 W", "", "", "kitchen board", "L2-N"),
    Written("lamp", "Lamps over the hot counter", "60", "", "2", "kitchen board", "L2-N"),
    Written("router", "Router", "", "", "", "back room board", "L3-N"),
    Written("laptop", "Laptop charger", "", "", "", "back room board", "L2-N"),
    Written("fan heater", "Fan heater", "", "", "", "back room board", "L1-N"),
    Written("lamp", "Back room lamp", "60 W", "", "", "back room board", "L1-N"),
)
"""The items of the casebook's corner shop, as somebody writes them down."""

HEADS = ("What", "Item", "Power", "Rated voltage", "Qty", "Board", "Phase", "On/off")
ROWS = [HEADS, *((w.what, w.name, w.power, w.voltage, w.count, w.point, w.connect.removesuffix("-N"), w.on or "on") for w in ITEMS)]

SMALL = '''title = "Small"

[supply]
earthing = "TT"

[[point]]
name = "intake"

[[load]]
name = "Lamp"
kind = "lamp"
power = 60
connect = "L1-N"
'''
"""A case with one lamp."""


def without_items():
    """Return the corner shop's case file with its items taken out, and what was seen of them: to be filled by the test."""
    from lostneutral.desk.document import Document

    document = Document.read(SHOP.read_text("utf-8"))
    for block in (*document.of("load"), *(o for o in document.of("observation") if "load" in o.data)):
        document = document.removed(block.uid)
    return document.text


def finish(case):
    """Say of the items what the casebook says beside their plates."""
    from lostneutral.desk.items import set_fate, set_light

    uid = {b.data["name"]: b.uid for b in case.entries("load")}
    case.put(uid["Bain-marie"], ("cooling",), "water")
    set_fate(case, uid["Till"], "failed")
    set_light(case, uid["Back room lamp"], "dimmer")
    set_light(case, uid["Screen with the offers"], "unchanged")
    for block in case.entries("observation"):
        if "load" in block.data:
            case.put(block.uid, ("observer",), "shopkeeper")
    till = next(o for o in case.entries("observation") if o.data.get("load") == "Till")
    case.put(till.uid, ("within",), 3600.0)
    case.put(till.uid, ("kept",), "with the shopkeeper")
