"""What each study looks at and what it makes of a state, each by hand: closed forms, arithmetic, or as documented."""

from dataclasses import replace
from math import hypot, inf, sqrt
from types import SimpleNamespace

import numpy as np
import pytest

from lostneutral import parse_case
from lostneutral.case.model import Break, Event, Recording
from lostneutral.circuit.states import before_and_after
from lostneutral.circuit.waveform.parts import bridge_of
from lostneutral.errors import NoSolutionError
from lostneutral.studies import brief, electrode_range, inlets, joint, levels, main_switch, recorded
from lostneutral.studies.beginning import Beginning

HEAD = 'title = "t"\n[supply]\nearthing = "{}"\n'


def load(name, line="L1", watts=2300.0, point="house", kind="resistive", more=""):
    return f'[[load]]\nname = "{name}"\nkind = "{kind}"\nconnect = "{line}-N"\npower = {watts}\npoint = "{point}"\n{more}'


def house(*loads, earthing="TN-C-S", point="", broken='[[break]]\nfeeding = "house"\n', more=""):
    return parse_case(HEAD.format(earthing) + f'[[point]]\nname = "house"\n{point}{more}{broken}' + "".join(loads))


# Recordings

def test_what_is_left_of_values_about_their_levels():
    a, b = np.array([1.0, 3.0, 1.0, 3.0]), np.array([10.0, 12.0, 10.0, 12.0])
    # arithmetic: one volt about each mean, which turns from value to value, so that nothing is added
    assert levels._left(a, b) == pytest.approx(1.0 + 1e-6)
    alike = np.array([1.0, 1.0, 1.0, -1.0, -1.0, -1.0])
    r = (1 + 1 - 1 + 1 + 1) / 6
    assert levels._left(alike) == pytest.approx((1 + 1e-6) * (1 + r) / (1 - r))


@pytest.mark.parametrize("order", [1, -1])
def test_a_small_change_in_a_quiet_part_is_seen_beside_a_noisy_one(order):
    # arithmetic: a volt is five times the noise of the quiet part, and a fifth of that of the other, which does not count there
    rng = np.random.default_rng(5)
    volts = np.concatenate([229.0 + 0.2 * rng.standard_normal(60), 230.0 + 0.2 * rng.standard_normal(60), 250.0 + 5.0 * rng.standard_normal(60)])
    of = Recording("m.csv", "", "house", ("L1", "N"), tuple(60.0 * np.arange(180)), tuple(volts[::order]), 60.0)
    assert [level.values for level in levels.levels(of)] == [60, 60, 60]


def test_noise_of_neighbouring_values_forgets_as_they_do():
    rng = np.random.default_rng(3)
    for r in (0.0, 0.6):
        v = [0.0]
        for x in rng.standard_normal(4000):
            v.append(r * v[-1] + 2.0 * sqrt(1 - r**2) * x)
        v = np.array(v) + np.where(np.arange(4001) > 2000, 50.0, 0.0)  # a change adds little
        # closed form: the variance of 4 V², raised by (1 + r) / (1 − r)
        assert levels.noise(v) == pytest.approx(4.0 * (1 + r) / (1 - r), rel=0.25)
    assert levels.noise(np.arange(3.0)) == inf
    # nine tenths of squares of a normal law: without the largest one of ten
    assert levels._variance(np.array([1.0] * 9 + [99.0])) == pytest.approx(1 / levels.OF_NINE_TENTHS + 1e-6)


def recording(**more):
    return Recording("m.csv", "", "house", ("L1", "N"), (60.0, 120.0), (230.0, 230.0), 60.0, **more)


