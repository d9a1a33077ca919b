"""Every assumption that the program lists: that it stands there, with its value, where a key is missing, and not where it is given.

Values are those of the data files (their tests hold them to their sources), written down here as a reader sees them, or arithmetic.
"""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from lostneutral import analyse, parse_case
from lostneutral.case.model import Load, Supply
from lostneutral.circuit.waveform.model import assumptions as of_waveforms
from lostneutral.loads import load_model
from lostneutral.loads.build import BUILDERS

TABLE_LAW = {"time to adjust": "0.1 s", "held as an impedance below": "0.1 × rated voltage"}
VALID = {"valid from": "0.85 × rated voltage", "valid to": "1.15 × rated voltage"}
LAMP = {"technology": "incandescent", "colour temperature": "2760 K", "share of heat lost by conduction": "0.06 of rated power",
        "filament's resistance": "tungsten's table", "filament's radiation": "tungsten's table", "surface that the coil shows": "0.87 of its surface"}
HEATER = {"alloy": "NiCr 80/20", "cooling": "air", "element temperature": "400 °C", "resistance over temperature": "table for NiCr 80/20",
          "convection": "40 W/(m² K)", "surface that a coil shows": "0.6 of its surface"}
SUPPLY = {"front end": "corrected", "works from": "90 V", "works to": "264 V", "capacitor rating": "400 V d.c.", "protection": "none",
          "power factor": "0.95", "capacitance": "1 µF/W", "restarts from": "1 × works_from", "current limit": "0.1 of works_from",
          "fade": "0.02 of works_from", "leakage": "0.0001 of rated conductance"}
BRIDGE = {"front end": "rectifier", "power factor": "0.6", "inlet resistance": "5 Ω", "bridge drop": "1.8 V",
          "current of a rectifier in the sine-wave picture": "its fundamental, of the rated power"}
DISC = {"varistor's voltage": "430 V ± 10% at 1 mA", "varistor's exponent": "30 (20 to 50)", "varistor's leakage": "1e+09 Ω",
        "largest current of the varistor's law": "10 A"}
MOTOR = {"machine": "refrigerator", "power factor": "0.8", "power exponent": "0.77", "reactive exponent": "2.5", "stalls below": "0.6 × rated voltage",
         "restarts from": "0.85 × rated voltage", "locked current": "5 × rated current", "locked power factor": "0.6", "trip time": "2 s",
         "cooling time": "120 s", "retry at": "0.5 of the heat at which it trips", "lag": "0.1 s"} | VALID
MACHINE = {"torque": "1 of rated torque", "torque exponent": "0", "starting time": "0.4 s", "winding time": "600 s",
           # arithmetic: 1.405, 1.395, 1.834, 1.834, 54.1 ohm of 400² / 3700 ohm
           "circuit of the motor": "R1 0.032, R2 0.032, X1 0.042, X2 0.042, XM 1.251 of rated voltage² / output"}
CHARGER = {"capacitance": "15 µF, line to neutral", "works from": "160 V", "cuts out above": "290 V", "drop out delay": "2 s",
           "charging current": "constant current up to the charger's power, constant power above", "restart delay": "180 s"}
SOURCE = {"standard": "EN 50549-1", "current limit": "1.1 × rated current", "restart delay": "60 s", "limits of connection": (
    "off below 195.5 V for 1.5 s, below 161 V for 0.2 s, above 253 V for 3 s, above 264.5 V for 0.2 s, above 276 V for 0.1 s; "
    "on again within 195.5 to 253 V for 60 s (at 230 V)")}
GLOW = {"lamp": "fluorescent", "power factor": "0.9", "power exponent": "0.96", "reactive exponent": "7.4",
        "extinguishes below": "0.8 × rated voltage", "restrikes from": "0.9 × rated voltage", "restart delay": "2 s"}
OVEN = {"power": "1170 W", "power exponent": "1.19", "reactive exponent": "3.15", "reactive power": "478 var",
        "valid from": "0.9 multiples of the rated voltage", "valid to": "1.1 multiples of the rated voltage"} | TABLE_LAW


def less(listed, *gone, **more):
    return {k: v for k, v in listed.items() if k not in gone} | {k.replace("_", " "): v for k, v in more.items()}


