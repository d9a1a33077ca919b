"""Values of a case at their edges: what is just still usual, what is written down as assumed, which files are taken. Kinds beside each."""

import hashlib
import io
from math import inf, sqrt
from pathlib import Path
from types import SimpleNamespace

import pytest
from faulty_cases import HEAD, LAMP

from lostneutral import data
from lostneutral.case import parse_case, pictures, read_case, recordings
from lostneutral.case.cables import resistance
from lostneutral.case.checks_seen import uncertainty
from lostneutral.case.keys import unit_of
from lostneutral.case.model import OWN_STAR, Break, Changeover, Event
from lostneutral.case.seen import Unknown
from lostneutral.case.seen_schema import RecordEntry
from lostneutral.case.slips import value_slip


def load(connect="L1-N", **keys):
    keys = {"name": "thing", "kind": "resistive", "connect": connect, "power": 100} | keys
    return "[[load]]\n" + "".join(f'{k} = "{v}"\n' if isinstance(v, str) else f"{k} = {v}\n" for k, v in keys.items())


def supply(keys, **of_load):
    return HEAD + keys + "\n" + load(**of_load)


def cable(keys):
    return HEAD + '[[point]]\nname = "a"\ncable = { ' + keys + " }\n" + load()


def electrode(ohms):
    return HEAD + 'earthing = "TT"\n[[point]]\nname = "a"\nelectrode = ' + f"{ohms}\n" + load()


LAMP_OF, KETTLE, THREE = {"kind": "lamp"}, {"kind": "appliance", "model": "kettle"}, "L1-L2-L3"
# practice, edges by arithmetic from what the data file `plausible` calls usual: text, warned of?
EDGES = [
    (supply("nominal = 290.8"), None), (supply("nominal = 291"), "Is it line to neutral, in V?"),  # 277 V and 5 %
    (supply("nominal = 59"), None), (supply("nominal = 61"), "line to neutral, in V?"), (supply("nominal = 0.9", voltage=0.9), "line to neutral, in V?"),
    (supply("nominal = 1", voltage=1), None),
    (supply("frequency = 45"), None), (supply("frequency = 44.9"), "50 or 60 Hz"), (supply("frequency = 65.9"), None), (supply("frequency = 66.1"), "in Hz?"),
    (supply("line_impedance = [1.2, 1.6]"), None), (supply("line_impedance = [1.2, 1.62]"), "2.02 ohm"), (supply("neutral_impedance = [2.01, 0]"), "2.01 ohm"),
    (supply("voltage = 276"), None), (supply("voltage = 277"), "far from its nominal 230 V"), (supply("voltage = 183"), "far from"),
    (supply("voltage = 438"), "write voltage = 252.9"), (supply("voltage = 440"), "supply.nominal sets it"),  # 252.9 V is 9.9 %, 254.0 V 10.4 % off
    (supply('system = "split-phase"\nvoltage = 240'), "write voltage = 120"),
    (HEAD + load(power=1), None), (HEAD + load(power=0.99), "1 to 50000 W"), (HEAD + load(power=50_000), None), (HEAD + load(power=50_100), "a thousand times too much? Then 50.1"),
    (HEAD + load(power=1e7), "a thousand times too much? Then 10000"),
    (HEAD + load(**LAMP_OF, power=4e6), "a thousand times too much? Then 4000"), (HEAD + load(**LAMP_OF, power=4.1e6), "in W?"),  # twice 2000 W
    (HEAD + load(**LAMP_OF, power=0.0016), "in kW? Then 1.6"), (HEAD + load(**LAMP_OF, power=0.0014), "in W?"),  # half of 3 W
    (HEAD + load(**KETTLE, power=300), None), (HEAD + load(**KETTLE, power=299), "in W?"),  # 1500 to 3000 W, five times beyond
    (HEAD + load(**KETTLE, power=15_000), None), (HEAD + load(**KETTLE, power=15_001), "in W?"),
    (HEAD + load(voltage=184), None), (HEAD + load(voltage=183.9), "its rated voltage?"),  # 0.8 and 1.25 times 230 V
    (HEAD + load(voltage=287.5), None), (HEAD + load(voltage=287.6), "its rated voltage?"),
    (HEAD + load(voltage=422), "typed for that of line to neutral"), (HEAD + load(voltage=423), "its rated voltage?"),  # 6 % above 398.4 V
    (HEAD + load(THREE, kind="motor", power=3000, voltage=243.5), "a winding in star"), (HEAD + load(THREE, kind="motor", power=3000, voltage=244.2), "its rated"),
    (HEAD + load(THREE + "-N", kind="motor", power=3000, voltage=400), None), (HEAD + load(THREE + "-N", power=3000, voltage=230), "a winding in star"),
    (HEAD + load(voltage=0.2437), "in kV? Then 243.7"), (HEAD + load(voltage=0.2439), "its rated voltage?"),
    (cable("length = 200, area = 6"), None), (cable("length = 201, area = 6"), "up to 200 m"), (cable("length = 201, area = 10"), None),
    (cable("length = 2001, area = 300"), "up to 2000 m"), (cable("line = [20, 0]"), None), (cable("line = [20.1, 0]"), "in milliohm? Then [0.0201, 0]"),
    (supply("transformer = { rated_power = 500 }"), None), (supply("transformer = { rated_power = 499 }"), "in kVA? Then 499000"),
    (supply("transformer = { rated_power = 1.01e7 }"), "in VA?"),
    (electrode(0.1), None), (electrode(0.099), "in kilohm? Then 99"), (electrode(5000), None), (electrode(5001), "in ohm?"), (electrode(0), "in ohm?"),
    (HEAD + load() + '[[generator]]\nname = "g"\nrated_power = 499\n[[changeover]]\n', "in kVA? Then 499000"),
    (HEAD + load() + '[[generator]]\nname = "g"\nrated_power = 500\nearthing = "bonded"\n[[changeover]]\n', "the earthing of generator"),
    (HEAD + "voltage = 231\nnominal = 230\nphasors = { L1 = [230, 0], L2 = [230, -120], L3 = [230, 120] }\n" + load(), "supply.voltage is not used"),
    (HEAD + load(THREE, kind="motor", power=3000, stalls_below=0.5, power_factor=0.8), "power_factor and stalls_below of a motor on L1-L2-L3"),
]


