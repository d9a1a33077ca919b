"""What the answer hangs on and what the chief inputs move: which values are varied, to which ends, and what counts as another answer."""

from cmath import exp
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from lostneutral import parse_case
from lostneutral.circuit.states import before_and_after
from lostneutral.consequences.meters import Reading
from lostneutral.studies import lamps as lamps_study
from lostneutral.studies.hinges import _changes, _quantities, hinges
from lostneutral.studies.lamps import LampDivision, lamp_division
from lostneutral.studies.readings import _points, _warnings, readings_of_waves
from lostneutral.studies.sensitivity import Sensitivity, sensitivity

HEAD = 'title = "t"\n[supply]\nearthing = "TN-C-S"\n[[point]]\nname = "house"\nelectrode = 40\n[[break]]\nfeeding = "house"\n'


def load(name, line, watts, kind="resistive", **more):
    keys = {"name": name, "kind": kind, "connect": f"{line}-N", "power": watts, "point": "house"} | more
    return "[[load]]\n" + "".join(f"{k} = {str(v).lower() if isinstance(v, bool) else repr(v)}\n" for k, v in keys.items())


def extremes(watts, volts=230.0):
    """Closed form: the node-voltage formula of a star of resistances (230 V, `watts` a line) at `volts`."""
    corners = [volts * np.exp(-2j * np.pi * n / 3) for n in range(3)]
    shift = sum(w * u for w, u in zip(watts, corners)) / sum(watts)
    sizes = [abs(u - shift) for u in corners]
    return max(sizes), min(sizes)


def test_each_input_is_moved_by_a_tenth_and_what_moves_most_comes_first():
    case = parse_case(HEAD.replace("electrode = 40\n", "").replace("TN-C-S", "TN-S") + load("A", "L1", 100.0) + load("B", "L2", 200.0)
                      + load("C", "L3", 300.0) + load("off", "L1", 5000.0, on=False))
    found = sensitivity(case, before_and_after(case)[1].reached)
    assert found.given == pytest.approx(extremes((100, 200, 300)), abs=1e-6)
    wanted = {"": (extremes((100, 200, 300), 207.0), extremes((100, 200, 300), 253.0)),
              "A": (extremes((90, 200, 300)), extremes((110, 200, 300))), "B": (extremes((100, 180, 300)), extremes((100, 220, 300))),
              "C": (extremes((100, 200, 270)), extremes((100, 200, 330)))}
    assert {s.load for s in found.swings} == set(wanted)
    for swing in found.swings:
        assert (swing.lower, swing.higher) == (pytest.approx(wanted[swing.load][0], abs=1e-6), pytest.approx(wanted[swing.load][1], abs=1e-6))
    moved = [max(abs(end[0] - found.given[0]) for end in (s.lower, s.higher)) for s in found.swings]
    assert moved == sorted(moved, reverse=True) and found.swings[0].load == ""


def test_what_moves_it_alike_stays_in_the_order_of_the_case():
    # symmetry: of three equal lamps each moves the voltages by as much, whatever a machine's rounding makes of it
    case = parse_case(HEAD.replace("electrode = 40\n", "").replace("TN-C-S", "TN-S") + "".join(load(name, line, 60.0) for name, line in
                                                                                              (("Z", "L1"), ("A", "L2"), ("M", "L3"))))
    for angle in (0.0, 0.3, 1.1):  # rad: the same star, other roundings
        turned = replace(case, supply=replace(case.supply, phasors={line: z * exp(1j * angle) for line, z in case.supply.phasors.items()}))
        found = sensitivity(turned, before_and_after(turned)[1].reached)
        assert [s.load for s in found.swings] == ["", "Z", "A", "M"]


def test_only_the_largest_loads_are_moved():
    # arithmetic: power times count; six at most
    loads = [load(f"{watts} W", "L1", float(watts), **({"count": 9} if watts == 10 else {})) for watts in (10, 20, 30, 40, 50, 60, 70, 80)]
    case = parse_case(HEAD + "".join(loads) + load("other", "L2", 500.0))
    found = sensitivity(case, before_and_after(case)[1].reached)
    assert {s.load for s in found.swings} == {"", "other", "10 W", "80 W", "70 W", "60 W", "50 W"}


def test_a_state_that_does_not_come_out_again_is_not_varied():
    case = parse_case(HEAD + load("A", "L1", 100.0) + load("B", "L2", 200.0))
    known = before_and_after(case)[1].reached
    other = replace(known, nodes={key: v * 1.01 for key, v in known.nodes.items()})
    assert isinstance(sensitivity(case, known), Sensitivity) and sensitivity(case, other) is None


