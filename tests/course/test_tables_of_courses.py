"""Courses ask tables; they must say what the laws and the whole wiring say. Kind: independent (the laws themselves)."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from lostneutral import parse_case, read_case
from lostneutral.circuit.dynamics import Dynamics
from lostneutral.circuit.network import network
from lostneutral.circuit.paths import Shares
from lostneutral.circuit.tabled import TOP
from lostneutral.circuit.wiring import wiring

CASEBOOK = Path(__file__).parents[2] / "casebook"
NAMES = ("corner-shop", "hotel-kitchen", "joinery", "office-floor", "lamp-hall", "farm-generator", "bakery", "dairy-farm")


def shares(name, rows):
    """Return a casebook case's equations in shares, `rows` of them, its nominal voltage, and some states that its loads may be in."""
    case = read_case(CASEBOOK / f"{name}.toml").at_the_end()
    net, nominal = network(wiring(case, case.breaks_after(), case.crosses)), case.supply.nominal
    draw = np.random.default_rng(5)
    states = np.array([net.settled(draw.uniform(0.5, 1.6, len(net.models)) * net.at(nominal)) for _ in range(rows)])
    return Shares(Dynamics(net, nominal), states), nominal, states


@pytest.mark.parametrize("name", NAMES)
def test_tables_give_the_rates_that_the_laws_give(name):
    own, nominal, states = shares(name, 40)
    kept = (own.dynamics.sizes(states)[:, own.dynamics.moving] < TOP * nominal).all(axis=1)
    x = own.of(states[kept])
    assert own.tables and kept.sum() >= 10
    rates, sizes, (again, jacobian) = own.law(x), own.sizes(x), own.sloped(x)
    np.testing.assert_array_equal(again, rates)
    assert own.tables.rates(x * own.scale) is not None  # it was they that answered
    own.tables = None
    law, (again, matrix) = own.law(x), own.sloped(x)
    np.testing.assert_array_equal(again, law)
    np.testing.assert_allclose(sizes, own.sizes(x), atol=1e-6 * nominal)
    off = np.abs(rates - law) / (np.abs(law) + np.abs(law).max(axis=0))
    # A cubic rounds off the corner of a law (where a supply begins to cut off) within its one piece.
    assert np.quantile(off, 0.95) < 1e-6 and off.max() < 1e-2
    far = np.abs(jacobian - matrix).max(axis=(1, 2)) / np.abs(matrix).max(axis=(1, 2))
    assert np.quantile(far, 0.8) < 1e-4


_MOTORS = """title = "shop"
[supply]
line_impedance = [0.2, 0.1]
neutral_impedance = [0.2, 0.1]
[[point]]
name = "intake"
cable = { length = 30, area = 10 }
[[load]]
name = "saw"
kind = "motor"
power = 4000
connect = "L1-L2-L3"
[[load]]
name = "till"
kind = "electronic"
power = 200
front_end = "corrected"
connect = "L1-N"
[[load]]
name = "fan"
kind = "motor"
power = 2200
torque_exponent = 2
connect = "L1-L2-L3-N"
[[load]]
name = "lamp"
kind = "lamp"
power = 100
connect = "L2-N"
"""


@pytest.mark.parametrize("modes", [("running", "running"), ("stalled", "running"), ("stalled", "stalled")])
@pytest.mark.parametrize("lamps", [True, False])
def test_three_phase_motors_among_other_loads_are_followed_in_the_reduced_wiring(modes, lamps):
    case = parse_case(_MOTORS)
    case = case if lamps else replace(case, loads=tuple(load for load in case.loads if load.kind == "motor"))
    net = network(wiring(case, case.breaks_after(), case.crosses))
    saw, fan = net.units
    net = replace(net, models=tuple(m.in_mode(modes[0] if k in saw else modes[1] if k in fan else m.mode) for k, m in enumerate(net.models)))
    draw = np.random.default_rng(7)
    states = np.array([net.settled(draw.uniform(0.3, 1.0, len(net.models)) * net.at(230.0)) for _ in range(20)])
    states[:, [saw[0], fan[0]]] += draw.uniform(0, 0.1, (20, 2))
    own = Shares(Dynamics(net, 230.0), states)
    x = own.of(states)
    assert own.tables.rates(x * own.scale) is not None
    rates, sizes, (again, jacobian) = own.law(x), own.sizes(x), own.sloped(x)
    np.testing.assert_array_equal(again, rates)
    own.tables = None
    law, (again, matrix) = own.law(x), own.sloped(x)
    np.testing.assert_array_equal(again, law)
    np.testing.assert_allclose(sizes, own.sizes(x), atol=1e-6 * 230.0)
    assert (np.abs(rates - law) / (np.abs(law) + np.abs(law).max(axis=0) + 1e-12)).max() < 1e-6
    assert (np.abs(jacobian - matrix).max(axis=(1, 2)) / np.abs(matrix).max(axis=(1, 2))).max() < 1e-4


def test_what_is_beyond_the_tables_is_asked_of_the_laws():
    own, _, states = shares("corner-shop", 3)
    x = own.of(states)
    x[1] *= 50.0
    assert own.tables.rates(x * own.scale) is None and own.tables.sloped(x * own.scale) is None
    found, own.tables = own.law(x), None
    np.testing.assert_array_equal(found, own.law(x))


def test_a_varistor_at_ordinary_voltage_is_not_drowned_by_what_it_takes_above():
    case = parse_case('title = "strip"\n[supply]\n[[point]]\nname = "intake"\ncable = { length = 20, area = 16 }\n'
                      '[[load]]\nname = "strip"\nkind = "varistor"\nrating = 275\nconnect = "L1-N"\n'
                      '[[load]]\nname = "kettle"\nkind = "resistive"\npower = 2000\nconnect = "L1-N"\n')
    net = network(wiring(case))
    own = Shares(Dynamics(net, 230.0), net.settled(net.at(230.0)))
    x = np.linspace(-5e-8, 5e-8, 41)[:, None]  # of what it takes at 230 V, a ten-thousand-millionth of that at the end of the tables
    assert own.tables.rates(x * own.scale) is not None
    assert np.diff(own.law(x)[:, 0]) / np.diff(x[:, 0]) == pytest.approx(np.full(40, -1 / 0.02), rel=1e-4)  # closed form: its lag


def test_tables_reach_to_where_another_mode_led():
    """A protector that has tripped cools from where the locked rotor brought it (closed form), a supply starts from what it leaks."""
    case = parse_case('title = "fan"\n[supply]\n[[point]]\nname = "intake"\ncable = { length = 20, area = 16 }\n'
                      '[[load]]\nname = "fan"\nkind = "motor"\npower = 60\nconnect = "L1-N"\n'
                      '[[load]]\nname = "unit"\nkind = "electronic"\npower = 60\nconnect = "L1-N"\nfront_end = "corrected"\nrestarts_from = 200\nstart_current = 3\nstart_time = 0.1\n')
    net = network(wiring(case))
    net = replace(net, models=(net.models[0].in_mode("tripped"), net.models[1].in_mode("starting")))
    fan, unit = net.models
    own = Shares(Dynamics(net, 230.0), net.settled(net.at(230.0)))
    states = np.array([[fan.stalls_below + heat, unit.leakage] for heat in (1.0, 1.2)])
    assert own.tables.rates(states[:, own.dynamics.moving]) is not None
    cooling = own.law(own.of(states)) * own.scale
    assert cooling[:, 0] == pytest.approx((fan.settled(230.0) - states[:, 0]) * -fan.slopes(1.0, 230.0)[0], rel=1e-6)