RESTARTS = less(SUPPLY, "restarts from", "fade")
FAR = "0.9 × rated voltage"
# (kind, keys, what is listed)
LISTED = [
    ("resistive", {"power": 100.0}, {}),
    ("harmonic", {"power": 100.0}, {"spectrum": "3. 0.8 at 180°, 5. 0.6 at 0°, 7. 0.35 at 180°, 9. 0.15 at 0°, of the fundamental",
                                    "harmonics in the sine-wave picture": "left out; the fundamental is a resistance"}),
    ("harmonic", {"power": 100.0, "orders": (3,), "shares": (0.5,)}, {"harmonics in the sine-wave picture": "left out; the fundamental is a resistance"}),
    ("impedance", {"resistance": 3.0}, {"reactance": "0 Ω"}),
    ("impedance", {"reactance": 3.0}, {"resistance": "0 Ω"}),
    ("impedance", {"resistance": 3.0, "reactance": 0.0}, {}),
    ("exponential", {"power": 100.0}, {"reactive power": "0 var", "power exponent": "2"} | VALID | TABLE_LAW),
    ("exponential", {"power": 100.0, "reactive_power": 5.0}, {"power exponent": "2", "reactive exponent": "2"} | VALID | TABLE_LAW),
    ("exponential", {"power": 100.0, "reactive_power": 5.0, "power_exponent": 1.0, "reactive_exponent": 3.0, "valid_from": 0.9, "valid_to": 1.1}, TABLE_LAW),
    ("lamp", {"power": 60.0}, LAMP),
    ("lamp", {"power": 60.0, "technology": "halogen"}, less(LAMP, "technology") | {  # arithmetic: 2880 + 50 ln(60/50) / ln(100/50) K
        "colour temperature": "2893.15 K"}),
    ("lamp", {"power": 60.0, "colour_temperature": 2700.0}, less(LAMP, "colour temperature")),
    ("heater", {"power": 900.0}, HEATER),
    ("heater", {"power": 900.0, "alloy": "FeCrAl 25-5"}, less(HEATER, "alloy") | {"resistance over temperature": "table for FeCrAl 25-5"}),
    ("heater", {"power": 900.0, "cooling": "radiant"}, less(HEATER, "cooling") | {"element temperature": "900 °C", "convection": "10 W/(m² K)"}),
    ("heater", {"power": 900.0, "element_temperature": 500.0}, less(HEATER, "element temperature")),
    ("heater", {"power": 900.0, "cooling": "water"}, less(HEATER, "cooling", "convection", "surface that a coil shows") | {
        "element temperature": "250 °C", "temperature of the water": "100 °C", "thermal time constant": "20 s"}),
    ("ptc_heater", {"power": 900.0}, {"switch temperature": "220 °C", "rated factor": "6.25 × least resistance", "rise": "0.14 1/K",
                                      "thermal time": "30 s", "largest voltage": "1.15 × rated voltage"}),
    ("ptc_heater", {"power": 900.0, "switch_temperature": 180.0}, {"rated factor": "6.25 × least resistance", "rise": "0.14 1/K",
                                                                  "thermal time": "30 s", "largest voltage": "1.15 × rated voltage"}),
    ("electronic", {"power": 200.0}, SUPPLY),
    ("electronic", {"power": 74.9}, SUPPLY | BRIDGE),  # published: corrected from 75 W
    ("electronic", {"power": 75.0}, SUPPLY),
    ("electronic", {"power": 60.0, "front_end": "rectifier", "inlet_resistance": 2.0, "bridge_drop": 1.0, "power_factor": 0.5},
     less(SUPPLY | BRIDGE, "front end", "inlet resistance", "bridge drop", "power factor")),
    ("electronic", {"power": 200.0, "works_from": 80.0, "works_to": 280.0, "capacitor_rating": 450.0, "capacitance": 1e-4, "front_end": "corrected"},
     less(SUPPLY, "works from", "works to", "capacitor rating", "capacitance", "front end")),
    ("electronic", {"power": 200.0, "restarts_from": 150.0}, RESTARTS),
    ("electronic", {"power": 200.0, "cuts_out_above": 300.0}, SUPPLY | {"restart delay": "0.02 s"}),
    ("electronic", {"power": 200.0, "cuts_out_above": 300.0, "restarts_below": 290.0}, SUPPLY),
    ("electronic", {"power": 200.0, "drop_out_delay": 0.1}, RESTARTS),
    ("electronic", {"power": 200.0, "restarts_from": 90.0}, less(SUPPLY, "restarts from")),
    ("electronic", {"power": 200.0, "protection": 275.0}, less(SUPPLY, "protection") | DISC | {"varistor's diameter": "10 mm"}),
    ("varistor", {"rating": 275.0}, DISC | {"diameter": "20 mm"}),
    ("varistor", {"rating": 385.0, "diameter": 14.0}, DISC | {"varistor's voltage": "620 V ± 10% at 1 mA"}),
    ("motor", {"power": 120.0}, MOTOR),
    ("motor", {"power": 120.0, "machine": "air conditioner"}, less(MOTOR, "machine") | {
        "stalls below": "0.55 × rated voltage", "restarts from": "0.95 × rated voltage", "locked current": "7.1 × rated current", "locked power factor": "0.71"}),
    ("motor", {"power": 120.0, "power_factor": 0.7, "power_exponent": 1.0, "reactive_exponent": 2.0, "stalls_below": 0.5, "valid_from": 0.9, "valid_to": 1.1},
     less(MOTOR, "power factor", "power exponent", "reactive exponent", "stalls below", *VALID)),
    ("charger", {"power": 3680.0}, CHARGER),
    ("charger", {"power": 3680.0, "capacitance": 0.0, "works_from": 150.0, "cuts_out_above": 280.0, "drop_out_delay": 1.0, "restart_delay": 60.0},
     {"charging current": CHARGER["charging current"]}),
    ("source", {"power": 3000.0}, SOURCE),
    ("source", {"power": 3000.0, "current": 15.0, "restart_delay": 10.0}, less(SOURCE, "current limit", "restart delay")),
    ("source", {"power": 3000.0, "standard": "G98/G99"}, {"current limit": "1.1 × rated current", "restart delay": "20 s", "limits of connection": (
        "off below 184 V for 2.5 s, above 262.2 V for 1 s, above 273.7 V for 0.5 s; on again within 184 to 262.2 V for 20 s (at 230 V)")}),
    ("discharge", {"power": 45.0}, GLOW),
    ("discharge", {"power": 45.0, "lamp": "high-pressure sodium"}, less(GLOW, "lamp") | {
        "power factor": "0.97", "power exponent": "1.7", "reactive exponent": "2", "restart delay": "240 s"}),
    ("discharge", {"power": 45.0, "lamp": "fluorescent", "power_factor": 0.5, "power_exponent": 1.0, "reactive_exponent": 2.0, "extinguishes_below": 0.7,
                   "restrikes_from": 0.8, "restart_delay": 1.0}, {}),
    # arithmetic: 0.4 var a watt
    ("transformer", {"power": 50.0}, {"reactive power": "20 var", "power exponent": "2", "reactive exponent": "3"}),
    ("transformer", {"power": 50.0, "reactive_power": 5.0, "power_exponent": 1.0, "reactive_exponent": 2.0}, {}),
    ("appliance", {"model": "microwave oven"}, OVEN),
    ("appliance", {"model": "microwave oven", "power": 900.0}, less(OVEN, "power")),
]