def test_stretches_of_a_recording_keep_clear_of_every_change():
    case = house(load("A"), broken="")
    of = replace(recording(), times=(200.0, 500.0), averaging=0.0, clock_deviation=10.0)  # three deviations are 30 s
    def clear(*edges, fault=None):
        events = tuple(Event(t, load="A", on=False) for t in edges)
        return [(a, b) for a, b, _ in recorded._stretches(replace(case, events=events), of, fault)]
    assert clear() == [(200.0, 500.0)] and clear(300.0, 400.0) == [(200.0, 270.0), (330.0, 370.0), (430.0, 500.0)]
    assert clear(120.0) == [(200.0, 500.0)] and clear(220.0) == [(250.0, 500.0)] and clear(485.0, 520.0) == [(200.0, 455.0)]
    assert clear(fault=(300.0, 350.0)) == [(200.0, 270.0), (380.0, 500.0)]
    told = [where for *_, where in recorded._stretches(case, of, (300.0, 350.0))]
    assert [where.before for where in told] == [True, False]


def test_a_reading_is_made_of_the_levels_of_one_condition(monkeypatch):
    times = 60.0 * np.arange(1, 51)
    volts = np.select([times <= 600, times <= 1200, times <= 2000], [230.0, 233.0, 280.0], 300.0)
    made = recording(clock_deviation=20.0)
    made = replace(made, times=tuple(times), volts=tuple(volts))
    case = house(load("A"), load("B", "L2"), broken="")
    case = replace(case, recordings=(made,), events=(Event(1200.0, Break("house", "N")), Event(2000.0, load="B", on=False)))
    assert recorded.begins(case) == 1200.0
    before, after, off = recorded.all_observations(case)
    # by the values of each level that are clear of the change by three deviations of the clock and the averaging, 120 s
    mean = (10 * 230 + 8 * 233) / 18
    wander = sqrt((10 * (230 - mean) ** 2 + 8 * (233 - mean) ** 2) / 18)
    assert (before.details["state"], before.voltage, before.details["spans"]) == ("before", pytest.approx(mean, abs=0.05), ((0.0, 600.0), (600.0, 1080.0)))
    assert before.uncertainty == pytest.approx(hypot(wander, 2.0)) and before.details["time"] == 300.0
    assert (after.details["state"], after.voltage, after.details["spans"], after.uncertainty) == ("after", 280.0, ((1320.0, 1860.0),), 2.0)
    assert (off.voltage, off.details["time"], off.details["recording"]) == (300.0, 2580.0, 0)
    assert recorded.all_observations(replace(case, recordings=(replace(made, fitted_after=True),))) == ()
    found = {"step": Beginning(100.0, 100.0, 90.0, 110.0, 60.0), "slow": Beginning(100.0, 500.0, 50.0, 150.0, 600.0),
             "both": Beginning(100.0, 100.0, 90.0, 110.0, 60.0, 40.0), "nothing": None}
    for what, edge in (("step", (100.0, 100.0)), ("slow", (100.0, 400.0)), ("both", (40.0, 100.0)), ("nothing", None)):
        monkeypatch.setattr(recorded, "recorded_beginning", lambda case, made=found[what]: made)
        assert recorded._edge(replace(case, events=())) == edge and recorded._edge(case) == (1200.0, 1200.0)
        assert recorded.begins(replace(case, events=())) == (edge and edge[0])


# Joints

def test_which_joint_a_sweep_is_about():
    case = house(load("A"))
    of = lambda *breaks: joint.joint_of(replace(case, breaks=breaks))
    line, neutral = Break("house", "L1", 3.0), Break("house", "N", 5.0)
    assert of(line, neutral) == neutral and of(line) == line and of(Break("house", "N"), Break("house", "L1", 0.0)) is None
    assert of(Break("supply", "L1", 40.0, "fuse")) is None and of(Break("supply", "L1", 40.0, "fuse"), line) == line  # no cable has it
    with pytest.raises(ValueError):
        joint.joint_sweep(case)


