"""The star point and the neutral current by ruler and compass: every step drawn true to scale, each with its words.

All points come out of the steps themselves (lines that meet, lengths stepped off), not out of a formula, so what is
drawn
is what a class will find. Each function returns (SVG text, text alternative) or raises NotAStar where it would not be
exact.
"""

from cmath import rect
from dataclasses import dataclass
from math import pi

from lostneutral.report.drawing import INK, SOFT, colour
from lostneutral.report.figures import clearest
from lostneutral.report.words import angle, number, significant
from lostneutral.teaching.drawing import arc, arrow, mark, segment, steps, triangle, write
from lostneutral.teaching.labels import relabel
from lostneutral.teaching.star import NotAStar

RAY = 0.72  #: of the side that it divides: the length of the helping line
RAY_TURN = pi / 5  #: between side and helping line


@dataclass(frozen=True)
class Division:
    """The side from `a` to `b` divided into parts as `weight_b` to `weight_a`: nearer to what weighs more."""

    a: complex
    b: complex
    first: complex  #: on the helping line, `weight_b` away from `a`
    second: complex  #: on the helping line, `weight_a` further
    point: complex  #: on the side


def divide(a, b, weight_a, weight_b, away_from=0j):
    """Return the Division of the side a-b, by a helping line that runs from `a` on the side away from `away_from`."""
    along = b - a
    turn = RAY_TURN if ((away_from - a) * along.conjugate()).imag < 0 else -RAY_TURN
    ray = along * rect(RAY, turn)
    first, second = a + ray * weight_b / (weight_a + weight_b), a + ray
    return Division(a, b, first, second, meet(first, first + b - second, a, b))


def meet(a, b, c, d):
    """Return where the line through `a` and `b` meets the line through `c` and `d`."""
    along, other, between = b - a, d - c, c - a
    return a + along * (between * other.conjugate()).imag / (along * other.conjugate()).imag


def star_point(star, labels="L1/L2/L3", name="star"):
    """Draw the star point of a `Star` by dividing two sides of the triangle as the conductances weigh, step by step.

    Exact for resistances: the star point is the centre of gravity of the corners, each with its conductance as weight
    (node-voltage equation), so it lies on each line from a corner to the point that divides the opposite side (Ceva).
    With a way
    back it moves on towards the middle in the same ratio. The lines are named `name`-… in the SVG.
    """
    lines = [line for line, weight in star.weights.items() if weight > 0]
    if len(lines) < 2:
        raise NotAStar(
            "only one line has a load: the star point takes that line's potential, and nothing is to be drawn"
        )
    corners, weights = star.corners, star.weights
    called = {line: relabel(line, labels) for line in corners}
    third = next((line for line in corners if line not in lines[:2]), None)
    one = divide(
        corners[lines[0]], corners[lines[1]], weights[lines[0]], weights[lines[1]], corners[third] if third else 0j
    )
    parts, found = [(f"Divide {called[lines[0]]}–{called[lines[1]]}", [(one, "P", lines[:2])])], one.point
    if len(lines) > 2:
        two = divide(corners[lines[1]], corners[lines[2]], weights[lines[1]], weights[lines[2]], corners[lines[0]])
        parts.append((f"Divide {called[lines[1]]}–{called[lines[2]]}", [(two, "Q", lines[1:])]))
        found = meet(one.point, corners[lines[2]], two.point, corners[lines[0]])
    open_point = found
    if star.way_back and abs(open_point):
        back = divide(open_point, 0j, sum(weights.values()), star.way_back, corners[lines[0]])
        found = back.point
    size = abs(corners[lines[0]] - corners[lines[1]])
    panels = [
        (
            f"1  The {'triangle' if len(corners) > 2 else 'line'}",
            lambda axes: _outline(axes, star, labels, f"{name}-1", True),
        )
    ]
    for title, ((division, letter, pair),) in parts:
        panels.append(
            (f"{len(panels) + 1}  {title}", _dividing(star, labels, division, letter, pair, f"{name}-{letter}", size))
        )

    def crossing(axes):
        _outline(axes, star, labels, f"{name}-triangle")
        if len(lines) > 2:
            segment(axes, one.point, corners[lines[2]], INK, f"{name}-cevian-1", lw=1.2)
            segment(axes, two.point, corners[lines[0]], INK, f"{name}-cevian-2", lw=1.2)
            for z, letter in ((one.point, "P"), (two.point, "Q")):
                mark(axes, z, letter, z, 0.06 * size)
        ways = [z - open_point for z in (*corners.values(), 0j, *((one.point, two.point) if len(lines) > 2 else ()))]
        mark(
            axes,
            open_point,
            "N" if open_point == found else "N open",
            clearest(ways),
            0.09 * size,
            fontweight="bold",
            color=colour("N"),
        )
        for line in lines:
            segment(axes, open_point, corners[line], colour(line), f"{name}-length-{line}", lw=1.0, ls=(0, (2, 2)))

    panels.append((f"{len(panels) + 1}  " + ("Join, and N is found" if len(lines) > 2 else "N is found"), crossing))
    if found != open_point:
        panels.append(
            (
                f"{len(panels) + 1}  Back towards the middle",
                _dividing(star, labels, back, "N", ("open", "way back"), f"{name}-back", size),
            )
        )
    points = [*corners.values(), 0j, *(z for _, ((d, _, _),) in parts for z in (d.first, d.second, d.point)), found]
    points += [back.second] if found != open_point else []
    return steps(panels, points, _star_words(star, lines, called, open_point, found))


