"""The figures of a lesson beside its constructions. Each function draws one: (SVG text, text alternative)."""

from cmath import rect
from math import inf

import numpy as np

from lostneutral import data
from lostneutral.case.model import Load, Supply
from lostneutral.loads import load_model
from lostneutral.report.base.drawing import DASHES, INK, bare
from lostneutral.report.base.words import number, significant
from lostneutral.report.star.figures import clearest
from lostneutral.teaching.bench import POINT, light_words, ohm_words, resistor_rating
from lostneutral.teaching.drawing import (
    FAINT,
    PLAIN,
    THIN,
    arrow,
    draw_conductor,
    drawn_svg,
    lamp,
    mark,
    segment,
    steps,
    triangle,
    write_label,
)
from lostneutral.teaching.terms import terms
from lostneutral.words.amounts import plain
from lostneutral.words.language import tell
from lostneutral.words.terms import upper


def _part_words(bench, line):
    """Return what is bought for a line's load: "lamp, 10 W" or "180 Ω, 10 W"."""
    if bench.kind == "lamp":
        return tell("lamp, {rated} W", rated=plain(bench.rated[line]))
    return f"{ohm_words(bench.ohms(line))}, {resistor_rating(bench.hottest[line]):g} W"


def _joint_words(bench):
    """Return what takes the link's place: "33 Ω, 2 W"."""
    return f"{ohm_words(bench.joint)}, {resistor_rating(bench.joint_watts):g} W"


def bench_wiring(bench, look=PLAIN):
    """Draw the board with the link in, and out or replaced, in the symbols of IEC 60617."""
    lines, common = bench.case.supply.lines, tell(terms(bench.system).common)
    rows = len(lines)

    def draw(figure):
        for at, title in enumerate((tell("Link in"), upper(tell(bench.out))), 1):
            axes = figure.add_subplot(1, 2, at)
            axes.set_aspect("equal")
            axes.set_xlim(-0.95, 6.7)
            axes.set_ylim(-0.95, rows + 0.55)
            axes.set_title(title, fontsize=8.5, loc="left", fontweight="bold", y=1.0)
            axes.set(xticks=(), yticks=())
            axes.set_axis_off()
            for n, line in enumerate(lines):
                _line(axes, rows - n, bench, line, look)
            top = rows - lines.index(bench.lines[0])
            draw_conductor(axes, (complex(5.6, top), 5.6 + 0j), "N", look, lw=1.4)
            _neutral(axes, bench, 0.0 if at == 1 else bench.joint, look, common)

    words = "; ".join(
        f"{look.name(line)}: " + (_part_words(bench, line) if line in bench.lines else tell("not used")) for line in lines
    )
    instead = tell("it is out") if bench.joint == inf else tell("a resistor of {joint_words} is in its place", joint_words=_joint_words(bench))
    return drawn_svg(
        draw,
        0.44 * rows + 0.95,
        tell("Wiring of the bench version, twice. From each line a fuse and an ammeter lead to its load, and from there to the {common}: {words}. From the {common} an ammeter and a link lead back to the neutral terminal N. Left, the link is in; right, {instead}, and nothing else has changed.", common=common, words=words, instead=instead),
    )


def _line(axes, y, bench, line, look):
    _terminal(axes, y, look.name(line))
    if line not in bench.lines:
        axes.text(0.4, y, tell("not used"), va="center", fontsize=7.5)
        return
    draw_conductor(axes, (complex(0.1, y), complex(5.6, y)), line, look, lw=1.4)
    axes.add_patch(_box(0.7, y, 0.7, 0.26))
    segment(axes, complex(0.7, y), complex(1.4, y), INK, lw=THIN)
    _ammeter(axes, y)
    if bench.kind == "lamp":
        _circle(axes, 4.0, y, 0.24)
        for turn in (1 + 1j, 1 - 1j):
            reach = 0.24 * turn / abs(turn)
            segment(axes, complex(4.0, y) - reach, complex(4.0, y) + reach, INK, lw=1.0, zorder=6)
    else:
        axes.add_patch(_box(3.6, y, 0.8, 0.3))
    axes.text(4.0, y + 0.28, _part_words(bench, line), ha="center", va="bottom", fontsize=7.5)
    axes.plot([5.6], [y], marker="o", ms=3, color=INK, zorder=6)


