"""Loads with a `count`, watts of several points, rows without a figure, states of waveforms: each against closed forms or arithmetic."""

import csv
import io
import json
from cmath import exp
from dataclasses import replace
from functools import cache
from math import pi, sqrt
from types import SimpleNamespace

import numpy as np
import pytest
from handmade import of_states
from handmade_star import find, judge, only, settled, star_case
from wave_cases import case as star_of
from wave_cases import load, rectifier_star

from lostneutral import analyse, parse_case, result_json
from lostneutral.case.model import Break, Cable, Point
from lostneutral.circuit.solution import State
from lostneutral.circuit.states import before_and_after
from lostneutral.circuit.waveform.measures import wave as measured
from lostneutral.circuit.waveform.parts import bridge_of, clamp_of, matters, rectifier_share, spectrum_of
from lostneutral.circuit.waveform.waves import LoadWave, Wave, Waveforms, WaveState
from lostneutral.claims.model import Kind, Rank
from lostneutral.consequences.pulses import of_waveforms
from lostneutral.consequences.waves import CUT, OVER, RUNS, concerned, line_powers, pair_currents, star_rule
from lostneutral.report.base.rows import load_rows, neutral_shifts, point_rows
from lostneutral.report.damage.items_file import items_csv
from lostneutral.report.screen.terminal import terminal_text
from lostneutral.report.waveform.rows import link_rows, phase_rows
from lostneutral.report.waveform.rule import taken as assumed_of_bridges
from lostneutral.studies.inlets import _with as with_other_inlet
from lostneutral.teaching.bench import _line_powers
from lostneutral.words.english import said
from lostneutral.words.schedule import schedule

TURN = exp(2j * pi / 3)
LINES = {"L1": 230 + 0j, "L2": 230 * TURN**2, "L3": 230 * TURN}


def star_point(powers):
    """The node-voltage formula of resistances."""
    return sum(p * u for p, u in zip(powers, LINES.values())) / sum(powers)


# Counts

KINDS = {"resistive": {"power": 40.0}, "lamp": {"power": 40.0}, "heater": {"power": 400.0}, "ptc_heater": {"power": 400.0},
         "impedance": {"resistance": 300.0, "reactance": 400.0}, "exponential": {"power": 40.0, "reactive_power": 9.0},
         "transformer": {"power": 40.0}, "discharge": {"power": 40.0}, "harmonic": {"power": 40.0}, "varistor": {"rating": 275.0},
         "electronic": {"power": 40.0, "front_end": "corrected"}, "charger": {"power": 40.0}, "source": {"power": 40.0}, "motor": {"power": 40.0}}


@pytest.mark.parametrize("kind", KINDS)
def test_three_units_take_three_times_what_one_does(kind):
    """Invariant, at the sound supply's voltage (1 V less on L1): as one entry with a count, and as three entries."""
    one = load(kind, "L1", "one", **KINDS[kind])
    case = star_of([one, replace(one, name="many", count=3)], breaks=(), source=replace(star_of([]).supply, phasors=LINES | {"L1": 229 + 0j}))
    single, many = before_and_after(case)[1].reached.loads
    assert many.power == pytest.approx(3 * single.power, rel=1e-9) and many.current == pytest.approx(3 * single.current, rel=1e-9)
    assert many.reactive_power == pytest.approx(3 * single.reactive_power, rel=1e-9, abs=1e-9)
    assert (many.voltage, many.ratio, many.details) == (single.voltage, single.ratio, single.details)


def test_a_count_weighs_in_the_star():
    # closed form: 3 of 100 W on L1, 2 of 75 W on L2, one of 50 W on L3
    units = [("L1", 3, 100.0), ("L2", 2, 75.0), ("L3", 1, 50.0)]
    case = star_of([load("resistive", line, count=n, power=p) for line, n, p in units])
    at = star_point([300, 150, 50])
    for seen, (line, n, p) in zip(before_and_after(case)[1].reached.loads, units):
        volts = LINES[line] - at
        assert seen.voltage == pytest.approx(volts) and seen.power == pytest.approx(n * p * abs(volts) ** 2 / 230**2)
        assert seen.current == pytest.approx(n * p * volts / 230**2)
    assert _line_powers(case) == {"L1": 300.0, "L2": 150.0, "L3": 50.0}
    # of 240 V lamps on 230 V the bench takes what they take there
    small = star_of([load("resistive", line, voltage=240.0, count=2, power=60.0) for line in LINES])
    assert _line_powers(small)["L2"] == pytest.approx(120 * (230 / 240) ** 2)


