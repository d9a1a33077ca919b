"""The rival causes of what was seen: what each opens, joins badly or exchanges, and how likely it was beforehand."""

from collections import Counter
from dataclasses import replace
from functools import cached_property
from itertools import combinations
from math import inf, nan

from lostneutral import data
from lostneutral.case.model import Break, Case, Cross
from lostneutral.case.seen import Spread
from lostneutral.circuit.wiring import conductors, element_key
from lostneutral.evidence.places import KINDS, MOST_RUNS, Place, joint_words, kind_words, places, tried
from lostneutral.frozen import dataclass

CAUSES = ("sound", *KINDS, "two faults", "neutral crossed with PE", "supply neutral open", "high-voltage phase lost",
          "raised earth", "supply overvoltage", "not listed")
MOST_PAIRS = 6  #: runs up to which two faults in different runs are weighed


@dataclass(frozen=True, eq=False)
class Rival:
    """One cause, and how likely it was before anything was seen."""

    kind: str  #: one of `CAUSES`
    words: str  #: "open PEN in the cable to cottage 3"
    prior: float  #: share of all rivals'
    place: Place | None = None  #: None where nothing in the wiring is broken
    own: Spread | None = None  #: of what is unknown of the cause itself: ohm of its joint, V of its supply or earth
    phasors: tuple = ()  #: (line, V) where the supply's own voltages change

    @cached_property
    def conductors(self):
        """{(feeding, conductor): ohm} of what is broken: inf open, nan where it is a joint whose resistance is unknown."""
        return {(b.feeding, b.conductor): b.resistance for b in self.place.breaks if not b.at_supply} if self.place else {}

    @property
    def fuses(self):
        """Keys of the supply's own elements that are open: its high-voltage fuses, and those of its outgoing way."""
        return tuple(element_key(b) for b in self.place.breaks if b.at_supply) if self.place else ()

    @property
    def crosses(self):
        """What is exchanged."""
        return self.place.crosses if self.place else ()

    @property
    def at(self):
        """The point that the broken run feeds, "" for the whole supply."""
        return self.place.feeding if self.place else ""


def rivals(case: Case) -> tuple[Rival, ...]:
    """Return every rival cause whose weight is above 0, the one that is not listed last.

    The case's own breaks and exchanges are left out: each rival has its own. The weight of a kind (the case's
    `[[prior]]`, else data file `evidence`) is shared alike by its places. A bad joint's resistance is unknown:
    log-uniform as in the data file, or as an `[[unknown]]` of the case says of that run.
    """
    table, sound = data.load("evidence"), replace(case, breaks=(), crosses=(), events=())
    weights = {cause: table["prior"][cause] for cause in CAUSES} | {p.cause: p.weight for p in case.priors}
    found = [Rival("sound", "no fault, supply voltage normal", 0.0)]
    found += [Rival(p.kind, p.words, 0.0, p) for p in places(sound) if p.kind != "bad joint"]
    found += [_bad_joint(sound, point) for point in tried(sound)]
    found += [*_two_faults(sound), *_crossed_earths(sound), *_of_the_supply(sound)]
    found.append(Rival("not listed", "something that is not among these causes", 0.0))
    found = [rival for rival in found if weights[rival.kind] > 0]
    alike = Counter(rival.kind for rival in found)
    total = sum(weights[kind] for kind in alike)
    return tuple(replace(rival, prior=weights[rival.kind] / alike[rival.kind] / total) for rival in found)


def cause_words(case: Case) -> dict[str, str]:
    """Return what each of `CAUSES` is called in `case`."""
    return {"sound": "no fault"} | kind_words(case) | {
        "two faults": "two faults in different cables", "neutral crossed with PE": "neutral and PE transposed",
        "supply neutral open": "open neutral at the transformer", "high-voltage phase lost": "loss of a high-voltage phase",
        "raised earth": "earth raised by a fault elsewhere", "supply overvoltage": "supply overvoltage",
        "not listed": "something not listed"}


def _bad_joint(case, point):
    table = data.load("evidence")["bad_joint"]
    known = next((u.resistance for u in case.unknowns if u.resistance and (u.feeding, u.conductor) == (point.name, "N")), None)
    words = joint_words(case, point)
    return Rival("bad joint", words, 0.0, Place("bad joint", point.name, words, (Break(point.name, "N", nan),)),
                 known or Spread(table["low"], table["high"], scale="log"))


def _two_faults(case):
    """Open neutrals in two runs, and an open neutral with an open protective conductor elsewhere."""
    if len(case.points) > MOST_PAIRS:
        return
    for a, b in combinations(case.points, 2):
        words = f"open neutral in the cable to {a.name} and in that to {b.name}"
        yield Rival("two faults", words, 0.0, Place("two faults", a.name, words, (Break(a.name, "N", inf), Break(b.name, "N", inf))))
    earthed = any({"PE", "earth", "?"} & set(o.between or ()) for o in case.observations)
    for a in case.points if earthed else ():  # without a reading to PE or earth it would only double the open neutral
        for b in case.points:
            if "PE" in conductors(case, b):
                words = f"open neutral in the cable to {a.name} and open protective conductor in that to {b.name}"
                yield Rival("two faults", words, 0.0, Place("two faults", a.name, words,
                                                            (Break(a.name, "N", inf), Break(b.name, "PE", inf))))


def _crossed_earths(case):
    for point in case.points if len(case.points) <= MOST_RUNS else ():
        if "PE" in conductors(case, point):
            words = f"neutral and PE transposed at {point.name}"
            yield Rival("neutral crossed with PE", words, 0.0,
                        Place("neutral crossed with PE", point.name, words, (), (Cross(point.name, ("N", "PE")),)))


def _of_the_supply(case):
    table, supply = data.load("evidence"), case.supply
    yield Rival("supply neutral open", "open neutral between the transformer and the supply's terminals", 0.0)
    for line in supply.lines if supply.transformer is not None else ():
        words = f"loss of a high-voltage phase: fuse of {line} open"
        yield Rival("high-voltage phase lost", words, 0.0, Place("high-voltage phase lost", "", words, (Break("supply", line, inf, "fuse"),)))
    if supply.system == "three-phase" and supply.transformer is None:
        for line in supply.lines:
            # A delta winding fed by two lines: one limb has the full voltage, the others share it, reversed.
            full = supply.phasors[line]
            lost = tuple((name, full if name == line else -full / 2) for name in supply.lines)
            yield Rival("high-voltage phase lost", f"loss of a high-voltage phase, {line} alone at its full voltage", 0.0, None, None, lost)
    if supply.earthing:
        yield Rival("raised earth", "earth raised by a fault elsewhere, wiring sound", 0.0, None,
                    Spread(table["raised_earth"]["low"], table["raised_earth"]["high"], scale="log"))
    entry = table["overvoltage"]
    yield Rival("supply overvoltage", "overvoltage of the whole supply, no fault in the wiring", 0.0, None,
                Spread(entry["low"] * supply.nominal, entry["high"] * supply.nominal))


def own_words(rival):
    """Return what is unknown of the cause itself, in words, and its unit."""
    if rival.kind == "bad joint":
        return f"resistance: {rival.words}", "ohm"
    return ("voltage of the raised earth" if rival.kind == "raised earth" else "supply voltage"), "V"