def listed(kind, keys, connect=("L1", "N"), rated=230.0):
    made = load_model(Load("x", kind, connect, "intake", rated, parameters=keys), Supply({"L1": 230 + 0j}))[1]
    assert all(a.subject == "load 'x'" and a.why.endswith(")") for a in made)
    assert len({a.what for a in made}) == len(made)
    return {a.what: a.value for a in made}


@pytest.mark.parametrize(("kind", "keys", "expected"), [pytest.param(*row, id=f"{row[0]} {', '.join(row[1])}") for row in LISTED])
def test_of_a_load(kind, keys, expected):
    assert listed(kind, keys) == expected


def test_of_loads_on_three_lines():
    three, four = ("L1", "L2", "L3"), ("L1", "L2", "L3", "N")
    assert listed("motor", {"power": 4000.0}, three, 400.0) == MACHINE
    assert listed("motor", {"power": 4000.0, "torque": 0.5, "torque_exponent": 2.0}, three, 400.0) == less(MACHINE, "torque", "torque exponent")
    assert listed("motor", {"power": 4000.0}, four, 400.0) == MACHINE | {"zero sequence": "1 × stator leakage reactance"}
    # the larger machine: 0.7384, 0.7402, 0.957, 0.957, 39 ohm of 400² / 7500 ohm
    assert listed("motor", {"power": 6000.0}, three, 400.0)["circuit of the motor"].startswith("R1 0.035, R2 0.035, X1 0.045, X2 0.045, XM 1.828")
    assert listed("charger", {"power": 11000.0}, four)["capacitance"] == "10 µF, each line to neutral"
    # arithmetic: three branches of 100 W with 0.4 var a watt are 120 var together
    assert listed("transformer", {"power": 300.0}, three, 400.0)["reactive power"] == "120 var"
    # a supply for 277 V: 90, 264 V and 400 V d.c. times 277/240
    scaled = listed("electronic", {"power": 200.0}, rated=277.0)
    assert [scaled[key] for key in ("works from", "works to", "capacitor rating")] == ["103.875 V", "304.7 V", "461.667 V d.c."]