def test_a_count_of_bridges_varistors_and_harmonics():
    # arithmetic: n in parallel take n times the power from n times the capacitor through an n-th of the resistance
    one = load("electronic", "L1", power=60.0, front_end="rectifier", capacitance=6e-5, inlet_resistance=4.0, leakage=1e6, suppressor=1e-7,
               bridge_drop=1.5, works_from=90.0)
    single, five = bridge_of(one), bridge_of(replace(one, count=5))
    assert (single.power, single.resistance, single.capacitance, single.leakage, single.suppressor) == (60.0, 4.0, 6e-5, 1e6, 1e-7)
    assert (five.power, five.resistance, five.capacitance) == (300.0, pytest.approx(0.8), pytest.approx(3e-4))
    assert (five.leakage, five.suppressor) == (pytest.approx(2e5), pytest.approx(5e-7))
    assert (five.drop, five.cut_off, five.restart, five.fade) == (1.5, pytest.approx(90 * sqrt(2)), five.cut_off, pytest.approx(1.8 * sqrt(2)))
    disc = load("varistor", "L1", rating=275.0)
    assert clamp_of(replace(disc, count=3)) == pytest.approx((430.0, 30.0, 3e-3)) and clamp_of(one) is None
    pulses = load("harmonic", "L1", power=230.0, orders=(3,), shares=(0.5,), angles=(0.0,))
    orders, peaks = spectrum_of(replace(pulses, count=4), 0.0)
    assert orders == (3,) and peaks[0] == pytest.approx(sqrt(2) * 4 * 0.5)  # 1 A each
    # what the study of other inlets changes is one unit's
    other = with_other_inlet(replace(one, count=5), 2.0, 0.5)
    assert other.parameters["inlet_resistance"] == pytest.approx(8.0) and other.parameters["capacitance"] == pytest.approx(3e-5)
    assert bridge_of(other).resistance == pytest.approx(1.6) and bridge_of(other).capacitance == pytest.approx(1.5e-4)


def test_the_share_of_pulses_goes_by_all_units():
    # arithmetic: 4 · 50 W of 4 · 50 + 2 · 300 W; the rule is 10 %
    mixed = star_of([load("electronic", "L1", count=4, power=50.0, front_end="rectifier"), load("resistive", "L2", count=2, power=300.0)])
    assert rectifier_share(mixed) == pytest.approx(0.25) and matters(mixed)
    few = star_of([load("electronic", "L1", power=50.0, front_end="rectifier"), load("resistive", "L2", count=3, power=300.0)])
    assert rectifier_share(few) == pytest.approx(50 / 950)


def test_the_tables_of_bridges_have_the_power_of_all_and_the_inlet_of_one():
    case = star_of([load("electronic", "L1", "sets", count=5, power=60.0, front_end="rectifier", capacitance=6e-5, inlet_resistance=4.0)])
    (row,) = assumed_of_bridges(SimpleNamespace(case=case))[1]["rows"]
    assert row == ["sets", "300 W", "1.00 µF/W", "4.00 Ω", "1.80 V", "127 V"]


def test_a_count_in_the_sentence_of_what_has_no_law():
    # arithmetic: 2 of 100 W at (330/230)² are 412 W, 2.06 times 200 W
    case = star_case(kind="resistive")
    case = replace(case, loads=(replace(case.loads[0], count=2), *case.loads[1:]))
    after = settled(case, -100 + 0j)
    after = replace(after, loads=(replace(after.loads[0], power=200 * (330 / 230) ** 2), *after.loads[1:]))
    assert "it takes 2.06 times its rated power at 1.43 times its rated voltage" in judge(case, after)["on L1"].basis


# Several points

def house(*loads_):
    """A supply with a shop before the broken neutral and a house with a shed behind it."""
    points = (Point("shop"), Point("house"), Point("shed", "board", "house", Cable(0.1 + 0j, 0.1 + 0j)))
    made = star_of(loads_, breaks=(Break("house", "N"),))
    return replace(made, points=points)


def at(point, line, watts, kind="electronic", **more):
    keys = {"front_end": "rectifier", "power": watts} if kind == "electronic" else {"power": watts}
    return replace(load(kind, line, f"{point} {line} {kind} {watts:g}", **more, **keys), point=point)