@pytest.mark.parametrize(("text", "words"), EDGES)
def test_what_is_just_usual_and_what_is_not(text, words):
    warnings = parse_case(text).warnings
    assert (len(warnings) == 1 and words in warnings[0]) if words else warnings == ()


READ = '[[observation]]\nbetween = "L1-N"\nvoltage = {}\nuncertainty = {}\n'


def test_two_readings_may_differ_by_six_deviations():  # arithmetic: 6 × √(4² + 3²) = 30 V; by the data file `where` where nothing is given
    assert len(parse_case(HEAD + LAMP + READ.format(230, 4) + READ.format(259.9, 3)).observations) == 2
    usual = data.load("where")["uncertainty"]
    assert uncertainty(SimpleNamespace(uncertainty=None, voltage=200.0, bound=None)) == pytest.approx(sqrt((200 * usual["share"]) ** 2 + usual["volts"] ** 2))
    assert uncertainty(SimpleNamespace(uncertainty=7.0, voltage=200.0, bound="about")) == 7.0


# What is left out is written down, and nothing else. Kind: invariant

WHOLE = """title = "t"
date = 2024-05-31
[supply]
nominal = 230
voltage = 231
frequency = 50
limits = "EN 50160"
rotation = "L1-L2-L3"
line_impedance = [0.1, 0.1]
earthing = "TN-S"
electrode = 1
[[point]]
name = "a"
electrode = 10
cable = { line = [0.1, 0.1], neutral = [0.2, 0.1], pe = [0.3, 0.1] }
[[load]]
name = "x"
kind = "resistive"
connect = "L1-N"
power = 100
voltage = 230
[[break]]
feeding = "a"
conductor = "N"
resistance = "open"
"""
BY_LENGTH = "cable = { length = 20, area = 10, material = \"copper\", temperature = 20, neutral_area = 6, pe_area = 4 }\n"
CABLE = "cable = { line = [0.1, 0.1], neutral = [0.2, 0.1], pe = [0.3, 0.1] }\n"
OF_LENGTH = [("cable to 'a'", "resistance by length", "maximum permitted, class 2"), ("cable to 'a'", "reactance by length", "0.08 ohm/km at 50 Hz")]
LEFT_OUT = [
    ([("date = 2024-05-31\n", "")], [("case", "date", "not dated")]),
    ([("nominal = 230\n", "")], [("supply", "nominal voltage", "230 V line to neutral")]),
    ([("voltage = 231\n", "")], [("supply", "actual voltage", "230 V line to neutral")]),
    ([("frequency = 50\n", "")], [("supply", "frequency", "50 Hz")]),
    ([('limits = "EN 50160"\n', "")], [("supply", "voltage limits", "EN 50160")]),
    ([('rotation = "L1-L2-L3"\n', "")], [("supply", "phase sequence", "L1-L2-L3")]),
    ([("line_impedance = [0.1, 0.1]\n", "")], [("supply", "source impedance", "0 ohm")]),
    ([("line_impedance", "neutral_impedance")], []),
    ([('earthing = "TN-S"\n', ""), ("electrode = 1\n", "")], [("supply", "earthing system", "not known")]),
    ([('earthing = "TN-S"\n', ""), ("electrode = 1\n", ""), (CABLE, BY_LENGTH.replace("neutral_area = 6, pe_area = 4", "").replace("20,  }", "20 }"))],
     [("supply", "earthing system", "not known"), ("cable to 'a'", "area of the neutral", "equal to that of the lines"), *OF_LENGTH]),
    ([("electrode = 1\n", "")], [("supply", "earth electrode of the source", "0 ohm")]),
    ([("electrode = 10\n", "")], [("point 'a'", "local earth electrode", "none")]),
    ([(CABLE, "")], [("cable to 'a'", "impedance", "0 ohm")]),
    ([("line = [0.1, 0.1], ", "")], [("cable to 'a'", "impedance of the lines", "0 ohm")]),
    ([("neutral = [0.2, 0.1], ", "")], [("cable to 'a'", "impedance of the neutral", "equal to that of the lines")]),
    ([(", pe = [0.3, 0.1]", "")], [("cable to 'a'", "impedance of the protective conductor", "equal to that of the neutral")]),
    ([(CABLE, BY_LENGTH)], OF_LENGTH),
    ([(CABLE, BY_LENGTH.replace('material = "copper", ', ""))], [("cable to 'a'", "conductor material", "copper"), *OF_LENGTH]),
    ([(CABLE, BY_LENGTH.replace("temperature = 20, ", ""))], [("cable to 'a'", "conductor temperature", "20 °C"), *OF_LENGTH]),
    ([(CABLE, BY_LENGTH.replace("temperature = 20", "temperature = 60"))], [*OF_LENGTH, ("cable to 'a'", "resistance over temperature", "exact formula")]),
    ([(CABLE, BY_LENGTH.replace("neutral_area = 6, ", ""))], [("cable to 'a'", "area of the neutral", "equal to that of the lines"), *OF_LENGTH]),
    ([(CABLE, BY_LENGTH.replace(", pe_area = 4", ""))], [("cable to 'a'", "area of the protective conductor", "equal to that of the lines"), *OF_LENGTH]),
    ([("voltage = 230\n[[b", "[[b")], [("load 'x'", "rated voltage", "230 V")]),
    ([("voltage = 230\n[[b", "[[b"), ('"L1-N"', '"L1-L2"')], [("load 'x'", "rated voltage", "398.4 V")]),
    ([("voltage = 230\n[[b", "voltage = 400\n[[b"), ('"L1-N"', '"L1-L2-L3-N"')], [("load 'x'", "rated voltage of a branch", "230.9 V")]),
    ([('[[break]]\nfeeding = "a"\nconductor = "N"\nresistance = "open"\n', "")], [("break", "what is broken", "neutral, open, in the cable to 'a'")]),
    ([('feeding = "a"\n', "")], [("break", "cable", "the cable to 'a'")]), ([('conductor = "N"\n', "")], [("break in the cable to 'a'", "conductor", "N")]),
    ([('resistance = "open"\n', "")], [("break in the cable to 'a'", "resistance", "open")]),
    ([('[[break]]\nfeeding = "a"\n', '[[event]]\ntime = 1\nbreak = "a"\n'), ('conductor = "N"\n', "")], [("event at 1 s in the cable to 'a'", "conductor", "N")]),
    ([('[[break]]', '[[observation]]\nbetween = "L1-N"\nvoltage = 230\n[[break]]')], [("observation of L1-N", "state", "after the break")]),
]


