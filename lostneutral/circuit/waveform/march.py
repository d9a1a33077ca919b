"""Marching the equations in time: implicit steps between the instants at which diodes switch, several together while nothing does."""

from dataclasses import field

import numpy as np

from lostneutral.circuit.waveform.model import TimeNetwork
from lostneutral.circuit.waveform.steps import STAGES, WEIGHTS, Pattern
from lostneutral.errors import NoSolutionError
from lostneutral.frozen import dataclass

SLACK = 1e-7  #: V or A by which a diode may be on the wrong side of switching
_SHORTEST = 1e-5  #: of a step; below it rounding in C/h drowns the currents
_PACE = 1e4  #: V/s by which what is left of a delay counts, so that it is found as closely as a voltage
_PLACES = (0.0, *STAGES.tolist())
_CUBIC = np.linalg.inv(np.vander(_PLACES, 4))  # values at 0 and the stages -> polynomial
_FIRST = 1e-7  #: of a cycle: the short implicit step that decides which diodes conduct
_TOGETHER = 12  #: steps that are solved together
_STAGES = (np.arange(_TOGETHER)[:, None] + STAGES).ravel()  # of such steps, in steps from the beginning of the first
_WEIGHTS = np.tile(WEIGHTS, _TOGETHER)
_UNKNOWNS = 72  #: nonlinear currents at their stages, of which more together take longer than one step after another
_LITTLE = 0.1  #: share, for plain iteration at most, of a change in what is seen that comes back by what is then drawn
_SHRINKS = 0.3  #: and of it that is left after each iteration
_ITERATIONS = 8  #: of Newton's method for them; what takes more is solved step by step


@dataclass()
class Marching:
    """Where the march is, and what it has passed. `mode` is +1, 0 or −1 of each bridge, `on` of each supply behind."""

    time: float
    y: np.ndarray
    mode: np.ndarray
    on: np.ndarray
    sensitivity: np.ndarray | None = None  #: d y / d(start), (n, starts), carried along if given
    times: list = field(default_factory=list)
    weights: list = field(default_factory=list)
    values: list = field(default_factory=list)
    switched: int = 0  #: events so far
    restarts: list = field(default_factory=list)  #: (time, bridge) at which a supply started again
    drawn: np.ndarray | float = 0.0  #: A, by the nonlinear parts at the last stage: what those of the next steps are first taken for
    due: np.ndarray | None = None  #: s, when each supply behind may start again; infinite where it does not wait for that

    def __post_init__(self):
        self.due = np.full(len(self.on), np.inf) if self.due is None else self.due