def test_every_kind_is_walked_through():
    assert {kind for kind, *_ in LISTED} == set(BUILDERS)


# The case's own

LEAST = 'title = "t"\n[supply]\n[[load]]\nname = "a"\nkind = "resistive"\nconnect = "L1-N"\npower = 100\n'


def of_case(text):
    return {(a.subject, a.what): a.value for a in parse_case(text).assumptions}


HEAD = {("case", "date"): "not dated", ("supply", "nominal voltage"): "230 V line to neutral", ("supply", "actual voltage"): "230 V line to neutral",
        ("supply", "frequency"): "50 Hz", ("supply", "voltage limits"): "EN 50160", ("supply", "phase sequence"): "L1-L2-L3",
        ("supply", "source impedance"): "0 ohm", ("supply", "earthing system"): "not known",
        ("wiring", "points"): 'one intake, named "intake"', ("cable to 'intake'", "impedance"): "0 ohm",
        ("break", "what is broken"): "neutral, open, in the cable to 'intake'", ("load 'a'", "rated voltage"): "230 V"}
SUPPLIES = {  # text of [supply] -> (what is no longer assumed, what is instead)
    "nominal = 220": (("nominal voltage",), {"actual voltage": "220 V line to neutral"}),
    "voltage = 240": (("actual voltage",), {}),
    "frequency = 60": (("frequency",), {}),
    'limits = "EN 50160"': (("voltage limits",), {}),
    'rotation = "L1-L3-L2"': (("phase sequence",), {}),
    "line_impedance = [0.1, 0]": (("source impedance",), {}),
    "neutral_impedance = [0.1, 0]": (("source impedance",), {}),
    'earthing = "TN-S"': (("earthing system",), {"earth electrode of the source": "0 ohm"}),
    'earthing = "TN-S"\nelectrode = 3': (("earthing system",), {}),
    "phasors = { L1 = [230, 0], L2 = [230, -120], L3 = [230, 120] }": (("actual voltage", "phase sequence"), {}),
    'system = "split-phase"': (("phase sequence",), {"nominal voltage": "120 V line to neutral", "actual voltage": "120 V line to neutral",
                                                    "frequency": "60 Hz", "voltage limits": "ANSI C84.1 Range A service"}),
}


@pytest.mark.parametrize("text", SUPPLIES)
def test_of_the_supply(text):
    gone, instead = SUPPLIES[text]
    expected = {k: v for k, v in HEAD.items() if not (k[0] == "supply" and k[1] in gone)} | {("supply", k): v for k, v in instead.items()}
    if "nominal" in text or "split" in text:
        expected["load 'a'", "rated voltage"] = "220 V" if "nominal" in text else "120 V"
    assert of_case(LEAST.replace("[supply]\n", f'[supply]\n{text}\n')) == expected


def of_cable(cable, earthing='earthing = "TN-S"\nelectrode = 1\n'):
    text = LEAST.replace("[supply]\n", f'[supply]\n{earthing}[[point]]\nname = "house"\nelectrode = 9\n{cable}\n')
    return {what: value for (subject, what), value in of_case(text).items() if subject == "cable to 'house'"}


BY_LENGTH = {"resistance by length": "maximum permitted, class 2", "reactance by length": "0.08 ohm/km at 50 Hz"}


