"""What the circuit works out: voltages, currents and loads of every settled state."""

from collections.abc import Mapping
from dataclasses import field
from math import sqrt

from lostneutral.frozen import dataclass


@dataclass(frozen=True)
class LoadResult:
    """One load of the case (totals over `count`); None where nothing ties the voltage down.

    Of a three-phase load `voltage` is that of its highest branch, and `branches` has all three; of a three-phase machine it is
    the highest between two of its lines, and there are no branches.
    """

    name: str
    connect: tuple[str, ...]
    on: bool
    voltage: complex | None  #: V, first name in `connect` minus the second
    current: complex | None  #: A, into the first name's terminal
    power: float | None  #: W
    reactive_power: float | None  #: var, positive when inductive
    ratio: float | None  #: |voltage| / rated
    details: Mapping[str, float] = field(default_factory=dict)  #: light, filament_temperature (K) …
    branches: tuple[complex, ...] = ()
    currents: Mapping[str, complex | None] = field(default_factory=dict)  #: A into each conductor of a three-phase load

    @property
    def together(self) -> float | None:
        """V r.m.s. at which three branches alike would take as much as these do, were they resistors; of any other load its voltage."""
        if self.branches:
            return sqrt(sum(abs(u) ** 2 for u in self.branches) / len(self.branches))
        return None if self.voltage is None else abs(self.voltage)


@dataclass(frozen=True)
class Solution:
    """One settled state. Node voltages are to the supply's star point; None = floating."""

    attracting: bool
    reached: bool
    residual: float  #: A, the largest current imbalance at a node
    nodes: Mapping[tuple[str, str], complex | None]  #: (point, "L1"|…|"N"|"PE"), ("supply", …), ("earth", "")
    currents: Mapping[tuple[str, str], complex | None]  #: (point fed, conductor), A from the supply's side
    loads: tuple[LoadResult, ...]
    islands: Mapping[tuple[str, str], int] = field(default_factory=dict)  #: floating terminal -> its floating part
    #: ("electrode", point or "supply") -> A into remote earth; ("path", number) -> A from its start to its end
    earth_currents: Mapping[tuple[str, str | int], complex | None] = field(default_factory=dict)
    modes: Mapping[tuple[str, ...], str] = field(default_factory=dict)  #: load branch (`Network.keys`) -> the mode it is in
    apart: Mapping[tuple[str, str], str] = field(default_factory=dict)  #: terminal -> the unearthed source that it hangs on

    def voltage(self, point: str, a: str, b: str = "N") -> complex | None:
        """Return V(a) − V(b) at `point` (V, complex), or None if either floats apart or is not there."""
        return self.between((point, a), (point, b))

    def between(self, a: tuple[str, str], b: tuple[str, str]) -> complex | None:
        """Return V(a) − V(b) of two terminals (V, complex): 0 within one floating part, None where undetermined."""
        first, second = self.nodes.get(a), self.nodes.get(b)
        if first is not None and second is not None:
            return first - second if self.apart.get(a) == self.apart.get(b) else None
        return 0j if a in self.islands and self.islands[a] == self.islands.get(b) else None


@dataclass(frozen=True)
class State:
    """"before" or "after", with every settled state found; `reason` says why when there is none."""

    name: str
    solutions: tuple[Solution, ...]
    ends: str = "settled"  #: "settled" | "cycle" | "undecided"
    reason: str = ""
    unique: bool = False  #: only one settled state is possible, and `reason` says why
    sensitive: tuple[str, ...] = ()  #: loads of which 5 % more or less power would lead to another settled state
    cycle: Mapping[str, object] | None = None  #: of a cycle: `circuit.cycle.Cycle.figures`
    passing: tuple[Solution, ...] = ()  #: of a cycle: the moments at which something is at its extreme
    dwells: tuple[float, ...] = ()  #: s that each of `passing` lasts at a time, lines and metalwork about as they are
    #: as `passing`, before the end was come to, of loads with delays of their own: (moment, from, s that it lasts)
    on_the_way: tuple[tuple[Solution, float, float], ...] = ()

    @property
    def reached(self) -> Solution | None:
        """The settled state the circuit arrives at from the healthy state, or None."""
        return next((s for s in self.solutions if s.reached), None)
