"""The course of an incident: events, loads that change mode or reach their end, and what everything then sees."""

from collections.abc import Mapping
from dataclasses import replace
from math import inf

import numpy as np

from lostneutral.case.model import Break, Case
from lostneutral.circuit.arrival import at_rest
from lostneutral.circuit.course import Along, Clocks, stretch, switched
from lostneutral.circuit.dynamics import Dynamics
from lostneutral.circuit.network import network, resumed
from lostneutral.circuit.paths import known_paths
from lostneutral.circuit.record import AFTER_LAST_EVENT, Course, Occurrence, Wear
from lostneutral.circuit.recording import Block, recorded
from lostneutral.circuit.states import Sound, arrived_at
from lostneutral.circuit.stiff import Trajectories
from lostneutral.circuit.wiring import break_name, changeover_words, cross_words, wiring

TOLERANCE = 1e-5  #: of each state's own size in a step
MOST_CHANGES = 300  #: changes of mode after which loads are taken to keep switching until something else happens
ENDS = {"settled": "end of the period; the circuit has settled",
        "time": "end of the period; loads are still changing",
        "cycling": "loads keep switching on and off; calculation stopped"}
TURNS = {"cut off": "shutdown", "stalled": "stall", "tripped": "overload trip", "running": "restart", "starting": "start"}
"""What happens to a load as it takes on a mode: nouns, for its name may be one of many (“Loft lamps”)."""


def follow_course(case: Case, wears: Mapping[str, Wear] | None = None, *, end=None, pace=1.0, tolerance=TOLERANCE,
           begin=None, paths=None) -> Course:
    """Follow the circuit through the case's events until `end` (s; default: an hour after the last event).

    Without any event the breaks happen at time 0; with events they hold from before. `wears` gives the loads whose
    life is used up (`pace` scales all of them). `begin` is what `beginning` returned for the case, if it is known;
    `paths` a dict that courses of one case which differ in their wear share, so that what they have in common is
    worked out once. Each state is followed to about `tolerance` of its own size a step. Raises NoSolutionError if the
    circuit before the first event has no settled state.
    """
    run = _Run(case, wears or {}, pace, tolerance, begin or beginning(case), {} if paths is None else paths)
    changes = _changes(case)
    end = end if end is not None else (case.course_end or changes[-1][0] + AFTER_LAST_EVENT)
    for time, kind, subject, what, change in changes:
        if time > end:
            break
        run.advance(time)
        run.happen(time, kind, subject, what, change)
    run.advance(end)
    return run.course()


def _first(case):
    """The case as it stands before anything happens."""
    return case if case.events else case.sound()


def cooled(model, state, seconds):
    """Return the state (a float) of a load that was in `state` when it was switched off `seconds` ago."""
    size = max(abs(state), 1e-12)

    def law(x):
        return model.rate(x * size, 0.0) / size

    def sloped(x):
        return law(x), (model.slopes(x * size, 0.0)[0].real + 0 * x)[..., None]

    course = Trajectories(law, sloped, 0.0, [[state / size]], seconds, TOLERANCE)
    while course.active.any():
        course.step()
    return float(course.x[0, 0]) * size


def beginning(case: Case, sound: Sound | None = None):
    """Return (network, state of each load) in which a course of `case` begins: settled if it settles, else cold.

    `sound`, what `arrived_before_and_after` gave for the case, is that where nothing is broken to begin with.
    """
    first = _first(case)
    if sound is not None and not first.breaks_now() and not first.crosses:
        net, settled = sound
    else:
        net = network(wiring(first, first.breaks_now(), first.crosses))
        settled = arrived_at(first, "before", net)
    return (net, Dynamics(net, case.supply.nominal).cold) if settled is None else (settled.net, settled.states)


def _changes(case):
    """The case's events as (time, kind, subject, words, change of the case), in order."""
    if not case.events:
        said = "; ".join([*(_break_words(case, b) for b in case.breaks_now()),
                          *map(cross_words, case.crosses)]) or "no conductor opens"
        return [(0.0, "break", "the supply", said, lambda c: c)]
    changes = []
    for event in sorted(case.events, key=lambda e: e.time):
        if event.change is not None:
            changes.append((event.time, "break", event.change.feeding, _break_words(case, event.change),
                            lambda c, b=event.change: replace(c, breaks=_with_break(c.breaks, b))))
        if event.changeover is not None:
            changes.append((event.time, "switch", event.changeover, f"{event.changeover}: {changeover_words(case, event)}",
                            lambda c, e=event: _with_changeover(c, e)))
        if event.load is not None:
            changes.append((event.time, "switch", event.load, f"{event.load}: switched {'on' if event.on else 'off'}",
                            lambda c, e=event: _with_load(c, e.load, on=e.on)))
    return changes