def test_a_joint_swept_by_itself_and_with_another_break():
    # closed form: one load of 23 ohm and the joint in series; the neutral stands at the joint's share of 230 V
    case = house(load("A"), earthing="TN-S", broken='[[break]]\nfeeding = "house"\nresistance = 2\n[[break]]\nfeeding = "house"\nconductor = "L2"\n')
    swept = joint.joint_sweep(case, (0.0, 0.5, 2.0, 23.0, inf))
    ohms = np.array([0.0, 0.5, 2.0, 23.0])
    amps = 230 / (23 + ohms)
    assert swept.currents[:4] == pytest.approx(amps) and swept.heats[:4] == pytest.approx(ohms * amps**2) and swept.shifts[:4] == pytest.approx(ohms * amps)
    assert swept.phases["L1"][:4] == pytest.approx(23 * amps) and (swept.heats[4], swept.joint.resistance) == (0.0, 2.0)
    known = before_and_after(case)[1].reached
    states = joint.joint_states(case, swept.joint, (1.0, 2.0, 4.0), known)
    assert [abs(s.currents["house", "N"]) for s in states] == pytest.approx([230 / 24, 230 / 25, 230 / 27])


def test_a_state_that_is_lost_is_looked_for_once_and_then_only_followed(monkeypatch):
    asked = []
    monkeypatch.setattr(joint, "state_near", lambda case, known: {1: "one", 2: None, 3: None, 4: "four"}[case])
    monkeypatch.setattr(joint, "settle", lambda case: asked.append(case))
    assert joint._followed([1, 2, 3, 4], "known") == ["one", None, None, "four"] and asked == [2]
    monkeypatch.setattr(joint, "settle", lambda case: f"new {case}")
    assert joint._followed([2, 3], "known") == ["new 2", "new 3"] and joint._followed([1], None) == ["new 1"]

    def none(case):
        raise NoSolutionError("none")

    monkeypatch.setattr(joint, "settle", none)
    assert joint._followed([2], "known") == [None]


# Electrodes, main switches

def test_touch_voltage_over_the_range_of_an_electrode():
    # closed form: the load and the electrode in series on 230 V; without one the whole of it
    found = electrode_range.touch_range(house(load("A")), ohms=(10.0, 100.0))
    assert found.volts == pytest.approx([230 * 10 / 33, 230 * 100 / 123]) and found.without == pytest.approx(230.0) and not found.as_if
    plain = electrode_range.touch_range(parse_case(house(load("A")).source.replace('earthing = "TN-C-S"\n', "")), ohms=(10.0,))
    assert plain.as_if and plain.volts == pytest.approx([230 * 10 / 33])
    assert electrode_range.touch_range(house(load("A"), point="electrode = 30\n")) is None and electrode_range.touch_range(house(load("A"), earthing="TN-S")) is None
    tt = electrode_range.touch_range(house(load("A"), earthing="TT"), ohms=(10.0,))
    assert tt.point == "house" and tt.without is None  # in TT there must be one
    shed = '[[point]]\nname = "shed"\nkind = "board"\nfed_from = "house"\n[[point]]\nname = "next"\n'
    assert electrode_range.touch_range(house(load("A"), more=shed), ohms=(10.0,)).point == "house"
    assert len(electrode_range.touch_range(house(load("A"))).ohms) == 25 and electrode_range.electrode_range() == (10.0, 500.0)


def test_main_switches_of_the_intakes_that_stand_highest(monkeypatch):
    names = [f"h{n}" for n in range(6)]
    points = '[[point]]\nname = "main"\nkind = "joint"\n' + "".join(f'[[point]]\nname = "{n}"\nfed_from = "main"\nelectrode = {10 * (k + 1)}\n' for k, n in enumerate(names))
    case = parse_case(HEAD.format("TN-C-S") + points + '[[break]]\nfeeding = "main"\n' + load("A", point="h0") + load("B", "L2", 500.0, "h2") + load("C", "L3", 9.0, "h3", more="on = false\n"))
    now = before_and_after(case)[1].reached
    found = main_switch.main_switch(case, now)
    assert len(found) == 4 and all(o.volts == pytest.approx(found[0].volts) for o in found)  # one PEN: all at one voltage
    by = {o.point: o for o in found}
    # closed form: with the loads of the first off the other's 105.8 ohm and all electrodes in parallel are left
    earth = 1 / sum(1 / (10 * (k + 1)) for k in range(6))
    assert by["h0"].left == pytest.approx(230 * earth / (earth + 105.8)) and by["h0"].others == ("h2",) and by["h1"].others == ("h0", "h2")
    assert by["h1"].left == pytest.approx(by["h1"].volts)
    volts = {"h0": 10.0, "h1": None, "h2": 400.0, "h3": 60.0, "h4": 5.0, "h5": 70.0}
    state = SimpleNamespace(between=lambda a, b: volts.get(a[0]))
    monkeypatch.setattr(main_switch, "near", lambda case, solution: None)
    ordered = main_switch.main_switch(case, state)
    assert [o.point for o in ordered] == ["h2", "h1", "h5", "h3"] and ordered[0].left is None  # nothing known counts as the full voltage
    assert main_switch.main_switch(replace(case, breaks=(Break("main", "L1"),)), now) == ()


