"""The course of a case by steps of one length on a network of its own: another way than the program's stiff integration.

Of the program it uses the loads' own laws (`admittance`, `rate`, `settled`), which are checked among the loads' tests, and
nothing else: wiring from `second_network`, events from the case.
"""

import numpy as np
from second_network import branches_of

from lostneutral.loads import load_model


class Star:
    """The network of a case with `ohms` of its broken conductors and the switches `on`; the loads' admittances are put in at each call."""

    def __init__(self, case, ohms, on):
        bare = {"loads": [{"on": False, "power": 0.0, "current": 0.0} for _ in case.loads]}
        branches = branches_of(case, bare, sound=True)
        for (feeding, conductor), more in ohms.items():
            a, b, z, e = branches["run", feeding, conductor]
            if np.isinf(more):
                del branches["run", feeding, conductor]
            else:
                branches["run", feeding, conductor] = (a, b, z + more, e)
        self.on = [n for n, load in enumerate(case.loads) if load.on and on.get(load.name, True) or on.get(load.name)]
        ends = [[(case.loads[n].point, c) for c in case.loads[n].connect] for n in self.on]
        near = [*((a, b) for a, b, _, _ in branches.values()), *map(tuple, ends)]
        tied, grown = {"star"}, True
        while grown:
            more = {x for pair in near for x in pair if set(pair) & tied} - tied
            tied, grown = tied | more, bool(more)
        nodes = {n: i for i, n in enumerate(sorted(tied - {"star"}, key=str))}
        zero = [n for n, b in branches.items() if b[2] == 0 and b[0] in tied]
        size = len(nodes) + len(zero)
        self.matrix, self.right = np.zeros((size, size), complex), np.zeros(size, complex)
        place = lambda node: nodes.get(node)  # noqa: E731
        for name, (a, b, z, e) in branches.items():
            if a not in tied:
                continue
            for near_, far, sign in ((place(a), place(b), 1), (place(b), place(a), -1)):
                if name in zero:
                    row = len(nodes) + zero.index(name)
                    if near_ is not None:
                        self.matrix[near_, row] += sign
                        self.matrix[row, near_] += sign
                    self.right[row] = -e
                elif near_ is not None:
                    self.matrix[near_, near_] += 1 / z
                    self.right[near_] -= sign * e / z
                    if far is not None:
                        self.matrix[near_, far] -= 1 / z
        self.ends = [(nodes.get(a), nodes.get(b)) for a, b in ends]

    def across(self, admittances):
        """Return the voltages (V, complex) across the loads that are on."""
        matrix = self.matrix.copy()
        for (a, b), y in zip(self.ends, admittances):
            for near, far in ((a, b), (b, a)):
                if near is not None:
                    matrix[near, near] += y
                    if far is not None:
                        matrix[near, far] -= y
        x = np.linalg.solve(matrix, self.right)
        return [(0 if a is None else x[a]) - (0 if b is None else x[b]) for a, b in self.ends]


class Course:
    """A case followed from settled, while nothing is broken, by steps of at most `step` (s) of the method `method`."""

    def __init__(self, case, method, step):
        self.case, self.method, self.step = case, METHODS[method], step
        self.models = [load_model(load, case.supply)[0] for load in case.loads]
        self.ohms = {(b.feeding, b.conductor): b.resistance for b in case.breaks}
        self.switched, self.time, self.soon = {}, 0.0, -1.0
        self.events = sorted(case.events, key=lambda e: e.time)
        self.star = Star(case, self.ohms, self.switched)
        self.state = np.array([float(m.settled(0.0)) for m in self.models])
        for _ in range(60):  # settled by taking turns: voltages of the states, states of the voltages
            for n, v in zip(self.star.on, self._volts(self.state)):
                self.state[n] = float(self.models[n].settled(v))

    def _volts(self, state):
        of = [(n, self.models[n]) for n in self.star.on]
        return [abs(v) for v in self.star.across([complex(m.admittance(state[n])) * self.case.loads[n].count for n, m in of])]

    def _rate(self, state):
        across = dict(zip(self.star.on, self._volts(state)))
        return np.array([float(m.rate(state[n], across.get(n, 0.0))) for n, m in enumerate(self.models)])

    def until(self, time):
        """Go on to `time` (s), with every event on the way and those of that moment."""
        while self.events and self.events[0].time <= time:
            event = self.events.pop(0)
            self._march(event.time)
            if event.change is not None:
                self.ohms[event.change.feeding, event.change.conductor] = event.change.resistance
            else:
                self.switched[event.load] = event.on
            self.star = Star(self.case, self.ohms, self.switched)
            self.soon = event.time
        self._march(time)

    def _march(self, time):
        # after an event: a cold filament warms within a hundredth of a second
        for after, share in ((0.02, 0.01), (0.3, 0.1)):
            end = self.soon + after
            if self.time < end - 1e-9:
                if time > end:
                    self._march(end)
                    return self._march(time)
                step = share * self.step
                break
        else:
            step = self.step
        count = int(np.ceil((time - self.time) / step - 1e-9))
        for _ in range(count):
            self.state = self.method(self._rate, self.state, (time - self.time) / count)
        self.time = time

    def volts(self):
        """Return {load: V across it} of the loads that are on."""
        return {self.case.loads[n].name: v for n, v in zip(self.star.on, self._volts(self.state))}


def _runge_kutta(rate, x, h):
    k1 = rate(x)
    k2 = rate(x + h / 2 * k1)
    k3 = rate(x + h / 2 * k2)
    k4 = rate(x + h * k3)
    return x + h / 6 * (k1 + 2 * k2 + 2 * k3 + k4)


def _heun(rate, x, h):
    k1 = rate(x)
    return x + h / 2 * (k1 + rate(x + h * k1))


METHODS = {"Runge-Kutta, order 4": _runge_kutta, "Heun, order 2": _heun}
