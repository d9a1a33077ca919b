"""What every place of the fault would do: for the terminal and for programs."""

import json

from lostneutral import data
from lostneutral.circuit.wiring import terminal_names
from lostneutral.consequences.cautions import open_cautions
from lostneutral.consequences.touch import is_live
from lostneutral.evidence.effects import DOES_NOT_FIT, line_words
from lostneutral.evidence.scale import PLAYS
from lostneutral.report.base.cautions import SAFE_WAY, in_short
from lostneutral.report.base.words import number, significant, visible
from lostneutral.report.evidence.file import asked_dict
from lostneutral.report.evidence.recorded import beginning_words, recording_words
from lostneutral.report.evidence.rows import how_well, steps_in_order
from lostneutral.report.evidence.verdict import ratio_words
from lostneutral.report.ranges.rows import probability_words
from lostneutral.report.screen.lines import wrapped
from lostneutral.words.amounts import listed
from lostneutral.words.terms import NO_VOLTAGE, VERDICTS

FORMAT = "lostneutral-where/1"
MOST_NAMES = 3  #: points named one by one in a row of the table
MOST_KINDS = 4  #: different effects named in a row of the table
MOST_ROWS = 25
UNRANKED = "Nothing was observed after the break: the places are listed by type and position, unranked."
CAVEAT = ("Each place is a hypothesis, weighed by the same law and with the same prior probabilities as in `lostneutral "
          "deduce`; unknown loads are taken at their medians. The percentage is its posterior probability; it depends on the "
          "priors and is not evidence by itself. “LR” is the likelihood ratio of the best fitting place to this one.")
_SAID = {"high": VERDICTS["over"], "low": VERDICTS["under"], "floating": VERDICTS["floating"]}


def where_text(case, found, width=80):
    """Return the answer as lines of at most `width` columns where the words allow."""
    lines = wrapped(f"Possible location of the fault: {visible(case.title)}", width) + [""]
    lines += wrapped(in_short(open_cautions(case, "short")), width) + [""]
    lines += wrapped(CAVEAT if found.observed else UNRANKED, width) + [""]
    if found.declined:
        lines += wrapped(f"No place is named as leading. {visible(found.declined)}", width) + [""]
    shown = [o for o in found.outcomes if not found.observed or o.support >= 0.001][:MOST_ROWS]
    for rank, outcome in enumerate(shown, 1):
        lines += wrapped(f"{rank:3d}. {standing(found, outcome)}{visible(outcome.place.words)}: "
                         f"{visible(consequence(case, outcome))}.",
                         width, "     ")
        if found.observed and rank <= 3:
            for what, gives, part in outcome.misfits:
                lines += wrapped(f"{visible(what)}; calculated for this location: "
                                 f"{gives}{' (does not fit)' if part > DOES_NOT_FIT else ''}",
                                 width, "       ", "     - ")
    left = len(found.outcomes) - len(shown)
    if left:
        lines += ["", *wrapped(f"{left} more places{', less probable,' if found.observed else ''} are in the JSON "
                               "results (--json).",
                               width)]
    if found.observed:
        places = list(dict.fromkeys(o.place.feeding for o in found.outcomes[:3] if o.place.feeding and o.support > PLAYS))
        lines += ["", "Next steps, in this order", *(line for text in steps_in_order(places) for line in wrapped(f"- {visible(text)}", width, "  "))]
    if found.next_reading:
        lines += ["", *wrapped(reading_to_take(found), width), *wrapped(SAFE_WAY, width)]
    for note in (*beginning_words(case), *recording_words(case), *found.notes):
        lines += ["", *wrapped(visible(note), width)]
    lines += ["", "Cautions"]
    for text in open_cautions(case):
        lines += wrapped(f"- {visible(text)}", width, "  ")
    return "\n".join(lines) + "\n"


def standing(found, outcome):
    """Return the probability of a place and how it fits, before its words; "" where nothing was observed."""
    if not found.observed:
        return ""
    ratio = "fits best" if outcome.ratio <= 1 else f"LR {ratio_words(outcome.ratio)}"
    return f"{probability_words(outcome.support)} ({ratio})  "


def consequence(case, outcome):
    """Return what a place would do in words: lines and metalwork at each point (joints aside), heat in its joint."""
    if outcome.solution is None:
        return outside(outcome)
    points = [p for p in case.points if p.kind != "joint"] or list(case.points)
    at = {}
    for point in points:
        at.setdefault(_effect(case, point, outcome.solution), []).append(point.name)
    normal = at.pop("", [])
    said = [f"{effect} {_places(names, len(points))}" for effect, names in list(at.items())[:MOST_KINDS]]
    rest = sum(map(len, list(at.values())[MOST_KINDS:]))
    said += [f"other deviations at {rest} more points"] if rest else []
    said += [f"voltages within limits {'at the other points' if said else 'everywhere'}"] if normal else []
    return "; ".join([*said, *_heat(outcome)])


