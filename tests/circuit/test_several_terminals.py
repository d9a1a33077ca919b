"""Loads with more than two terminals in the equations: derivatives, sparse against dense, both star connections."""

import numpy as np
import pytest

from lostneutral import parse_case
from lostneutral.circuit import network as networks
from lostneutral.circuit.continued import settle_near
from lostneutral.circuit.dynamics import Dynamics
from lostneutral.circuit.equations import Equations
from lostneutral.circuit.incident import follow_course
from lostneutral.circuit.network import network
from lostneutral.circuit.newton import newton
from lostneutral.circuit.outcome import solution
from lostneutral.circuit.starts import usual
from lostneutral.circuit.states import before_and_after
from lostneutral.circuit.wiring import wiring

HEAD = 'title = "t"\n[supply]\nline_impedance = [0.3, 0.1]\nneutral_impedance = [0.3, 0.1]\n[[point]]\nname = "intake"\n'
MOTOR = '[[load]]\nname = "saw"\nkind = "motor"\nconnect = "{}"\npower = 4000\ntorque = 0.6\n'
OTHERS = '[[load]]\nname = "lamp"\nkind = "lamp"\nconnect = "L1-N"\npower = 200\n' \
         '[[load]]\nname = "heater"\nkind = "resistive"\nconnect = "L2-N"\npower = 900\n'


def net_of(connect="L1-L2-L3", more=OTHERS, resistance=20.0):
    case = parse_case(HEAD + f"[[break]]\nresistance = {resistance}\n" + MOTOR.format(connect) + more)
    return case, network(wiring(case, case.breaks))


@pytest.mark.parametrize("connect", ["L1-L2-L3", "L1-L2-L3-N"])
def test_the_jacobian_is_the_derivative_of_the_current_sums(connect):  # independent: differences
    _, net = net_of(connect)
    equations, v = Equations(net), usual(net, 230.0)[None]
    v = v + 5 * np.exp(1j * np.arange(v.shape[1]))  # unbalanced, so that both sequences are there
    current, *_, response = equations.imbalance((v, 0 * v))
    given = equations.jacobian(response)[0]
    for k in range(2 * net.free):
        step = np.zeros(v.shape, complex)
        step[0, k % net.free] = 1e-4 if k < net.free else 1e-4j
        ahead, behind = (equations.imbalance((v + sign * step, 0 * v))[0][0] for sign in (1, -1))
        column = np.concatenate([(ahead - behind).real, (ahead - behind).imag]) / 2e-4
        assert np.abs(given[:, k] - column).max() < 1e-5 * np.abs(given).max()


@pytest.mark.parametrize("connect", ["L1-L2-L3", "L1-L2-L3-N"])
def test_the_jacobian_of_the_states_is_the_derivative_of_their_rates(connect):  # independent: differences
    _, net = net_of(connect)
    dynamics = Dynamics(net, 230.0)
    state = net.settled(net.at(230.0))
    given = dynamics.jacobian(state)
    for column, k in enumerate(dynamics.moving):
        step = 1e-5 * dynamics.scale[k] * np.eye(len(state))[k]
        slope = (dynamics.rates(state + step) - dynamics.rates(state - step)) / 2e-5
        assert np.abs(given[:, column] - (slope / dynamics.scale)[dynamics.moving]).max() < 1e-4 * max(np.abs(given).max(), 1)


def test_sparse_equations_give_what_dense_ones_give(monkeypatch):  # independent: another way through the same equations
    _, net = net_of()
    dense = newton(net, usual(net, 230.0))
    monkeypatch.setattr(networks, "DENSE_UP_TO", 0)
    _, net = net_of()
    assert net.sparse
    sparse = newton(net, usual(net, 230.0))
    assert dense.solved and sparse.solved and np.abs(dense.voltages - sparse.voltages).max() < 1e-8
    state = net.settled(np.abs(net.across(sparse.voltages)))
    assert np.isfinite(Dynamics(net, 230.0).growth(state))