@pytest.mark.parametrize(("cable", "expected"), [
    ("", {"impedance": "0 ohm"}),
    ("cable = { line = [0.1, 0] }", {"impedance of the neutral": "equal to that of the lines", "impedance of the protective conductor": "equal to that of the neutral"}),
    ("cable = { neutral = [0.1, 0] }", {"impedance of the lines": "0 ohm", "impedance of the protective conductor": "equal to that of the neutral"}),
    ("cable = { line = [0.1, 0], neutral = [0.1, 0], pe = [0.1, 0] }", {}),
    ("cable = { length = 20, area = 16 }", BY_LENGTH | {"conductor material": "copper", "conductor temperature": "20 °C",
                                                      "area of the neutral": "equal to that of the lines", "area of the protective conductor": "equal to that of the lines"}),
    ('cable = { length = 20, area = 16, material = "aluminium", temperature = 70, neutral_area = 10, pe_area = 10 }', BY_LENGTH | {
        "resistance over temperature": "exact formula"}),
])
def test_of_a_cable(cable, expected):
    assert of_cable(cable) == expected
    if "impedance of the protective conductor" in expected or "area of the protective conductor" in expected:
        assert of_cable(cable, "") == {k: v for k, v in expected.items() if "protective" not in k}  # no earthing, no protective conductor


@pytest.mark.parametrize(("text", "subject", "what", "value"), [
    ('[[point]]\nname = "house"', "point 'house'", "local earth electrode", "none"),
    ('[[point]]\nname = "house"\nelectrode = 5', "point 'house'", "local earth electrode", None),
    ('[[break]]\nconductor = "N"\nresistance = 3', "break", "cable", "the cable to 'house'"),
    ('[[break]]\nfeeding = "house"\nresistance = 3', "break in the cable to 'house'", "conductor", "N"),
    ('[[break]]\nfeeding = "house"\nconductor = "L1"', "break in the cable to 'house'", "resistance", "open"),
    ('[[break]]\nfeeding = "house"\nconductor = "L1"', "break", "what is broken", None),
    ('[[break]]\nfeeding = "house"\nconductor = "N"\nresistance = 3', "break in the cable to 'house'", "conductor", None),
    ('[[event]]\ntime = 2\nbreak = "house"', "event at 2 s in the cable to 'house'", "resistance", "open"),
    ('[[event]]\ntime = 2\nbreak = "house"\nresistance = 5', "event at 2 s in the cable to 'house'", "resistance", None),
    ('[[observation]]\nload = "a"\nseen = "failed"', "observation of a", "state", "after the break"),
    ('[[observation]]\nload = "a"\nseen = "failed"\nstate = "after"', "observation of a", "state", None),
    ('[[device]]\nname = "d"\nkind = "residual-current device"', "device 'd'", "rated residual current", "30 mA"),
    ('[[device]]\nname = "d"\nkind = "residual-current device"\nrated_residual = 0.3', "device 'd'", "rated residual current", None),
    ('[[device]]\nname = "d"\nkind = "open-PEN device"', "device 'd'", "line to neutral below which it opens", "207 V"),
    ('[[device]]\nname = "d"\nkind = "open-PEN device"\nlow = 200', "device 'd'", "line to neutral above which it opens", "253 V"),
    ('[[device]]\nname = "d"\nkind = "open-PEN device"', "device 'd'", "time within which it opens", "5 s"),
    ('[[device]]\nname = "d"\nkind = "open-PEN device"\nlow = 200\nhigh = 260\nwithin = 3', "device 'd'", "line to neutral below which it opens", None),
    ('[[device]]\nname = "d"\nkind = "open-PEN device"\nlow = 200\nhigh = 260\nwithin = 3', "device 'd'", "time within which it opens", None),
])
def test_of_the_rest_of_a_case(text, subject, what, value):
    point = "" if text.startswith("[[point]]") else '[[point]]\nname = "house"\n'
    earthing = "TN-S" if "residual" in text else "TN-C-S"
    made = of_case(LEAST.replace("[supply]\n", f'[supply]\nearthing = "{earthing}"\n{point}{text}\n'))
    assert made.get((subject, what)) == value


@pytest.mark.parametrize(("point", "value"), [("", "one of unknown resistance"), ('[[point]]\nname = "intake"\n', "one of unknown resistance"),
                                              ('[[point]]\nname = "intake"\nkind = "joint"\n', "none"), ('[[point]]\nname = "intake"\nelectrode = 9\n', None)])