def test_only_watts_behind_the_break_count_in_the_rule_of_rectifiers():
    # arithmetic; what is off, between lines, no rectifier, or before the break is left out
    case = house(at("shop", "L1", 900.0), at("house", "L1", 50.0, count=2), at("shed", "L2", 70.0), at("house", "L3", 20.0), at("house", "L3", 500.0, on=False),
                 at("shed", "L1", 333.0, "resistive"), replace(at("house", "L1-L2", 400.0), connect=("L1", "L2")))
    assert concerned(case) == {"house", "shed"}
    assert line_powers(case) == {"L1": 100.0, "L2": 70.0, "L3": 20.0}
    line, watts, rule = star_rule(case)
    assert (line, watts, rule.value, rule.unit, rule.edge) == ("L1", 100.0, 90.0, "W", "high")
    assert line_powers(replace(case, breaks=(Break("shed", "N"),))) == {"L1": 0.0, "L2": 70.0, "L3": 0.0}
    assert line_powers(replace(case, breaks=()))["L1"] == 1000.0
    assert star_rule(replace(case, breaks=(Break("shed", "N"),))) == (None, None, None)
    assert pair_currents([100.0, 70.0, 20.0]) == pytest.approx([75.0, -5.0, 25.0])  # half of a + b - c


def test_each_point_has_its_own_star():
    # closed form: behind the break 100, 200, 300 W in house and shed together; before it the supply's own voltages
    case = house(at("shop", "L1", 5000.0, "resistive"), at("house", "L1", 100.0, "resistive"), at("house", "L2", 200.0, "resistive"),
                 at("house", "L3", 300.0, "resistive"))
    after = before_and_after(case)[1].reached
    moved = star_point([100, 200, 300])
    rows = {(r.place, r.line): r for r in point_rows(case, None, after)}
    for line, u in LINES.items():
        assert rows["shop", line].after == pytest.approx(230.0) and rows["shop", line].verdict == "within limits"
        assert rows["house", line].after == pytest.approx(abs(u - moved)) == pytest.approx(rows["shed", line].after)
    assert [rows["house", line].verdict for line in LINES] == ["above limits", "within limits", "below limits"]  # 289.4, 239.4, 175.7 V
    shifts = dict(neutral_shifts(case, after))
    # arithmetic: 230 (1/6 + 1/3 a² + 1/2 a): 66.4 V at 150°
    assert shifts == {"shop": "0.0 V", "house": "66.4 V at 150.0°", "shed": "66.4 V at 150.0°"}
    assert {r.name: r.power_after for r in load_rows(case, None, after)}["house L1 resistive 100"] == pytest.approx(100 * 19 / 12)  # |1 - (1/6 + a²/3 + a/2)|² = 19/12


# Rows that have no figure

def floats():
    case = star_case(earthing="TN-C-S")
    return case, settled(case, None, pe=None)


def test_what_floats_has_words_and_no_figure():
    case, after = floats()
    assert neutral_shifts(case, after) == (("intake", "no defined potential; no figure can be given"),)
    for row in point_rows(case, settled(case), after):
        assert (row.before, row.after, row.ratio, row.verdict) == (pytest.approx(230.0), None, None, "no defined potential")
    for row in load_rows(case, settled(case), after):
        assert (row.after, row.power_after, row.current_after) == (None, None, None) and row.verdict == "no defined potential"
        assert row.power_before == pytest.approx(100.0)


def test_claims_on_what_floats_say_so():
    case, after = floats()
    found = find(case, after)
    neutral, metal = (only(found, kind) for kind in (Kind.NEUTRAL_LIVE, Kind.METALWORK))
    for claim in (neutral, metal):
        assert (claim.rank, claim.value, claim.span, claim.facts["floats"]) == (Rank.DANGER, None, None, True)
        assert "no defined potential" in said(claim, case).lead and said(claim, case).computed is None
    assert metal.facts["cause"] == "pen open" and metal.yardstick.edge == "reference"
    loose = only(found, Kind.FLOATING)
    assert (loose.where, loose.facts["conductors"]) == (("intake",), ("N",))
    assert not [c for c in found if c.kind in (Kind.LINE_ABOVE, Kind.LINE_BELOW, Kind.LINE_NONE, Kind.OVERVOLTAGE_DEVICE, Kind.ITI, Kind.PERSON)]
    told = judge(case, after)
    assert {(v.outcome, v.volts, v.highest) for v in told.values()} == {("not known", None, None)}
    (row,) = schedule(found, tuple(told.values()))
    assert (row.items, row.voltage, row.why, row.rank) == (("on L1", "on L2", "on L3"), "", "no voltage can be stated", Rank.WARNING)