@pytest.mark.parametrize(("changes", "assumed"), LEFT_OUT)
def test_what_is_left_out_is_written_down_and_nothing_else(changes, assumed):
    text = WHOLE
    assert parse_case(text).assumptions == ()
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    assert [(a.subject, a.what, a.value) for a in parse_case(text).assumptions] == assumed


def test_many_subjects_of_one_assumption_are_counted():
    made = parse_case(HEAD + "".join(load(name=f"x{n}") for n in range(8)))
    assert next(a.subject for a in made.assumptions if a.what == "rated voltage") == (
        "load 'x0', load 'x1', load 'x2', load 'x3', load 'x4', load 'x5' … (8 in all)")


def test_a_star_has_branches_of_its_own_voltage_and_a_motor_has_not():
    connect = [x.connect for x in parse_case(HEAD + load(THREE, star=True)[:-1].replace("True", "true") + "\n").loads]
    assert connect == [("L1", "L2", "L3", OWN_STAR)]
    star, motor = parse_case(HEAD + load("L1-L2-L3-N", voltage=400) + load("L1-L2-L3-N", name="m", kind="motor", voltage=400)).loads
    assert star.voltage == pytest.approx(400 / sqrt(3)) and motor.voltage == 400.0 and star.branches == motor.branches == 3