def _neutral(axes, bench, ohms, look, common):
    _terminal(axes, 0, "N")
    for start, end in ((0.1, 0.7), (1.4, 5.6)):
        draw_conductor(axes, (complex(start), complex(end)), "N", look, lw=1.4)
    _ammeter(axes, 0)
    words = {0.0: tell("link in"), inf: tell("link out")}.get(ohms) or _joint_words(bench)
    if 0.0 < ohms < inf:
        axes.add_patch(_box(0.7, 0, 0.7, 0.26))
    else:
        segment(axes, 0.7 + 0j, 1.25 + 0.42j if ohms else 1.4 + 0j, INK, lw=1.8)
        for x in (0.7, 1.4):
            axes.plot([x], [0], marker="o", ms=3.5, mfc="white", mec=INK, zorder=6)
    axes.text(1.05, -0.34, words, ha="center", va="top", fontsize=7.5, fontweight="bold")
    axes.plot([5.6], [0], marker="o", ms=3, color=INK, zorder=6)
    axes.text(5.6, -0.25, common, ha="center", va="top", fontsize=7.5)


def _terminal(axes, y, name):
    axes.plot([0.0], [y], marker="o", ms=4.5, mfc="white", mec=INK)
    axes.text(-0.25, y, name, ha="right", va="center", fontweight="bold")


def _ammeter(axes, y):
    _circle(axes, 2.3, y, 0.24)
    axes.text(2.3, y, "A", ha="center", va="center", fontsize=7.5, zorder=7)


def _circle(axes, x, y, radius):
    from matplotlib.patches import Circle

    axes.add_patch(Circle((x, y), radius, fc="white", ec=INK, lw=1.0, zorder=5))


def _box(x, y, width, height):
    from matplotlib.patches import Rectangle

    return Rectangle((x, y - height / 2), width, height, fc="white", ec=INK, lw=1.0, zorder=2.5)


def bench_corners(bench):
    """Return ({line: V}, V of N) of the bench version after the change."""
    return {line: bench.after.nodes[POINT, line] for line in bench.case.supply.lines}, bench.after.nodes[POINT, "N"]


def bench_phasors(bench, look=PLAIN):
    """Draw the voltages of the bench version with the link and without, true to scale, with their values."""
    panels, points, said = [], [0j], []
    for title, s in (("Link in", bench.before), (bench.out.capitalize(), bench.after)):
        corners = {line: s.nodes[POINT, line] for line in bench.case.supply.lines}
        neutral = s.nodes[POINT, "N"]
        points += [*corners.values(), neutral]
        panels.append((title, _phasor_panel(corners, neutral, look, f"phasor-{len(panels)}")))
        read = ", ".join(f"{look.name(line)} {number(abs(z - neutral))} V" for line, z in corners.items())
        said.append(f"{title}: {read}.")
    return steps(panels, points, f"Phasor diagram, true to scale, twice. {' '.join(said)}", tallest=2.9)


def _phasor_panel(corners, neutral, look, gid):
    def draw(axes):
        triangle(axes, corners, look, f"{gid}-triangle")
        size = max(map(abs, corners.values()))
        on_one_line = len(corners) < 3
        for _n, (line, z) in enumerate(corners.items()):
            if abs(z - neutral) > 0.01 * size:
                arrow(axes, neutral, z, line, f"{gid}-{line}", look)
            if abs(z - neutral) > 0.3 * size:
                across = -1j * z if on_one_line else 1j * (z - neutral)
                write_label(
                    axes,
                    neutral + 0.55 * (z - neutral),
                    f"{number(abs(z - neutral))} V",
                    across,
                    0.2 * size,
                    fontsize=8,
                )
        ways = [*(z - neutral for z in corners.values()), -neutral]
        mark(axes, neutral, "N", clearest(ways), 0.15 * size, fontweight="bold")

    return draw


def blank(corners, look=PLAIN, reach=0.0):
    """Draw the bare voltage diagram true to scale, large enough for a class to draw on, with room for `reach` (V) all round."""
    words = ", ".join(look.name(line) for line in corners)
    ends = list(corners.values())
    # Two ends lie on one line: room is needed beside it for the auxiliary line.
    room = [0.27j * abs(ends[1] - ends[0]) * side for side in (1, -1)] if len(ends) < 3 else []
    room += [complex(reach, reach), complex(-reach, -reach)]
    return steps(
        [("", lambda axes: triangle(axes, corners, look, "blank-triangle"))],
        [*ends, 0j, *room],
        tell("Empty voltage diagram with the ends {words}, true to scale, to draw on.", words=words),
        columns=1,
    )


