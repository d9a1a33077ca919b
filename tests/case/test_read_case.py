"""What a case file says arrives in the Case; what it leaves out is filled in by the contract and written down."""

import cmath
import hashlib
import json
import subprocess
import sys
from functools import partial
from math import inf, isclose, radians

import pytest
from faulty_cases import HEAD, LAMP

from lostneutral.case import Cross, Event, Path, Spread, Unknown, case_schema, parse_case, starter
from lostneutral.case.load_schema import KINDS
from lostneutral.case.model import Break, Observation

EVERY_KEY = """
title = 'Every "key" 💡 & <tag> שלום'
description = "free"
date = 2024-05-31
break = [
  { feeding = "house", conductor = "N", resistance = 2.5 },
  { feeding = "main", conductor = "L2" },
]
path = [{ from = "house", to = "earth", resistance = 8.0 }, { from = "house", to = "hut", resistance = 1 }]

[supply]
system = "three-phase"
nominal = 240
frequency = 60.0
rotation = "L1-L3-L2"
voltage = 236.0
line_impedance = [0.01, 0.02]
neutral_impedance = [0.03, 0.04]
earthing = "TN-C-S"
electrode = 1.5
limits = "IEC 60038"
old_colours = "UK"

[[point]]
name = "main"
kind = "joint"
cable = { line = [0.05, 0.01], neutral = [0.06, 0.02], pe = [0.07, 0.03] }
electrode = 30
[[point]]
name = "house"
fed_from = "main"
cable.length = 25.0
cable.area = 16.0
cable.material = "aluminium"
cable.neutral_area = 10.0
cable.pe_area = 25.0
cable.temperature = 60.0
electrode = 20.0
[[point]]
name = "hut"
kind = "board"
fed_from = "house"
phases = ["L3", "L1"]

[[cross]]
point = "hut"
conductors = ["L1", "N"]

[[load]]
name = "r"
kind = "resistive"
connect = "L1-N"
point = "house"
voltage = 220.0
count = 3
on = false
power = 100
[[load]]
name = "z"
kind = "impedance"
connect = "L3-L1"
point = "hut"
resistance = 10.0
reactance = -5.0
[[load]]
name = "e"
kind = "exponential"
connect = "L1-L2-L3"
point = "house"
power = 100.0
reactive_power = -50.0
power_exponent = 1.5
reactive_exponent = 3.0
valid_from = 0.8
valid_to = 1.2
[[load]]
name = "l"
kind = "lamp"
connect = "L1-PE"
point = "hut"
power = 60.0
technology = "halogen"
colour_temperature = 3000
[[load]]
name = "h"
kind = "heater"
connect = "N-PE"
point = "house"
power = 2000.0
alloy = "FeCrAl 25-5"
element_temperature = 800
cooling = "radiant"

[course]
end = 90.0
[[event]]
time = 30.0
load = "r"
on = true
[[event]]
time = 1
break = "house"
conductor = "L1"
resistance = "open"
[[event]]
time = 2.0
break = "house"
resistance = 0

[[unknown]]
load = "r"
on = 0.3
power = { low = 800.0, high = 2400.0 }
[[unknown]]
load = "l"
power = { mean = 60, deviation = 5 }
[[unknown]]
break = "house"
conductor = "L1"
resistance = { low = 0.1, high = 1.0e4, scale = "log" }

[[observation]]
point = "house"
between = "N-earth"
voltage = 304
uncertainty = 5.0
impedance = 1e6
time = 60
state = "after"
observer = "an electrician"
instrument = "two-pole tester"
kept = "file 7"
[[observation]]
load = "l"
seen = "brighter"
within = 60.0
"""


