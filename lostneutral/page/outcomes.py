"""What a voltage does to an item, over all voltages, and what is said of each item of the case as it is given."""

import re
from math import log10
from os.path import commonprefix

import numpy as np

from lostneutral.claims.model import Kind
from lostneutral.consequences.harm import CONFIDENCE, harm_at
from lostneutral.report.base.words import what_is_taken
from lostneutral.words.conclusion import DANGER, conclusion, dangers
from lostneutral.words.english import said

STEPS = 72  #: voltages at which each item is asked, before its edges are looked for
CLOSE = 0.02  #: V, how near an edge between two outcomes is found


def outcomes_of(result) -> dict[str, str]:
    """Return {item: outcome}: the one verdict on each item of the case as it is given."""
    return {verdict.item: verdict.outcome for verdict in result.verdicts}


def sentences(result) -> dict[str, list[str]]:
    """Return what the report's first page says of the case as it is given: the fault, dangers, voltages, items.

    The one place from which the page takes sentences on the case as a whole.
    """
    case = result.case
    items = [claim for claim in result.claims if claim.kind is Kind.ITEM]
    return {"Fault considered (a hypothesis, calculated, not measured)": list(what_is_taken(case)), DANGER: dangers(result),
            "Voltages": list(conclusion(result)),
            "Items, new and with no protection acting": [said(claim, case).lead for claim in items]}


def voltage_stretches(load, model, limits, top):
    """Return what each voltage up to `top` (V) does to `load`: a list of stretches in order.

    Each is {"to": V, "outcome", "part", "mode", "burns", "sure", "basis", "volts": […], "times": [[earliest, central, latest], …]},
    times as log10 of seconds or None, at `volts`. Asked of `consequences.harm` alone.
    """
    def ask(volts):
        harm = harm_at(load, model, float(volts), limits)[0]
        return harm, (harm.outcome, harm.part, harm.mode, harm.burns, harm.confidence, re.sub(r"\d[\d.]*", "#", harm.basis))

    grid = [(v, *ask(v)) for v in np.linspace(0.0, top, STEPS + 1)]
    stretches = [[grid[0]]]
    for low, high in zip(grid, grid[1:]):
        while low[2] != high[2]:
            below, above = low, high
            while above[0] - below[0] > CLOSE:
                middle = (below[0] + above[0]) / 2
                asked = (middle, *ask(middle))
                below, above = (asked, above) if asked[2] == low[2] else (below, asked)
            stretches[-1].append(below)
            stretches.append([above])
            low = above
        stretches[-1].append(high)
    return [_stretch(asked) for asked in stretches]


def _stretch(asked):
    result, part, mode, burns, grade, _ = asked[0][2]
    made = {"to": round(asked[-1][0], 3), "outcome": result, "part": part, "mode": mode, "burns": burns,
            "sure": f"{grade}: {CONFIDENCE[grade]}", "basis": _lasting([harm.basis for _, harm, _ in asked])}
    times = [[_log(getattr(harm, end)) for end in ("earliest", "central", "latest")] for _, harm, _ in asked]
    if any(t is not None for row in times for t in row):
        made |= {"volts": [round(v, 3) for v, *_ in asked], "times": times}
    return made


def _lasting(texts):
    """Return what all of the texts say: their common clauses, or how they begin where a figure follows the voltage."""
    clauses = [text.split("; ") for text in texts]
    kept = [clause for clause in clauses[0] if all(clause in each for each in clauses)]
    return "; ".join(kept) or commonprefix(texts).rpartition(" ")[0].removesuffix(" at")


def _log(seconds):
    return None if seconds is None else round(log10(max(seconds, 1e-6)), 3)