# Sources. Kind: arithmetic from the percentages of the data file `supplies`

def test_a_generator_has_its_impedance_by_its_power():
    rows, base = data.load("supplies")["generator"], 3 * 230**2 / 5000
    percent = lambda key: rows[key]["value"] / 100 * base
    text = HEAD + LAMP + '[[generator]]\nname = "g"\nrated_power = 5000\nvoltage = 115\n{}[[changeover]]\n'
    (made,) = parse_case(text.format("")).generators
    assert made.line_impedance == pytest.approx(complex(percent("resistance"), percent("reactance")))
    assert made.zero_impedance == pytest.approx(complex(percent("resistance"), percent("zero_sequence")))
    assert [abs(v) for v in made.phasors.values()] == pytest.approx([115.0] * 3)  # half the nominal voltage
    assert ("changeover at intake", "poles", "4: neutral switched") in [(a.subject, a.what, a.value) for a in parse_case(text.format("")).assumptions]
    (given,) = parse_case(text.format("line_impedance = [1, 2]\n")).generators
    assert given.line_impedance == 1 + 2j and given.zero_impedance == pytest.approx(made.zero_impedance)
    (alone,) = parse_case(text.format("line_impedance = [1, 2]\n").replace("rated_power = 5000\n", "")).generators
    assert alone.line_impedance == alone.zero_impedance == 1 + 2j and not alone.bonded


