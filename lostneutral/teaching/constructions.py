"""The star point and the neutral current by ruler and compass: every step drawn true to scale, each with its words.

All points come out of the steps themselves (lines that meet, lengths stepped off), not out of a formula, so what is
drawn
is what a class will find. Each function returns (SVG text, text alternative) or raises NotAStar where it would not be
exact.
"""

from cmath import phase, rect
from itertools import combinations
from math import pi

from lostneutral import data
from lostneutral.frozen import dataclass
from lostneutral.report.base.drawing import INK
from lostneutral.report.base.words import angle, number, significant
from lostneutral.report.star.figures import clearest
from lostneutral.teaching.drawing import (
    FAINT,
    PLAIN,
    THIN,
    arc,
    arrow,
    draw_conductor,
    mark,
    panel_mm,
    segment,
    steps,
    triangle,
    write_label,
)
from lostneutral.teaching.star import NotAStar
from lostneutral.words.language import tell

RAY = 0.72  #: of the side that it divides: the length of the auxiliary line
RAY_TURN = pi / 5  #: between side and auxiliary line


@dataclass(frozen=True)
class Division:
    """The side from `a` to `b` divided into parts as `weight_b` to `weight_a`: nearer to what weighs more."""

    a: complex
    b: complex
    first: complex  #: on the auxiliary line, `weight_b` away from `a`
    second: complex  #: on the auxiliary line, `weight_a` further
    point: complex  #: on the side


def divide(a, b, weight_a, weight_b, away_from=0j):
    """Return the Division of the side a-b, by a auxiliary line that runs from `a` on the side away from `away_from`."""
    along = b - a
    turn = RAY_TURN if ((away_from - a) * along.conjugate()).imag < 0 else -RAY_TURN
    ray = along * rect(RAY, turn)
    first, second = a + ray * weight_b / (weight_a + weight_b), a + ray
    return Division(a, b, first, second, meet(first, first + b - second, a, b))


def meet(a, b, c, d):
    """Return where the line through `a` and `b` meets the line through `c` and `d`."""
    along, other, between = b - a, d - c, c - a
    return a + along * (between * other.conjugate()).imag / (along * other.conjugate()).imag


@dataclass(frozen=True)
class Plan:
    """A construction of the star point, with every point that comes out of its steps."""

    lines: tuple[str, ...]  #: with a load; the sides first–second and second–third are divided
    one: Division
    two: Division | None  #: None with two loads
    back: Division | None  #: from the star point towards the middle, where something leads back
    open_point: complex  #: without it
    found: complex

    @property
    def divisions(self):
        """Return [(Division, letter, the lines of its side)]."""
        return [(self.one, "P", self.lines[:2])] + ([(self.two, "Q", self.lines[1:])] if self.two else [])


def best_construction(star) -> Plan:
    """Return the construction of a `Star` whose points lie furthest apart, whichever sides it divides.

    Exact for resistances: the star point is the centre of gravity of the corners, each with its conductance as weight
    (node-voltage equation), so it lies on each line from a corner to the point that divides the opposite side (Ceva).
    With a way back it moves on towards the middle in the same ratio. NotAStar with fewer than two loads, or where points
    lie too close together to be drawn on a sheet.
    """
    lines = [line for line, weight in star.weights.items() if weight > 0]
    if len(lines) < 2:
        raise NotAStar(
            tell("only one line has a load: the star point takes that line's potential, and nothing is to be drawn")
        )
    orders = [lines] if len(lines) == 2 else [lines, lines[1:] + lines[:1], lines[2:] + lines[:2]]
    made = [_planned(star, tuple(order)) for order in orders]
    best = max(
        made,
        key=lambda found: (min(_apart(star, found), 2 * data.load("lesson")["drawable"]["value"]), -made.index(found)),
    )
    if _apart(star, best) < data.load("lesson")["drawable"]["value"]:
        raise NotAStar(
                tell("the loads are so unequal, or so nearly equal, that points of the construction lie too close together to draw")

        )
    return best