def test_every_key_arrives():
    case = parse_case(EVERY_KEY)
    assert case.title == 'Every "key" 💡 & <tag> שלום'
    assert (case.description, case.date) == ("free", "2024-05-31")
    assert case.sha256 == hashlib.sha256(EVERY_KEY.encode()).hexdigest() and case.source == EVERY_KEY
    supply = case.supply
    assert (supply.nominal, supply.frequency, supply.limits, supply.old_colours) == (240.0, 60.0, "IEC 60038", "UK")
    assert (supply.earthing, supply.electrode) == ("TN-C-S", 1.5)
    assert (supply.line_impedance, supply.neutral_impedance) == (0.01 + 0.02j, 0.03 + 0.04j)
    assert cmath.isclose(supply.phasors["L2"], cmath.rect(236, radians(120)))
    main, house, hut = case.points
    assert (main.kind, main.fed_from, main.electrode) == ("joint", "supply", 30.0)
    assert (main.cable.line, main.cable.neutral, main.cable.pe) == (0.05 + 0.01j, 0.06 + 0.02j, 0.07 + 0.03j)
    assert (house.kind, house.phases) == ("intake", ("L1", "L2", "L3"))
    # Independent: the table's 1.91, 3.08 and 1.20 ohm/km and 0.08 ohm/km at 50 Hz, by hand.
    factor = (228 + 60) / 248 * 0.025
    for got, per_km in zip((house.cable.line, house.cable.neutral, house.cable.pe), (1.91, 3.08, 1.20), strict=True):
        assert cmath.isclose(got, complex(per_km * factor, 0.08 * 0.025 * 1.2))
    assert house.cable.given["neutral_area"] == 10.0
    assert (hut.kind, hut.phases, hut.cable.line) == ("board", ("L1", "L3"), 0)
    assert case.paths == (Path("house", "earth", 8.0), Path("house", "hut", 1.0))
    assert case.breaks == (Break("house", "N", 2.5), Break("main", "L2", inf))
    assert case.crosses == (Cross("hut", ("L1", "N")),)
    r, z, e, lamp, heater = case.loads
    assert (r.connect, r.point, r.voltage, r.count, r.on, r.parameters) == (
        ("L1", "N"), "house", 220.0, 3, False, {"power": 100.0})
    assert (z.connect, z.voltage, z.parameters) == (("L3", "L1"), pytest.approx(240 * 3**0.5),
                                                    {"resistance": 10.0, "reactance": -5.0})
    assert e.connect == ("L1", "L2", "L3") and e.voltage == z.voltage
    assert e.parameters == {"power": 100.0, "reactive_power": -50.0, "power_exponent": 1.5, "reactive_exponent": 3.0,
                            "valid_from": 0.8, "valid_to": 1.2}
    assert lamp.parameters == {"power": 60.0, "technology": "halogen", "colour_temperature": 3000.0}
    assert heater.parameters == {"power": 2000.0, "alloy": "FeCrAl 25-5", "element_temperature": 800.0,
                                 "cooling": "radiant"}
    assert (lamp.voltage, heater.voltage) == (240.0, 240.0)
    assert case.course_end == 90.0
    assert case.events == (Event(30.0, load="r", on=True), Event(1.0, Break("house", "L1", inf)),
                           Event(2.0, Break("house", "N", 0.0)))
    assert case.unknowns == (
        Unknown(load="r", on=0.3, power=Spread(800.0, 2400.0)), Unknown(load="l", power=Spread(mean=60.0, deviation=5.0)),
        Unknown(feeding="house", conductor="L1", resistance=Spread(0.1, 1e4, scale="log")))
    details = {"time": 60.0, "state": "after", "impedance": 1e6, "observer": "an electrician",
               "instrument": "two-pole tester", "kept": "file 7"}
    assert case.observations == (Observation("house", ("N", "earth"), 304.0, 5.0, details=details),
                                 Observation(load="l", seen="brighter", within=60.0))
    assert hash(case.points[1].name) and case.breaks_after() == (Break("main", "L2", inf), Break("house", "L1", inf))


def test_a_minimal_case_gets_its_defaults_and_says_so():
    case = parse_case(HEAD + LAMP + LAMP.replace('"lamp"\nkind', '"other"\nkind'))
    assert case.breaks == (Break("intake", "N", inf),)
    assert [(p.name, p.kind, p.fed_from, p.phases) for p in case.points] == [
        ("intake", "intake", "supply", ("L1", "L2", "L3"))]
    assert case.supply.earthing is None and case.supply.limits == "EN 50160"
    assert case.loads[0].voltage == 230.0 and case.loads[0].point == "intake"
    said = {(a.subject, a.what): a.value for a in case.assumptions}
    assert said["supply", "nominal voltage"] == "230 V line to neutral"
    assert said["supply", "earthing system"] == "not known"
    assert said["case", "date"] == "not dated"
    assert said["load 'lamp', load 'other'", "rated voltage"] == "230 V"
    assert ("break", "what is broken") in said and all(a.why for a in case.assumptions)