def outside(outcome):
    """Return what is said of a cause whose effect at each point is not shown."""
    if outcome.place.kind == "not listed":
        return "what it would do is not known; if this leads, nothing that was considered explains the observations"
    if outcome.asked is None:
        return "what it does depends on what is not known"
    low, high = outcome.asked.lowest, outcome.asked.highest
    low, high = number(low[1], 0), number(high[1], 0)
    return f"line to neutral about {high} V" if low == high else f"line to neutral {low} to {high} V"


def _effect(case, point, state):
    """What is out of the ordinary at a point, or an empty text."""
    lines = line_words(case, point, state)
    said = [f"{listed([line for line in lines if lines[line] == word])} {words}" for word, words in _SAID.items()
            if word in lines.values()]
    dead = {line: is_live(state, point.name, line) for line in lines if lines[line] == "dead"}
    said += [f"{listed([line for line in dead if dead[line] is live])} {NO_VOLTAGE[live]}"
             for live in sorted(set(dead.values()))]
    if "PE" in terminal_names(case, point) and is_live(state, point.name, "PE", "raised"):
        said += [] if said else ["voltages within limits"]
        said.append("metalwork live" if is_live(state, point.name, "PE") else "metalwork raised, treat as live")
    return ", ".join(said)


def _places(names, of):
    if len(names) == of > 1:
        return "(everywhere)"
    more = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
    return f"({', '.join(names[:MOST_NAMES])}{more})"


def _heat(outcome):
    """Heat in the place's joint where there is enough for the stated figures of the data file `yardsticks`."""
    marks, watts = data.load("yardsticks"), outcome.joint_heat
    if watts >= marks["joint_sheds"]["value"]:
        return [(f"the joint overheats: about {significant(watts, 'W', 2)}, more than the "
                 f"{marks['joint_sheds']['value']:g} W that it can dissipate; fire risk")]
    return [f"the joint heats: about {significant(watts, 'W', 2)}"] if watts >= marks["joint"]["noticeable"] else []


def reading_to_take(found, causes=4):
    """Return which single reading would best distinguish the first places, and what it would show under so many `causes`."""
    reading = found.next_reading
    shows = "; ".join(f"{f'about {number(v, 0)} V' if v is not None else 'floating'} ({words})"
                      for words, _, v, _ in reading.expected[:causes])
    told = {words for words, *_ in reading.expected}
    two = "the first two" if all(o.place.words in told for o in found.outcomes[:2]) else "the first two of which it can be calculated"
    return (f"After papers, people and tests isolated the reading that would best distinguish {two}: {'-'.join(reading.between)} at {reading.point}, as "
            f"it stands, by a {reading.instrument}. Calculated: {shows}.{how_well(reading)}")


def where_json(case, found):
    """Return the answer for programs: every place with its points, its fit and what it gives for each observation."""
    reading = found.next_reading
    rows = [{"kind": o.place.kind, "run": o.place.feeding, "words": o.place.words, "rival": o.place.is_rival,
             "breaks": [{"conductor": b.conductor, "feeding": b.feeding,
                         "resistance": "open" if b.resistance == float("inf") else b.resistance}
                        for b in o.place.breaks],
             "crosses": [{"point": c.point, "conductors": list(c.conductors)} for c in o.place.crosses],
             "points": {name: list(words) for name, words in o.points.items()}, "solved": o.solution is not None,
             "joint_heat": o.joint_heat if o.solution else None,
             "misfit": o.misfit if o.solution else None, "support": o.support if found.observed else None,
             "prior": o.prior, "posterior": o.support if found.observed else None,
             "ratio_of_best_to_this": o.ratio if found.observed and o.ratio < float("inf") else None,
             "asked": asked_dict(o.asked) if o.asked else None,
             "observations": [{"seen": what, "gives": gives, "misfit": part} for what, gives, part in o.misfits]}
            for o in found.outcomes]
    answer = {"format": FORMAT, "case": {"title": case.title, "sha256": case.sha256}, "observed": found.observed,
              "declined": found.declined or None, "places": rows, "notes": [*beginning_words(case), *recording_words(case), *found.notes], "cautions": list(open_cautions(case)),
              "next_reading": reading and {"point": reading.point, "between": "-".join(reading.between),
                                           "strength": reading.strength,
                                           "instrument": reading.instrument,
                                           "expected": [{"place": w, "voltage": v} for w, _, v, _ in reading.expected]}}
    return json.dumps(answer, ensure_ascii=False, allow_nan=False, indent=1) + "\n"