def _outline(axes, star, labels, gid, arcs=False):
    triangle(axes, star.corners, labels, gid)
    ends = list(star.corners.values())
    if arcs and len(ends) > 2:
        for n, z in enumerate(ends[:2]):
            arc(axes, z, abs(ends[2] - z), ends[2] - z, 0.12, SOFT, f"{gid}-arc-{n}")


def _dividing(star, labels, division, letter, pair, gid, size):
    def draw(axes):
        _outline(axes, star, labels, f"{gid}-triangle")
        side = division.second - division.b
        segment(axes, division.a, division.b, INK, f"{gid}-side", lw=1.2)
        segment(axes, division.a, division.second, INK, f"{gid}-ray", lw=0.9)
        segment(axes, division.b, division.second, SOFT, f"{gid}-closing", lw=0.9, ls=(0, (4, 2)))
        segment(axes, division.first, division.point, INK, f"{gid}-parallel", lw=0.9, ls=(0, (4, 2)))
        out = 1j * (division.second - division.a)
        out *= 1 if (out * (division.second - division.b).conjugate()).real > 0 else -1
        shares = [relabel(name, labels) for name in (pair[1], pair[0])]
        for start, end, text in ((division.a, division.first, shares[0]), (division.first, division.second, shares[1])):
            if abs(end - start) > 0.08 * abs(division.second - division.a):
                write(axes, (start + end) / 2, text, out, 0.06 * size, fontsize=7, color=SOFT)
            mark(axes, end, "", out, 0)
        mark(axes, division.point, letter, -side if letter != "N" else 1j * side, 0.075 * size, fontweight="bold")

    return draw


def _star_words(star, lines, called, open_point, found):
    watts = ", ".join(f"{called[line]} {significant(1e3 * star.weights[line], 'mS')}" for line in lines)
    said = [f"Construction of the star point in steps, true to scale. Conductances as weights: {watts}."]
    said.append(
        "Each side is divided by a helping line on which first the weight of the far end and then that of the near end "
        "are stepped off."
    )
    said.append(
        "The lines from the dividing points to the opposite corners cross in the star point N."
        if len(lines) > 2
        else "The dividing point is the star point N."
    )
    if found != open_point:
        said.append(f"The way back of {significant(1e3 * star.way_back, 'mS')} draws it back towards the middle.")
    said.append(
        f"N stands {number(abs(found))} V from the middle; lengths to the corners: "
        + ", ".join(f"{called[x]} {number(abs(z - found))} V" for x, z in star.corners.items())
        + "."
    )
    return " ".join(said)