def _break_words(case, b: Break):
    where = break_name(case, b)
    if b.resistance == inf:
        return f"{where} goes open-circuit"
    if b.resistance == 0:
        return f"{where} is restored"
    return f"{where} becomes a high-resistance joint ({b.resistance:g} Ω)"


def _with_break(breaks, new):
    kept = [b for b in breaks if b.place != new.place]
    return tuple(kept) if new.resistance == 0 else (*kept, new)


def _with_changeover(case, event):
    moved = tuple(replace(c, position=event.position, open=event.open) if c.name == event.changeover else c
                  for c in case.changeovers)
    return replace(case, changeovers=moved)


def _with_load(case, name, **change):
    return replace(case, loads=tuple(replace(load, **change) if load.name == name else load for load in case.loads))


class _Run:
    """The circuit as it stands, and the record of it so far."""

    def __init__(self, case, wears, pace, tolerance, begin, paths):
        self.nominal, self.wears, self.pace, self.tolerance = case.supply.nominal, wears, pace, tolerance
        self.paths, first = paths, _first(case)
        self.case = self.final = case
        self.time, self.cycling = 0.0, False
        self.since = 0.0, {}  #: when the loads began to keep switching as they do, and the share of life used by then
        self.held, self.left, self.conditions, self.used, self.failures = {}, {}, {}, {}, {}
        self.clocks = Clocks()
        self.blocks, self.moments = [], []
        self._remember(*begin)
        self._rewire(first)
        self._record([0.0], self.state[None], None)
        self._note("start", "the installation", "before the first event")

    def happen(self, time, kind, subject, what, change):
        """Carry out a change of the case at `time`."""
        while self.cycling:
            self._skip(time)
        self.time = max(self.time, time)
        self._remember(self.net, self.state)  # a load goes on from where it is, whatever changes around it
        base = self.case if self.final.events else self.final
        self._rewire(change(base))
        self._note(kind, subject, what)

    def advance(self, until):
        """Follow the loads until `until` (s), through every change of mode and failure on the way."""
        if until <= self.time:
            return
        self.since = self.time, dict(self.used)
        for _ in range(MOST_CHANGES):
            lives = self._lives()
            along = Along(self._wear_rates, np.array([self.used[k] for k in lives]), (self, tuple(lives))) if lives else None
            due = self.clocks.due(self.net)
            stop = min(until, due)
            path = self._path(stop)
            self.net = path.dynamics.net
            part = stretch(self.net, self.nominal, self.state, self.time, stop, along=along, path=path)
            self._record(part.times, part.states, part.extra)
            self.time, self.state = float(part.times[-1]), part.states[-1]
            for k, key in enumerate(lives):
                self.used[key] = float(part.extra[-1][k])
            if part.ended_by:
                self._switch(part.ended_by, lives)
            elif due <= until:
                self._turn(*self.clocks.expired(self.net, self.state))
            else:
                return
        self.cycling = True

    def _skip(self, until):
        """Go on, without following them, over loads that keep switching, until `until` (s) or the first failure before it.

        Life goes on being used up as fast as on average since they began to; each load is then as it was when last followed.
        """
        began, before = self.since
        length = max(self.time - began, 1e-9)
        pace = {key: (self.used[key] - before.get(key, 0.0)) / length for key in self._lives()}
        ends = {key: self.time + (1.0 - self.used[key]) / rate for key, rate in pace.items() if rate > 0}
        first = min(ends, key=ends.get, default=None)
        fails = first is not None and ends[first] < until
        away = (ends[first] if fails else until) - self.time
        self.used |= {key: self.used[key] + rate * away for key, rate in pace.items()}
        self.time, self.clocks, self.cycling = self.time + away, self.clocks.later(away), False
        self._remember(self.net, self.state)
        if fails:
            self._fail(self.case.loads[first[0]].name)
            self.advance(until)

    def _path(self, until):
        """The path from here, one that is known where this course, or one that shares its paths, has come by before."""
        known = self.paths.setdefault(id(self.case), (self.case, {}))[1]
        return known_paths(known, self.net, self.nominal, self.tolerance).path(self.state, until - self.time)

    def _rewire(self, case):
        self.case, net = self._wired(case)
        self.net = resumed(net, self.conditions)
        self.clocks = self.clocks.at(self.net, self.time)
        dynamics = Dynamics(self.net, self.nominal)
        states = [self._since(key, model, cold) for key, model, cold in zip(net.keys, self.net.models, dynamics.cold)]
        self.state = dynamics.met(np.array(states))
        for key in net.keys:
            if case.loads[key[0]].name in self.wears:
                self.used.setdefault(key, 0.0)

    def _wired(self, case):
        """Return `case` with its network, or one like it that a course of `paths` had, so that they have their paths in common."""
        known = self.paths.setdefault("wired", [])
        same = next((pair for pair in known if pair[0] is not self.case and pair[0] == case), None)
        if same is None:
            same = case, network(wiring(case, case.breaks_now(), case.crosses))
            known.append(same)
        return same

    def _since(self, key, model, cold):
        """Return the state with which a load goes on: as it was, cooled for as long as it was off; cold if it was never on."""
        if key not in self.held:
            return cold
        away = self.time - self.left[key]
        return self.held[key] if away <= 0 or len(model.ports) > 1 else cooled(model, self.held[key], away)

    def _remember(self, net, state):
        for key, model, x in zip(net.keys, net.models, state):
            self.held[key], self.conditions[key], self.left[key] = float(x), (model.mode, model.counting), self.time

    def _lives(self):
        return [key for key in self.net.keys if self._worn(key)]

    def _worn(self, key):
        name = self.case.loads[key[0]].name
        return len(key) == 3 and name in self.wears and name not in self.failures  # of several ports the first stands for all

    def _wear_rates(self, net, states, across):
        rates = []
        for i, key in enumerate(net.keys):
            if self._worn(key):
                wear = self.wears[self.case.loads[key[0]].name]
                part = net.part(i)
                found = wear.rate(across[:, part], net.models[i], states[:, part])
                rates.append(self.pace * np.broadcast_to(found, len(across)))
        return np.array(rates).T

    def _switch(self, ended_by, lives):
        count = len(self.net.models)
        branches = [i for i in ended_by if i < count]
        if branches:
            self._turn(*switched(self.net, self.state, branches))
        else:
            self._remember(self.net, self.state)
        for load in {lives[i - count][0] for i in ended_by if i >= count}:
            self._fail(self.case.loads[load].name)

    def _turn(self, net, state):
        """Go on with the loads of `net`, some of them in another mode; tell of each load that changed its own."""
        old, self.net, self.state = self.net, net, state
        self.clocks = self.clocks.at(net, self.time)
        self._remember(net, state)
        told = {key[0]: (was, now) for key, was, now in zip(net.keys, old.modes, net.modes) if was != now}
        for load, (was, now) in told.items():
            name = self.case.loads[load].name
            self._note("mode", name, f"{name}: {TURNS.get(now, f'{was} → {now}')}")

    def _fail(self, name):
        wear = self.wears[name]
        self.failures[name] = (self.time, wear.part)
        ending = f"{'open' if wear.ends == 'open' else 'short'}-circuit"
        if wear.ends != "open":
            self._rewire(_with_load(self.case, name, kind="impedance",
                                    parameters={"resistance": wear.short_resistance, "reactance": 0.0}))
            if self._current(name) > wear.opens_above:
                ending = "short-circuit, and what feeds it would open"
        if ending != "short-circuit":
            self._rewire(_with_load(self.case, name, on=False))
        self._note("failure", name, f"{name}: failure expected, {ending}" + (f" ({wear.part})" if wear.part else ""))

    def _current(self, name):
        across = self.net.across(self.net.voltages(self.state))
        y = self.net.admittances(self.state)
        return max(abs(y[i] * across[i]) for i, k in enumerate(self.net.keys) if self.case.loads[k[0]].name == name)

    def _record(self, times, states, extra):
        lives = dict(zip(self._lives(), () if extra is None else extra.T))
        used = {key: lives.get(key, np.full(len(times), value)) for key, value in self.used.items()}
        self.blocks.append(Block(np.asarray(times, float), self.net, self.case, states, used))

    def _note(self, kind, subject, what):
        nodes = _node_voltages(self.net, self.net.voltages(self.state))
        phases = {(p.name, line): _magnitude(nodes, p.name, line) for p in self.case.points for line in p.phases}
        self.moments.append(Occurrence(self.time, kind, subject, what, phases))

    def course(self):
        """Return the record as arrays over time."""
        rest = at_rest(Dynamics(self.net, self.nominal), self.state) and not self.clocks.began
        ends = "cycling" if self.cycling else "settled" if rest else "time"
        self._note("end", "the installation", ENDS[ends])
        return recorded(self.blocks, list(self.wears), tuple(self.moments), ends, dict(self.failures))


def _node_voltages(net, v):
    return {t: (complex(v[net.node[t]]) if t in net.node else None) for t in net.wiring.terminals
            if t[0] not in ("source", "star")}


def _magnitude(nodes, point, line):
    a, b = nodes.get((point, line)), nodes.get((point, "N"))
    return None if a is None or b is None else abs(a - b)