def test_split_phase_defaults():
    supply = parse_case(HEAD + 'system = "split-phase"\n' + LAMP).supply
    assert dict(supply.phasors) == {"L1": 120, "L2": -120}
    assert (supply.nominal, supply.frequency, supply.limits) == (120.0, 60.0, "ANSI C84.1 Range A service")


@pytest.mark.parametrize(("keys", "nominal", "l1"), [
    ("", 230, 230), ("voltage = 240", 230, 240), ("nominal = 240", 240, 240), ("nominal = 120\nvoltage = 118", 120, 118),
    ("phasors = { L1 = [200, 0], L2 = [230, -120], L3 = [230, 120] }", 230, 200),
    ("voltage = 220\nphasors = { L1 = [200, 0], L2 = [230, -120], L3 = [230, 120] }", 220, 200)])
def test_nominal_and_actual_voltage(keys, nominal, l1):
    supply = parse_case(f"{HEAD}{keys}\n{LAMP}").supply
    assert supply.nominal == nominal and isclose(abs(supply.phasors["L1"]), l1)


@pytest.mark.parametrize(("rotation", "sign"), [("L1-L2-L3", -1), ("L1-L3-L2", 1)])
def test_rotation_and_balance(rotation, sign):
    """Invariant: three equal phasors 120° apart, L2 behind L1 in the usual order."""
    phasors = parse_case(f'{HEAD}rotation = "{rotation}"\n{LAMP}').supply.phasors
    assert isclose(cmath.phase(phasors["L2"]), sign * radians(120))
    assert abs(sum(phasors.values())) < 1e-12


def test_breaks_that_are_none():
    assert parse_case("break = []\n" + HEAD + LAMP).breaks == ()
    assert parse_case(HEAD + LAMP + '[[event]]\ntime = 1\nbreak = "intake"\n').breaks == ()
    assert parse_case(HEAD + LAMP + '[[event]]\ntime = 1\nload = "lamp"\non = false\n').breaks == (Break("intake", "N"),)


def test_phases_go_down_the_tree_whatever_the_order_of_the_points():
    text = ('[[point]]\nname = "c"\nfed_from = "b"\n[[point]]\nname = "b"\nfed_from = "a"\nphases = ["L2"]\n'
            '[[point]]\nname = "a"\nkind = "joint"\n')
    points = {p.name: p for p in parse_case(HEAD + text + LAMP.replace("L1", "L2") + 'point = "c"\n').points}
    assert {name: (p.kind, p.phases) for name, p in points.items()} == {
        "a": ("joint", ("L1", "L2", "L3")), "b": ("intake", ("L2",)), "c": ("board", ("L2",))}


@pytest.mark.parametrize(("text", "words"), [
    (HEAD + LAMP + "on = false\n", "every load is switched off"),
    (HEAD + "electrode = 1\n" + LAMP, "supply.electrode is not used"),
    (HEAD + '[[point]]\nname = "a"\nelectrode = 5\n' + LAMP, 'the electrode of point "a" is not used'),
    (HEAD + LAMP + '[[path]]\nfrom = "intake"\nto = "earth"\nresistance = 1\n', "entries are not used"),
    (HEAD + 'earthing = "TT"\n[[point]]\nname = "a"\n' + LAMP, "has no electrode"),
    (HEAD + "voltage = 110\n" + LAMP, "far from its nominal 230 V"),
    (HEAD + LAMP + '[[observation]]\nbetween = "N-earth"\nvoltage = 90\n', "cannot be used"),
    (HEAD + 'rotation = "L1-L3-L2"\nphasors = { L1 = [230, 0], L2 = [230, -120], L3 = [230, 120] }\n' + LAMP, "not used"),
    (HEAD + 'system = "split-phase"\nrotation = "L1-L3-L2"\n' + LAMP, "not used"),
    (HEAD + '[[point]]\nname = "a"\ncable = { line = [1, 0], pe = [1, 0] }\n' + LAMP, "not used")])
