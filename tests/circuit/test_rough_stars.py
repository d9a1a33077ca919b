"""Star points near every state of many stars at once: each by itself, and against the search of one circuit."""

import numpy as np
import pytest

from lostneutral import parse_case
from lostneutral.circuit import starts
from lostneutral.circuit.large import lump_of
from lostneutral.circuit.network import network
from lostneutral.circuit.rough import rough_stars
from lostneutral.circuit.search import search
from lostneutral.circuit.wiring import wiring

STARS = [
    (("electronic", "L1", 300), ("electronic", "L2", 400), ("electronic", "L3", 350), ("lamp", "L2", 60)),
    (("electronic", "L1", 45), ("resistive", "L2", 900), ("lamp", "L3", 200)),
    (("electronic", "L1", 500), ("electronic", "L2", 200), ("resistive", "L1", 40)),
    (("resistive", "L1", 2000), ("resistive", "L2", 100)),
]


def star(loads):
    """The lump of an open neutral with `loads` (kind, line, W) and one of 100 kohm to earth."""
    case = parse_case('title = "t"\n[supply]\nearthing = "TT"\n[[break]]\n' + "".join(
        f'[[load]]\nname = "{k}"\nkind = "{kind}"\nconnect = "{line}-N"\npower = {power}\n' for k, (kind, line, power) in enumerate(loads))
        + '[[load]]\nname = "path"\nkind = "resistive"\nconnect = "N-PE"\npower = 0.529\n')
    net = network(wiring(case, case.breaks_after()))
    (nodes,) = starts.floating_neutrals(net)[:1]
    return lump_of(net, nodes, starts.usual(net, 230.0), 230.0).net


def test_stars_together_are_those_of_each_alone():  # invariant: no row depends on the others
    nets = [star(loads) for loads in STARS]
    together = rough_stars(nets, 230.0)
    for net, found in zip(nets, together):
        assert found == pytest.approx(rough_stars([net], 230.0)[0])
    assert len(together[0]) > 1 and rough_stars([], 230.0) == []


@pytest.mark.parametrize("loads", STARS)
def test_every_state_of_a_star_has_a_star_point_near(loads):  # independent: the search goes on with the loads' own laws, branch by branch
    net = star(loads)
    found = np.array(rough_stars([net], 230.0)[0])
    states = search(net, 230.0)[0]
    assert states
    for state in states:
        if state.net.modes == net.modes:
            assert np.abs(found - state.root.voltages[0]).min() < 1.0
