"""Claims put together by hand: name -> claim, at least one for each sentence that a claim can become."""

from types import SimpleNamespace

from lostneutral.claims.model import About, Claim, Condition, Kind, Rank, Unverified
from lostneutral.claims.verdicts import Verdict
from lostneutral.consequences.limits import Yardstick
from lostneutral.studies.hinges import Change

THREE = SimpleNamespace(supply=SimpleNamespace(system="three-phase"))
HALVES = SimpleNamespace(supply=SimpleNamespace(system="split-phase"))
ALWAYS, SOME, FEW = Condition(), Condition(held=2, possible=3), Condition("stage", 1.0, 3.5)
CLAIMS = {}


def add(name, kind, what="installation", of="", rank=Rank.WARNING, where=("shop",), at=ALWAYS, unit="V", value=None, span=None, against=None,
        edge="high", unverified=(), **facts):
    yardstick = None if against is None else Yardstick(against, unit, "source", "S", edge)
    CLAIMS[name] = Claim(kind, About(what, of), rank, where, at, "", unit, value, span or (value, value), yardstick, facts=facts, unverified=unverified)


LINE = {"what": "line", "of": "L2", "band": "EN 50160", "outer": None}
add("line above", Kind.LINE_ABOVE, **LINE, rank=Rank.DAMAGE, value=338.4, ratio=338.4 / 230)
add("line above at places", Kind.LINE_ABOVE, **LINE, rank=Rank.DAMAGE, where=("a", "b", "c", "d"), at=SOME, value=338.4, span=(301.2, 338.4), ratio=338.4 / 230)
add("line below", Kind.LINE_BELOW, **LINE, value=171.6, ratio=171.6 / 230, at=FEW)
add("line below the outer limit", Kind.LINE_BELOW, **LINE | {"outer": 195.5}, where=("a", "b"), value=101.0, span=(101.0, 122.0), ratio=101 / 230)
add("line above the outer limit", Kind.LINE_BELOW, **LINE | {"outer": 195.5}, value=199.0, ratio=199 / 230)
add("line without voltage", Kind.LINE_NONE, **LINE, value=4.26, ratio=0.02, live=True)
add("line without voltage in the end", Kind.LINE_NONE, **LINE, value=4.26, ratio=0.02, live=True, failed=("Lamp", "Fridge"))
add("line lost altogether", Kind.LINE_NONE, **LINE, value=0.0, ratio=0.0, live=False)
add("line high before", Kind.LINE_BEFORE, **LINE, value=262.0, ratio=262 / 230, against=253.0)
add("line low before", Kind.LINE_BEFORE, **LINE, value=191.0, ratio=191 / 230, against=207.0, edge="low")
for passed in (True, False):
    add(f"insulation {passed}", Kind.INSULATION, **LINE, value=402.0 if passed else 388.0, against=400.0, passed=passed)
add("beyond, of sources", Kind.BEYOND_TRIANGLE, **LINE, value=441.0, against=400.0, sources=("Roof", "Barn"))
add("beyond", Kind.BEYOND_TRIANGLE, **LINE, value=441.0, against=400.0, sources=())
add("beyond, halves", Kind.BEYOND_TRIANGLE, **LINE, value=261.0, against=240.0, sources=())
add("temporary", Kind.TEMPORARY_OVERVOLTAGE, **LINE, value=448.0)
add("surge device untested", Kind.SURGE_DEVICES, **LINE, value=372.0, against=255.0, seconds=0, outcome="withstand")
add("surge device", Kind.SURGE_DEVICES, **LINE, value=332.0, against=255.0, seconds=7200.0, outcome="safe failure")
for found in ("none", "keeps changing", "none holds", "not tested", "several", "one of several", "none before"):
    add(f"settling {found}", Kind.SETTLING, value=3.0, found=found, reason="Newton's steps ended." if found == "none" else "")
add("cycle of loads", Kind.SETTLING, value=42.0, found="cycle", loads=("Pump", "Router"), met=311.0)
add("cycle", Kind.SETTLING, value=42.0, found="cycle", loads=(), met=None)
for why in ("too large", "waveforms undecided", "pulses", "failed", "waveforms"):
    add(f"not followed {why}", Kind.NOT_FOLLOWED, why=why, text="too many of them")
add("rectifiers", Kind.RECTIFIERS, items=("Router", "Set"))
add("reader", Kind.READER, text="Said.")
for capacitive in (True, False):
    add(f"saturates {capacitive}", Kind.SATURATES, "item", "Bell", value=1.234, capacitive=capacitive, knee=1.15)