def test_what_is_accepted_but_said(text, words):
    (warning,) = parse_case(text).warnings
    assert words in warning


def test_the_starter_reads_without_a_warning_and_shows_what_one_begins_with():
    case = parse_case(starter())
    assert case.warnings == () and starter().startswith("#:schema ./lostneutral.schema.json\n")
    assert {load.kind for load in case.loads} == {"resistive", "exponential", "lamp", "heater"} < set(KINDS)


def test_the_schema_describes_every_key_and_covers_the_starter():
    schema = case_schema()
    json.dumps(schema, allow_nan=False)
    assert schema["$schema"].endswith("2020-12/schema")
    import tomllib
    accepts(tomllib.loads(starter()), schema, schema)
    accepts(tomllib.loads(EVERY_KEY), schema, schema)
    with pytest.raises(AssertionError):
        accepts({"title": "t", "supply": {"volts": 3}, "load": []}, schema, schema)
    for table in [schema, *schema["$defs"].values()]:
        # Loads of a group are checked as [[load]] entries, kind by kind.
        assert table["additionalProperties"] is (table["title"] == "GroupLoad") and table["title"] and table["description"]
        for key, entry in table["properties"].items():
            assert entry.get("description"), (table["title"], key)


def accepts(value, part, schema):
    """Assert that `value` fits `part` of the JSON schema, as far as types, keys and choices go."""
    part = schema["$defs"][part["$ref"].rsplit("/", 1)[1]] if "$ref" in part else part
    if "discriminator" in part:
        reference = part["discriminator"]["mapping"][value["kind"]]
        assert {"$ref": reference} in part["oneOf"]
        return accepts(value, {"$ref": reference}, schema)
    assert value in part.get("enum", [value]) and value == part.get("const", value)
    kind = part.get("type")
    if kind == "object":
        assert set(part.get("required", ())) <= set(value) <= set(part["properties"])
        for key, inner in value.items():
            accepts(inner, part["properties"][key], schema)
    elif kind == "array":
        for index, inner in enumerate(value):
            accepts(inner, part["prefixItems"][index] if "prefixItems" in part else part["items"], schema)
    elif kind == "number":
        assert isinstance(value, (int, float)) and part.get("minimum", value) <= value <= part.get("maximum", value)
    return None


def _calls(read):
    """Return how many calls of functions `read` makes."""
    count = 0

    def seen(frame, event, what):
        nonlocal count
        count += event in ("call", "c_call")

    sys.setprofile(seen)
    try:
        read()
    finally:
        sys.setprofile(None)
    return count


def test_reading_a_street_costs_in_proportion():
    # invariant: ten times the points take about ten times the work, counted in calls; a time would depend on the machine
    def street(count):
        parts = [HEAD, '[[point]]\nname = "p0"\nkind = "joint"\n']
        for number in range(1, count):
            parts.append(f'[[point]]\nname = "p{number}"\nkind = "joint"\nfed_from = "p{number - 1}"\n'
                         "cable = { length = 20, area = 95 }\n")
            parts.append(LAMP.replace('"lamp"\nkind', f'"l{number}"\nkind') + f'point = "p{number}"\n')
        return "".join(parts)

    parse_case(street(10))
    few, many = (_calls(partial(parse_case, street(count))) for count in (50, 500))
    assert few > 50 and many < 11 * few


@pytest.mark.thorough
def test_faults_cost_in_proportion():
    def faults(count):
        text = HEAD + "".join(f'[[point]]\nname = "p{n}"\nfed_from = "p{n}x"\n' for n in range(count)) + LAMP
        with pytest.raises(Exception, match="there is no point") as caught:
            parse_case(text)
        assert len(caught.value.faults) == count + 1

    faults(10)
    few, many = (_calls(partial(faults, count)) for count in (100, 1000))
    assert few > 100 and many < 11 * few


def test_pydantic_waits_until_a_case_is_read():
    code = "import sys, lostneutral.case; print([m for m in ('pydantic', 'tree_sitter', 'numpy') if m in sys.modules])"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "[]\n"
    code = ("import sys; from lostneutral.case import parse_case, starter; parse_case(starter());"
            "print([m for m in ('tree_sitter',) if m in sys.modules])")
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "[]\n"
