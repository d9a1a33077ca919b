"""The figures of a course. Each function draws one figure and returns (SVG text, alternative text)."""

from dataclasses import replace
from itertools import groupby

import numpy as np

from lostneutral.report.base import rows
from lostneutral.report.base.drawing import BAND, DASHES, INK, SOFT, bare, colour, label, svg
from lostneutral.report.base.words import number
from lostneutral.report.course.rows import (
    CONDITION_WORDS,
    MOST_MOMENTS,
    clock,
    conditions,
    happenings,
    moments_untold,
    phase_voltages,
    seen_words,
)
from lostneutral.words.language import tell
from lostneutral.words.terms import supply_neutral

MOST_LOADS = 24
MOST_NUMBERS = 6  #: of moments beside one mark
MOST_SPANS = 12  #: of one load's condition, in the text alternative
#: word of a load's condition -> face and hatch of its strip, so that none is told by its colour alone
_STRIPS = {"running": ("#ffffff", ""), "dim": (BAND, "...."), "too low": (BAND, "...."), "dark": ("#9a9a9a", "...."),
           "dead": ("#9a9a9a", "...."), "glaring": ("#f2c14e", "////"), "too high": ("#f2c14e", "////"),
           "failed": ("#4a4a4a", "xxxx"), "floating": ("#ffffff", "oo"), "off": ("#ffffff", ""), "changing": ("#ffffff", "||||")}
_LINEAR_UP_TO = 0.01  #: s; from here on time is drawn by ratio


def seen_point(case, course):
    """Return the point whose line-to-neutral voltages strayed furthest from nominal in the course."""
    volts = phase_voltages(case, course)

    def strayed(point):
        values = [np.nan_to_num(np.abs(v - case.supply.nominal)).max() for (p, _), v in volts.items() if p == point.name]
        return round(max(values, default=0.0), 6)

    return max(case.points, key=strayed)


def neutral_words(case):
    """Return what a neutral that has moved is called: a split-phase supply has no star point."""
    return "neutral point" if case.supply.system == "split-phase" else "star point"


def triangle_words(case):
    """Return what `incident_triangle` draws: the voltage triangle, or the line between the two lines of a split-phase supply."""
    return "the line between L1 and L2" if case.supply.system == "split-phase" else "the voltage triangle"


def corners(course, point):
    """Return {line: V} of the lines at `point` when the course begins, to the supply's star point."""
    return {line: complex(course.nodes[point.name, line][0]) for line in point.phases
            if not np.isnan(course.nodes[point.name, line][0])}


def incident_triangle(axes, ends, neutral):
    """Draw the voltage triangle (split-phase: its line) with its corners `ends`, wide enough for `neutral`'s track."""
    outline = [*ends.values()] + ([next(iter(ends.values()))] if len(ends) > 2 else [])
    axes.plot([z.real for z in outline], [z.imag for z in outline], color=SOFT, lw=0.8, gid="triangle")
    every = np.array([*ends.values(), *neutral[~np.isnan(neutral)], 0j])
    margin = 0.16 * max(np.ptp(every.real), np.ptp(every.imag), 1.0)
    for line, z in ends.items():
        out = z * (1 + 0.5 * margin / (abs(z) or 1.0))
        axes.text(out.real, out.imag, line, ha="center", va="center", fontweight="bold", color=colour(line))
    axes.plot([0], [0], marker="+", ms=8, color=INK)
    axes.set_aspect("equal")
    axes.set_xlim(every.real.min() - margin, every.real.max() + margin)
    axes.set_ylim(every.imag.min() - margin, every.imag.max() + margin)
    axes.set_axis_off()


def track(result):
    """Draw the movement of the star point over the voltage triangle, true to scale, with a number at every event."""
    case, course = result.case, result.courses.central
    point = seen_point(case, course)
    neutral = course.nodes[point.name, "N"]
    marks = _marks(course, neutral)

    def draw(figure):
        axes = figure.add_subplot()
        incident_triangle(axes, corners(course, point), neutral)
        axes.plot(neutral.real, neutral.imag, color=colour("N"), lw=1.6, ls="-", gid="track")
        for (x, y), numbers in marks.items():
            axes.plot(x, y, marker="o", ms=5, mfc="white", mec=colour("N"), zorder=4)
            said_there = ", ".join(map(str, numbers[:MOST_NUMBERS])) + " …" * (len(numbers) > MOST_NUMBERS)
            axes.annotate(said_there, (x, y), textcoords="offset points", xytext=(6, 5), fontsize=8,
                          bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.4, "alpha": 0.8}, zorder=5)

    said = [(f"Movement of the {neutral_words(case)} of “{point.name}” over {triangle_words(case)}, true to scale, by "
             "calculation.")]
    said += _told(f"{n + 1}: {h.when}, {h.what}." for n, h in enumerate(happenings(case, course)))
    floats = " Where it is floating nothing is drawn." if np.isnan(neutral).any() else ""
    furthest = np.nanmax(np.abs(neutral)) if not np.isnan(neutral).all() else None
    said.append(f"Its largest displacement from {supply_neutral(case)} is {number(furthest, 0)} V.{floats}")
    return svg(draw, 3.6, " ".join(said))