for far in (True, False):
    add(f"extrapolated {far}", Kind.EXTRAPOLATED, "item", "Fridge", value=1.456, low=0.9, high=1.1, far=far)
add("unequal lines", Kind.UNEQUAL_LINES, "item", "Saw", value=6.78, against=2.0, current=1.53, relay=None, lost=None)
add("unequal lines, relay", Kind.UNEQUAL_LINES, "item", "Saw", value=6.78, against=2.0, current=1.53, relay=95.0, lost=None)
add("line lost", Kind.UNEQUAL_LINES, "item", "Saw", value=87.6, against=2.0, current=1.91, relay=40.0, lost="L3", held=(142.0, 198.0))
add("line lost, not held", Kind.UNEQUAL_LINES, "item", "Saw", value=87.6, against=2.0, current=1.91, relay=None, lost="L3", held=None)
add("nothing broken", Kind.NOTHING_BROKEN)
add("mended", Kind.MENDED, value=75.0, spans=((0.0, 75.0),), contact=False)
add("mended, of a changeover", Kind.MENDED, value=0.6, spans=((0.0, 0.6),), contact=True)
add("mended, not followed", Kind.MENDED, value=None, spans=(), contact=False)
for what, name in (("neutral", "N"), ("pen", "PEN"), ("line", "L1")):
    add(f"carried by {what}", Kind.CARRIED, what, name, value=12.34, open=what == "pen")
DEVICES = {"judged": True, "line_before": 20.0, "line_after": 20.1, "line_for": float("inf"), "transposed": False}
add("residual, operates", Kind.FAULT_DEVICES, **DEVICES, unit="A", value=0.0456, against=0.03, answer="would operate")
add("residual, may", Kind.FAULT_DEVICES, **DEVICES | {"line_after": 26.0, "line_for": 95.0}, unit="A", value=0.0196, against=0.03, answer="may operate")
add("residual, not", Kind.FAULT_DEVICES, **DEVICES | {"line_before": None}, unit="A", value=0.0024, against=0.03, answer="would not operate")
add("residual unknown", Kind.FAULT_DEVICES, **DEVICES | {"line_after": None}, unit="A", against=0.03, answer="not known")
add("residual not judged", Kind.FAULT_DEVICES, **DEVICES | {"judged": False}, unit="A", answer="")
add("overvoltage device, acts", Kind.OVERVOLTAGE_DEVICE, **LINE, value=288.0, acts=True, earliest=1.0, latest=15.0)
add("overvoltage device, may", Kind.OVERVOLTAGE_DEVICE, **LINE, value=262.0, acts=True, earliest=3.0, latest=float("inf"))
add("overvoltage device, not", Kind.OVERVOLTAGE_DEVICE, **LINE, value=251.0, acts=False, earliest=None, latest=None)
add("curve above", Kind.ITI, "line", "above", value=1.47, against=1.1, unit="", side="above", lines=("L1", "L3"))
add("curve below", Kind.ITI, "line", "below", value=0.62, against=0.9, unit="", side="below", lines=("L2",))
add("floating", Kind.FLOATING, conductors=("L2", "N"))
add("floating for a time", Kind.FLOATING, at=FEW, conductors=("N",))
add("drop", Kind.DROP_BEFORE, **LINE, rank=Rank.NOTE, where=("shop", "yard"), value=8.7, share=0.0378)
for faulted in (True, False):
    add(f"full neutral {faulted}", Kind.FULL_NEUTRAL, value=1.234, amps=41.7, third=38.2, faulted=faulted)
SUPPLIES = {"what": "installation", "unit": "W", "value": 1234.0, "line": "L3", "open": False, "cycle": False, "within_rule": False, "cut": (), "over": ()}
CUT, OVER = (("Router", 151.3),), (("Set", 466.2), ("Lamp", 460.7))
add("supplies", Kind.SUPPLIES, **SUPPLIES)
add("supplies, open", Kind.SUPPLIES, **SUPPLIES | {"open": True})
add("supplies cut", Kind.SUPPLIES, **SUPPLIES | {"cut": CUT, "within_rule": True})
add("supplies over", Kind.SUPPLIES, **SUPPLIES | {"over": OVER, "within_rule": True})
add("supplies cut and over", Kind.SUPPLIES, **SUPPLIES | {"cut": CUT, "over": OVER})
add("supplies in a cycle", Kind.SUPPLIES, **SUPPLIES | {"cycle": True})
add("supplies in a cycle, over", Kind.SUPPLIES, **SUPPLIES | {"cycle": True, "over": OVER, "value": None})
add("meters", Kind.METERS, **LINE, value=1.1234, rms=222.4, average=198.6, crest=249.8)

