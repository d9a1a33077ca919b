"""The cautions that go with every output of every kind."""

from dataclasses import replace

from lostneutral import data
from lostneutral.case.model import Break, Case


def cautions(case: Case, form: str = "text") -> tuple[str, ...]:
    """Return the cautions for `case`: the fixed set, which nothing removes, and those that fit; danger to life first.

    Texts, with source and how known, stand in the data file `cautions`; `form` "short" gives each as one line.
    """
    supply = case.supply
    fits = {
        "always": True,
        "combined conductor": supply.earthing in (None, "TN-C", "TN-C-S"),
        "earthing unknown": supply.earthing is None,
        "own electrode": supply.earthing == "TT",
        "split-phase": supply.system == "split-phase",
    }
    return tuple(entry[form] for entry in data.load("cautions")["caution"] if fits[entry["when"]])


def one_caution() -> str:
    """Return the caution, as one line, for an output that has room for no other."""
    return next(entry["short"] for entry in data.load("cautions")["caution"] if entry.get("alone"))


def open_cautions(case: Case, form: str = "text") -> tuple[str, ...]:
    """Return the cautions that fit `case` where its fault is a question and may be a high-resistance joint too."""
    joint = Break(case.points[0].name, "N", 1.0)
    return cautions(replace(case, breaks=(*case.breaks_after(), joint), events=()), form)