def _planned(star, lines):
    corners, weights = star.corners, star.weights
    third = next((line for line in corners if line not in lines[:2]), None)
    one = divide(
        corners[lines[0]], corners[lines[1]], weights[lines[0]], weights[lines[1]], corners[third] if third else 0j
    )
    two, point = None, one.point
    if len(lines) > 2:
        two = divide(corners[lines[1]], corners[lines[2]], weights[lines[1]], weights[lines[2]], corners[lines[0]])
        point = meet(one.point, corners[lines[2]], two.point, corners[lines[0]])
    back = None
    if star.way_back and abs(point):
        back = divide(point, 0j, sum(weights.values()), star.way_back, corners[lines[0]])
    return Plan(lines, one, two, back, point, back.point if back else point)


def _apart(star, found):
    """Return the shortest distance (mm on a sheet) of points that the construction has to tell apart."""
    groups = [(d.a, d.b, d.point) for d, _, _ in found.divisions] + [
        (d.a, d.first, d.second) for d, _, _ in found.divisions
    ]
    if found.two:
        groups += [(found.open_point, z) for z in (found.one.point, found.two.point, *star.corners.values())]
    if found.back:
        groups += [(found.back.a, found.back.b, found.found), (found.back.a, found.back.first, found.back.second)]
    return panel_mm(star.corners.values()) * min(abs(a - b) for group in groups for a, b in combinations(group, 2))


def star_point(star, look=PLAIN, name="star", only_last=False, columns=2):
    """Draw the star point of a `Star` as `best_construction` constructs it, step by step; the lines are named `name`-… in the SVG.

    `only_last` leaves out all panels but the last; `columns` of panels stand side by side. NotAStar as of `best_construction`.
    """
    found, corners = best_construction(star), star.corners
    lines = found.lines
    called = {line: look.name(line) for line in corners}
    size = abs(corners[lines[0]] - corners[lines[1]])
    three = len(corners) > 2
    panels = [(f"1  The {'triangle' if three else 'line'}", lambda axes: _outline(axes, star, look, f"{name}-1", True))]
    for division, letter, pair in found.divisions:
        panels.append(
            (
                f"{len(panels) + 1}  Divide {called[pair[0]]}–{called[pair[1]]}",
                _dividing(star, look, division, letter if found.two else "N", pair, f"{name}-{letter}", size),
            )
        )

    def crossing(axes):
        _outline(axes, star, look, f"{name}-triangle")
        taken = [z - found.open_point for z in (*corners.values(), 0j)]
        for line in lines:
            draw_conductor(axes, (found.open_point, corners[line]), line, look, f"{name}-length-{line}", lw=1.0)
        if found.two:
            for number_, (division, letter, far) in enumerate(
                ((found.one, "P", lines[2]), (found.two, "Q", lines[0])), 1
            ):
                segment(axes, division.point, corners[far], INK, f"{name}-cevian-{number_}", lw=1.2)
                taken.append(division.point - found.open_point)
                mark(axes, division.point, letter, division.point, 0.08 * size)
        mark(axes, found.open_point, "N open" if found.back else "N", clearest(taken), 0.11 * size, fontweight="bold")

    if found.two:
        panels.append((f"{len(panels) + 1}  Join, and N is found", crossing))
    else:
        panels.append((f"{len(panels) + 1}  N is found", crossing))
    if found.back:
        panels.append(
            (
                f"{len(panels) + 1}  Back towards the middle",
                _dividing(star, look, found.back, "N", ("open", "way back"), f"{name}-back", size),
            )
        )
    points = [
        *corners.values(),
        0j,
        found.found,
        *(z for d, _, _ in found.divisions for z in (d.first, d.second, d.point)),
    ]
    points += [found.back.second] if found.back else []
    shown = [("", panels[-1][1])] if only_last else panels
    return steps(
        shown,
        points,
        _star_words(star, found, called),
        columns=1 if only_last else columns,
        tallest=2.6 if only_last else 5.0,
    )