METAL = {"ref": ("shop",), "earthing": "TN-C-S", "assumed_electrode": False}
add("metalwork, PEN open", Kind.METALWORK, **METAL, cause="pen open", rank=Rank.DANGER, value=87.3)
add("metalwork, PEN open, little", Kind.METALWORK, **METAL, cause="pen open", rank=Rank.DANGER, value=0.0, against=50.0, edge="reference")
add("metalwork, PEN joint", Kind.METALWORK, **METAL | {"assumed_electrode": True}, cause="pen joint", value=23.4, at=SOME)
add("metalwork, transposed", Kind.METALWORK, **METAL | {"ref": ("shop", "L1", "N")}, cause="transposed", rank=Rank.DANGER, value=230.0)
add("metalwork, transposed, little", Kind.METALWORK, **METAL | {"ref": ("shop", "N", "PE")}, cause="transposed", rank=Rank.DANGER, value=2.3, against=50.0, edge="reference")
add("metalwork, PE broken", Kind.METALWORK, **METAL, cause="pe broken")
add("metalwork, no electrode", Kind.METALWORK, **METAL | {"ref": ()}, cause="no electrode", rank=Rank.DANGER)
add("metalwork, elsewhere", Kind.METALWORK, **METAL, cause="elsewhere", value=31.0)
for earthing in ("TN-S", "TN-C-S", "TN-C", "TT"):
    add(f"metalwork, {earthing}", Kind.METALWORK, **METAL | {"earthing": earthing}, cause="separate", rank=Rank.NOTE, value=1.2)
add("earthing unknown", Kind.METALWORK_UNKNOWN)
add("person", Kind.PERSON, unit="mA", value=61.2, span=(18.4, 61.2), zone="AC-3", volts=87.3)
add("person, zone not looked up", Kind.PERSON, unit="mA", value=4.1, span=(1.2, 4.1), zone="AC-2", volts=12.3,
    unverified=(Unverified("touch.zones", 5.0, "mA", (4.0, 6.0), ("AC-2", "AC-3", "AC-2")),))
add("person, limited by what feeds it", Kind.PERSON, unit="mA", value=3.8, span=(3.7, 3.8), zone="AC-2", volts=115.0, ohms=30e3)
add("between metalwork", Kind.BETWEEN_METALWORK, where=("shop", "flat"), value=99.5)
add("neutral live", Kind.NEUTRAL_LIVE, rank=Rank.DANGER, value=112.7)
add("neutral live, little", Kind.NEUTRAL_LIVE, rank=Rank.DANGER, value=0.0, against=50.0)
add("neutral live, no figure", Kind.NEUTRAL_LIVE, rank=Rank.DANGER)
SWITCH = {"clears": False, "others": (), "before": 80.0, "solved": True}
add("switch", Kind.MAIN_SWITCH, **SWITCH | {"others": ("a", "b", "c", "d")}, value=64.2)
add("switch clears", Kind.MAIN_SWITCH, **SWITCH | {"clears": True, "others": ("a",)}, value=1.4)
add("switch, no figure", Kind.MAIN_SWITCH, **SWITCH)
add("switch, not calculated", Kind.MAIN_SWITCH, **SWITCH | {"solved": False, "others": ("a",)})
JOINT = {"what": "neutral", "of": "N", "unit": "W", "against": 10.0, "ohms": 0.47, "amps": 12.3, "at_first": 0.0}
add("joint burns", Kind.JOINT_HEAT, **JOINT, rank=Rank.FIRE, value=71.1)
add("joint warm", Kind.JOINT_HEAT, **JOINT | {"at_first": 33.3}, value=4.56)
add("joint cool", Kind.JOINT_HEAT, **JOINT, rank=Rank.NOTE, value=0.123)
add("bond", Kind.BOND_HEAT, "path", "pipe", rank=Rank.FIRE, unit="K", value=145.6, amps=33.3, area=4.0, seconds=95.0)
add("transposed", Kind.TRANSPOSED, rank=Rank.DANGER, conductors=("L1", "N"))
RANGE = {"span": (70.1, 211.0), "ohms": (10.0, 500.0), "as_if": False, "without": None}
add("electrode", Kind.ELECTRODE_RANGE, **RANGE, rank=Rank.DANGER, value=211.0)
add("electrode, none", Kind.ELECTRODE_RANGE, **RANGE | {"as_if": True, "without": 229.0}, value=211.0)
add("electrode, whatever it has", Kind.ELECTRODE_RANGE, **RANGE | {"span": (0.0, 0.0)}, rank=Rank.NOTE, value=0.0)
add("charging point", Kind.CHARGING_POINT, value=107.0)
add("diverted", Kind.DIVERTED, unit="A", value=8.71, paths=(("pipe", 8.71, 0.62), ("electrode of shop", 1.23, 0.09), ("screen", 0.45, 0.0)))
add("diverted by many", Kind.DIVERTED, unit="A", value=9.0, paths=tuple((f"path {n}", 9.0 - n, 0.0) for n in range(7)))