def test_thresholds_that_the_case_does_not_give_are_varied_the_largest_first():
    """Assumption: 60 to 190 V for supplies rated 230 V (data file `hinges`), others in proportion."""
    supply = {"kind": "electronic", "front_end": "corrected"}
    case = parse_case(HEAD + load("small", "L1", 50.0, **supply) + load("many", "L2", 20.0, count=5, **supply)
                      + load("at 115 V", "L3", 60.0, voltage=115.0, **supply) + load("given", "L1", 900.0, works_from=100.0, **supply)
                      + load("off", "L1", 900.0, on=False, **supply) + load("heater", "L2", 2000.0))
    found = [(key, of, unit, ends) for key, of, unit, _, ends, _ in _quantities(case)]
    assert found == [("works_from", "many", "V", pytest.approx((60.0, 190.0))), ("works_from", "at 115 V", "V", pytest.approx((30.0, 95.0))),
                     ("works_from", "small", "V", pytest.approx((60.0, 190.0)))]
    for _, of, _, value, ends, change in _quantities(case):
        changed = next(x for x in change(ends[0]).loads if x.name == of)
        assert changed.parameters["works_from"] == ends[0] != value and sum(a != b for a, b in zip(case.loads, change(ends[0]).loads, strict=True)) == 1


def test_a_joint_is_varied_where_the_case_calls_it_unknown():
    unknown = '[[unknown]]\nbreak = "house"\nresistance = { low = 1, high = 9 }\n'
    joint = HEAD + "resistance = 3.0\n"
    (found,) = _quantities(parse_case(joint + load("A", "L1", 100.0) + unknown))
    assert found[:5] == ("resistance", "house", "ohm", 3.0, (1.5, 6.0)) and found[5](6.0).breaks[0].resistance == 6.0  # half and twice
    second = parse_case(joint + '[[break]]\nfeeding = "house"\nconductor = "L1"\nresistance = 7.0\n'
                        '[[break]]\nfeeding = "house"\nconductor = "L2"\nresistance = 5.0\n' + load("A", "L1", 100.0) + unknown)
    (found,) = _quantities(second)
    assert [(b.conductor, b.resistance) for b in found[5](6.0).breaks] == [("N", 6.0), ("L1", 7.0), ("L2", 5.0)]  # and nothing else
    assert not list(_quantities(parse_case(joint + load("A", "L1", 100.0))))
    assert not list(_quantities(parse_case(HEAD + load("A", "L1", 100.0) + unknown)))  # open: nothing to vary


def test_what_is_left_is_counted():
    supplies = "".join(load(f"supply {n}", f"L{n % 3 + 1}", 50.0 + n, kind="electronic", front_end="corrected") for n in range(8))
    case = parse_case(HEAD + supplies)
    found = hinges(case, before_and_after(case)[1].solutions[0])
    assert (found.varied, found.left) == (6, 2)  # twelve solves, two ends each


METAL = ("metalwork", "house", "house")


@pytest.mark.parametrize(("given", "low", "high", "told"), [  # 50 V is the limit; a quarter, and 10 V, are a difference
    (40.0, 45.0, 50.1, True), (40.0, 45.0, 50.0, False), (51.0, 49.0, None, True), (60.0, 55.0, 76.0, True), (60.0, 55.0, 74.0, False),
    (60.0, None, None, False), (None, 40.0, 60.0, True), (None, None, None, False), (52.0, 61.0, 64.9, False), (52.0, 61.0, 65.1, True),
    (20.0, 31.0, 45.0, False)])
def test_metalwork_that_crosses_the_limit_or_moves_beyond_it(given, low, high, told):
    found = list(_changes({METAL: given}, None if low is None else {METAL: low}, None if high is None else {METAL: high}))
    assert [(c.what, c.name, c.point, c.given, c.low, c.high) for c in found] == [(*METAL, given, low, high)] * told


@pytest.mark.parametrize(("given", "low", "high", "told"), [
    ("over", "under", "over", True), ("under", "under", "over", True), ("over", "dead", "over", True), ("over", "within", "over", False),
    ("within", "under", "over", False), ("under", "dead", "under", False)])
def test_a_deviation_of_the_other_sign(given, low, high, told):
    key = ("line", "L1", "house")
    assert len(list(_changes({key: given}, {key: low}, {key: high}))) == told


def test_another_outcome_of_an_item():
    key = ("item", "Lamp", "house")
    assert not list(_changes({key: "dim"}, {key: "dim"}, None))
    assert [c.high for c in _changes({key: "dim"}, {key: "dim"}, {key: "unharmed"})] == ["unharmed"]


