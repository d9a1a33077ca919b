"""Loads that go off and come back by themselves, and the cycle that they make. Kind: independent (own fine-step
integration of the same laws, explicit and without any event location) unless a test says otherwise."""

from types import SimpleNamespace

import numpy as np
import pytest
from course_cases import at, broken_network, load, star, supply
from daily import daily

from lostneutral import analyse
from lostneutral.case.model import Break, Load
from lostneutral.circuit import course as circuit_course
from lostneutral.circuit import cycle
from lostneutral.circuit.arrival import arrive
from lostneutral.circuit.course import stretch, switched
from lostneutral.circuit.cycle import _turned_once
from lostneutral.circuit.dynamics import Dynamics
from lostneutral.circuit.incident import follow_course
from lostneutral.circuit.paths import Flow, KeptPath
from lostneutral.circuit.states import before_and_after
from lostneutral.consequences.wear import wears
from lostneutral.loads.electronic import Electronic

SOURCES = np.array([supply().phasors[line] for line in ("L1", "L2", "L3")])
STEP = 2e-5  #: s


def supply_unit(**keys):
    return load("electronic", "L1", keys.pop("power"), name="unit", front_end="corrected", works_from=170.0, **keys)


def by_small_steps(model, siemens, span, *, low, high, back, delay, restart, start=(0.0, 1.0)):
    """March the conductance of one unit on L1 beside fixed ones on all lines; return (times of restarts, volts per step)."""
    g, mode, since, healthy_since = float(model.settled(230.0)), "on", None, None
    started, restarts, volts = -1e9, [], []
    lag, leak, power = float(model.lag), float(model.leakage), float(model.power)
    siemens, sources = siemens.tolist(), SOURCES.tolist()  # plain numbers: a step takes a fraction of the time
    for n in range(int(span / STEP)):
        now = n * STEP
        y = siemens[0] + (leak if mode == "off" else g), *siemens[1:]
        at = (y[0] * sources[0] + y[1] * sources[1] + y[2] * sources[2]) / (y[0] + y[1] + y[2])
        v = [abs(x - at) for x in sources]
        volts.append(v)
        if mode == "on":
            current = power / (max(v[0], 170 + 17 / 2 * (1 + min(max((v[0] - 170) / 17, 0), 1) ** 2)))
            target = current / max(v[0], 170.0) * (start[1] if now - started < start[0] else 1.0)
            g += STEP / lag * (target - g)
            out = v[0] < low or v[0] > high
            since = (since if since is not None else now) if out else None
            if out and now - since >= delay:
                mode, healthy_since = "off", None
        else:
            well = back[0] < v[0] < back[1]
            healthy_since = (healthy_since if healthy_since is not None else now) if well else None
            if well and now - healthy_since >= restart:
                mode, since, g, started = "on", None, leak, now
                restarts.append(now)
    return np.array(restarts), np.array(volts)


CASES = {
    "restart delay": ({"power": 600.0, "restarts_from": 200.0, "restart_delay": 0.5}, (300, 400, 500), {}),
    "delay before it drops out": ({"power": 600.0, "restarts_from": 200.0, "restart_delay": 0.3, "drop_out_delay": 0.2},
                                  (300, 400, 500), {"delay": 0.2, "restart": 0.3}),
    "start-up current": ({"power": 600.0, "restarts_from": 200.0, "restart_delay": 0.4, "start_current": 3.0, "start_time": 0.15,
                              "drop_out_delay": 0.1}, (300, 400, 500), {"delay": 0.1, "restart": 0.4, "start": (0.15, 3.0)}),
}


