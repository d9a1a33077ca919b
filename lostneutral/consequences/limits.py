"""Published figures as limits: supply bands, the verdict on a voltage, and citing any entry of the data files."""

from functools import cache

from lostneutral import data
from lostneutral.case.model import Case
from lostneutral.errors import UsageError
from lostneutral.frozen import dataclass

ROUNDING = 1e-9  # relative: a voltage set exactly on a limit is within it, however the solver rounds


@dataclass(frozen=True)
class Yardstick:
    """A published figure of the same quantity: value and unit, where it stands, how it is known (words of `data.KNOWN`)."""

    value: float
    unit: str
    source: str
    known: str
    edge: str = ""  #: "high" | "low": which side of it is crossed; "reference" where it decides nothing


@dataclass(frozen=True)
class Band:
    """A supply-voltage band: the voltages, line to neutral, of normal operation, by which verdicts go."""

    name: str
    nominal: float  #: V, the rule's own
    low: float  #: limits of normal operation as multiples of nominal
    high: float
    low_outer: float  #: the widest that the rule allows at all
    high_outer: float
    source: str  #: as printed: rule, edition, clause
    known: str  #: words of `data.KNOWN`
    condition: str  #: averaging, place, what it covers

    def yardstick(self, edge: str, rated: float, unit: str = "V") -> Yardstick:
        """Return the "low" or "high" edge for a nominal or rated value (V, or any `unit`)."""
        return Yardstick(round(getattr(self, edge) * rated, 9), unit, self.source, self.known, edge)


def band_names() -> tuple[str, ...]:
    """Return the names that `supply.limits` may have, in the order of the data file."""
    return tuple(entry["name"] for entry in data.load("supply_bands")["band"])


@cache
def band(name: str) -> Band:
    """Return the supply band called `name`; UsageError, with the names there are, if there is none."""
    for entry in data.load("supply_bands")["band"]:
        if entry["name"] == name:
            nominal = entry["nominal"]
            edges = (entry[key] / nominal for key in ("low", "high", "low_outer", "high_outer"))
            return Band(name, nominal, *edges, cite(entry), data.KNOWN[entry["known"]], entry["condition"])
    raise UsageError(f"supply band '{name}' is not known — one of: {', '.join(band_names())}")


def verdict(ratio: float | None, band: Band) -> str:
    """Return "over", "within", "under", "dead" or "floating" for a voltage as a multiple of nominal.

    None means that nothing ties the voltage down. The band's edges belong to "within"; "dead" is the result file's
    word for a voltage below 5 % of nominal (data file yardsticks, an assumption of this program): no reader is told
    that a conductor or an item is dead.
    """
    if ratio is None:
        return "floating"
    if ratio > band.high * (1 + ROUNDING):
        return "over"
    if ratio >= band.low * (1 - ROUNDING):
        return "within"
    return "under" if ratio >= data.load("yardsticks")["dead"]["below"] else "dead"


def verdict_by_band(case: Case, ratio: float | None) -> str:
    """Return the `verdict` on a voltage, as a multiple of nominal, by the supply band of `case`."""
    return verdict(ratio, band(case.supply.limits))


def cite(entry) -> str:
    """Return where an entry of a data file stands: source, edition, clause, and how the clause is known if worse."""
    place = ", ".join(text for text in (entry["source"], entry.get("clause")) if text)
    clause_known = entry.get("clause_known", entry["known"])
    notes = [f"edition {entry['edition']}"] if entry.get("edition") else []
    if clause_known != entry["known"]:
        notes.append(f"clause number {data.KNOWN[clause_known]}")
    return f"{place} ({'; '.join(notes)})" if notes else place


def published(entry, value: float | None = None, edge: str = "high") -> Yardstick:
    """Return an entry of a data file as a yardstick, with its own `value` or one worked out from it."""
    return Yardstick(entry["value"] if value is None else value, entry["unit"], cite(entry),
                     data.KNOWN[entry["known"]], edge)
