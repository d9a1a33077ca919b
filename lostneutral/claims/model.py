"""A claim: one computed figure and what is held of it, as data. Words are made from it elsewhere, and never parsed back."""

from collections.abc import Iterable, Mapping
from dataclasses import field
from enum import IntEnum, StrEnum
from math import inf

from lostneutral.case.model import Case
from lostneutral.circuit.solution import Solution
from lostneutral.consequences.limits import Yardstick
from lostneutral.frozen import dataclass


class Rank(IntEnum):
    """How grave a claim is; one order for all, the gravest first."""

    DANGER = 0  #: to people
    FIRE = 1
    DAMAGE = 2
    WARNING = 3
    NOTE = 4


class Kind(StrEnum):
    """What is claimed. The order is that in which claims of one rank are told."""

    METALWORK = "voltage of earthed metalwork to remote earth"
    METALWORK_UNKNOWN = "earthing not known"
    PERSON = "current through a person"
    BETWEEN_METALWORK = "voltage between earth terminals"
    NEUTRAL_LIVE = "neutral live"
    MAIN_SWITCH = "main switch opened"
    JOINT_HEAT = "heat in a joint"
    BOND_HEAT = "heat in a bond"
    SURGE_PART = "surge part may burn"
    WINDING = "winding may burn"
    TRANSPOSED = "conductors transposed"
    ELECTRODE_RANGE = "touch voltage over the electrode's range"
    CHARGING_POINT = "metalwork of a charging point"
    DIVERTED = "current by other paths"
    BEYOND_TRIANGLE = "beyond the line-to-line voltage"
    TEMPORARY_OVERVOLTAGE = "temporary overvoltage"
    LINE_ABOVE = "line above limits"
    LINE_BELOW = "line below limits"
    LINE_NONE = "line without voltage to neutral"
    INSULATION = "stress of insulation"
    ITEM = "item outcome"
    SURGE_DEVICES = "surge protective devices"
    SETTLING = "settled states"
    NOT_FOLLOWED = "not followed in time"
    RECTIFIERS = "rectifiers as sine waves"
    READER = "warning of the case's reader"
    HANGS_ON = "what the answer hangs on"
    OBSERVED = "observation"
    SATURATES = "iron core above its knee"
    UNEQUAL_LINES = "three-phase motor on unequal line voltages"
    EXTRAPOLATED = "law outside its measured range"
    NOTHING_BROKEN = "nothing broken"
    MENDED = "fault ended within the incident"
    CARRIED = "current carried before"
    FAULT_DEVICES = "fuses, circuit-breakers, residual-current devices"
    BRIEF = "stage of less than two cycles"
    HIGH_VOLTAGE_FUSE = "high-voltage fuse lost"
    UNEARTHED_SOURCE = "source without earth"
    DEVICE = "protective device of the case"
    OVERVOLTAGE_DEVICE = "power-frequency overvoltage device"
    OPEN_PEN_DEVICE = "device for an open PEN at a charging point"
    ITI = "ITI curve"
    FLOATING = "conductor with no defined potential"
    LINE_BEFORE = "line outside limits before the break"
    DROP_BEFORE = "voltage drop before the break"
    FULL_NEUTRAL = "neutral fuller than its lines"
    SUPPLIES = "power supplies in the star"
    METERS = "meters on distorted voltages"


@dataclass(frozen=True)
class About:
    """What a claim is about: a reference into the case, never a sentence."""

    what: str  #: "item" | "line" | "neutral" | "pen" | "pe" | "earth terminal" | "person" | "joint" | "path" | "circuit" | "installation" | "case"
    name: str = ""  #: the item's, conductor's or path's name


@dataclass(frozen=True)
class Condition:
    """In which state of the incident a claim holds, and in how many of the possible ones."""

    stage: str = "after"  #: "before" | "after" | "stage" (in between; from `start` to `end`) | "always"
    start: float = 0.0  #: s since the incident began
    end: float = float("inf")
    held: int = 1  #: possible settled states in which it holds …
    possible: int = 1  #: … of so many
    lasts: float = float("inf")  #: s at a time, of what comes and goes or stands on the way to the end
    ever: tuple[tuple[float, float], ...] = ()  #: s, every stretch in which it holds, where it comes and goes


def seconds(conditions: Iterable[Condition]) -> float:
    """Return how long (s) at least one of `conditions` holds."""
    total, until = 0.0, -inf
    for start, end in sorted(span for c in conditions for span in (c.ever or [(c.start, c.end)])):
        total += max(end - max(start, until), 0.0)
        until = max(until, end)
    return total


@dataclass(frozen=True)
class Unverified:
    """A figure that was not checked against its source, and what would be answered with it at each end of its plausible spread."""

    key: str  #: of the data file `unverified`
    value: float
    unit: str
    ends: tuple[float, float]
    answers: tuple[str, str, str]  #: as it is, at the lower end, at the upper end

    @property
    def decides(self) -> bool:
        """Whether the answer changes within the spread."""
        return len(set(self.answers)) > 1


@dataclass(frozen=True)
class Claim:
    """One claim. `value` and `span` are of `quantity`, in `unit`; `facts` has further figures and references by name."""

    kind: Kind
    about: About
    rank: Rank
    where: tuple[str, ...] = ()  #: points, the worst first
    condition: Condition = Condition()
    quantity: str = ""
    unit: str = ""
    value: float | None = None  #: the worst
    span: tuple[float, float] | None = None  #: lowest and highest over places, possible states and stages
    yardstick: Yardstick | None = None
    confidence: str = "good"  #: a key of `data.harm.confidence`, or "certain" | "indicative" | "unsure"
    because: str = ""  #: the law or source, and how it is known
    facts: Mapping[str, object] = field(default_factory=dict)
    unverified: tuple[Unverified, ...] = ()  #: figures that decide it and were not checked against their source

    @property
    def worse(self) -> tuple[Rank, bool, float, bool]:
        """A sort key: the gravest first, then the figure that is further off."""
        low = self.kind in (Kind.LINE_BELOW, Kind.LINE_NONE) or self.facts.get("side") == "below"
        size = 0.0 if self.value is None else self.value if low else -self.value
        return self.rank, self.value is not None, round(size, 2), self.condition.stage != "after"


@dataclass(frozen=True)
class Moment:
    """One possible settled state of a stage, or one moment of a course: what the makers of claims look at."""

    case: Case  #: with the breaks and switches of that stage, and no events
    solution: Solution
    before: Solution | None  #: while all was sound
    condition: Condition
    fed: Mapping[str, complex] = field(default_factory=dict)  #: ohm, by which the earth terminal of a point is fed (`studies.fed`), where known


AS_GIVEN = "calculated from the case as described; only as reliable as the loads, wiring and fault given there"
SEVERAL = "; several settled states are possible and the loads alone do not decide between them"


def sure(moment: Moment) -> str:
    """Return what a figure of `moment` rests on."""
    return AS_GIVEN + SEVERAL if moment.condition.possible > 1 else AS_GIVEN