# Inlets and brief stages

def rectifiers(count, on="true", broken='[[break]]\nfeeding = "house"\n'):
    return house(*(load(f"s{n}", f"L{n % 3 + 1}", 60.0, kind="electronic", more=f'front_end = "rectifier"\non = {on}\ncount = 2\n') for n in range(count)), broken=broken)


def test_inlets_and_capacitors_are_changed_by_their_factors(monkeypatch):
    case = rectifiers(3)
    usual = bridge_of(case.loads[0])
    changed = bridge_of(inlets._with(case.loads[0], 0.2, 3.0))
    # invariant: all units of a load together, their resistances in parallel and their capacitors as well
    assert changed.resistance == pytest.approx(0.2 * usual.resistance) and changed.capacitance == pytest.approx(3.0 * usual.capacitance)
    off = replace(case.loads[0], on=False)
    assert inlets._with(off, 0.2, 3.0) is off
    monkeypatch.setattr(inlets, "after_break", lambda case, steps: (bridge_of(case.loads[0]).resistance / usual.resistance, steps))
    made = inlets.other_inlets(case)
    assert [(o.inlet, o.capacitor, o.state) for o in made] == [(f, c, (pytest.approx(f), 96)) for f, c in inlets.FACTORS]
    assert inlets.other_inlets(rectifiers(13)) == () and inlets.other_inlets(rectifiers(3, "false")) == ()
    assert len(inlets.other_inlets(rectifiers(12))) == 4 and inlets.other_inlets(rectifiers(3, broken='[[break]]\nfeeding = "house"\nconductor = "L1"\n')) == ()

    def none(case, steps):
        raise NoSolutionError("no way")

    monkeypatch.setattr(inlets, "after_break", none)
    assert {(o.state, o.reason) for o in inlets.other_inlets(case)} == {(None, "no way")}


def test_stages_of_less_than_two_cycles_are_told_of(monkeypatch):
    case = house(load("A"))
    sound = replace(case, breaks=())
    part = lambda start, end, at=case: SimpleNamespace(start=start, end=end, case=at)
    parts = [part(0.0, 0.03, sound), part(1.0, 1.0), part(1.0, 1.0399), part(2.0, 2.0401), part(3.0, 3.02), part(4.0, 4.02), part(5.0, 5.02), part(6.0, 6.02)]
    courses = SimpleNamespace(central=SimpleNamespace(parts=parts))
    asked = []

    def crests(was, stage, seconds):
        asked.append((len(was.breaks), len(stage.breaks), round(seconds, 4)))
        if seconds > 0.03:
            raise NoSolutionError("no way")
        return "crests"

    monkeypatch.setattr("lostneutral.circuit.waveform.brief.crests", crests)
    found = brief.brief_stages(case, courses)
    assert [(b.start, b.end, b.crests) for b in found] == [(t, pytest.approx(t + 0.02), "crests") for t in (3.0, 4.0, 5.0, 6.0)]
    assert asked[0] == (0, 1, 0.0399) and len(asked) == 5 and len(brief.brief_stages(case, SimpleNamespace(central=SimpleNamespace(parts=parts + [part(7.0, 7.02)])))) == 4
    assert brief.brief_stages(case, None) == ()
    monkeypatch.setattr(brief, "MOST_LOADS", 0)
    assert brief.brief_stages(case, courses) == ()
