"""Ways of a network's states that are kept: starts that differ only in what is forgotten are served by one. Kind: invariant."""

from pathlib import Path

import numpy as np
import pytest
from course_cases import broken_network, load, star

from lostneutral import parse_case, read_case
from lostneutral.case.model import Break, Load
from lostneutral.circuit import arrival
from lostneutral.circuit.arrival import arrive
from lostneutral.circuit.dynamics import Dynamics
from lostneutral.circuit.network import network, resumed
from lostneutral.circuit.paths import FOREVER, KnownPaths, Shares
from lostneutral.circuit.stiff import Trajectories
from lostneutral.circuit.wiring import wiring

CASEBOOK = Path(__file__).parents[2] / "casebook"
MOTORS = """title = "shop"
[supply]
line_impedance = [0.2, 0.1]
neutral_impedance = [0.2, 0.1]
[[point]]
name = "intake"
[[load]]
name = "saw"
kind = "motor"
power = 4000
connect = "L1-L2-L3"
[[load]]
name = "pump"
kind = "motor"
power = 520
connect = "L1-L2-L3-N"
[[load]]
name = "fan"
kind = "motor"
power = 60
connect = "L1-N"
"""


def cases():
    """Cases with every kind of load that has modes."""
    shops = (read_case(CASEBOOK / f"{name}.toml") for name in ("corner-shop", "dairy-farm", "hotel-kitchen", "office-floor"))
    return [parse_case(MOTORS), *shops]


def in_modes(case):
    """Yield a case's equations with its loads in each of their modes, and some states that they may be in."""
    case, draw = case.at_the_end(), np.random.default_rng(7)
    net = network(wiring(case, case.breaks_after(), case.crosses))
    for k in range(max(len(model.modes) for model in net.models)):
        now = resumed(net, {key: (model.modes[min(k, len(model.modes) - 1)], ()) for key, model in zip(net.keys, net.models)})
        dynamics = Dynamics(now, case.supply.nominal)
        yield dynamics, now.settled(draw.uniform(0.5, 1.6, len(net.models)) * now.at(case.supply.nominal)), draw


@pytest.mark.parametrize("case", cases(), ids=lambda case: case.title)
def test_nothing_goes_by_a_state_that_forgets_its_beginning(case):
    for dynamics, state, draw in in_modes(case):
        forgetting = dynamics.moving[dynamics.forgets > 0]
        other = state.copy()
        other[forgetting] += draw.uniform(-0.5, 0.5, len(forgetting)) * dynamics.scale[forgetting]
        np.testing.assert_array_equal(dynamics.sizes(other), dynamics.sizes(state))
        by = dynamics.rates(other) - dynamics.rates(state)
        by[forgetting] += dynamics.forgets[dynamics.forgets > 0] * (other - state)[forgetting]
        np.testing.assert_allclose(by, 0.0, atol=1e-9 * np.abs(dynamics.rates(other)).max(initial=1e-9))
        ends = dynamics.turning(other) != dynamics.turning(state)
        assert set(np.flatnonzero(ends)) <= set(forgetting)


def test_the_heat_of_what_stands_still_is_forgotten():
    forgetting = {}
    for dynamics, *_ in in_modes(parse_case(MOTORS)):
        for k, forgets in zip(dynamics.moving, dynamics.forgets):
            forgetting.setdefault((type(dynamics.net.models[k]).__name__, dynamics.net.models[k].mode), set()).add(bool(forgets > 0))
    assert forgetting["Motor", "running"] == {False} and forgetting["Motor", "stalled"] == forgetting["Motor", "tripped"] == {True}
    assert forgetting["Machine", "running"] == forgetting["Machine", "stalled"] == {False, True}  # the slip, and the heat of the winding


def test_one_flow_serves_what_differs_in_a_heat():
    dynamics, *_ = next(in_modes(parse_case(MOTORS)))
    state = dynamics.net.settled(0.9 * dynamics.nominal)
    known = KnownPaths(dynamics.net, 230.0, 1e-6)
    forgetting = dynamics.moving[dynamics.forgets > 0]
    warm = state.copy()
    warm[forgetting] += 0.3 * dynamics.scale[forgetting]
    laws = Shares(dynamics, state)
    laws.tables = None
    for start in (state, warm):
        path = known.path(start, 20.0)
        while path.has(len(path.steps)):
            pass
        step = path.steps[-1]
        exact = Trajectories(laws.law, laws.sloped, 0.0, laws.of(start)[None], step.until, 1e-9)
        while exact.active.any():
            exact.step()
        assert path.within([len(path.steps) - 1], [step.share])[0][0] == pytest.approx(laws.whole(exact.x)[0], rel=1e-5, abs=1e-7)
    assert len(known.flows) == 1 and len(known.paths) == 2 and step.until < FOREVER


def test_turns_that_come_again_are_followed_once_on_the_way_to_where_a_circuit_arrives(monkeypatch):
    """The cycle is that of the turns followed anew: a fan that goes on trying beside a pump whose winding warms up."""
    pump = Load("pump", "motor", ("L1", "L2", "L3", "N"), "intake", 400.0, 1, True, {"power": 520.0})
    case = star([load("motor", "L1", 60, name="fan", stalls_below=0.9), pump], breaks=[Break("intake", "L1", np.inf)])
    net, taken = broken_network(case), []
    cold, step = Dynamics(net, 230.0).cold, Trajectories.step
    monkeypatch.setattr(Trajectories, "step", lambda own: taken.append(own) or step(own))
    kept, = arrive(net, 230.0, [cold])
    of_kept = len(taken)
    monkeypatch.setattr(arrival, "_comes_again", lambda course: False)
    anew, = arrive(net, 230.0, [cold])
    assert kept.ends == anew.ends == "cycle" and kept.period == pytest.approx(anew.period, rel=1e-3)
    assert kept.low == pytest.approx(anew.low, abs=0.1) and kept.high == pytest.approx(anew.high, abs=0.1)
    assert of_kept < (len(taken) - of_kept) / 1.5
