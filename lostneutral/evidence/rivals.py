"""The rival causes of what was seen, each a case of its own with what is unknown about it."""

from collections import Counter
from dataclasses import dataclass, replace

from lostneutral import data
from lostneutral.case.model import Case, Spread, Unknown
from lostneutral.evidence.places import KINDS, Place, joint_words, kind_words, places, tried

CAUSES = ("sound", *KINDS, "supply overvoltage")


@dataclass(frozen=True, eq=False)
class Rival:
    """One cause: the case with it in force, and how likely it was before anything was seen."""

    kind: str  #: one of `CAUSES`
    words: str  #: "open PEN in the cable to cottage 3"
    prior: float  #: share of all rivals'
    case: Case
    place: Place | None = None  #: None where nothing in the wiring is broken
    own: bool = False  #: whether the last of the case's unknowns is the rival's own

    @property
    def before(self):
        """The sound installation with the same loads."""
        return replace(self.case, breaks=(), crosses=(), unknowns=self.case.unknowns[: -1 if self.own else None])

    @property
    def at(self):
        """The point that the broken run feeds, "" for the whole supply."""
        return self.place.feeding if self.place else ""


def rivals(case: Case) -> tuple[Rival, ...]:
    """Return every rival cause whose weight is above 0.

    The case's own breaks and exchanges are left out: each rival has its own. The weight of a kind (the case's
    `[[prior]]`, else data file `evidence`) is shared alike by its places. A bad joint's resistance is unknown:
    log-uniform as in the data file, or as an `[[unknown]]` of the case says of that run. Where the case leaves the
    supply's voltage open, it is spread about its nominal value, for else a few volts would pass for a fault.
    """
    table, sound = data.load("evidence"), replace(case, breaks=(), crosses=(), events=())
    weights = {cause: table["prior"][cause] for cause in CAUSES} | {p.cause: p.weight for p in case.priors}
    known = {(u.feeding, u.conductor): u for u in case.unknowns if u.resistance is not None}
    plain = tuple(u for u in case.unknowns if u.resistance is None)
    if supply_left_open(case):
        plain += (Unknown(supply_voltage=usual_supply(case)),)
    usual = replace(sound, unknowns=plain)
    found = [Rival("sound", "no fault, supply voltage normal", 0.0, usual)]
    for place in places(sound):
        if place.kind != "bad joint":
            found.append(Rival(place.kind, place.words, 0.0, replace(usual, breaks=place.breaks, crosses=place.crosses), place))
    for point in tried(sound):
        ohms = Spread(table["bad_joint"]["low"], table["bad_joint"]["high"], scale="log")
        joint = known.get((point.name, "N")) or Unknown(feeding=point.name, resistance=ohms)
        words = joint_words(sound, point)
        found.append(Rival("bad joint", words, 0.0, replace(usual, unknowns=(*plain, joint)),
                           Place("bad joint", point.name, words), True))
    found.append(Rival("supply overvoltage", "overvoltage of the whole supply, no fault in the wiring", 0.0,
                       replace(usual, unknowns=(*(u for u in plain if u.supply_voltage is None), _overvoltage(case))), None, True))
    alike = Counter(rival.kind for rival in found)
    total = sum(weights[kind] for kind in alike)
    if not total:
        return ()
    shares = {kind: weights[kind] / number / total for kind, number in alike.items()}
    return tuple(replace(rival, prior=shares[rival.kind]) for rival in found if shares[rival.kind] > 0)


def cause_words(case: Case) -> dict[str, str]:
    """Return what each of `CAUSES` is called in `case`."""
    return {"sound": "no fault"} | kind_words(case) | {"supply overvoltage": "supply overvoltage"}


def supply_left_open(case: Case) -> bool:
    """Return whether neither the case's supply nor one of its unknowns says what the supply's voltage was."""
    assumed = any(a.subject == "supply" and a.what == "actual voltage" for a in case.assumptions)
    return assumed and all(u.supply_voltage is None for u in case.unknowns)


def usual_supply(case: Case) -> Spread:
    """Return what a supply's voltage is taken to be where nobody says."""
    nominal = case.supply.nominal
    return Spread(mean=nominal, deviation=data.load("evidence")["usual_supply"]["deviation"] * nominal)


def _overvoltage(case):
    entry = data.load("evidence")["overvoltage"]
    return Unknown(supply_voltage=Spread(entry["low"] * case.supply.nominal, entry["high"] * case.supply.nominal))