def test_a_transformer_has_its_impedances_by_its_percentages():
    keys = "rated_power = 1e5, short_circuit_voltage = 5, load_loss = 3, no_load_current = 2, zero_sequence = 0.9, zero_magnetising = 60"
    make = lambda group, more="": parse_case(supply(f'transformer = {{ group = "{group}", {keys}{more} }}')).supply.transformer
    made = make("Yyn0")
    assert made.impedance == pytest.approx(0.03 + 0.04j)  # 3, 4, 5
    assert made.magnetising == pytest.approx(50 * complex(0.5, sqrt(0.75))) and made.zero_magnetising == pytest.approx(0.6j)  # of 2 %, at 60°
    assert make("Dyn11").zero_magnetising == make("Yyn0", ', limbs = "bank"').zero_magnetising == pytest.approx(made.magnetising)
    loss = parse_case(supply(f"transformer = {{ {keys.replace('load_loss = 3', 'load_loss = 6')} }}")).supply.transformer
    assert loss.impedance == pytest.approx(0.05)  # a loss is at most the whole


# Parts of a case. Kind: by hand

def test_chances_of_one_of_several():
    assert Unknown(one_of=("a", "b")).chances == (0.5, 0.5)
    assert Unknown(one_of=("a", "b"), weights=(1.0, 3.0), none=0.2).chances == pytest.approx((0.2, 0.6))


@pytest.mark.parametrize(("points", "at", "where"), [("", "", ""), ('[[point]]\nname = "a"\n[[point]]\nname = "b"\n', 'point = "b"\n', 'point = "b"\n')])
def test_a_typical_evening_is_that_of_the_appliances_at_its_point(points, at, where):  # by the table of the data file `evidence`
    kettle = '[[load]]\nname = "{}"\nkind = "appliance"\nmodel = "kettle"\nconnect = "L1-N"\n{}'
    away = kettle.format("away", 'point = "a"\n') if points else ""
    case = parse_case(HEAD + points + kettle.format("k", at) + kettle.format("said", "on = true\n" + at) + kettle.format("known", at) + away
                      + f'[[unknown]]\nhousehold = "evening"\n{where}[[unknown]]\nload = "known"\non = 0.5\n')
    share = data.load("evidence")["evening"]["on"]["kettle"]
    assert case.unknowns == (Unknown(load="known", on=0.5), Unknown(load="k", on=share))
    assert [a.subject for a in case.assumptions if a.what == "probability that it was on"] == ["load 'k'"]


def test_shares_of_a_group_are_spread_evenly_and_each_load_otherwise():
    # arithmetic: multiples of 0.618 less their whole parts are .618 .236 .854 .472; with 0.414 more .032 .650 .268 .886: the two least are on
    row = '[[group.load]]\nname = "{}"\nkind = "resistive"\npower = 100\nshare = 0.5\n'
    case = parse_case(HEAD + '[[group]]\nname = "c"\ncount = 4\n' + row.format("x") + row.format("y"))
    assert [x.name for x in case.loads if x.on] == ["y, c 1", "x, c 2", "y, c 3", "x, c 4"]


def test_a_fuse_that_was_lost_is_replaced():
    case = parse_case(supply("transformer = { rated_power = 1e5 }") + '[[break]]\nfuse = "L1"\n[[event]]\ntime = 1\nfuse = "L1"\nresistance = 0\n')
    assert case.breaks == (Break("supply", "L1", inf, "fuse"),) and case.events == (Event(1.0, Break("supply", "L1", 0.0, "fuse")),) and not case.breaks_after()