@pytest.mark.parametrize("name", daily(CASES))
def test_cycle_as_by_small_steps(name):
    keys, powers, law = CASES[name]
    law = {"low": 170.0, "high": np.inf, "back": (200.0, np.inf), "delay": 0.0, "restart": 0.5} | law
    case = star([supply_unit(**keys), *(load("resistive", f"L{k}", p, name=f"r{k}") for k, p in enumerate(powers, 1))])
    after = before_and_after(case)[1]
    model = Electronic(keys["power"], 230.0, "corrected", works_from=170.0)
    restarts, volts = by_small_steps(model, np.array(powers) / 230.0**2, 3.5, **law)
    assert after.ends == "cycle" and after.reached is None
    period = np.diff(restarts)[-1]
    assert after.cycle["period"] == pytest.approx(period, rel=3e-3)
    turn = volts[round(restarts[-2] / STEP):round(restarts[-1] / STEP)]
    for k in (1, 2, 3):
        told = after.cycle["lines"][f"intake L{k}"]
        assert told["lowest"] == pytest.approx(turn[:, k - 1].min(), abs=0.5)
        assert told["highest"] == pytest.approx(turn[:, k - 1].max(), abs=0.5)
        assert told["rms"] == pytest.approx(np.sqrt((turn[:, k - 1] ** 2).mean()), rel=2e-3)
        passing = [abs(moment.voltage("intake", f"L{k}")) for moment in after.passing]  # the moments that claims go by
        assert (min(passing), max(passing)) == (pytest.approx(turn[:, k - 1].min(), abs=0.8), pytest.approx(turn[:, k - 1].max(), abs=0.8))


def test_upper_cut_out_acts_after_its_delay_and_keeps_a_load_off_that_would_only_raise_its_own_line():
    keys = {"power": 100.0, "cuts_out_above": 270.0, "restarts_from": 170.0, "restart_delay": 0.4, "drop_out_delay": 0.1}
    powers = (100, 400, 550)
    case = star([supply_unit(**keys), *(load("resistive", f"L{k}", p, name=f"r{k}") for k, p in enumerate(powers, 1))])
    model = Electronic(100.0, 230.0, "corrected", works_from=170.0)
    restarts, volts = by_small_steps(model, np.array(powers) / 230.0**2, 1.0, low=170.0, high=270.0, back=(170.0, 270.0),
                                     delay=0.1, restart=0.4)
    assert not len(restarts)
    after = before_and_after(case)[1]
    assert after.ends == "settled" and [s.reached for s in after.solutions] == [True]
    assert abs(after.reached.voltage("intake", "L1")) == pytest.approx(volts[-1, 0], abs=0.05)
    off = [m.time for m in follow_course(case, end=2.0).moments if m.what.endswith("shutdown")]
    first = (volts[:, 0] > 270.0).argmax() * STEP
    assert off == [pytest.approx(first + 0.1, abs=2e-3)]


def test_an_upper_cut_out_that_is_not_reached_changes_nothing_at_the_lower_end():
    # invariant: held at its cut-off the supply goes on and off, and is followed by its mean as without an upper cut-out; by itself
    # it would go off and on at one and the same voltage
    held = []
    for keys in ({}, {"cuts_out_above": 320.0}):
        after = before_and_after(star([supply_unit(power=356.0, **keys), load("resistive", "L1", 100), load("resistive", "L2", 85)]))[1]
        assert after.ends == "settled" and after.reached.loads[0].details["at_cut_off"]
        held.append(abs(after.reached.voltage("intake", "L1")))
    assert held[0] == pytest.approx(held[1], abs=1e-9) and 166 < held[0] < 170


@pytest.mark.parametrize(("keys", "seconds"), [({}, 0.02), ({"restarts_below": 300.0}, 0.0), ({"restart_delay": 1.5}, 1.5),
                                               ({"drop_out_delay": 0.1}, 0.0)])
def test_a_load_that_goes_off_and_on_at_one_voltage_takes_a_cycle_to_come_back(keys, seconds):
    # assumption of this program: 0.02 s, which is no delay that anybody gave
    unit = Electronic(100.0, 230.0, cuts_out_above=320.0, **keys)
    assert unit.in_mode("cut off").delay("healthy") == seconds and unit.restart_delay == keys.get("restart_delay", 0.0)