def _outline(axes, star, look, gid, arcs=False):
    triangle(axes, star.corners, look, gid)
    ends = list(star.corners.values())
    if arcs and len(ends) > 2:
        for n, z in enumerate(ends[:2]):
            turns = [rect(abs(ends[2] - z), phase(ends[2] - z) + 0.12 * k / 6) for k in range(-6, 7)]
            axes.plot(
                [(z + t).real for t in turns], [(z + t).imag for t in turns], color=FAINT, lw=THIN, gid=f"{gid}-arc-{n}"
            )


def _dividing(star, look, division, letter, pair, gid, size):
    def draw(axes):
        _outline(axes, star, look, f"{gid}-triangle")
        segment(axes, division.a, division.b, INK, f"{gid}-side", lw=1.2)
        segment(axes, division.a, division.second, INK, f"{gid}-ray", lw=THIN)
        segment(axes, division.b, division.second, FAINT, f"{gid}-closing", lw=THIN, ls=(0, (4, 2)))
        segment(axes, division.first, division.point, INK, f"{gid}-parallel", lw=THIN, ls=(0, (4, 2)))
        out = 1j * (division.second - division.a)
        out *= 1 if (out * (division.second - division.b).conjugate()).real > 0 else -1
        shares = [look.name(name) for name in (pair[1], pair[0])]
        for start, end, text in ((division.a, division.first, shares[0]), (division.first, division.second, shares[1])):
            if abs(end - start) > 0.12 * abs(division.second - division.a):
                write_label(axes, (start + end) / 2, text, out, 0.08 * size, fontsize=7.5)
            mark(axes, end, "", out, 0)
        # Beside the side, away from the auxiliary line.
        across = 1j * (division.b - division.a)
        away = across if ((division.second - division.a) * across.conjugate()).real < 0 else -across
        mark(axes, division.point, letter, away, 0.09 * size, fontweight="bold")

    return draw


def _star_words(star, found, called):
    siemens = ", ".join(
        f"{called[line]} {significant(1e3 * star.weights[line], 'mS')}" for line in star.weights if star.weights[line]
    )
    point = "star point N" if len(star.corners) > 2 else "common point N"
    said = [
        f"Construction of the {point} in steps, true to scale. Conductances as weights: {siemens}.",
        (
            "Each side is divided by an auxiliary line on which first the weight of the far end and then that of "
            "the near end are "
            "marked off."
        ),
        f"The lines from the dividing points to the opposite corners cross in the {point}."
        if found.two
        else f"The dividing point is the {point}.",
    ]
    if found.back:
        said.append(f"The way back of {significant(1e3 * star.way_back, 'mS')} draws it back towards the middle.")
    said.append(
        (
            f"N is {number(abs(found.found))} V from the middle; lengths to the "
            f"{'corners' if len(star.corners) > 2 else 'ends'}: "
        )
        + ", ".join(f"{called[x]} {number(abs(z - found.found))} V" for x, z in star.corners.items())
        + "."
    )
    return " ".join(said)


def arcs(corners, neutral, look=PLAIN, name="arcs"):
    """Draw the star point as the place where arcs about the corners cross, each as wide as the voltage read there.

    Exact for loads of every kind, also where the star point lies outside the triangle. `corners` {line: V} and
    `neutral` (V) are to the supply's star point. NotAStar with fewer than three lines, where arcs only touch, or where N is too
    close to a corner to draw.
    """
    if len(corners) < 3:
        raise NotAStar(tell("with fewer than three lines all points lie on one line, where two lengths say it all"))
    read = {line: abs(z - neutral) for line, z in corners.items()}
    if min(read.values()) * panel_mm([*corners.values(), neutral]) < data.load("lesson")["drawable"]["value"]:
        raise NotAStar(tell("one reading is almost zero: N and that corner lie too close together to draw"))
    size = max(abs(a - b) for a in corners.values() for b in corners.values())
    panels = []
    for count, line in enumerate(corners, 1):

        def draw(axes, count=count):
            triangle(axes, corners, look, f"{name}-{count}-triangle")
            for each in list(corners)[:count]:
                arc(
                    axes,
                    corners[each],
                    read[each],
                    neutral - corners[each],
                    min(0.5, 0.25 * size / read[each]),
                    each,
                    look,
                    f"{name}-{count}-{each}",
                )
            if count == len(corners):
                ways = [turn * (z - neutral) for z in corners.values() for turn in (1j, -1j)]
                mark(axes, neutral, "N", clearest(ways), 0.14 * size, fontweight="bold")

        panels.append((f"{count}  Arc about {look.name(line)}", draw))
    words = "; ".join(f"{look.name(line)} {number(v)} V" for line, v in read.items())
    return steps(
        panels,
        [*corners.values(), neutral, 0j],
        "Star point from three readings, true to scale: arcs about the corners with the readings as radius "
        f"({words}) cross in "
        f"one point N, {number(abs(neutral))} V from the middle.",
        columns=3,
    )