def test_breaks_that_hold_now_after_and_ever():
    case = parse_case(HEAD + LAMP + '[[break]]\nresistance = 3\n[[break]]\nconductor = "L1"\nresistance = 0\n'
                      '[[event]]\ntime = 5\nbreak = "intake"\nresistance = 0\n[[event]]\ntime = 2\nbreak = "intake"\nconductor = "L2"\n'
                      '[[event]]\ntime = 7\nload = "lamp"\non = false\n[[event]]\ntime = 3\nload = "lamp"\non = true\n')
    assert case.breaks_now() == (Break("intake", "N", 3.0),) and case.breaks_after() == (Break("intake", "L2", inf),)
    assert case.breaks_ever() == (Break("intake", "N", 3.0), Break("intake", "N", 0.0), Break("intake", "L2", inf))
    assert case.at_the_end().loads[0].on is False and case.sound().breaks == ()
    moving = [Event(1.0, changeover="c", position="off"), Event(2.0, changeover="c", position="generator", open=("N",))]
    switch = Changeover("c", "intake", "g", ("L1", "N"), "supply", ())
    moved = case.__class__(**{**vars(case), "changeovers": (switch,), "events": tuple(reversed(moving)), "breaks": ()})
    assert moved.breaks_now() == () and moved.at_the_end().changeovers[0].position == "generator"
    assert moved.breaks_after() == moved.breaks_ever() == (Break("intake", "N", inf, "contact"),)


@pytest.mark.parametrize(("value", "wanted", "meant"), [
    ("31.5.2024", "date", "2024-05-31"), ("5/31/2024", "date", "2024-05-31"), ("13/5/2024", "date", "2024-05-13"), ("5/6/2024", "date", "None"),
    ("12/12/2024", "date", "None"), ("31.2.2024", "date", "None"), ("230V", "number", "230"), ("2.25 kW", "number", "2250"), ("1,5", "number", "1.5"),
    ("5 apples", "number", "None"), (5, "number", "None"), ("False", "truth", "False"), ("maybe", "truth", "None")])
def test_what_was_probably_meant(value, wanted, meant):  # practice
    assert str(value_slip(value, wanted)) == meant


def test_what_there_is_not():
    with pytest.raises(KeyError):
        unit_of("colour of the cat")
    for size, more in ((14, {}), (16, {"conductor_class": 3}), (6, {"material": "aluminium"})):
        with pytest.raises(ValueError, match="IEC 60228"):
            resistance(1.0, size, **more)
    # arithmetic: 16 mm² copper, 1.15 ohm/km; by the approximate formula 0.4 % a kelvin
    assert resistance(1000.0, 16.0, temperature=70.0, formula="approximate") == pytest.approx(1.15 * 1.2)


# Recordings that a case names. Kind: by hand

ENTRY = {"file": "m.csv", "between": "L1-N", "averaging": 60.0}
ROWS = "time,voltage\n0,230\n60,231.5\n120,0\n180,10000\n"


def read(folder, content=ROWS, **keys):
    (folder / "m.csv").write_bytes(content if isinstance(content, bytes) else content.encode())
    return recordings._read(RecordEntry.model_validate(ENTRY | keys), folder)


def test_a_recording_as_it_is_written(tmp_path):
    made = read(tmp_path, point="house", clock_error=30.0, clock_deviation=5.0, fitted="after")
    assert (made.times, made.volts) == ((-30.0, 30.0, 90.0, 150.0), (230.0, 231.5, 0.0, 10000.0))
    assert (made.point, made.between, made.averaging, made.clock_error, made.clock_deviation, made.fitted_after, made.zero) == (
        "house", ("L1", "N"), 60.0, 30.0, 5.0, True, None)
    assert made.sha256 == hashlib.sha256(ROWS.encode()).hexdigest() and read(tmp_path).point == "" and not read(tmp_path).fitted_after


@pytest.mark.parametrize("text", [ROWS.replace(",", ";").replace("231.5", "231,5"), ROWS.replace(",", "\t").replace("231.5", "231,5"),
                                  "\ufeff" + ROWS.replace(",", ", "), ROWS.replace("60,231.5", "30,\n60,231.5")])
def test_separators_commas_and_gaps(tmp_path, text):
    assert read(tmp_path, text).volts == (230.0, 231.5, 0.0, 10000.0)


