"""What every place of the fault would do: for the terminal and for programs."""

import json

from lostneutral.report.terminal import _wrapped as wrapped
from lostneutral.report.words import number, visible

FORMAT = "lostneutral-where/1"
MOST_NAMES = 3  #: points named one by one in a row of the table
MOST_ROWS = 25
UNRANKED = "Nothing was observed after the break, so the places are in the order of kind and wiring, not of likelihood."
CAVEAT = ("All places count as equally likely beforehand, and the loads as given; the support says how well each place "
          "fits what was seen beside the others, not how sure it is that the fault is there.")


def where_text(case, found, width=80):
    """Return the answer as lines of at most `width` columns where the words allow."""
    lines = wrapped(f"Where it broke: {visible(case.title)}", width) + [""]
    lines += wrapped(CAVEAT if found.observed else UNRANKED, width) + [""]
    shown = [o for o in found.outcomes if not found.observed or o.support >= 0.001][:MOST_ROWS]
    for rank, outcome in enumerate(shown, 1):
        support = f"{100 * outcome.support:5.1f} %  " if found.observed else ""
        lines += wrapped(f"{rank:3d}. {support}{visible(outcome.place.words)}: {visible(consequence(case, outcome))}.", width,
                          "     ")
        if found.observed and rank <= 3:
            for what, gives, part in outcome.misfits:
                lines += wrapped(f"{visible(what)}: this place gives {gives}{' (does not fit)' if part > 9 else ''}", width,
                                  "       ", "     - ")
    left = len(found.outcomes) - len(shown)
    if left:
        lines += ["", *wrapped(f"{left} more places {'with less support' if found.observed else ''} are in the file for "
                                "programs (--json).".replace("  ", " "), width)]
    if found.next_reading:
        lines += ["", *wrapped(next_words(found), width)]
    for note in found.notes:
        lines += ["", *wrapped(visible(note), width)]
    return "\n".join(lines) + "\n"


def consequence(case, outcome):
    """Return what a place would do in words: which points (joints aside) go high, low, live or stay whole."""
    if outcome.solution is None:
        return "no settled state was found"
    places = [p.name for p in case.points if p.kind != "joint"] or list(outcome.points)
    said = []
    for word in ("high", "low", "dead", "floating", "live", "whole"):
        names = [name for name in places if word in outcome.points[name]]
        if len(names) == len(places):
            said.append(f"{word} everywhere")
        elif names:
            more = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
            said.append(f"{word}: {', '.join(names[:MOST_NAMES])}{more}")
    return "; ".join(said)


def next_words(found):
    """Return which single reading would tell the first places apart, and what it would show."""
    reading = found.next_reading
    shows = "; ".join(f"{number(v)} V if {words}" if v is not None else f"a floating value if {words}"
                      for words, v in reading.expected[:4])
    return (f"The reading that would best tell them apart: {'-'.join(reading.between)} at {reading.point}, with the loads as "
            f"given. It would be {shows}.")


def where_json(case, found):
    """Return the answer for programs: every place with its points, its fit and what it gives for each observation."""
    reading = found.next_reading
    rows = [{"kind": o.place.kind, "run": o.place.feeding, "words": o.place.words, "rival": o.place.is_rival,
             "breaks": [{"conductor": b.conductor, "feeding": b.feeding,
                         "resistance": "open" if b.resistance == float("inf") else b.resistance}
                        for b in o.place.breaks],
             "crosses": [{"point": c.point, "conductors": list(c.conductors)} for c in o.place.crosses],
             "points": {name: list(words) for name, words in o.points.items()}, "solved": o.solution is not None,
             "misfit": o.misfit if o.solution else None, "support": o.support if found.observed else None,
             "observations": [{"seen": what, "gives": gives, "misfit": part} for what, gives, part in o.misfits]}
            for o in found.outcomes]
    answer = {"format": FORMAT, "case": {"title": case.title, "sha256": case.sha256}, "observed": found.observed,
              "places": rows, "notes": list(found.notes),
              "next_reading": reading and {"point": reading.point, "between": "-".join(reading.between),
                                           "strength": reading.strength,
                                           "expected": [{"place": w, "voltage": v} for w, v in reading.expected]}}
    return json.dumps(answer, ensure_ascii=False, allow_nan=False, indent=1) + "\n"