def test_metalwork_without_an_electrode_floats():
    case = star_case(earthing="TN-S")
    claim = only(find(case, settled(case, 60 + 0j, pe=None)), Kind.METALWORK)
    assert (claim.rank, claim.value, claim.facts["cause"]) == (Rank.DANGER, None, "no electrode")


@cache
def unloaded(*phases):
    """A neutral behind its break with nothing switched on: nothing ties it down."""
    only_ = f"phases = {list(phases)}\n" if phases else ""
    return analyse(parse_case(f'title = "Off"\n[supply]\nearthing = "TN-S"\n[[point]]\nname = "house"\n{only_}[[break]]\nconductor = "N"\nfeeding = "house"\n'
                              '[[load]]\nname = "Lamp"\nkind = "lamp"\nconnect = "L1-N"\npower = 60\non = false\n'))


def test_a_neutral_with_everything_off_floats_in_every_rendering():
    result = unloaded()
    assert result.after.reached.voltage("house", "L1") is None
    assert "no defined potential; no figure can be given" in " ".join(terminal_text(result).split())
    block = json.loads(result_json(result))["states"][1]["solutions"][0]
    assert [phase["voltage"] for phase in block["points"][0]["phases"]] == [None, None, None]
    assert only(result.claims, Kind.FLOATING).facts["conductors"] == ("N",)
    row = list(csv.DictReader(io.StringIO(items_csv(result))))[0]
    assert (row["item"], row["calculated_V"], row["expected_effect"]) == ("Lamp", "", "switched off")


def test_readings_of_what_only_coupling_ties():
    # closed form: 2 nF from N to each of the three lines and PE (0.1 nF/m, 20 m, assumed) show a meter of 10 MΩ or 5 kΩ a source of 230 V
    # behind 1 / (2π 50 · 8 nF); of a point with one line 115 V behind half as much
    inner = -1j / (2 * pi * 50 * 8e-9)
    for result, volts, behind, word in ((unloaded(), 230.0, inner, "although the neutral is open"), (unloaded("L1"), 115.0, 2 * inner, "by coupling only")):
        found = {r.between: r for r in result.readings if r.loads_on}
        read = found["L1", "N"]
        assert read.high == pytest.approx(volts * abs(1e7 / (1e7 + behind)), rel=1e-6)
        assert read.low == pytest.approx(volts * abs(5e3 / (5e3 + behind)), rel=1e-6) and word in read.warning
        assert (found["L1", "PE"].high, found["L1", "PE"].low, found["L1", "PE"].warning) == (pytest.approx(230.0), pytest.approx(230.0), "")
    assert found["N", "PE"].high == pytest.approx(read.high) and "by coupling only" in found["N", "PE"].warning


# Waveforms

def wave(rms, angle=0.0):
    return Wave(rms, sqrt(2) * rms, rms, (rms, *[0.0] * 39), (angle, *[0.0] * 39), None)


@cache
def waves():
    """A star of supplies by hand: its links and r.m.s. values are put in, so that everything else is arithmetic on them."""
    star = rectifier_star([60.0, 60.0, 30.0], drop=1.5, extra=[load("resistive", "L1", "heater", power=10.0),
                                                           load("electronic", "L2", "off", on=False, power=50.0, front_end="rectifier")])
    star = replace(star, loads=(*star.loads[:2], replace(star.loads[2], count=2), *star.loads[3:]))
    lines = {"L1": wave(240.0, 0.0), "L2": wave(300.0, -120.0), "L3": wave(80.0, 120.0)}
    links = {"L1": (330.0, 320.0, 338.0), "L2": (415.0, 410.0, 422.0), "L3": (111.0, 100.0, 120.0)}

    def of_waves(name):
        seen = tuple(LoadWave(x.name, x.connect, x.on, lines[x.connect[0]], wave(0.25) if x.on else None, 61.0 if x.on else 0.0,
                              links[x.connect[0]] if x.on and x.kind == "electronic" else None) for x in star.loads)
        phases = {("intake", line): w for line, w in lines.items()}
        return WaveState(name, "settled", True, 0.02, {"intake": wave(70.0, 30.0)}, phases, {("intake", "L1"): wave(0.5)}, seen)

    # before, the earth terminal is apart from N; after, the two are one
    result = of_states(star, State("before", (settled(star, 5j, pe=3j),)), State("after", (settled(star, 5j, pe=5j),)))
    found = Waveforms("pulses", 1.0, True, of_waves("before"), of_waves("after"), None, {})
    return of_waveforms(replace(result, waveforms=found))


