"""Implicit steps of order five through a network whose diodes stand in one pattern.

Radau IIA with three stages: it damps what is infinitely fast (a blocked conductor's inductance), holds capacitor loops
and inductor cut-sets as they stand, and its stages with their weights are a quadrature of order five, from which every
mean, r.m.s. value and harmonic is taken. Source: E. Hairer, G. Wanner, Solving Ordinary Differential Equations II,
section IV.5 (Table 5.6) and section IV.8 (splitting of the stage equations).
"""

from functools import cached_property

import numpy as np

from lostneutral.circuit.waveform.resolvent import Resolvent
from lostneutral.frozen import dataclass

_ROOT = np.sqrt(6)
_A = np.array([[(88 - 7 * _ROOT) / 360, (296 - 169 * _ROOT) / 1800, (-2 + 3 * _ROOT) / 225],
               [(296 + 169 * _ROOT) / 1800, (88 + 7 * _ROOT) / 360, (-2 - 3 * _ROOT) / 225],
               [(16 - _ROOT) / 36, (16 + _ROOT) / 36, 1 / 9]])
STAGES = np.array([(4 - _ROOT) / 10, (4 + _ROOT) / 10, 1.0])  #: where in the step the stages lie
WEIGHTS = _A[2]  #: of the quadrature
_EIGEN, _FROM = np.linalg.eig(np.linalg.inv(_A))
_PICK = [int(np.argmin(np.abs(_EIGEN.imag))), int(np.argmax(_EIGEN.imag))]  # the real one, and one of the pair for both
_SHIFTS = _EIGEN[_PICK, None, None]
_OF_STAGES = (_FROM[:, None, _PICK] * np.linalg.inv(_FROM).T[None, :, _PICK] * [1, 2])  # (stage, stage at which it enters, shift)
_OF_STAGES = np.stack([_OF_STAGES[..., 0].real, _OF_STAGES[..., 1].real, -_OF_STAGES[..., 1].imag], axis=-1)
_OF_BEGINNING = _OF_STAGES.sum(axis=1)


@dataclass(frozen=True, eq=False)
class Steps:
    """Steps of one length, one after another. "Known" of a beginning are the moving unknowns there (m), and the supply's waves `at` instants from it."""

    at: np.ndarray  #: s
    stage: np.ndarray  #: what a step comes to at its stages by what is known at its beginning, (3n, known)
    spread: np.ndarray  #: and by the nonlinear currents at its stages, (3n, 3k)
    open: np.ndarray  #: what the nonlinear parts see at all stages while they draw nothing, (3k steps, known)
    coupling: np.ndarray  #: and what their currents add to it, (3k steps, 3k steps)
    begins: np.ndarray | None = None  #: what is known at the beginning of each step by that of the first, (known steps, known); None: one step
    later: np.ndarray | None = None  #: and by the nonlinear currents, (known steps, 3k steps)

    def stages(self, known, drawn):
        """Return the unknowns at all stages, (3 steps, n), with the nonlinear currents `drawn` there."""
        if self.begins is None:
            return (self.stage @ known + self.spread @ drawn).reshape(3, -1)
        begins = (self.begins @ known + self.later @ drawn).reshape(-1, len(known))
        return (begins @ self.stage.T + drawn.reshape(len(begins), self.spread.shape[1]) @ self.spread.T).reshape(3 * len(begins), -1)

    def carried(self, x, slope, count):
        """Return d y(end of `count` steps) / d(start), (n, starts), from that of the moving unknowns at their beginning (m, starts)."""
        (known, m), kinds = (self.stage.shape[1], len(x)), self.spread.shape[1]
        size, n = count * kinds, len(self.stage) // 3
        drawn = np.linalg.solve(np.eye(size) - self.coupling[:size, :size] * slope[:size], self.open[:size, :m] @ x) * slope[:size, None]
        if count > 1:
            last = slice((count - 1) * known, (count - 1) * known + m)
            x = self.begins[last, :m] @ x + self.later[last, :size] @ drawn
        return self.stage[-n:, :m] @ x + self.spread[-n:] @ drawn[size - kinds:]


