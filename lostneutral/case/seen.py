"""What nobody knows of an installation, and what was seen, read and recorded of it; parts of a `Case`."""

from collections.abc import Mapping
from dataclasses import field

from lostneutral.frozen import dataclass


@dataclass(frozen=True)
class Spread:
    """What is known of a value that is not known: a range (uniform, or log-uniform) or a normal law."""

    low: float | None = None
    high: float | None = None
    mean: float | None = None
    deviation: float | None = None
    scale: str = "linear"  #: or "log"


@dataclass(frozen=True)
class Unknown:
    """What is not known of a load (on, power), of a run (resistance, capacitance), of a point (electrode, phases), of
    several loads (one_of), or of the supply."""

    load: str | None = None
    feeding: str | None = None
    conductor: str = "N"
    on: float | None = None  #: probability that the load was on
    power: Spread | None = None
    resistance: Spread | None = None
    supply_voltage: Spread | None = None  #: V line to neutral, shared by all lines
    one_of: tuple[str, ...] = ()  #: loads of which one was on, and only one
    weights: tuple[float, ...] = ()  #: of each of `one_of`; () = alike
    none: float = 0.0  #: probability that none of `one_of` was on
    point: str | None = None  #: of electrode and phases; "supply" is the electrode at the source
    electrode: Spread | None = None  #: ohm
    capacitance: Spread | None = None  #: F, of the whole run, between neighbouring cores
    phases: tuple[str, ...] = ()  #: lines of which a single-phase point may be on any

    @property
    def chances(self) -> tuple[float, ...]:
        """Probability of each of `one_of` that it was the one, in their order."""
        weights = self.weights or (1.0,) * len(self.one_of)
        return tuple((1 - self.none) * weight / sum(weights) for weight in weights)


@dataclass(frozen=True)
class Observation:
    """A meter reading between two terminals of a point, what was seen of a load, or whether a device operated."""

    point: str | None = None
    between: tuple[str, str] | None = None  #: the second is "?" where nobody knows it
    voltage: float | None = None
    uncertainty: float | None = None
    load: str | None = None
    seen: str | None = None
    within: float | None = None
    details: Mapping[str, object] = field(default_factory=dict)
    """time, state, impedance, instrument_class, reference, observer, instrument, kept, bound, with_on, with_off, reliability, sooner_than; of levels of a
    recording also `recording` (its number) and `spans` ((start, end), s), of events that it logged also their `times` (s)."""
    device: str | None = None
    operated: bool | None = None  #: of a device

    @property
    def is_reading(self) -> bool:
        """Whether it is a voltage between two terminals."""
        return self.load is None and self.device is None

    @property
    def bound(self) -> str | None:
        """What a reading says if it is no exact value: "up to", "more than" or "about"."""
        return self.details.get("bound")


@dataclass(frozen=True)
class Logged:
    """An event that an instrument logged, and what it says of a voltage between two terminals."""

    time: float  #: s on the case's clock, the recorder's error at its mean taken out
    word: str  #: as the case has it
    between: tuple[str, str]
    bound: str | None = None  #: "up to" or "more than"; None where it says nothing of a voltage
    voltage: float | None = None  #: V


@dataclass(frozen=True)
class Recording:
    """Voltages, events or both that an instrument recorded at a point; voltages between two terminals."""

    file: str  #: as the case writes it
    sha256: str
    point: str
    between: tuple[str, str]
    times: tuple[float, ...]  #: s on the case's clock, its error at its mean taken out
    volts: tuple[float, ...]
    averaging: float = 0.0  #: s over which each value is a mean, up to its time
    clock_error: float = 0.0  #: s by which its clock was fast
    clock_deviation: float = 0.0  #: s, one standard deviation of that
    fitted_after: bool = False  #: fitted after the incident, of which it says nothing
    zero: str | None = None  #: clock time of time 0, as the case gives it
    events: tuple[Logged, ...] = ()  #: in the order of time

    @property
    def span(self) -> tuple[float, float]:
        """First and last time (s) of which it says something."""
        times = (*self.times[:1], *self.times[-1:], *(e.time for e in self.events))
        return min(times) - self.averaging, max(times)


@dataclass(frozen=True)
class Prior:
    """Weight of a kind of cause before anything was seen, against the other kinds."""

    cause: str
    weight: float