def test_times_by_the_clock(tmp_path):
    assert read(tmp_path, ROWS.replace(",", ";").replace("60;", "60,5;")).times == (0.0, 60.5, 120.0, 180.0)
    rows = "time,voltage\n" + "".join(f"2025-11-08T14:{n:02d}:00{{zone}},230\n" for n in (0, 1, 2, 3))
    assert read(tmp_path, rows.format(zone="+01:00"), zero="2025-11-08T13:59:00+01:00").times == (60.0, 120.0, 180.0, 240.0)
    assert read(tmp_path, rows.format(zone=""), zero="2025-11-08T12:59:00Z", zone="+01:00").times == (60.0, 120.0, 180.0, 240.0)
    made = read(tmp_path, rows.format(zone=""), zero="2025-11-08T13:59:00")
    assert made.times[0] == 60.0 and made.zero == "2025-11-08 13:59+00:00"
    assert read(tmp_path, rows.format(zone=""), zero="2025-11-08T13:59", zone="-02:00").zero.endswith("-02:00")


@pytest.mark.parametrize(("text", "keys", "key", "words"), [
    (ROWS, {"voltage_column": "U"}, "voltage_column", 'has no column "U"'), ("", {}, "time_column", "has no column"),
    (ROWS.replace("180,10000\n", ""), {}, "file", "has 3 voltages"), (ROWS.replace("120,", "60,"), {}, "file", "row 4 of"),
    (ROWS.replace("231.5", "-1"), {}, "voltage_column", 'row 3 of "m.csv": "-1" is no voltage'), (ROWS.replace("231.5", "10001"), {}, "voltage_column", "is no voltage"),
    (ROWS.replace("231.5", "low"), {}, "voltage_column", '"low" is no voltage'), (ROWS.replace("60,", "noon,"), {}, "time_column", '"noon" is no time'),
    (ROWS.replace("60,", "2025-11-08T14:10:00,"), {}, "zero", "is missing"), (ROWS, {"zero": "two"}, "zero", "is no date with a time"),
    (ROWS, {"zone": "here"}, "zone", "is no time zone"), (ROWS, {"sheet": "log"}, "sheet", "is no workbook"), (b"\xff\xfe\x00", {}, "file", "neither UTF-8"),
    (b"PK\x03\x04 no zip", {}, "file", "cannot be read as a workbook (BadZipFile)"), (ROWS, {"file": "../m.csv"}, "file", "is outside the folder"),
    (ROWS, {"file": "n.csv"}, "file", "is not there"), (ROWS, {"file": "."}, "file", "is not a plain file"), (ROWS, {"file": "a\0b"}, "file", "cannot be read")])
def test_what_is_wrong_with_a_recording(tmp_path, text, keys, key, words):
    with pytest.raises(recordings._Wrong) as caught:
        read(tmp_path, text, **keys)
    assert caught.value.args[0] == key and words in caught.value.args[1] and caught.value.args[2]


@pytest.mark.parametrize(("limit", "value", "words"), [("BYTES_MAX", len(ROWS) - 1, "is larger than"), ("ROWS_MAX", 3, "has more than 3 rows")])
def test_a_recording_has_its_limits(tmp_path, monkeypatch, limit, value, words):
    monkeypatch.setattr(recordings, limit, value)
    with pytest.raises(recordings._Wrong, match=words):
        read(tmp_path)
    monkeypatch.setattr(recordings, limit, value + 1)
    assert read(tmp_path).volts


def test_a_recording_and_its_fault_are_found_at_their_entry(tmp_path):
    (tmp_path / "m.csv").write_text(ROWS)
    entries = [(("record", n), RecordEntry.model_validate(ENTRY | keys)) for n, keys in enumerate([{}, {"file": "n.csv"}, {}])]
    told = []
    found = recordings.check_recordings(SimpleNamespace(entries=lambda key: entries), SimpleNamespace(add=lambda *given: told.append(given)), tmp_path)
    assert list(found) == [0, 2] and [given[0] for given in told] == [("record", 1, "file")]


# Pictures that a case names. Kind: by hand

