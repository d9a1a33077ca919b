"""Stiff equations dx/dt = f(x) followed in time, many courses at once: RODAS, a Rosenbrock method with Jacobian.

Order 4 with an embedded 3, L-stable, six stages and one Jacobian a step (Hairer and Wanner, Solving Ordinary
Differential Equations II, 2nd edition 1996, section IV.7 and the table of coefficients published with it). It needs no
iteration, so that courses of one network go through the same array operations, each with a step of its own.
"""

import numpy as np

GAMMA = 0.25
_STAGES = 6
_A = ((), (1.544,), (0.9466785280815826, 0.2557011698983284), (3.314825187068521, 2.896124015972201, 0.9986419139977817),
      (1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950),
      (1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950, 1.0))
_C = ((), (-5.6688,), (-2.430093356833875, -0.2063599157091915),
      (-0.1073529058151375, -9.594562251023355, -20.47028614809616),
      (7.496443313967647, -10.24680431464352, -33.99990352819905, 11.70890893206160),
      (8.083246795921522, -7.981132988064893, -31.52159432874371, 16.31930543123136, -6.058818238834054))
_D = np.array([[10.12623508344586, -7.487995877610167, -34.80091861555747, -7.992771707568823, 1.025137723295662],
               [-0.6762803392801253, 6.087714651680015, 16.43084320892478, 24.76722511418386, -6.594389125716872]])
_BOTH = [np.array([a, c]).reshape(2, -1) for a, c in zip(_A, _C)]  #: of each stage
MOST_GROWTH, LEAST = 6.0, 0.2  #: of one step to the next
_BEGINS = 0.25  #: of the step that would be within the tolerance
SHORTEST = 1e-12  #: step, s (and as a share of the time), below which a course is given up


class Trajectories:
    """Courses of dx/dt = `law`(x), each at its own `time` (s) and with its own step; `x` is (courses, quantities).

    `sloped`(x) gives the same and its derivative by x.

    `step` tries one step of every course that is `active`; where `took` is true it was taken, from `before` (time) over
    `length` (s), and `within(share)` is the course in between. `tolerance` is relative; absolute it is a hundredth of
    that.
    """

    def __init__(self, law, sloped, time, x, end, tolerance):
        self.law, self._sloped, self.tolerance = law, sloped, tolerance
        self.x = np.array(x, float)
        count = len(self.x)
        self.time, self.end = (np.zeros(count) + at for at in (time, end))
        self.before, self.length = self.time.copy(), np.zeros(count)
        self.active, self.took = self.time < self.end, np.zeros(count, bool)
        self._known, self._rejected = None, np.zeros(count, bool)
        self.next = np.minimum(self._first(), np.maximum(self.end - self.time, 1e-300))

    def sloped(self):
        """Return d(x)/dt (1/s) where each course is, and its derivative by x."""
        if self._known is None:
            self._known = self._sloped(self.x)
        return self._known

    def _first(self):
        """The steps (s) to begin with: in them the fourth term of Taylor's series, judged by the first two, is far below the tolerance."""
        size, (slope, matrix) = self._size(self.x), self.sloped()
        changing = (matrix @ slope[..., None])[..., 0]
        rate, bend = _root_mean_square(slope / size), _root_mean_square(changing / size)
        pace = bend / np.maximum(rate, 1e-300)
        return _BEGINS / np.maximum(rate**0.25 * pace**0.75, 1e-300)

    def _size(self, x):
        return self.tolerance * (np.abs(x) + 1e-2)

    def step(self):
        """Try one step of every active course."""
        x = self.x
        step = np.where(self.active, np.minimum(self.next, self.end - self.time), SHORTEST)  # the others stay where they are
        step = np.maximum(step, 1e-300)
        slope, matrix = self.sloped()
        index = np.arange(x.shape[1])
        left = -matrix
        left[:, index, index] += (1 / (GAMMA * step))[:, None]
        inverse = np.linalg.inv(left)
        added, per_step = np.empty((_STAGES, *x.shape)), 1 / step[:, None]
        at, right = x, slope
        with np.errstate(over="ignore", invalid="ignore"):  # a step that leads beyond all bounds is refused by its error
            for stage in range(_STAGES):
                if stage:
                    to, of = (_BOTH[stage] @ added[:stage].reshape(stage, -1)).reshape(2, *x.shape)
                    at = x + to
                    right = self.law(at) + of * per_step
                added[stage] = (inverse @ right[..., None])[..., 0]
            after = at + added[5]
            miss = added[5] / self._size(np.maximum(np.abs(x), np.abs(after)))
            error = _root_mean_square(miss)
        error = np.where(np.isfinite(error), error, 1e9)
        self.took = self.active & (error <= 1)
        factor = np.clip(0.9 * np.maximum(error, 1e-12) ** -0.25, LEAST, MOST_GROWTH)
        factor = np.where(self._rejected, np.minimum(factor, 1.0), factor)
        self._rejected = self.active & ~self.took
        self.next = np.where(self.active, step * factor, self.next)
        bend = (_D @ added[:5].reshape(5, -1)).reshape(2, *x.shape)
        self.cubic = x, after, bend[0], bend[1]
        self.before, self.length = self.time.copy(), step
        self.time = np.where(self.took, np.minimum(self.time + step, self.end), self.time)
        self.time = np.where(self.took & (self.end - self.time <= 1e-14 * np.abs(self.end)), self.end, self.time)
        if self.took.any():
            self.x, self._known = np.where(self.took[:, None], after, x), None
        given_up = self.active & ~self.took & ~(self.next >= SHORTEST * np.maximum(np.abs(self.time), 1.0))
        self.active = self.active & (self.time < self.end) & ~given_up

    def within(self, share):
        """Return x of every course at `share` (0 to 1; one number, or one a course) of the step last tried."""
        return dense_output(self.cubic, np.asarray(share, float))

    def stop_at(self, course, share):
        """End `course` at `share` of its last step."""
        shares = np.ones(len(self.x))
        shares[course] = share
        self.x[course] = self.within(shares)[course]
        self._known = None
        self.time[course] = self.before[course] + share * self.length[course]
        self.active[course] = False


def _root_mean_square(rows):
    """Root mean square of each row; 0 where nothing moves, so that one step goes to the end."""
    return np.sqrt((rows**2).sum(axis=1) / max(rows.shape[1], 1))


def dense_output(cubic, share):
    """Return x at `share` (one number, or one a row) of steps by their `cubic`: four arrays (courses, quantities)."""
    share = share[:, None] if share.ndim else share
    x, after, c3, c4 = cubic
    return x * (1 - share) + share * (after + (1 - share) * (c3 + share * c4))
