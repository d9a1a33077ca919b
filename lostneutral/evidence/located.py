"""What `where` answers with: every cause with how it fits, and what it would do once that is asked for."""

from collections.abc import Callable
from dataclasses import field
from functools import cached_property

import numpy as np

from lostneutral.circuit.solution import Solution
from lostneutral.evidence.asked import Asked, Ceiling
from lostneutral.evidence.next_reading import NextReading
from lostneutral.evidence.places import Place
from lostneutral.frozen import dataclass


@dataclass(frozen=True, eq=False)
class Outcome:
    """What one cause would do, and how it fits what was seen."""

    place: Place
    settles: Callable = lambda: (None, {})  #: works out `solution` and `points`: few of many causes are ever shown with them
    misfit: float = 0.0  #: −2 ln of the likelihood of the observations, to that of the best cause
    support: float = 0.0  #: posterior probability, by the priors of `deduce`
    misfits: tuple = ()  #: (what was observed, what this cause gives, its part of the misfit)
    prior: float = 0.0
    ratio: float = 1.0  #: likelihood ratio of the best fitting cause to this one
    asks: Callable[[], Asked | None] = lambda: None  #: works out `asked`, as `settles` does

    @cached_property
    def asked(self) -> Asked | None:
        """The voltages under this cause given everything observed; None where nothing was."""
        return self.asks()

    @cached_property
    def _settled(self):
        return self.settles()

    @property
    def solution(self) -> Solution | None:
        """A settled state with the loads at their medians; None: none was found, or the cause says nothing of it."""
        return self._settled[0]

    @property
    def points(self) -> dict:
        """Point -> its words, of `WORDS`; "live" is metalwork above the touch voltage limit."""
        return self._settled[1]

    @property
    def joint_heat(self) -> float:
        """W given off by the high-resistance joints of this place: resistance times current squared; 0 without one."""
        joints = (b for b in self.place.breaks if np.isfinite(b.resistance)) if self.solution else ()
        return sum(b.resistance * abs(self.solution.currents.get((b.feeding, b.conductor)) or 0.0) ** 2 for b in joints)


@dataclass(frozen=True, eq=False)
class Where:
    outcomes: tuple[Outcome, ...]  #: in the order of probability where something was observed, else of kind and wiring
    observed: bool
    next_reading: NextReading | None
    notes: tuple[str, ...] = field(default=())
    ceilings: tuple[Ceiling, ...] = ()  #: beside the readings that no cause explains
    declined: str = ""  #: why no cause is named as leading; "" where one is

    @property
    def leading(self) -> Outcome | None:
        """The leading cause, None where none is named."""
        return self.outcomes[0] if self.observed and not self.declined else None
