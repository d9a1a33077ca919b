"""Right-hand sides for steps of every length, from one decomposition of a network's equations."""

import numpy as np
import pytest

from lostneutral.circuit.waveform.resolvent import Resolvent

# Independent: a system of equations solved anew for every s.

#: of R-L from a source, joined at a node without capacitance to L alone (what the node's current sum leaves free is one current), and R-C
_MASS = np.diag([0.0, 0.0, 2e-3, 5e-4, 1e-3, 1e-4])


def _system():
    k = np.zeros((6, 6))
    k[0, 0] = -1  # a source
    k[1, 2], k[1, 3], k[1, 4] = 1, -1, -1  # the currents at the node
    k[2, 0], k[2, 1], k[2, 2] = 1, -1, -0.7
    k[3, 1], k[3, 3], k[3, 5] = 1, -3, -1
    k[4, 1], k[4, 4] = 1, -20
    k[5, 3], k[5, 5] = 1, -1e-6
    return k


@pytest.mark.parametrize("s", [3e3, 2e4 + 1e4j, 5e6 - 2e6j, 1e9])
def test_it_is_the_solution_of_the_equations(s):
    """Independent: within rounding of what is largest in the column."""
    rng = np.random.default_rng(1)
    forces, states = rng.normal(size=(6, 3)), rng.normal(size=(6, 3))
    states[2:5] = states[2], 0.4 * states[2], 0.6 * states[2]  # they sum to zero at the node, as currents do
    resolvent = Resolvent(_MASS, _system(), 4e3)
    for asked in range(8):  # solved one by one at first, then decomposed
        found = resolvent.solved(s, forces, states)
        assert resolvent.decomposed == (asked > 2)
        whole = np.linalg.solve(s * _MASS - _system(), forces + s * _MASS @ states)
        assert np.abs(found - whole)[2:].max() < 1e-9 * np.abs(whole[2:]).max()
        assert np.abs(found - whole).max() < 1e-9 * np.abs(whole).max()


@pytest.mark.parametrize("apart", [0.0, 1e-9])
def test_what_has_too_few_eigenvectors_is_solved_each_time(apart):
    """Independent: two like decays in a row, critically damped, have one eigenvector, or two that are hardly to be told apart."""
    mass, system = np.eye(2), np.array([[-1.0, 1.0], [0.0, -1.0 - apart]])
    resolvent = Resolvent(mass, system, 2.0)
    for s in (1.0, 2.0, 5.0, 7.0 + 1j, 9.0, 11.0):
        found = resolvent.solved(s, np.eye(2), np.zeros((2, 2)))
        assert np.allclose(found, np.linalg.inv(s * mass - system), rtol=1e-14)
    assert not resolvent.decomposed