def test_the_way_to_where_nothing_switches_is_followed_for_as_long_as_loads_take_to_settle(monkeypatch):
    # documented: 50 of the slowest load's time constants where no delay runs, not the 600 s that delays are waited for
    asked = []
    monkeypatch.setattr(cycle, "stretch", lambda *given, **how: asked.append(given[4]) or stretch(*given, **how))
    case = star([supply_unit(power=100.0, drop_out_delay=0.2), *(load("resistive", f"L{k}", 1000, name=f"r{k}") for k in (1, 2, 3))])
    net = broken_network(case)
    dynamics = Dynamics(net, 230.0)
    assert cycle.on_the_way(case, net, net.settled(net.at(230.0))) == ()
    assert asked == [pytest.approx(50 * dynamics.slowest)] and asked[0] < 100


def test_a_delay_called_off_does_nothing():
    """Invariant: a dip shorter than the delay leaves the load running; one that is longer does not."""
    for seconds, word in ((0.15, []), (0.25, ["shutdown", "restart"])):
        unit = supply_unit(power=50.0, drop_out_delay=0.2, restarts_from=200.0, restart_delay=0.1)
        dip = [at(1.0, load="dip", on=True), at(1.0 + seconds, load="dip", on=False)]
        case = star([unit, load("resistive", "L1", 5000, name="dip", on=False), *(load("resistive", f"L{k}", 100, name=f"r{k}")
                                                                                 for k in (1, 2, 3))],
                    [at(0.5, ohms=np.inf), *dip], course_end=3.0)
        course = follow_course(case)
        assert [m.what.removeprefix("unit: ") for m in course.moments if m.kind == "mode"] == word


FAN_AND_PUMP = load("motor", "L1", 60, name="fan", stalls_below=0.9), Load("pump", "motor", ("L1", "L2", "L3", "N"), "intake", 400.0, 1, True, {"power": 520.0})
NO_L1 = Break("intake", "L1", np.inf)  #: the pump holds the line up, too low for the fan to turn


@pytest.mark.thorough
def test_one_turn_of_a_cycle_leaves_everything_as_it_was():
    """Invariant, also of a winding whose heat takes thirty turns to build up."""
    net = broken_network(star(FAN_AND_PUMP, breaks=[NO_L1]))
    arrived, = arrive(net, 230.0, [Dynamics(net, 230.0).cold])
    net, state, time = arrived.net, arrived.state, 0.0
    for _ in range(2):  # the fan's protector opens and closes
        net, state = switched(net, state, [0])
        part = stretch(net, 230.0, state, time, 1e4)
        state, time = part.states[-1], float(part.times[-1])
    assert net.conditions == arrived.net.conditions and time == pytest.approx(arrived.period, rel=1e-4)
    assert state == pytest.approx(arrived.state, rel=3e-4)


@pytest.mark.thorough
def test_a_turn_that_is_known_is_not_another_when_it_is_followed_anew(monkeypatch):
    """Invariant: a course that takes its later turns from its first has their changes where it would have followed them to; wear
    grows along turns that are known as along turns that are followed anew, and is integrated along one of them."""
    unit = supply_unit(power=600.0, restarts_from=200.0, restart_delay=0.5)
    rest = [load("resistive", f"L{k}", p, name=f"r{k}") for k, p in enumerate((300, 400, 500), 1)]
    case, asked = star([unit, *rest], [at(0.5, ohms=np.inf)], course_end=20.0), []
    gains = circuit_course._further
    monkeypatch.setattr(circuit_course, "_further", lambda *given: asked.append(given) or gains(*given))
    known, of_known = follow_course(case, wears(case)), len(asked)
    monkeypatch.setattr(KeptPath, "serves", lambda *_: False)
    anew = follow_course(case, wears(case))
    assert of_known < (len(asked) - of_known) / 3
    assert len(anew.moments) > 24 and [m.what for m in known.moments] == [m.what for m in anew.moments]
    assert [m.time for m in known.moments] == pytest.approx([m.time for m in anew.moments], rel=1e-5)
    assert known.used["unit"][-1] > 0 and known.used["unit"][-1] == pytest.approx(anew.used["unit"][-1], rel=1e-5)


