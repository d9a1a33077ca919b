"""A joint swept from sound to open, against the hand formula of a loaded star."""

from dataclasses import replace
from math import inf

import numpy as np
import pytest
from handmade_star import TURN, star_case, three_phase

from lostneutral.case.model import Break, Load
from lostneutral.circuit.states import before_and_after
from lostneutral.studies.joint import USUAL, joint_of, joint_sweep

WATTS = {"L1": 2000.0, "L2": 500.0, "L3": 100.0}


def joint_case(resistance=5.0):
    case = star_case(breaks=(Break("intake", "N", resistance),))
    loads = tuple(Load(f"on {line}", "resistive", (line, "N"), "intake", 230.0, parameters={"power": w})
                  for line, w in WATTS.items())
    return replace(case, loads=loads)


def star_point(resistance):  # independent: node-voltage formula of the star with a resistance in the neutral
    g = {line: w / 230.0**2 for line, w in WATTS.items()}
    back = 0.0 if resistance == inf else 1 / resistance
    return sum(g[k] * u for k, u in three_phase().items()) / (sum(g.values()) + back)


@pytest.mark.parametrize("resistance", [0.5, 5.0, 50.0, inf])
def test_sweep_agrees_with_the_star_formula(resistance):
    sweep = joint_sweep(joint_case(), (resistance,))
    shift = star_point(resistance)
    assert sweep.shifts[0] == pytest.approx(abs(shift), rel=1e-9)
    assert sweep.phases["L3"][0] == pytest.approx(abs(230 * TURN - shift), rel=1e-9)
    heat = 0.0 if resistance == inf else abs(shift) ** 2 / resistance
    assert sweep.heats[0] == pytest.approx(heat, rel=1e-9)


def test_ends_of_the_sweep_are_the_states_before_and_after():  # invariant
    case = joint_case()
    sweep = joint_sweep(case)
    before, _ = before_and_after(case)
    _, opened = before_and_after(joint_case(inf))
    for state, at in ((before, 0), (opened, -1)):
        assert sweep.phases["L2"][at] == pytest.approx(abs(state.reached.voltage("intake", "L2")))
    assert sweep.heats[0] == sweep.heats[-1] == 0 and sweep.currents[-1] == 0
    assert len(sweep.resistances) == len(USUAL)


def test_heat_is_greatest_where_the_joint_matches_the_star():
    # independent: most power where the joint's resistance equals that of the loads in parallel
    match = 1 / (sum(WATTS.values()) / 230.0**2)
    sweep = joint_sweep(joint_case(), match * np.array([0.8, 1.0, 1.25]))
    assert sweep.heats[1] > max(sweep.heats[0], sweep.heats[2])
    assert sweep.heats[0] == pytest.approx(sweep.heats[2], rel=1e-9)  # and falls alike on either side


def test_the_star_point_moves_out_as_the_joint_opens():  # invariant
    assert np.all(np.diff(joint_sweep(joint_case()).shifts) >= 0)


def test_which_joint_is_swept():
    assert joint_of(joint_case()).resistance == 5.0
    assert joint_of(joint_case(inf)) is None
    with pytest.raises(ValueError):
        joint_sweep(joint_case(inf))
    assert joint_sweep(joint_case(inf), (5.0,), Break("intake", "N")).heats[0] > 0