def _marks(course, neutral):
    """Return {(x, y): numbers of the moments} at which the star point stood when something had happened.

    Moments too near one another to be told apart in the drawing share a mark; the end of the time followed has none,
    nor has what the table of moments leaves out.
    """
    marks, near = {}, 0.06 * max(np.nanmax(np.abs(neutral), initial=0.0), 1.0)
    for n, moment in enumerate(course.moments[:_once(course)][:MOST_MOMENTS]):
        at = 0 if moment.kind == "start" else np.searchsorted(course.times, moment.time, "right") - 1
        here = neutral[at]
        if not np.isnan(here):
            mark = next((m for m in marks if abs(complex(*m) - here) < near), (here.real, here.imag))
            marks.setdefault(mark, []).append(n + 1)
    return marks


def _once(course):
    """How many moments are told one by one before anything repeats; all but the end where nothing does."""
    return next((again.first + again.size for again, _ in course.repetitions), len(course.moments) - 1)


def _repeating(course):
    """(rows, begin, end) of every stretch of time (s) in which the course only repeats what it went through before."""
    for again, last in course.repetitions:
        begin, end = course.moments[again.first + again.size].time, course.moments[last].time
        until = course.times <= end if last == len(course.moments) - 1 else course.times < end
        yield (course.times > begin) & until, begin, end


def _time_axis(axes, course):
    """Set time along the bottom: evenly where the course is short, by ratio beyond the first hundredth of a second."""
    last = float(course.times[-1]) or 1.0
    axes.set_xlim(0, last)
    if last > 10.0:
        axes.set_xscale("symlog", linthresh=_LINEAR_UP_TO, linscale=0.4)
        ticks = [0.0, *(t for t in (0.01, 0.1, 1.0, 10.0, 60.0, 600.0, 3600.0, 36e3, 360e3, 36e5) if t < 0.45 * last), last]
    else:
        ticks = np.linspace(0, last, 6)
    axes.set_xticks(ticks, [clock(t) for t in ticks], fontsize=7.5)
    axes.minorticks_off()


def voltages_in_time(result):
    """Draw the line-to-neutral voltages of one point against time, with the supply band and the line-to-line voltage."""
    case, course = result.case, result.courses.central
    point = seen_point(case, course)
    volts = {line: v for (p, line), v in phase_voltages(case, course).items() if p == point.name}
    low, high = rows.outer_limits(case)
    bound = case.supply.nominal_line_to_line
    top = max([bound, *(np.nanmax(v) for v in volts.values() if not np.isnan(v).all())])
    again = tuple(_repeating(course))
    drawn_over = np.any([rows_ for rows_, *_ in again], axis=0) if again else np.zeros(len(course.times), bool)
    marked = [m.time for m in course.moments if not any(begin < m.time < end for _, begin, end in again)]

    def draw(figure):
        axes = figure.add_subplot()
        axes.axhspan(low, high, facecolor=BAND, edgecolor=SOFT, hatch="..", lw=0, alpha=0.8)
        axes.axhline(bound, color=INK, ls=(0, (4, 2)), lw=0.9)
        for time in dict.fromkeys(marked):
            axes.axvline(time, color=SOFT, lw=0.5)
        ends = _apart([(float(v[~np.isnan(v)][-1]), line) for line, v in volts.items() if not np.isnan(v).all()], top)
        for line, v in volts.items():
            axes.plot(course.times, np.where(drawn_over, np.nan, v), color=colour(line), ls=DASHES[line], lw=1.4, gid=f"course-{line}")
            for later, *span in again:
                if later.any() and not np.isnan(v[later]).all():
                    for end in (np.nanmin(v[later]), np.nanmax(v[later])):
                        axes.plot(span, [end, end], color=colour(line), ls=DASHES[line], lw=1.0)
                    axes.fill_between(span, np.nanmin(v[later]), np.nanmax(v[later]), facecolor=colour(line), alpha=0.12)
        _time_axis(axes, course)
        axes.set_ylim(0, 1.08 * top)
        for at, line in ends:
            axes.annotate(line, (1.0, at), xycoords=("axes fraction", "data"), xytext=(4, 0), textcoords="offset points",
                          va="center", fontweight="bold", color=colour(line), annotation_clip=False)
        axes.set_ylabel(f"line to neutral at “{label(point.name, 24)}”, V")
        bare(axes, "bottom", "left")

    said = [f"Line-to-neutral voltages at “{point.name}” against time ({rows.band_words(case)})."]
    drawn = replace(case, points=(point,))
    said += _told(f"{h.when}, {h.what}: {'; '.join(seen_words(drawn, h))}." for h in happenings(case, course))
    return svg(draw, 3.0, " ".join(said))