# Readings

@pytest.mark.parametrize(("pair", "high", "low", "words"), [  # 15 % of 230 V; half of it; 5 V (data file `meters`)
    (("L1", "N"), 230.0, 60.0, "would read about 230 V although the neutral is open. A low-impedance tester would read about 60 V."),
    (("L1", "N"), 264.0, 114.0, "would read about 264 V although"), (("L1", "N"), 265.0, 114.0, "by coupling only"),
    (("L1", "N"), 230.0, 116.0, ""), (("L1", "N"), 265.0, 133.0, ""), (("L1", "PE"), 230.0, 60.0, "by coupling only"),
    (("N", "PE"), 5.1, 2.0, "by coupling only"), (("N", "PE"), 5.1, 3.0, ""), (("N", "PE"), 4.9, 1.0, "N and PE would both be at 77 V to the ground"),
    (("L1", "L2"), 4.9, 1.0, "")])
def test_which_reading_deceives(pair, high, low, words):
    case = SimpleNamespace(supply=SimpleNamespace(nominal=230.0))
    first, second = _warnings(case, [pair, ("PE", "earth")], [high, 77.0], [low, 76.0])
    assert (words in first if words else first == "") and second == ""
    if pair == ("N", "PE"):
        assert "both" not in next(iter(_warnings(case, [pair, ("PE", "earth")], [high, 4.0], [low, 4.0])))


def test_readings_of_waveforms_take_the_place_of_those_to_the_neutral():
    case = parse_case(HEAD.replace("TN-C-S", "TN-S") + load("A", "L1", 100.0))
    phasors = (Reading("house", ("L1", "N"), True, 300.0, 290.0, "x"), Reading("house", ("L1", "L2"), True, 400.0, 400.0, ""),
               Reading("house", ("N", "PE"), True, 80.0, 80.0, ""), Reading("house", ("L1", "N"), False, 1.0, 1.0, ""))
    state = SimpleNamespace(phases={("house", "L1"): SimpleNamespace(rms=231.0), ("house", "L2"): SimpleNamespace(rms=190.0), ("house", "L3"): None})
    made = readings_of_waves(case, state, phasors)
    assert [(r.between, r.loads_on, r.high, r.low) for r in made] == [
        (("L1", "N"), True, 231.0, None), (("L2", "N"), True, 190.0, None), (("L1", "L2"), True, 400.0, 400.0), (("L1", "N"), False, 1.0, 1.0)]
    assert "would read normal although the neutral is open" in made[0].warning and made[1].warning == ""
    assert readings_of_waves(case, state, ()) == ()
    joint = replace(case, breaks=tuple(replace(b, resistance=3.0) for b in case.breaks))
    assert readings_of_waves(joint, state, phasors)[0].warning == ""  # a joint is no open neutral
    line = replace(case, breaks=tuple(replace(b, conductor="L1") for b in case.breaks))
    assert readings_of_waves(line, state, phasors)[0].warning == ""


def test_points_behind_a_break_come_first_and_joints_have_no_meter():
    names = "".join(f'[[point]]\nname = "p{n}"\nkind = "joint"\n' if n == 0 else f'[[point]]\nname = "p{n}"\nfed_from = "p0"\n' for n in range(16))
    case = parse_case('title = "t"\n[supply]\n' + names + '[[break]]\nfeeding = "p15"\n' + load("A", "L1", 100.0).replace("house", "p15"))
    assert [p.name for p in _points(case)] == ["p15", *(f"p{n}" for n in range(1, 12))]  # twelve at most


# Lamps beside resistors

@pytest.mark.parametrize(("then", "told"), [(232.29, False), (232.31, True), (227.71, False), (227.69, True)])
def test_a_difference_of_one_per_cent_is_worth_saying(monkeypatch, then, told):
    case = parse_case(HEAD + load("Lamp", "L1", 60.0, kind="lamp") + load("Heater", "L2", 60.0))
    state = lambda volts: SimpleNamespace(loads=[SimpleNamespace(voltage=volts + 0j), SimpleNamespace(voltage=400.0 + 0j)])
    monkeypatch.setattr(lamps_study, "near", lambda changed, known: state(then))
    assert lamp_division(case, state(230.0)) == ((LampDivision("Lamp", 230.0, then),) if told else ())
    monkeypatch.setattr(lamps_study, "near", lambda changed, known: None)
    assert lamp_division(case, state(230.0)) == ()
