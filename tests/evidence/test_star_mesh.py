"""Nodes taken out of a network, and what is solved so held against the network as it is."""

import mpmath
import numpy as np
import pytest

from lostneutral import parse_case
from lostneutral.evidence.likelihood import Judge
from lostneutral.evidence.reduced import _surely_below
from lostneutral.evidence.rivals import rivals
from lostneutral.evidence.settled import Maps
from lostneutral.evidence.star_mesh import MOST, StarMesh
from lostneutral.evidence.world import World

CASE = """title = "A row of three"
[supply]
earthing = "TN-C-S"
electrode = 2.0
[[point]]
name = "board"
cable = { length = 40, area = 16 }
[[point]]
name = "shop"
fed_from = "board"
cable = { length = 20, area = 10 }
[[point]]
name = "flat"
fed_from = "board"
phases = ["L2"]
cable = { length = 15, area = 6 }
[[load]]
name = "kettle"
kind = "resistive"
connect = "L1-N"
power = 2000
point = "shop"
[[load]]
name = "lamp"
kind = "lamp"
connect = "L3-N"
power = 60
point = "shop"
[[load]]
name = "iron"
kind = "resistive"
connect = "L2-N"
power = 1000
point = "flat"
[[load]]
name = "saw"
kind = "motor"
connect = "L1-L2-L3"
power = 1500
point = "shop"
[[unknown]]
load = "iron"
power = { low = 200, high = 2500 }
[[unknown]]
load = "kettle"
on = 0.5
[[observation]]
point = "flat"
between = "L2-N"
voltage = 260
uncertainty = 4
"""


def test_a_mesh_keeps_all_digits_over_twelve_decades():
    """Independent: the nodal equations at 40 digits. Nodes 0 to 7 are free, 8 to 10 stand at given voltages."""
    random, size, free = np.random.default_rng(3), 11, 8
    ends = [(a, b) for a in range(size) for b in range(a) if a - b == 1 or random.random() < 0.3]
    y = 10.0 ** random.uniform(-9, 3, len(ends)) * np.exp(1j * random.uniform(-0.5, 0.5, len(ends)) * np.pi)
    fixed = np.array([230.0, -115 - 199j, 0.0])
    mesh = StarMesh(size, ends, np.arange(size) >= 7)
    rows = np.zeros((len(mesh.pairs), 1), complex)
    for pair, value in zip(ends, y):
        rows[mesh.pair(*pair), 0] += value
    left, shares = mesh.taken_out(rows)
    v = np.zeros((size, 1), complex)
    v[free:, 0] = fixed
    to = {frozenset(pair): value for pair, value in zip(mesh.left.tolist(), left[:, 0])}
    met = [to.get(frozenset((7, k)), 0.0) for k in range(free, size)]
    v[7] = np.dot(met, fixed) / np.sum(met)
    mesh.spread(shares, np.array([0]), v)
    with mpmath.workdps(40):
        matrix, right = mpmath.zeros(free), mpmath.zeros(free, 1)
        for (a, b), value in zip(ends, y):
            for one, other in ((a, b), (b, a)):
                if one < free:
                    matrix[one, one] += mpmath.mpmathify(complex(value))
                    if other < free:
                        matrix[one, other] -= mpmath.mpmathify(complex(value))
                    else:
                        right[one] += mpmath.mpmathify(complex(value)) * mpmath.mpmathify(complex(fixed[other - free]))
        answer = mpmath.lu_solve(matrix, right)
    assert np.abs(v[:free, 0] - [complex(a) for a in answer]).max() < 1e-10


def test_what_meets_many_others_is_left_to_the_matrix():
    """By hand: a hub that meets more than `MOST` stays, at its ends what meets two goes; one with as many goes."""
    def mesh(met):
        ends = [(0, k) for k in range(1, met)] + [(0, met + 1), (met + 1, met)]
        return StarMesh(met + 2, ends, (np.arange(met + 2) > 0) & (np.arange(met + 2) <= met))

    assert mesh(MOST).kept.tolist() == [False] + [True] * MOST + [False] and len(mesh(MOST).left) == MOST * (MOST - 1) / 2
    assert mesh(MOST + 1).kept.tolist() == [True] * (MOST + 2) + [False] and sorted(mesh(MOST + 1).left.max(axis=1)) == list(range(1, MOST + 2))


def test_growth_is_bounded_by_the_symmetric_part_of_what_is_scaled_alike():
    """By hand: a product a·bᵀ, which has the one eigenvalue Σ a b, is symmetric once scaled; what meets nothing changes nothing."""
    one = np.outer([8.0, 0.5, 0.0], [0.01, 2.0, 0.0])[None]
    assert [bool(_surely_below(one, level)[0]) for level in (1.07, 1.09)] == [False, True]
    skew = np.array([[[0.0, -5.0], [5.0, 0.0]]])  # a circle: eigenvalues ±5i, field of values on the imaginary axis
    assert [bool(_surely_below(skew, level)[0]) for level in (-1e-9, 1e-9)] == [False, True]


@pytest.mark.parametrize("cause", ["sound", "open neutral", "line lost", "line crossed with neutral"])
def test_currents_of_the_whole_network_sum_to_zero(cause):
    """Invariant: at every node of the network as it stands, no load left out, with a motor's sequences among them."""
    case = parse_case(CASE)
    judge, found = Judge(case), rivals(case)
    world = World(case, found, judge.conditions, judge.readings[0])
    assert len(world.wired.acting) == 3, "a lamp and the two sequences of a motor: resistors are wiring"
    number = next(n for n, r in enumerate(found) if r.kind == cause)
    values = np.random.default_rng(5).random((40, len(world.columns)))
    states = world.settle(np.full(40, number), values, judge.conditions[0], True, Maps())
    samples, net = world.samples(np.full(40, number), values, judge.conditions[0]), world.net
    assert states.solved.all()
    for k, row in enumerate(states.sample):
        v = states.v[k]
        taken = net.element_incidence.T @ (samples.element_admittance[row] * (net.element_incidence @ v))
        u, largest = net.incidence @ v, 1.0
        for branch in range(len(net.models)):
            which = np.atleast_1d(net.part(branch))
            if branch == which[0]:
                sizes = np.abs(u[which]) if len(which) > 1 else np.abs(u[branch])
                model = samples.models[branch]
                if model.power is not net.models[branch].power:
                    model = type(model)(**{**vars(model), "power": model.power[row]})
                mode = "stalled" if "stalled" in model.modes and _stalls(model, sizes) else model.mode
                y = np.broadcast_to(model.in_mode(mode).response(sizes)[0], which.shape) * samples.count[row, branch]
                taken = taken + net.incidence[which].conj().T @ (y * u[which])
                largest = max(largest, np.abs(y * u[which]).max())
        assert np.abs(taken[: net.free]).max() < 1e-6 * largest


def _stalls(model, sizes):
    return np.ravel(model.margin(model.settled(sizes), sizes))[0] <= 0