def arcs(corners, neutral, labels="L1/L2/L3", name="arcs"):
    """Draw the star point as the place where arcs about the corners cross, each as wide as the voltage read there.

    Exact for loads of every kind, also where the star point lies outside the triangle. `corners` {line: V} and
    `neutral` (V)
    are to the supply's star point. NotAStar with fewer than three lines, where arcs only touch.
    """
    if len(corners) < 3:
        raise NotAStar("with fewer than three lines all points lie on one line, where two lengths say it all")
    read = {line: abs(z - neutral) for line, z in corners.items()}
    size = max(abs(a - b) for a in corners.values() for b in corners.values())
    panels = []
    for count, line in enumerate(corners, 1):

        def draw(axes, count=count):
            triangle(axes, corners, labels, f"{name}-{count}-triangle")
            for each in list(corners)[:count]:
                centre = corners[each]
                if read[each] > 0.01 * size:
                    arc(
                        axes,
                        centre,
                        read[each],
                        neutral - centre,
                        min(0.5, 0.25 * size / read[each]),
                        colour(each),
                        f"{name}-{count}-{each}",
                        lw=1.3,
                    )
            if count == len(corners):
                mark(
                    axes,
                    neutral,
                    "N",
                    clearest([turn * (z - neutral) for z in corners.values() for turn in (1j, -1j)]),
                    0.14 * size,
                    fontweight="bold",
                    color=colour("N"),
                )

        panels.append((f"{count}  Arc about {relabel(line, labels)}", draw))
    points = [*corners.values(), neutral, 0j]
    words = "; ".join(f"{relabel(line, labels)} {number(v)} V" for line, v in read.items())
    return steps(
        panels,
        points,
        f"Star point from three readings, true to scale: arcs about the corners with the readings as "
        f"radius ({words}) cross in one point N, {number(abs(neutral))} V from the middle.",
        columns=3,
    )


def neutral_current(currents, labels="L1/L2/L3", name="sum"):
    """Draw the neutral current as the sum of the line currents {line: A}, two at a time by parallelograms.

    Exact for currents of any angle. NotAStar if fewer than two flow, or if they lie on one line
    (split-phase).
    """
    most = max(map(abs, currents.values()), default=0.0)
    flowing = {line: i for line, i in currents.items() if abs(i) > 0.01 * most}
    if len(flowing) < 2:
        raise NotAStar("only one line carries current, and the neutral carries the same")
    if len(currents) < 3:
        raise NotAStar("the currents lie on one line: they are simply added, or subtracted where they point apart")
    called = {line: relabel(line, labels) for line in flowing}
    lines = list(flowing)
    size = most

    def given(axes, gid, faint=()):
        for line, i in flowing.items():
            arrow(axes, 0j, i, line, f"{gid}-{line}", alpha=0.35 if line in faint else 1.0)
            write(axes, i, called[line], i, 0.1 * size, fontweight="bold", color=colour(line))

    panels, total, sums = [("1  The line currents", lambda axes: given(axes, f"{name}-1"))], flowing[lines[0]], []
    for count, line in enumerate(lines[1:], 2):
        last, before, total = line == lines[-1], total, total + flowing[line]
        sums.append(total)
        title = (f"Add {called[line]}" if count > 2 else f"{called[lines[0]]} and {called[line]}") + (
            ": neutral" if last else ""
        )

        def draw(axes, count=count, line=line, last=last, before=before, total=total):
            given(axes, f"{name}-{count}", () if last and len(lines) == 2 else (lines[:-1] if last else lines[2:]))
            segment(axes, before, total, SOFT, f"{name}-{count}-side-1", lw=0.9, ls=(0, (4, 2)))
            segment(axes, flowing[line], total, SOFT, f"{name}-{count}-side-2", lw=0.9, ls=(0, (4, 2)))
            if count > 2:
                segment(axes, 0j, before, INK, f"{name}-{count}-before", lw=1.3)
            if abs(total) > 0.01 * size:
                arrow(axes, 0j, total, "N", f"{name}-{count}-total", **({} if last else {"ls": "-", "lw": 1.3}))
            write(axes, total, "N" if last else "sum", total or 1j, 0.12 * size, fontweight="bold", color=colour("N"))

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
