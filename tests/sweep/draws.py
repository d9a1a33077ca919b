"""What the draws of a random case share: its random numbers, and what has been drawn so far."""

from dataclasses import dataclass, field
from math import log10
from random import Random

LINES = ("L1", "L2", "L3")


def rounded(value):
    """Return `value` to three digits, as a person would write it down."""
    return float(f"{value:.3g}")


@dataclass
class Place:
    """A point of the case as the draws need it: what arrives there, and what may be read there."""

    name: str
    kind: str
    run: tuple  #: conductors of the cable that feeds it
    lines: tuple
    terminals: tuple  #: what a meter finds


@dataclass
class Drawn:
    """One case being drawn: `random` and what has been written so far."""

    random: Random
    kinds: dict  #: kind of load -> weight
    most: int  #: loads
    system: str
    nominal: float  #: V line to neutral
    earthing: str | None
    table: dict = field(default_factory=dict)
    places: list = field(default_factory=list)
    loads: list = field(default_factory=list)  #: names of all loads, those of groups too

    @property
    def lines(self):
        return LINES if self.system == "three-phase" else LINES[:2]

    def chance(self, share):
        return self.random.random() < share

    def pick(self, things):
        return self.random.choice(things)

    def number(self, low, high):
        """Return a number from `low` to `high`, both above 0, alike in the logarithm, to three digits."""
        return rounded(10 ** self.random.uniform(log10(low), log10(high)))

    def flat(self, low, high):
        return rounded(self.random.uniform(low, high))

    def name(self, words, taken):
        """Return one of `words`, with a number behind it if it is in `taken`, and take it."""
        word, name = self.pick(words), None
        while name is None or name in taken:
            name = word if name is None else f"{word} {len(taken) + self.random.randint(1, 90)}"
        taken.append(name)
        return name