def blank_currents(currents, look=PLAIN):
    """Draw one point with the directions of the line currents {line: A}, and a scale, to draw the neutral current on."""
    most = max(map(abs, currents.values()))
    total = sum(currents.values())

    def draw(axes):
        for line, i in currents.items():
            segment(axes, 0j, rect(1.15 * most, np.angle(i)), FAINT, f"direction-{line}", lw=THIN, ls=(0, (6, 4)))
            write_label(axes, rect(1.15 * most, np.angle(i)), look.name(line), i, 0.1 * most, fontweight="bold")
        axes.plot([0], [0], marker="o", ms=3.5, color=INK)

    reach = [rect(1.15 * most, np.angle(i)) for i in currents.values()]
    # The sum has to have room; a square does not give away where it lies.
    room = max(abs(total), 1.15 * most)
    return steps(
        [("", draw)],
        [*reach, complex(room, room), complex(-room, -room)],
        tell("One point with the directions of the line currents, dashed, and a scale, to draw their sum on."),
        "A",
        columns=1,
        tallest=5.6,
    )


def light(bench, look=PLAIN):
    """Draw the lamps' light after the change: discs by area against broken circles for the light before."""
    rows = [
        (line, bench.load(line, bench.after).details["light"] / bench.load(line, bench.before).details["light"])
        for line in bench.lines
    ]

    def draw(figure):
        axes = figure.add_subplot()
        axes.set_aspect("equal")
        for n, (line, times) in enumerate(rows):
            lamp(axes, complex(3.2 * n, 0), times, 0.6, f"lamp-{line}")
            axes.text(
                3.2 * n, -1.75, f"{look.name(line)}: lamp, {bench.rated[line]:g} W", ha="center", va="top", fontsize=8
            )
            axes.text(
                3.2 * n,
                -2.15,
                f"{light_words(times)}, {significant(times, figures=2)} ×",
                ha="center",
                va="top",
                fontsize=8,
                fontweight="bold",
            )
        axes.set_xlim(-1.7, 3.2 * (len(rows) - 1) + 1.7)
        axes.set_ylim(-2.7, 1.7)
        bare(axes)
        axes.set(xticks=(), yticks=())

    said = "; ".join(
        f"{look.name(line)} {light_words(times)}, {significant(times, figures=2)} times the light before"
        for line, times in rows
    )
    return drawn_svg(draw, 2.6, f"Light of the lamps, {bench.out}: {said}.")


def lamp_curve():
    """Draw the current of a measured 220 V lamp over its voltage: readings, the lamp model, and a fixed resistor.

    The model is given the last reading only.
    """
    table = data.load("lamps")["measured_220_volt"]
    volts, amps = np.array(table["voltage"], float), np.array(table["value"])
    across = np.linspace(0.0, 1.3 * volts[-1], 400)[1:]
    model = measured_lamp()
    modelled = np.abs(model.admittance(model.settled(across))) * across

    def draw(figure):
        axes = figure.add_subplot()
        axes.plot(across, modelled, color=INK, lw=1.6, gid="lamp-model")
        fixed = amps[-1] / volts[-1] * across
        axes.plot(across, fixed, color=INK, lw=1.3, ls=DASHES["L2"], gid="lamp-fixed")
        axes.plot(volts, amps, ls="", marker="o", ms=5, mfc="white", mec=INK, gid="lamp-measured")
        axes.annotate(
            tell("fixed resistor"),
            (across[130], fixed[130]),
            xytext=(10, -4),
            textcoords="offset points",
            fontsize=8,
            va="top",
        )
        axes.text(0.02 * across[-1], 0.72 * fixed[-1], tell("lamp: model (line), measured (circles)"), fontsize=8)
        axes.set_xlim(0, across[-1])
        axes.set_ylim(0, fixed[-1])
        axes.set_xlabel(tell("voltage across the lamp, V"))
        axes.set_ylabel(tell("current, A"))
        bare(axes, "left", "bottom")

    pairs = "; ".join(f"{v:g} V {i:g} A" for v, i in zip(volts, amps))
    return drawn_svg(
        draw,
        2.1,
        tell("Current of a 220 V lamp over its voltage. Measured: {pairs}. The model's line passes through the readings; the fixed resistor's straight line meets them at 220 V only and lies far below at less voltage.", pairs=pairs),
    )


def measured_lamp():
    """Return the model of the measured lamp, which knows of it the power at 220 V only."""
    table = data.load("lamps")["measured_220_volt"]
    volts, amps = table["voltage"][-1], table["value"][-1]
    load = Load("lamp", "lamp", ("L1", "N"), "intake", float(volts), parameters={"power": volts * amps})
    return load_model(load, Supply(phasors={"L1": complex(volts)}))[0]
