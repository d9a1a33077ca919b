"""Electronic loads, ceramic heaters, motors and varistors in a star without its neutral."""

from cmath import rect
from math import pi

import numpy as np
import pytest

from lostneutral.case.model import Break, Case, Load, Point, Supply
from lostneutral.circuit.dynamics import Dynamics
from lostneutral.circuit.network import network
from lostneutral.circuit.search import search
from lostneutral.circuit.states import before_and_after
from lostneutral.circuit.wiring import wiring

PHASORS = {f"L{k + 1}": rect(230.0, -2 * pi * k / 3) for k in range(3)}


def star(*loads):
    """A case whose neutral is open: loads are (line, kind, keys)."""
    made = tuple(Load(f"{kind} {i}", kind, (line, "N"), "intake", 230.0, parameters=keys)
                 for i, (line, kind, keys) in enumerate(loads))
    return Case("star", Supply(PHASORS), (Point("intake"),), made, breaks=(Break("intake", "N"),))


def settled(case):
    found, _ = search(network(wiring(case, case.breaks)), 230.0)
    return [(s.attracting, np.abs(s.net.across(s.root.voltages))) for s in found]


def test_three_corrected_supplies_hold_one_phase_at_its_cut_off():
    # practice: constant-power loads, the balanced point does not attract, three mirror images do, two phases near 324 V
    # and the third at the cut-off, here 90 V: the star point in between follows from the phasors
    states = settled(star(*((f"L{k}", "electronic", {"power": 100.0, "front_end": "corrected"}) for k in (1, 2, 3))))
    held = sorted((list(v) for attracting, v in states if attracting), key=np.argmin)
    assert len(held) == 3
    for k, voltages in enumerate(held):
        assert np.argmin(voltages) == k
        assert sorted(voltages) == pytest.approx([89.0, 324.0, 324.0], abs=1.0)
    assert any(v == pytest.approx([230.0] * 3) and not attracting for attracting, v in states)


def test_a_cold_ceramic_heater_leaves_the_voltage_to_the_lamp():
    after = before_and_after(star(("L1", "ptc_heater", {"power": 1000.0}), ("L2", "lamp", {"power": 100.0})))[1].reached
    heater, lamp = (abs(load.voltage) for load in after.loads)
    # independent: at rated 230 V / 1000 W and 6.25 × that current cold, the heater is 8.46 Ω, warmed by next to nothing
    assert heater / abs(after.loads[0].current) == pytest.approx(8.46, abs=0.01)
    assert heater + lamp == pytest.approx(230.0 * 3**0.5)  # invariant: both resistive, in series between two lines


def test_a_varistor_takes_part_of_the_voltage_it_sees():
    rest = (("L2", "lamp", {"power": 25.0}), ("L3", "lamp", {"power": 25.0}))
    bare = settled(star(("L1", "resistive", {"power": 1.0}), *rest))
    clamped = settled(star(("L1", "varistor", {"rating": 275.0}), ("L1", "resistive", {"power": 1.0}), *rest))
    assert len(bare) == len(clamped) == 1
    assert clamped[0][1][0] < bare[0][1][0] - 1.0


@pytest.mark.parametrize("rating", [250.0, 320.0])
def test_a_surge_device_that_conducts_leaves_the_arrival_decided(rating):
    # practice: one settled state that attracts is arrived at; the device's conductance is 1e5 times that at usual voltage
    after = before_and_after(star(("L1", "heater", {"power": 2000.0}), ("L2", "lamp", {"power": 100.0}), ("L3", "resistive", {"power": 300.0}),
                                  ("L2", "electronic", {"power": 10.0}), ("L2", "varistor", {"rating": rating})))[1]
    assert after.ends == "settled" and len(after.solutions) == 1
    # independent: the currents of the arrived state at the star point, the device's by its law, sum to zero
    assert abs(sum(load.current for load in after.reached.loads)) < 1e-6
    assert abs(after.reached.loads[-1].voltage) > 350.0


def test_a_stalled_motor_is_not_taken_as_settled_where_it_trips():
    case = star(("L1", "motor", {"power": 200.0}), ("L1", "heater", {"power": 2500.0}),
                ("L2", "heater", {"power": 800.0}), ("L3", "heater", {"power": 700.0}))
    assert settled(case) == []
    net = network(wiring(case, case.breaks))
    # its heat changes nothing that the network sees, and takes part all the same: it ends the mode
    assert 0 in Dynamics(net, 230.0).moving