ITEM = {"what": "item", "of": "Kettle"}


def item(name, outcome, volts=300.0, above=True, below=False, unequal=False, rated=230.0, rank=Rank.WARNING, light=None, power=None, element=None, lit=True,
         **verdict):
    found = Verdict("Kettle", outcome, volts, None if volts is None else volts / rated, **verdict)
    add(name, Kind.ITEM, **ITEM, rank=rank, value=volts, verdict=found, above=above, below=below, unequal=unequal, rated=rated, light=light, power=power,
        rated_power=2000.0, element=element, lit_before=lit)


item("fails", "fails in minutes", 331.0, earliest=240.0, central=600.0, latest=1500.0, part="filament", mode="open", protected="yes", light=3.456)
item("fails, no central time", "fails in hours", 331.0, earliest=4000.0, part="varistor", mode="short", protected="perhaps")
item("fails, not saved", "fails in seconds", 398.0, earliest=1.0, central=2.0, latest=5.0, protected="no", power=5990.0, element=844.0)
item("stalls and overheats", "stalls and overheats", 121.0, False, True, earliest=20.0, central=60.0, latest=90.0, part="winding")
item("shortened", "shortened life", 251.0, used=0.034, light=1.09, power=2180.0)
item("shortened, much", "shortened life", 251.0, used=1.7, light=1.11, power=2220.0)
item("shortened, little", "shortened life", 251.0, used=0.009)
item("shortened, may fail", "shortened life", 331.0, earliest=14.0, part="varistor", mode="short")
item("unharmed", "unharmed", 201.0, False, True, power=1527.0)
item("unharmed within limits", "unharmed", 231.0, False)
item("cannot be said", "cannot be said", 281.0, worst="fails in days", part="capacitor", mode="short")
item("cannot be said, no voltage", "cannot be said", None, False)
item("stressed", "stressed for a time", 281.0, worst="fails in days")
item("fails, unequal lines", "fails in hours", 397.0, False, unequal=True, rated=398.4, earliest=1000.0, central=2000.0, latest=4000.0, part="winding")
item("dim", "dim", 101.0, False, True, light=0.057)
item("dim, dark before", "dim", 101.0, False, True, light=0.057, lit=False)
add("surge part", Kind.SURGE_PART, **ITEM, rank=Rank.FIRE, value=402.0, verdict=Verdict("Kettle", "fails in minutes", 402.0, 1.7, earliest=20.0))
add("winding", Kind.WINDING, **ITEM, rank=Rank.FIRE, value=402.0, verdict=Verdict("Kettle", "fails in minutes", 402.0, 1.7, earliest=60.0, central=120.0, latest=300.0))
add("winding, no time", Kind.WINDING, **ITEM, rank=Rank.FIRE, value=402.0, verdict=Verdict("Kettle", "unharmed", 402.0, 1.7))
add("surge part, no time", Kind.SURGE_PART, **ITEM, rank=Rank.FIRE, value=402.0, verdict=Verdict("Kettle", "unharmed", 402.0, 1.7))