def _told(moments):
    """What is told of moments: of as many as the table has."""
    told = list(moments)
    more = moments_untold(len(told), MOST_MOMENTS)
    return told[:MOST_MOMENTS] + ([f"{more}."] if more else [])


def _apart(ends, top):
    """Return (height, line) of labels moved up where they would stand on one another."""
    placed, floor = [], -np.inf
    for at, line in sorted(ends):
        floor = max(at, floor + 0.06 * top)
        placed.append((floor, line))
    return placed


def changing(result):
    """Return the names of the loads whose condition changes in the course, in the case's order."""
    words = conditions(result.case, result.courses.central)
    return [v.item for v in result.verdicts if len(set(words[v.item])) > 1]


def strips(result, only=None):
    """Draw the condition of every load (or of those named in `only`) over time: running, dim, failed …, in words and hatching."""
    case, course = result.case, result.courses.central
    words = conditions(case, course)
    eventful = sorted(words, key=lambda name: len(set(words[name])) == 1 and words[name][0] in ("running", "off"))
    kept = [load.name for load in case.loads if load.name in (eventful if only is None else only)[:MOST_LOADS]]
    parts = {name: _spans(course.times, _with_what_repeats(course, words[name])) for name in kept}

    def draw(figure):
        axes = figure.add_subplot()
        _time_axis(axes, course)
        for at, name in enumerate(kept):
            for begin, end, word in parts[name]:
                face, hatch = _STRIPS[word]
                axes.barh(at, end - begin, left=begin, height=0.62, facecolor=face, hatch=hatch, edgecolor=SOFT, lw=0.6)
            _strip_words(axes, at, [(begin, end, tell(CONDITION_WORDS[word])) for begin, end, word in parts[name]])
        axes.set_ylim(len(kept) - 0.4, -0.6)
        axes.set_yticks(range(len(kept)), [label(name, 28, 2 if only is None else 1) for name in kept], fontsize=9 if only is None else 8)
        bare(axes, "bottom")

    said = [tell("Condition of each load over time, by calculation.")]
    said += [f"{name}: " + ", ".join(tell("{condition} from {time}", condition=tell(CONDITION_WORDS[word]), time=clock(begin))
                                     for begin, _, word in parts[name][:MOST_SPANS]) + (" …" if len(parts[name]) > MOST_SPANS else ".")
             for name in kept]
    return svg(draw, 0.6 + 0.3 * len(kept) if only is None else 0.36 + 0.15 * len(kept), " ".join(said))


def _with_what_repeats(course, words):
    """The words of a load's condition, "changing" where it only changes again and again."""
    told = np.array(words, object)
    for later, *_ in _repeating(course):
        if len(set(told[later])) > 1:
            told[later] = "changing"
    return told.tolist()


def _spans(times, words):
    """Return (begin, end, word) of every stretch of equal words that lasts; what lasts no time is left out."""
    spans, at = [], 0
    for word, group in groupby(words):
        count = len(list(group))
        begin, end = float(times[at]), float(times[min(at + count, len(times) - 1)])
        at += count
        if end > begin:
            spans.append((begin, end, word))
    return spans


def _strip_words(axes, at, spans):
    """Write its word on each stretch that has room for it."""
    place = axes.transData.transform
    scale = axes.figure.dpi / 72.0
    for begin, end, word in spans:
        left, right = place((begin, at))[0], place((end, at))[0]
        if right - left > 5.2 * scale * len(word):
            middle = axes.transData.inverted().transform(((left + right) / 2, 0))[0]
            axes.text(middle, at, word, ha="center", va="center", fontsize=7.5,
                      bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6, "alpha": 0.85})