def neutral_current(currents, look=PLAIN, name="sum"):
    """Draw the neutral current as the sum of the line currents {line: A}, two at a time by parallelograms.

    Exact for currents of any angle. NotAStar if fewer than two flow, or if they lie on one line
    (split-phase).
    """
    most = max(map(abs, currents.values()), default=0.0)
    flowing = {line: i for line, i in currents.items() if abs(i) > 0.01 * most}
    if len(flowing) < 2:
        raise NotAStar(tell("only one line carries current, and the neutral carries the same"))
    first = next(iter(flowing.values()))
    if all(abs((i * first.conjugate()).imag) < 1e-6 * most**2 for i in flowing.values()):
        raise NotAStar(tell("the currents lie on one line: they are simply added, or subtracted where they point apart"))
    if min(map(abs, flowing.values())) * 165 / (3 * most) < data.load("lesson")["drawable"]["value"]:
        raise NotAStar(tell("one current is so small beside the others that it cannot be drawn"))
    called = {line: look.name(line) for line in flowing}
    lines = list(flowing)
    size = most

    def given(axes, gid, faint=()):
        for line, i in flowing.items():
            arrow(axes, 0j, i, line, f"{gid}-{line}", look, **({"lw": THIN} if line in faint else {}))
            write_label(axes, i, called[line], i, 0.1 * size, fontweight="bold")

    panels, total, sums = [("1  The line currents", lambda axes: given(axes, f"{name}-1"))], flowing[lines[0]], []
    for count, line in enumerate(lines[1:], 2):
        last, before, total = line == lines[-1], total, total + flowing[line]
        sums.append(total)
        title = (f"Add {called[line]}" if count > 2 else f"{called[lines[0]]} and {called[line]}") + (
            ": neutral" if last else ""
        )

        def draw(axes, count=count, line=line, last=last, before=before, total=total):
            given(axes, f"{name}-{count}", () if last and len(lines) == 2 else (lines[:-1] if last else lines[2:]))
            segment(axes, before, total, FAINT, f"{name}-{count}-side-1", lw=THIN, ls=(0, (4, 2)))
            segment(axes, flowing[line], total, FAINT, f"{name}-{count}-side-2", lw=THIN, ls=(0, (4, 2)))
            if count > 2:
                segment(axes, 0j, before, INK, f"{name}-{count}-before", lw=1.3)
            if abs(total) > 0.01 * size:
                arrow(axes, 0j, total, "N", f"{name}-{count}-total", look, **({} if last else {"ls": "-", "lw": 1.3}))
            taken = [*(total - i for i in flowing.values()), -total]
            write_label(axes, total, "N" if last else "sum", clearest(taken), 0.14 * size, fontweight="bold")

        panels.append((f"{count}  {title}", draw))
    words = ", ".join(f"{called[x]} {significant(abs(i), 'A')} at {number(angle(i), 0)}°" for x, i in flowing.items())
    return steps(
        panels,
        [0j, *flowing.values(), *sums],
        "Neutral current by parallelograms, true to scale. Line currents: "
        f"{words}. Their sum, the neutral current, is {significant(abs(total), 'A')}"
        + (f" at {number(angle(total), 0)}°." if abs(total) > 1e-3 * most else "."),
        "A",
        columns=3,
    )