def picture(size=(4, 3), kind="PNG"):
    from PIL import Image

    out = io.BytesIO()
    Image.new("RGB", size).save(out, kind)
    return out.getvalue()


@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
def test_a_picture_is_known_by_its_bytes(tmp_path, kind):
    (tmp_path / "p").write_bytes(picture(kind=kind))
    made = pictures._picture("p", tmp_path)
    assert (made.name, made.size, made.path) == ("p", (4, 3), str(tmp_path.resolve() / "p")) and pictures.picture_bytes(made) == picture(kind=kind)
    (tmp_path / "p").write_bytes(picture((5, 3)))
    assert pictures.picture_bytes(made) is None
    (tmp_path / "p").unlink()
    assert pictures.picture_bytes(made) is None


@pytest.mark.parametrize(("name", "words"), [
    ("../p", "is outside"), ("none", "is not there"), (".", "is not a plain file"), ("text", "is neither a JPEG nor a PNG file"),
    ("cut", "begins as a PNG file, but cannot be decoded"), ("a\0b", "cannot be read: ")])
def test_what_is_wrong_with_a_picture(tmp_path, name, words):
    (tmp_path / "text").write_bytes(b"bread")
    (tmp_path / "cut").write_bytes(picture()[:20])
    assert pictures._picture(name, tmp_path).startswith(words)


@pytest.mark.parametrize(("limit", "least", "words"), [("PIXELS_MAX", 12, "has 4 by 3 pixels"), ("BYTES_MAX", len(picture()), "is larger than")])
def test_a_picture_has_its_limits(tmp_path, monkeypatch, limit, least, words):
    (tmp_path / "p").write_bytes(picture())
    monkeypatch.setattr(pictures, limit, least)
    assert pictures._picture("p", tmp_path).size == (4, 3)
    monkeypatch.setattr(pictures, limit, least - 1)
    assert pictures._picture("p", tmp_path).startswith(words)


def test_a_case_has_its_logo_and_its_photographs(tmp_path):
    for name in ("logo.png", "photo.png"):
        (tmp_path / name).write_bytes(picture())
    photo = '[[photo]]\nfile = "photo.png"\ncaption = "a joint"\n'
    (tmp_path / "c.toml").write_text(HEAD + LAMP + photo + '[document]\nlogo = "logo.png"\n')
    case = read_case(tmp_path / "c.toml")
    assert case.document.logo.name == "logo.png" and [(p.picture.name, p.caption) for p in case.photos] == [("photo.png", "a joint")]


def test_pictures_of_a_case_are_read_once_and_counted(tmp_path, monkeypatch):
    (tmp_path / "p").write_bytes(picture())
    draft = SimpleNamespace(aside=set(), entries=lambda key: [(("photo", n), SimpleNamespace(file=name)) for n, name in enumerate(("p", "q", "p"))],
                            file=SimpleNamespace(document=SimpleNamespace(logo="p")))
    told = []
    faults = SimpleNamespace(add=lambda *given: told.append(given))
    assert list(pictures.check_pictures(draft, faults, Path(tmp_path))) == ["p"] and [x[0] for x in told] == [("photo", 1, "file")]
    assert '"q" is not there' in told[0][1] and told[0][2] == pictures.ALLOWED
    draft.file.document.logo, draft.entries = "none", lambda key: []
    assert pictures.check_pictures(draft, faults, tmp_path) == {} and told[-1][0] == ("document", "logo")
    draft.aside = {("document",)}
    told.clear()
    assert pictures.check_pictures(draft, faults, tmp_path) == {} and not told
    monkeypatch.setattr(pictures, "PICTURES_MAX", 1)
    draft.entries = lambda key: [(("photo", n), SimpleNamespace(file="p")) for n in range(3)]
    assert list(pictures.check_pictures(draft, faults, tmp_path)) == ["p"] and [x[:2] for x in told] == [(("photo", 1, "file"), "more than 1 pictures are named")]
