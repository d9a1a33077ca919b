"""What follows from the settings: the settled states, or the loads' states as they move."""

from dataclasses import replace
from threading import Thread

import numpy as np

from lostneutral.case.model import Case
from lostneutral.circuit import large
from lostneutral.circuit.course import stretch, switched
from lostneutral.circuit.network import network
from lostneutral.circuit.newton import Root, first_guess, newton
from lostneutral.circuit.outcome import solution
from lostneutral.circuit.solution import State
from lostneutral.circuit.states import ONE_STATE, before_and_after, one_state_only
from lostneutral.circuit.wiring import wiring
from lostneutral.errors import CaseError, NoSolutionError
from lostneutral.report.words import shown
from lostneutral.teaching.window import settings as moves

QUIET = 0.3  #: s without a change before all settled states are looked for
MOST_SWITCHINGS = 20  #: changes of mode followed within one step of time
TOLERANCE = 1e-5


class Session:
    """A case, what is set, and where its circuit stands.

    `state` has the settled states. Where only one is possible it is the answer of `analyse` for the case as set.
    Elsewhere it is at first the state that the last one leads to (`complete` is false), until `search` or, after a
    quiet time, `tick` has put the whole answer in its place.
    """

    def __init__(self, case: Case, whole=True):
        self.given = case
        self.settings = moves.first(case)
        self.case = moves.as_set(case, self.settings)
        self.problem = ""
        self._net = self._voltages = self._states = None
        self._quiet, self._searching, self._found = 0.0, None, None
        self.state, self.complete = State("after", ()), False
        self._settle()
        if whole:
            self.search()

    @property
    def solutions(self):
        """The settled states that count, the one shown first when nothing else is asked for."""
        first = shown(self.state)
        return first + tuple(s for s in self.state.solutions if s.attracting and s not in first)

    @property
    def solution(self):
        """What is shown: a settled state, or how the circuit stands at this moment; None if there is none."""
        if self.settings.pace is not None and self._net is not None:
            root = Root(self._voltages, 0.0, 0.0, np.zeros(len(self._voltages), complex))
            return solution(self.case, self._net, root, attracting=False, reached=False, states=self._states)
        found = self.solutions
        return found[min(self.settings.state, len(found) - 1)] if found else None

    def change(self, settings):
        """Take new settings; what they do to the circuit is worked out from where it stood."""
        before, self.settings = self.settings, settings
        if settings.circuit != before.circuit:
            self.case = moves.as_set(self.given, settings)
            self._settle(move=settings.pace is None)
        elif settings.pace is None and before.pace is not None:
            self._settle()  # loads that changed their mode on the way begin anew
        elif settings.pace is None and settings.state != before.state:
            self._stand_in(self.solution)

    def tick(self, seconds) -> bool:
        """Let `seconds` of the clock on the wall go by; return whether there is anything new to show."""
        moved = self._take_found()
        if not self.complete and not self.problem:
            self._quiet += seconds
            if self._quiet >= QUIET and self._searching is None:
                self._searching = self.case
                Thread(target=self._search_aside, args=(self.case,), daemon=True).start()
        if self.settings.pace is not None and not self.settings.hidden and self._net is not None:
            self._move(seconds * self.settings.pace)
            moved = True
        return moved

    def search(self):
        """Look for every settled state of the circuit as set, now."""
        if not self.complete and not self.problem:
            self._take(_all_states(self.case))

    def _settle(self, move=True):
        """Find the settled state that the last one leads to; with `move` the circuit stands in it at once."""
        self.problem, self._quiet, self.complete = "", 0.0, False
        try:
            net = network(wiring(self.case, self.case.breaks_after(), self.case.crosses))
            self.state, self.complete, settled = _followed(self.case, net, self._carried_voltages(net))
        except (NoSolutionError, CaseError, np.linalg.LinAlgError) as error:
            self._net, self.state, self.problem = None, State("after", (), "undecided", str(error)), str(error)
            return
        if move or self._net is None:
            self._net, self._voltages, self._states = settled
        else:
            self._net, self._states = self._carried_states(net)
            self._voltages = self._net.voltages(self._states)

    def _carried_voltages(self, net):
        """Return the voltages from which to start: those of the last state, the usual guess where a node is new."""
        known = {} if self._net is None else {
            number: self._voltages[self._net.node[terminal]] for terminal, number in net.node.items()
            if number < net.free and terminal in self._net.node}
        if len(known) < net.free:
            return first_guess(net, self.case.supply.nominal)
        return net.all_voltages(np.array([known[number] for number in range(net.free)], complex))

    def _carried_states(self, net):
        """Return `net` with every load in the mode it was in, and the states; what was off begins cold."""
        was = {key: number for number, key in enumerate(self._net.keys)}
        states, models = net.settled(np.zeros(len(net.models))), list(net.models)
        for at, key in enumerate(net.keys):
            if key in was:
                models[at] = models[at].in_mode(self._net.models[was[key]].mode)
                states[at] = self._states[was[key]]
        return replace(net, models=tuple(models)), states

    def _stand_in(self, found):
        """Let the circuit stand in the settled state `found`."""
        if found is None or self._net is None:
            return
        for terminal, number in self._net.node.items():
            if found.nodes.get(terminal) is not None and number < self._net.free:
                self._voltages[number] = found.nodes[terminal]
        self._states = self._net.settled(np.abs(self._net.across(self._voltages)))

    def _move(self, seconds):
        net, states, now = self._net, self._states, 0.0
        for _ in range(MOST_SWITCHINGS):
            part = stretch(net, self.case.supply.nominal, states, now, seconds, tolerance=TOLERANCE, dense=False)
            states, now = part.states[-1], float(part.times[-1])
            if not part.ended_by:
                break
            net, states = switched(net, states, part.ended_by)
        self._net, self._states, self._voltages = net, states, net.voltages(states)

    def _search_aside(self, case):
        self._found = case, _all_states(case)

    def _take_found(self):
        """Take what a search beside has found, if it is of the circuit as it still is."""
        if self._found is None:
            return False
        (case, found), self._found, self._searching = self._found, None, None
        if case is not self.case:
            return False
        self._take(found)
        return True

    def _take(self, found):
        self.state, self.complete = found, True
        self.problem = "" if found.solutions or found.ends == "cycle" else found.reason
        if self.settings.pace is None:
            self._stand_in(self.solution)


def _all_states(case):
    try:
        return before_and_after(case)[1]
    except (NoSolutionError, CaseError, np.linalg.LinAlgError) as error:
        return State("after", (), "undecided", str(error))


def _followed(case, net, start):
    """Return (State, whether it is the whole answer, (network, voltages, states)) of what `start` leads to."""
    if one_state_only(net):
        root = newton(net, start)
        if not root.solved:
            root = newton(net, first_guess(net, case.supply.nominal))
        if not root.solved:
            raise NoSolutionError("no settled state was found from where the circuit stood")
        states = net.settled(np.abs(net.across(root.voltages)))
        found = solution(case, net, root, attracting=True, reached=True, states=states)
        return State("after", (found,), reason=ONE_STATE, unique=True), True, (net, root.voltages, states)
    settled = large.followed(net, (start, first_guess(net, case.supply.nominal)))
    if settled is None:
        return State("after", (), "undecided"), False, (net, start, net.settled(np.abs(net.across(start))))
    found = solution(case, settled.net, settled.root, attracting=True, reached=False)
    return (State("after", (found,), "undecided"), False,
            (settled.net, settled.root.voltages, settled.states))
