"""The cautions that go with every output of every kind."""

from math import isinf

from lostneutral import data
from lostneutral.case.model import Case


def cautions(case: Case, form: str = "text") -> tuple[str, ...]:
    """Return the cautions for `case`: the fixed set first, which nothing removes, then those that fit.

    Texts, with source and how known, stand in the data file `cautions`; `form` "short" gives each as one line.
    """
    supply, broken = case.supply, case.breaks_after()
    fits = {
        "always": True,
        "combined conductor": supply.earthing in (None, "TN-C", "TN-C-S"),
        "earthing unknown": supply.earthing is None,
        "own electrode": supply.earthing == "TT",
        "split-phase": supply.system == "split-phase",
        "bad joint": any(not isinf(b.resistance) for b in broken),
    }
    entries = data.load("cautions")["caution"]
    return tuple(e[form] for e in sorted(entries, key=lambda e: e["when"] != "always") if fits[e["when"]])
