"""What evidence takes for granted where the case says nothing: electrodes that nobody measured, and the supply's voltage."""

from lostneutral import data
from lostneutral.case.model import Case
from lostneutral.case.seen import Spread
from lostneutral.frozen import dataclass


@dataclass(frozen=True)
class Electrodes:
    """Earth electrodes that share one unknown resistance, or are not there."""

    points: tuple[str, ...]
    electrode: Spread
    none: float = 0.0  #: probability that there is none


def unmeasured(case: Case) -> Electrodes | None:
    """Return the electrodes that the case leaves out where there may be one: of intakes in a TN-C-S, TN-C or TT system."""
    if case.supply.earthing not in ("TN-C-S", "TN-C", "TT"):
        return None
    said = {u.point for u in case.unknowns if u.electrode is not None}
    open_ = tuple(p.name for p in case.points if p.electrode is None and p.kind == "intake" and p.name not in said)
    entry = data.load("evidence")["electrode"]
    none = 0.0 if case.supply.earthing == "TT" else entry["none"]
    return Electrodes(open_, Spread(entry["low"], entry["high"], scale="log"), none) if open_ else None


def supply_left_open(case: Case) -> bool:
    """Return whether neither the case's supply nor one of its unknowns says what the supply's voltage was."""
    assumed = any(a.subject == "supply" and a.what == "actual voltage" for a in case.assumptions)
    return assumed and all(u.supply_voltage is None for u in case.unknowns)


def usual_supply(case: Case) -> Spread:
    """Return what a supply's voltage is taken to be where nobody says."""
    nominal = case.supply.nominal
    return Spread(mean=nominal, deviation=data.load("evidence")["usual_supply"]["deviation"] * nominal)