def test_an_electrode_of_tt_that_is_not_given_is_there(point, value):
    made = of_case(LEAST.replace("[supply]\n", f'[supply]\nearthing = "TT"\n{point}'))
    assert made.get(("point 'intake'", "local earth electrode")) == value


def test_one_that_many_share_is_one_line():
    many = LEAST + "".join(f'[[load]]\nname = "{n}"\nkind = "resistive"\nconnect = "L2-N"\npower = 5\n' for n in "bcdefgh")
    # eight loads: six are named
    assert of_case(many)["load 'a', load 'b', load 'c', load 'd', load 'e', load 'f' … (8 in all)", "rated voltage"] == "230 V"
    delta = LEAST.replace('connect = "L1-N"', 'connect = "L1-L2-L3"\nstar = true')
    assert of_case(delta)["load 'a'", "rated voltage"] == "398.4 V" and of_case(delta)["load 'a'", "rated voltage of a branch"] == "230 V"


GENERATOR = '[[generator]]\nname = "set"\nrated_power = 1e4\n[[changeover]]\npoint = "house"\n[[event]]\ntime = 1\nchangeover = "changeover at house"\nto = "generator"\n'


@pytest.mark.parametrize(("change", "subject", "what", "value"), [
    ((), "generator 'set'", "voltage", "230 V line to neutral"), (("voltage = 235",), "generator 'set'", "voltage", None),
    ((), "generator 'set'", "star point", "floating: no link to the protective conductor"),
    (('earthing = "bonded"',), "generator 'set'", "star point", None),
    ((), "changeover at house", "poles", "4: neutral switched"), ((), "changeover at house", "time between opening and closing", "0.5 s")])
def test_of_a_generator(change, subject, what, value):
    more = GENERATOR.replace("rated_power = 1e4\n", "rated_power = 1e4\n" + "".join(f"{line}\n" for line in change))
    made = of_case(LEAST.replace("[supply]\n", '[supply]\nearthing = "TN-S"\n[[point]]\nname = "house"\n') + more)
    assert made.get((subject, what)) == value


def test_of_a_transformer():
    base = '[supply]\n[supply.transformer]\nrated_power = 4e5\n'
    made = {what: value for (subject, what), value in of_case(LEAST.replace("[supply]\n", base)).items() if subject == "transformer"}
    keys = {"short_circuit_voltage": "short-circuit voltage", "load_loss": "load loss", "no_load_current": "no-load current", "zero_sequence": "zero-sequence impedance"}
    assert set(made) == {*keys.values(), "vector group", "network before it"} and made["vector group"] == "Dyn11"
    for key, what in keys.items():
        given = of_case(LEAST.replace("[supply]\n", f"{base}{key} = 2\n"))
        assert ("transformer", what) not in given and ("transformer", "network before it") in given


# What the waveform model takes for granted

def bridges(**keys):
    return Load("tv", "electronic", ("L1", "N"), "intake", 230.0, parameters={"power": 60.0, "front_end": "rectifier"} | keys)


@pytest.mark.parametrize(("loads", "expected"), [
    ((), ()), ((bridges(),), ("leakage across the inlet", "rated power in the waveforms")),
    ((bridges(leakage=1e6),), ("rated power in the waveforms",)), ((bridges(leakage=1e6), bridges()), ("leakage across the inlet", "rated power in the waveforms")),
    ((replace(bridges(), on=False),), ()),
    ((Load("m", "motor", ("L1", "N"), "intake", 230.0, parameters={"power": 60.0}),), ("loads that are neither resistance, impedance nor bridge",)),
    ((Load("r", "resistive", ("L1", "N"), "intake", 230.0, parameters={"power": 60.0}),), ())])
def test_of_the_waveform_model(loads, expected):
    assert tuple(a.what for a in of_waveforms(SimpleNamespace(loads=loads))) == expected


def test_the_result_lists_those_of_case_and_loads_once():
    result = analyse(parse_case(LEAST + '[[load]]\nname = "b"\nkind = "impedance"\nconnect = "L2-N"\nresistance = 9\n'))
    made = [(a.subject, a.what) for a in result.assumptions]
    assert len(made) == len(set(made)) and ("load 'b'", "reactance") in made and ("supply", "frequency") in made