def test_relabelled_lines_give_relabelled_voltages():  # invariant
    def seen(order):
        text = HEAD + f'[[break]]\nconductor = "{order[0]}"\n' + MOTOR.format("L1-L2-L3")
        text += f'[[load]]\nname = "lamp"\nkind = "lamp"\nconnect = "{order[0]}-N"\npower = 200\n'
        case = parse_case(text)
        state = settle_near(network(wiring(case, case.breaks)), 230.0)
        return [abs(state.root.voltages[state.net.node["intake", line]]) for line in order]

    assert seen(("L1", "L2", "L3")) == pytest.approx(seen(("L2", "L3", "L1")), abs=1e-6)


def test_currents_of_a_machine_add_up_in_the_cables():  # invariant
    case, net = net_of()
    state = settle_near(net, 230.0)
    found = solution(case, state.net, state.root, attracting=True, reached=True)
    flowing = [found.currents["intake", c] for c in ("L1", "L2", "L3", "N")]
    assert abs(sum(flowing)) < 1e-6
    line = {c: sum(load.currents.get(c, 0) if load.currents else (load.current if load.connect[0] == c else 0)
                   for load in found.loads) for c in ("L1", "L2", "L3")}
    assert list(line.values()) == pytest.approx(flowing[:3], abs=1e-6)


def test_a_weak_motor_stalls_in_time_and_a_light_one_runs_on():  # practice
    def course(torque):
        text = HEAD + '[[event]]\ntime = 1\nbreak = "intake"\nconductor = "L2"\nresistance = "open"\n[course]\nend = 60\n'
        return follow_course(parse_case(text + MOTOR.format("L1-L2-L3").replace("0.6", str(torque))))

    light, heavy = course(0.5), course(1.9)
    assert all("saw: stall" not in m.what for m in light.moments) and light.states["saw"][-1] < 0.1
    assert any("saw: stall" in m.what for m in heavy.moments) and heavy.states["saw"][-1] == pytest.approx(1.0)
    assert light.voltages["saw"][-1] == pytest.approx(396, abs=3)


# Star

def heaters(connect, star, broken):
    text = HEAD.replace("line_impedance = [0.3, 0.1]\nneutral_impedance = [0.3, 0.1]\n", "") + \
        f'[[break]]\nconductor = "{broken}"\n[[load]]\nname = "oven"\nkind = "resistive"\nconnect = "{connect}"\npower = 9000\n' \
        f'voltage = 400\n{"star = true" if star else ""}\n'
    case = parse_case(text)
    return [state.reached.loads[0] for state in before_and_after(case)], case


@pytest.mark.parametrize(("connect", "star", "broken", "volts", "power"), [
    # independent: by hand, 400 V between lines; two thirds of a star's branches in series, or each on its own
    ("L1-L2-L3", False, "L1", 400.0, 4500.0),
    ("L1-L2-L3", True, "L1", 200.0, 4500.0),
    ("L1-L2-L3-N", False, "L1", 400 / 3**0.5, 6000.0),
    ("L1-L2-L3-N", False, "N", 400 / 3**0.5, 9000.0),
])
def test_three_phase_heaters_with_a_conductor_lost(connect, star, broken, volts, power):
    (before, after), case = heaters(connect, star, broken)
    scale = case.supply.nominal_line_to_line / 400
    assert before.power == pytest.approx(9000 * scale**2)
    assert abs(after.voltage) == pytest.approx(volts * scale) and after.power == pytest.approx(power * scale**2)
    assert sum(after.currents.values()) == pytest.approx(0, abs=1e-9)
    assert before.ratio == pytest.approx(scale)


def test_the_star_point_of_three_unequal_lines_is_found():
    # independent: Millman's theorem
    (_, after), case = heaters("L1-L2-L3", True, "L2")
    lines = case.supply.phasors
    middle = (lines["L1"] + lines["L3"]) / 2
    assert abs(after.branches[0]) == pytest.approx(abs(lines["L1"] - middle)) and abs(after.branches[1]) < 1e-9