class Marcher:
    """Marches one network; keeps what steps come to by which diodes conduct."""

    def __init__(self, net: TimeNetwork, steps: int):
        self.net, self.steps = net, steps
        self.step = net.period / steps
        self.patterns = {}
        self.turned = np.vstack([net.turned(after) for after in STAGES * self.step])
        n, links, varistors = len(net.mass), len(net.bridges), len(net.varistor_law)
        self.drop, self.resistance, self.cut, self.restart, self.power, self.fade, self.cuts_out, self.below, self.delay = (
            np.array([getattr(b, key) for b in net.bridges], float) for key in
            ("drop", "resistance", "cut_off", "restart", "power", "fade", "cuts_out", "restart_below", "restart_delay"))
        self.on_or_off = np.array([b.on_or_off for b in net.bridges], bool)
        self.goes_off = bool(self.on_or_off.any())
        self.reads = np.eye(n)[:, np.concatenate([net.bridge_ends[:, 0], net.link, net.bridge_row])]  #: across each bridge, its link, its current
        self.reads[net.bridge_ends[:, 1], np.arange(links)] -= 1
        self.together = max(1, min(_TOGETHER, _UNKNOWNS // max(1, 3 * (links + varistors))))
        # Columns of the nonlinear parts: the voltage they see, and the equations their current enters.
        self.sees = np.zeros((n, links + varistors))
        self.sees[net.link, np.arange(links)] = 1
        for at, (a, b) in enumerate(net.varistor_ends, links):
            self.sees[a, at] += 1
            self.sees[b, at] -= 1
        self.enters = self.sees.copy()
        self.enters[net.driven] = 0

    def march(self, course: Marching, until: float, record=False) -> Marching:
        """Carry `course` on to `until` (s), a whole number of steps away; raises NoSolutionError if it cannot."""
        count = round((until - course.time) / self.step)
        ends, tries = course.time + (until - course.time) * np.arange(1, count + 1) / count, 0
        while len(ends):
            reached = self._advance(course, ends, record)
            ends, tries = ends[reached:], 0 if reached else tries + 1
            if tries > 60 + 20 * len(self.net.bridges):
                raise NoSolutionError(f"the waveform model finds no way past {course.time:.6f} s: diodes switch "
                                      "for ever")
        return course

    def settle(self, course):
        """Choose which bridges conduct at the present instant, from a very short implicit step, and set algebraic unknowns."""
        net, h = self.net, _FIRST * self.net.period
        moving = net.mass @ course.y / h
        force = net.force(np.array([course.time + h]))[:, 0]
        nonlinear = self.enters @ self._law(self.sees.T @ course.y, course.on)[0]
        for attempt in range(40 + 8 * len(net.bridges)):
            pattern = self._pattern(course.mode)
            y = np.linalg.solve(net.mass / h - pattern.system, moving + force + pattern.constant + nonlinear)
            wrong = np.flatnonzero(self._diodes(y[None], course.mode)[0] < -SLACK)
            if not len(wrong):
                break
            # One at a time, the least index first: this ends, whatever the start (principal pivoting).
            flip = wrong[:1] if attempt > 8 else wrong
            course.mode = self._flipped(course.mode, y, flip)
        else:
            raise NoSolutionError(f"the waveform model cannot tell which diodes conduct at {course.time:.6f} s")
        course.y = np.where(np.diag(net.mass) != 0, course.y, y)

    # --- steps ---

    def _advance(self, course, ends, record):
        """Carry `course` to one of the next `ends` of steps (s), or to an instant before it at which something switches; return how many it reached."""
        before = self._margins(course.y[None], course, 0.0)[0]
        h = ends[0] - course.time
        stages, made = self._stages(course, h)
        margins = self._margins(stages, course, h).reshape(len(stages) // 3, 3, len(before))[:len(ends)]
        free = (margins >= -SLACK).all(axis=(1, 2))
        number = len(free) if free.all() else int(free.argmin())
        if number:
            self._accept(course, ends[number - 1], number, stages, made, record)
            if number == len(free):
                return number
            h, before = ends[number] - course.time, margins[number - 1, 2]
        margins = margins[number]
        # Something switches inside the step: close in on the first such instant, from just beyond it.
        shortest = min(h, _SHORTEST * self.step)
        for _ in range(40):
            change = np.where(np.isfinite(before), before, 0) - np.where(np.isfinite(before), margins[2], 0)
            slack = SLACK + 1e-6 * np.abs(change)
            h = max(_first_crossing(np.maximum(before, 0) + slack / 2, margins + slack / 2) * h, shortest)
            stages, made = self._stages(course, h, several=False)
            now = self._margins(stages, course, h)
            if (now >= -slack).all() or h <= shortest:
                break
            margins = now
        self._accept(course, course.time + h, 1, stages, made, record)
        reached = np.flatnonzero(now[2] <= SLACK)
        # Nothing reached: the step stopped a hair short; the next one begins there.
        if len(reached):
            self._switch(course, reached)
        if course.time < ends[number] - 1e-12 * self.net.period:
            return number
        course.time = ends[number]
        return number + 1

    def _switch(self, course, reached):
        bridges = len(self.net.bridges)
        course.mode = self._flipped(course.mode, course.y, reached[reached < bridges])
        for which in reached[reached >= bridges] - bridges:
            self._turn(course, int(which))
        course.switched += 1
        self.settle(course)

    def _turn(self, course, which):
        """Let the supply behind a link stop, begin to wait for its restart, or start again."""
        course.on, course.due = course.on.copy(), course.due.copy()
        if not course.on[which] and self.delay[which] > 0 and np.isinf(course.due[which]):
            course.due[which] = course.time + self.delay[which]
            return
        course.on[which], course.due[which] = not course.on[which], np.inf
        if course.on[which]:
            course.restarts.append((course.time, which))

    def _flipped(self, mode, y, which):
        mode = mode.copy()
        ends = self.net.bridge_ends[which]
        mode[which] = np.where(mode[which] == 0, np.sign(y[ends[:, 0]] - y[ends[:, 1]]), 0)
        return mode

    def _diodes(self, y, mode):
        across, link, current = (y @ self.reads).reshape(len(y), 3, -1).swapaxes(0, 1)
        return np.where(mode == 0, link + self.drop - np.abs(across), mode * current)

    def _margins(self, y, course, step):
        """Distance of every diode and of every supply behind a link from switching; negative = past it.

        `y` is that of the stages of steps of `step` (s), or of their beginning alone.
        """
        diodes = self._diodes(y, course.mode)
        if not self.goes_off:
            return diodes
        link, ahead = y[:, self.net.link], _STAGES[:len(y)] * step if len(y) > 1 else np.zeros(1)
        works = np.minimum(link - self.cut, self.cuts_out - link)
        waits = (course.due - course.time - ahead[:, None]) * _PACE
        off = np.where(np.isinf(course.due), np.maximum(self.restart - link, link - self.below), waits)
        supply = np.where(self.on_or_off, np.where(course.on, works, off), np.inf)
        return np.concatenate([diodes, supply], axis=1)

    def _system(self, mode):
        """K with every bridge's own row, and the constant of those rows."""
        net = self.net
        system, constant = net.stiffness.copy(), np.zeros(len(net.mass))
        row, link, conducts = net.bridge_row, net.link, mode != 0
        system[row, row] = np.where(conducts, -self.resistance, -1.0)
        system[row, net.bridge_ends[:, 0]] += conducts
        system[row, net.bridge_ends[:, 1]] -= conducts
        system[row, link] = -mode
        system[link, row] = mode
        constant[row] = -mode * self.drop
        return system, constant

    def _pattern(self, mode):
        key = mode.tobytes()
        if key not in self.patterns:
            self.patterns[key] = Pattern(self.net, *self._system(mode), self.sees, self.enters, self.step, self.together, self.turned)
        return self.patterns[key]

    def _stages(self, course, h, several=True):
        """Return y at the stages of a step of `h` (s), (3, n), of as many as are solved together if it is a full one and `several`; and what it was made with."""
        pattern, full = self._pattern(course.mode), abs(h - self.step) < 1e-9 * self.step
        together = several and full and self.together > 1
        steps = pattern.several if together else pattern.whole if full else pattern.one(h)
        known = np.concatenate([course.y[pattern.moving], self.net.waves(course.time + steps.at).ravel()])
        drawn = slope = np.zeros(0)
        if len(steps.coupling):
            try:
                drawn, slope = self._newton(steps.open @ known, steps.coupling, course)
            except NoSolutionError:
                if not together:
                    raise
                return self._stages(course, h, several=False)
        return steps.stages(known, drawn), (pattern.moving, steps, drawn, slope)

    def _newton(self, open_, coupling, course):
        """Solve w = open + coupling f(w); return f and its slope at the solution."""
        kinds = self.sees.shape[1]
        # A varistor's law is too steep to start from what it would see without its own current.
        limit = self._limit(open_, coupling) if len(self.net.varistor_law) else None
        w = open_ + coupling @ np.tile(course.drawn, len(open_) // np.size(course.drawn)) if limit is None else np.clip(np.tile(course.y @ self.sees, len(open_) // kinds), -limit, limit)
        share, before, enough = None if limit is None else np.inf, np.inf, 1 + np.abs(w).max()
        for _ in range(80 if len(w) == 3 * kinds else _ITERATIONS):
            drawn, slope = self._law(w.reshape(-1, kinds), course.on)
            drawn, slope = drawn.ravel(), slope.ravel()
            rest = open_ + coupling @ drawn - w
            size, share = np.abs(rest).max(), np.abs(coupling * slope).sum(axis=1).max() if share is None else share
            if share <= _LITTLE and size <= _SHRINKS * before:  # what is drawn hardly hangs on it: no need to solve for that
                if share * size <= 1e-9 * enough:
                    return drawn + slope * rest, slope
                w, before = w + rest, size
                continue
            share = np.inf
            move = np.linalg.solve(np.eye(len(w)) - coupling * slope, rest)
            w = w + move if limit is None else np.clip(w + move, -limit, limit)
            if np.abs(move).max() <= 1e-6 * enough:  # its square is below rounding, in the law as well
                return drawn + slope * move, slope
        raise NoSolutionError(f"the waveform model does not converge at {course.time:.6f} s")

    def _limit(self, open_, coupling):
        """Return how far (V) each nonlinear part is followed: a varistor up to ten times the current that would use up all it sees without it."""
        reference, exponent, at_reference = self.net.varistor_law.T
        limit = np.full((len(open_) // self.sees.shape[1], self.sees.shape[1]), np.inf)
        most = (np.abs(open_) / np.maximum(np.abs(np.diagonal(coupling)), 1e-12)).reshape(limit.shape)[:, len(self.net.bridges):]
        limit[:, len(self.net.bridges):] = reference * np.maximum(10 * most / at_reference, 1.0) ** (1 / exponent)
        return limit.ravel()

    def _law(self, w, on):
        """Current that each nonlinear part feeds into its equation, and its slope, at voltages `w` (…, k)."""
        links = len(self.net.bridges)
        v = w[..., :links]
        safe = np.maximum(v, 1e-3)
        drawn = -self.power / safe
        if (v >= self.cut).all():
            drawn = drawn * on
            current, slope = [drawn], [-drawn / safe]
            if links == w.shape[-1]:
                return drawn, slope[0]
        else:  # with hysteresis on or off, else fading smoothly over a span below the cut-off
            low = np.where(self.on_or_off, on, np.clip((v - self.cut + self.fade) / self.fade, 0, 1))
            share = low * low * (3 - 2 * low)
            current = [drawn * share]
            slope = [-drawn / safe * share + drawn * 6 * low * (1 - low) / self.fade]
        if len(self.net.varistor_law):
            reference, exponent, at_reference = self.net.varistor_law.T
            u = w[..., links:]
            ratio = np.abs(u) / reference
            current.append(-at_reference * np.sign(u) * ratio**exponent)
            slope.append(-at_reference * exponent / reference * ratio ** (exponent - 1))
        return np.concatenate(current, axis=-1), np.concatenate(slope, axis=-1)

    def _accept(self, course, end, count, stages, made, record):
        """Carry `course` to `end` (s) through the first `count` of the steps of equal length of which `stages` are."""
        (moving, steps, drawn, slope), h = made, (end - course.time) / count
        if record:
            course.times.append(course.time + _STAGES[:3 * count] * h)
            course.weights.append(_WEIGHTS[:3 * count] * h)
            course.values.append(stages[:3 * count])
        if len(drawn):
            course.drawn = drawn[:3 * count * self.sees.shape[1]][-self.sees.shape[1]:]
        if course.sensitivity is not None:
            course.sensitivity = steps.carried(course.sensitivity[moving], slope, count)
        course.y, course.time = stages[3 * count - 1], end


def _first_crossing(start, margins):
    """Return where in the step (0 … 1) the first margin falls through zero; `start` (m,), `margins` (3, m)."""
    first = 1.0
    for which in np.flatnonzero((margins < -SLACK).any(axis=0)):
        values = np.array([start[which], *margins[:, which]])
        past = int(np.argmax(values[1:] < 0)) + 1
        low, high = _PLACES[past - 1], _PLACES[past]
        a, b, c, d = (_CUBIC @ values).tolist()
        for _ in range(45):
            middle = (low + high) / 2
            if ((a * middle + b) * middle + c) * middle + d > 0:
                low = middle
            else:
                high = middle
        first = min(first, high)
    return first