def test_a_state_of_waveforms_has_every_load_as_it_was():
    result = waves()
    for moment in (result.before.solutions[0], result.after.reached):
        seen = {x.name: x for x in moment.loads}
        assert {name: x.on for name, x in seen.items()} == {
            "electronic L1": True, "electronic L2": True, "electronic L3": True, "heater": True, "off": False}
        # arithmetic: what is off has its line's voltage and takes nothing; 240 V are 240/230 of rated
        off, heater, first = seen["off"], seen["heater"], seen["electronic L1"]
        assert (off.power, off.current, off.reactive_power, off.ratio) == (0.0, 0j, 0.0, pytest.approx(300 / 230))
        assert off.voltage == pytest.approx(300 * TURN**2) == pytest.approx(moment.voltage("intake", "L2"))
        assert (heater.voltage, heater.ratio, heater.power) == (pytest.approx(240 + 0j), pytest.approx(240 / 230), 61.0)
        assert heater.current == pytest.approx(0.25 + 0j) and heater.reactive_power is None
        # a capacitor of 400 V by default; the sine that fills a link up to V has (V + 1.5 V) / √2 volts; works from 90 V, 127 V d.c.
        assert first.details["link_voltage"] == 330.0 and first.details["capacitor_stress"] == pytest.approx(338 / 400)
        assert first.details["as_sine"] == pytest.approx((338 + 1.5) / sqrt(2)) and first.details["works"] is True
        assert [seen[f"electronic L{n}"].details["works"] for n in (1, 2, 3)] == [True, True, False]
        assert [seen[f"electronic L{n}"].details["above_window"] for n in (1, 2, 3)] == [False, True, False]  # 299 V of 264 V
        metal = 3j if moment is result.before.solutions[0] else 70 * exp(1j * pi / 6)
        assert moment.nodes["intake", "PE"] == pytest.approx(metal)
        assert moment.nodes["intake", "N"] == pytest.approx(70 * exp(1j * pi / 6)) and moment.currents["intake", "L1"] == pytest.approx(0.5)


def test_the_harm_of_waveforms_goes_by_the_link():
    # by the link: 338 of 400 V is within, the supply's own label too; 422 of 400 V is a stress of 1.055: 2.9 hours by the assumed law
    harms = {h.load: h for h in waves().harms}
    assert harms["electronic L1"].outcome == "unharmed" and harms["off"].outcome == "was off"
    assert harms["electronic L2"].outcome == "fails in hours" and harms["electronic L2"].mode == "short"
    assert harms["electronic L3"].outcome == "does not run" and harms["heater"].outcome == "unharmed"
    assert [neutral_shifts(waves().case, waves().after.reached)[0][1]] == ["70.0 V at 30.0°"]


def test_rows_of_links_and_neutrals():
    case, found = waves().case, waves().waveforms
    rows = {row.name: row for row in link_rows(case, found)}
    assert {name: (row.after, row.lowest, row.highest, row.verdict) for name, row in rows.items()} == {
        "electronic L1": (330.0, 320.0, 338.0, RUNS), "electronic L2": (415.0, 410.0, 422.0, OVER), "electronic L3": (111.0, 100.0, 120.0, CUT)}
    assert all(row.rating == 400.0 and row.cut_off == pytest.approx(90 * sqrt(2)) for row in rows.values())
    assert [(r.line, r.after.rms) for r in phase_rows(case, found)] == [("L1", 240.0), ("L2", 300.0), ("L3", 80.0)]


def test_an_order_of_rounding_size_has_no_angle():
    # arithmetic: a third harmonic of 3 V r.m.s. at 40°, and a fundamental of the size that three equal sums leave
    times = np.arange(256) * 0.02 / 256
    kernel = np.exp(-2j * pi * np.outer(np.arange(41), times) / 0.02) * sqrt(2) / 256
    turn = SimpleNamespace(turning=kernel, mean=lambda x: x.mean(axis=0))
    for noise in (0.0, 1e-9):
        made = measured(turn, sqrt(2) * (3 * np.cos(3 * 100 * pi * times + 40 * pi / 180) + noise * np.cos(100 * pi * times + 1.0)))
        assert made.angles[2] == pytest.approx(40.0, abs=1e-6) and made.angles[:2] + made.angles[3:] == (0.0,) * 39
        assert made.rms == pytest.approx(3.0) and made.harmonics[0] == pytest.approx(noise, abs=1e-12)