@pytest.mark.thorough
def test_turns_that_differ_in_a_heat_are_followed_once(monkeypatch):
    """Invariant: a fan whose protector opens and closes beside a pump whose winding warms up, turn for turn, as if each were followed anew."""
    case, taken = star(FAN_AND_PUMP, breaks=[NO_L1], course_end=1200.0), []
    take = Flow._take
    monkeypatch.setattr(Flow, "_take", lambda flow: taken.append(flow) or take(flow))
    known, of_known = follow_course(case), len(taken)
    monkeypatch.setattr(Flow, "leads", lambda *_: False)
    anew = follow_course(case)
    assert of_known < (len(taken) - of_known) / 5
    assert len(anew.moments) > 24 and [m.what for m in known.moments] == [m.what for m in anew.moments]
    assert [m.time for m in known.moments] == pytest.approx([m.time for m in anew.moments], rel=1e-4)
    heat = [course.details["pump"]["winding_heat"][-1] for course in (known, anew)]
    assert heat[0] > 0.5 and heat[0] == pytest.approx(heat[1], rel=1e-4)


def test_everything_told_of_a_cycle_is_within_its_extremes():
    """Invariant of claims and verdicts: the worst of the cycle counts, in every table."""
    keys, powers, _ = CASES["restart delay"]
    result = analyse(star([supply_unit(**keys), *(load("resistive", f"L{k}", p, name=f"r{k}") for k, p in enumerate(powers, 1))]))
    lines = result.after.cycle["lines"]
    tops = [max(abs(m.solution.voltage("intake", line)) for m in result.incident.moments) for line in ("L1", "L2", "L3")]
    assert tops == pytest.approx([lines[f"intake {line}"]["highest"] for line in ("L1", "L2", "L3")], abs=0.25)
    unit = next(v for v in result.verdicts if v.item == "unit")
    assert unit.outcome == "goes on and off" and unit.highest == pytest.approx(lines["intake L1"]["highest"], abs=0.25)
    said = " ".join(f.message for f in result.findings)
    assert "unit would go off and come back again and again, about every 0.53 seconds" in said
    assert [again["load"] for again in result.after.cycle["restarts"]] == ["unit"]


def test_how_long_a_turn_is_at_each_voltage():
    # by hand: 100 V for 9 s of 10, then 340 V; of each eighth of the range that end which is further from 230 V
    times, volts = np.array([0.0, 9.0, 9.0, 10.0]), np.array([100.0, 100.0, 340.0, 340.0])
    assert cycle._levels(times, volts, 230.0) == [(100.0, pytest.approx(0.9)), (340.0, pytest.approx(0.1))]
    ramp = cycle._levels(np.linspace(0.0, 8.0, 801), np.linspace(190.0, 270.0, 801), 230.0)
    assert [v for v, _ in ramp] == pytest.approx([190, 200, 210, 220, 240, 250, 260, 270]) and [s for _, s in ramp] == pytest.approx([1 / 8] * 8, abs=0.01)
    assert cycle._levels(np.array([0.0, 5.0]), np.array([230.0, 230.0]), 230.0) == [(230.0, 1.0)]


def test_what_ends_a_turn_begins_the_next():
    # by hand: a unit that comes back at 0 s and at the end, and goes off in between; another that does so at the same instants
    def turn(*changes):
        return [SimpleNamespace(times=[time], net=SimpleNamespace(conditions=state)) for time, state in changes]

    parts = turn((0.0, "off"), (0.0, "on"), (4.0, "off"), (9.99, "on"))
    assert _turned_once(parts, 10.0) == parts[:3] and _turned_once(parts[:3], 10.0) == parts[:3]
    both = turn((0.0, "off off"), (0.0, "on off"), (0.0, "on on"), (4.0, "off on"), (5.0, "off off"), (9.99, "on off"), (9.99, "on on"))
    assert _turned_once(both, 10.0) == both[:5] and _turned_once(both[:6], 10.0) == both[:5]
    other = turn((0.0, "off off"), (0.0, "on off"), (4.0, "off off"), (9.99, "off on"))
    assert _turned_once(other, 10.0) == other  # another load comes back just before the end
    early = turn((0.0, "off"), (0.0, "on"), (4.0, "off"), (8.0, "on"))
    assert _turned_once(early, 10.0) == early