METAL_CHANGE = Change("metalwork", "shop", "shop", 12.0, 7.7, None)
LAMP_CHANGE = Change("item", "Lamp", "shop", "unharmed", "fails in days", None)
SET_CHANGE = Change("item", "Set", "shop", "dim", "unharmed", "dim")
LOST_CHANGE = Change("line", "L2", "shop", "dead", None, "over")
LINE_CHANGE = Change("line", "L1", "shop", "within", "over", "under")
add("hangs on a threshold", Kind.HANGS_ON, "item", "Charger", value=90.0, span=(60.0, 190.0), changes=(LINE_CHANGE, LAMP_CHANGE, METAL_CHANGE, LOST_CHANGE, SET_CHANGE))
add("hangs on a joint", Kind.HANGS_ON, "joint", "shop", unit="ohm", value=2.0, span=(0.5, 8.0), changes=(LAMP_CHANGE,))
for name, quantity in (("hangs on a threshold", "works_from"), ("hangs on a joint", "resistance")):
    object.__setattr__(CLAIMS[name], "quantity", quantity)
add("not varied", Kind.HANGS_ON, value=7.0, changes=(), varied=12)
SEEN = {"verdict": Verdict("Lamp", "dim", 121.0, 0.53)}
for agrees in (True, False, None):
    add(f"seen {agrees}", Kind.OBSERVED, "item", "Lamp", value=121.0, seen="dimmer", agrees=agrees, **SEEN)
    add(f"operated {agrees}", Kind.OBSERVED, "item", "Relay", operated=bool(agrees), answer="may operate", agrees=agrees)
READ = {"what": "line", "of": "L1-N", "read": 180.0, "sigma": 3.0, "floats": False, "loaded": False, "recorded": False}
add("read", Kind.OBSERVED, **READ, value=181.2, agrees=True)
add("read, wrong", Kind.OBSERVED, **READ, value=231.2, span=(199.0, 231.2), agrees=False, at=Condition("before"))
add("read, floating", Kind.OBSERVED, **READ | {"floats": True}, value=230.0, span=(0.0, 230.0), agrees=None)
add("read, loaded", Kind.OBSERVED, **READ | {"floats": True, "loaded": True}, value=2.0, agrees=None)
add("read, no figure", Kind.OBSERVED, **READ, agrees=None)
add("recorded", Kind.OBSERVED, **READ | {"recorded": True}, value=181.2, agrees=True)
add("recorded before", Kind.OBSERVED, **READ | {"recorded": True}, value=181.2, agrees=True, at=Condition("before"))
for bound in ("up to", "more than", "about"):
    add(f"read, {bound}", Kind.OBSERVED, **READ | {"bound": bound}, value=181.2, agrees=True)
LOGGED = READ | {"recorded": True, "logged": True, "bound": "more than"}
add("logged", Kind.OBSERVED, **LOGGED, value=281.2, agrees=True)
add("logged before", Kind.OBSERVED, **LOGGED, value=181.2, agrees=True, at=Condition("before"))
VEHICLE = {"what": "item", "of": "Car", "within": 5.0, "seconds": 0.3, "limit": 70.0, "low": 207.0, "high": 253.0, "lines": (231.0, 262.0)}
for answer in ("would operate", "may operate", "would not operate", "not known"):
    add(f"vehicle, {answer}", Kind.OPEN_PEN_DEVICE, **VEHICLE | ({"lines": ()} if answer == "not known" else {}), touch=answer, window=answer,
        value=None if answer == "not known" else 92.0)
DEVICE = {"what": "device", "of": "Relay", "watches": "voltage to neutral", "limit": None, "within": 0.2, "supply": None, "overvoltage": None}


def device(name, answer, unit="V", value=None, limit=None, **facts):
    add(name, Kind.DEVICE, **DEVICE | facts | {"limit": limit}, unit=unit, value=value, answer=answer)


device("device operates", "would operate", value=288.0, limit=280.0)
device("device may", "may operate", "A", 0.0196, 0.03, watches="residual current")
device("device, amperes", "would not operate", "A", 12.0, 16.0, watches="line current", supply=88.0)
device("device not known", "not known", watches="voltage to remote earth", overvoltage=402.0)
device("device, isolation monitor", "would operate", "", 1.0, 1.0, watches="earthed source")
BRIEF = {"value": 466.0, "seconds": 0.02, "share": 1.432}
add("brief", Kind.BRIEF, **LINE, **BRIEF, links=(), still=True)
add("brief, links", Kind.BRIEF, **LINE, **BRIEF, links=(("a", 401.0), ("b", 402.0), ("c", 403.0), ("d", 404.0)), still=False)
add("source without earth", Kind.UNEARTHED_SOURCE, generator="Set")
add("fuse", Kind.HIGH_VOLTAGE_FUSE, "line", "L1-L3", value=115.0, highest=172.5)