class Pattern:
    """What steps of any length come to while the same diodes conduct: M y' = `system` y + `constant` + forcing + nonlinear currents.

    The stage equations fall apart into one real and one complex system of the network's own size.
    """

    def __init__(self, net, system, constant, sees, enters, step, together, turned):
        self.net, self.system, self.constant, self.sees, self.step, self.together, self.turned = net, system, constant, sees, step, together, turned
        self.moving = np.flatnonzero(np.diag(net.mass))
        self.resolvent = Resolvent(net.mass, system, _SHIFTS[0, 0, 0].real / step)
        entering = np.hstack([enters, np.column_stack([net.forcing, constant]).conj().view(float)])  # Re(F e^(jx)) = Re F cos x - Im F sin x
        self.forces = np.hstack([entering, np.zeros((len(sees), len(self.moving)))])
        self.states = np.hstack([np.zeros(entering.shape), np.eye(len(sees))[:, self.moving]])
        columns = np.arange(3 * entering.shape[1]).reshape(3, -1)
        self.order = np.concatenate([columns[:, enters.shape[1]:].ravel(), columns[:, :enters.shape[1]].ravel()])  # the waves of all stages first

    def one(self, h):
        """Return one step of `h` (s)."""
        (n, kinds), entering = self.sees.shape, self.forces.shape[1] - len(self.moving)
        real, pair = self.resolvent.solved(_SHIFTS / h, self.forces, self.states)
        parts = np.array([real.real, pair.real, pair.imag])
        begun = (_OF_BEGINNING @ parts[..., entering:].reshape(3, -1)).reshape(3 * n, -1)
        entered = (_OF_STAGES @ parts[..., :entering].reshape(3, -1)).reshape(3, 3, n, entering).swapaxes(1, 2)
        made = np.concatenate([begun, entered.reshape(3 * n, 3 * entering)[:, self.order]], axis=1)
        seen, known = self._seen(made), made.shape[1] - 3 * kinds
        return Steps(STAGES * h, made[:, :known], made[:, known:], seen[:, :known], seen[:, known:])

    @cached_property
    def whole(self):
        """One full step."""
        return self.one(self.step)

    @cached_property
    def several(self):
        """As many full steps as are solved together; known at the beginning of each are the waves at that instant alone."""
        one, m, count = self.whole, len(self.moving), self.together
        kinds = one.spread.shape[1]
        waves = self.turned
        stage = np.hstack([one.stage[:, :m], one.stage[:, m:] @ waves])
        known, last = stage.shape[1], len(stage) - len(self.sees) + self.moving
        on = np.vstack([stage[last], np.hstack([np.zeros((known - m, m)), waves[m - known:]])])
        begins, later = [np.eye(known)], [np.vstack([one.spread[last], np.zeros((known - m, kinds))])]
        for _ in range(count - 1):
            begins.append(on @ begins[-1])
            later.append(on @ later[-1])
        begins, later = np.array(begins), np.array(later)
        seen = self._seen(stage)
        apart = np.subtract.outer(np.arange(count), np.arange(count))
        blocks = lambda parts: np.where(apart[..., None, None] >= 0, parts[apart], 0.0).swapaxes(1, 2).reshape(count * parts.shape[1], count * parts.shape[2])
        coupling = blocks(np.concatenate([one.coupling[None], seen @ later[:-1]]))
        later = blocks(np.concatenate([np.zeros((1, known, kinds)), later[:-1]]))
        return Steps(np.zeros(1), stage, one.spread, (seen @ begins).reshape(count * kinds, known), coupling, begins.reshape(-1, known), later)

    def _seen(self, stages):
        return (self.sees.T @ stages.reshape(3, len(self.sees), stages.shape[1])).reshape(3 * self.sees.shape[1], stages.shape[1])
