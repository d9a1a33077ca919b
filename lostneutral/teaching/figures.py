"""The figures of a lesson beside its constructions. Each function draws one: (SVG text, text alternative)."""

from math import inf

import numpy as np

from lostneutral import data
from lostneutral.case.model import Load, Supply
from lostneutral.loads import load_model
from lostneutral.loads.catalogue import resolve
from lostneutral.report.drawing import DASHES, INK, SOFT, bare, colour, label, svg
from lostneutral.report.figures import clearest
from lostneutral.report.words import after_names, number, shown
from lostneutral.teaching.drawing import arrow, mark, segment, steps, triangle, write
from lostneutral.teaching.labels import relabel
from lostneutral.teaching.star import afterwards, broken_neutral, broken_run, star_loads


def wiring(case, labels="L1/L2/L3"):
    """Draw the board with the neutral in, and out or bad, in the symbols of IEC 60617."""
    on_line = {line: [] for line in case.supply.lines}
    for load in star_loads(case):
        on_line[load.connect[0]].append(load)
    rows = len(on_line)
    joint, out = broken_neutral(case).resistance, afterwards(case)
    instead = "it is out" if joint == inf else f"a bad joint of {joint:g} ohm is in its place"

    def draw(figure):
        for at, (title, ohms) in enumerate((("Neutral in", 0.0), (out.capitalize(), joint)), 1):
            axes = figure.add_subplot(1, 2, at)
            axes.set_aspect("equal")
            axes.set_xlim(-0.75, 6.6)
            axes.set_ylim(-0.8, rows + 0.45)
            axes.set_title(title, fontsize=8.5, loc="left", fontweight="bold")
            axes.set(xticks=(), yticks=())
            axes.set_axis_off()
            for n, (line, loads) in enumerate(on_line.items()):
                _line(axes, rows - n, relabel(line, labels), line, loads, labels)
            lowest = min((rows - n for n, loads in enumerate(on_line.values()) if loads), default=1)
            segment(
                axes, complex(5.6, rows if on_line[case.supply.lines[0]] else lowest), 5.6 + 0j, colour("N"), lw=1.4
            )
            _neutral(axes, ohms)

    words = "; ".join(
        f"{relabel(line, labels)}: " + (_load_words(loads, labels) if loads else "nothing")
        for line, loads in on_line.items()
    )
    return svg(
        draw,
        0.42 * rows + 0.85,
        "Wiring of the board, twice. From each line a fuse and an ammeter lead to its load, and "
        f"from there to the star point: {words}. From the star point an ammeter and a link lead back to the neutral "
        f"terminal N. Left, the link is in; right, {instead}, "
        "and nothing else has changed.",
    )


def _load_words(loads, labels):
    if len(loads) > 1:
        return f"{len(loads)} loads"
    behind = resolve(loads[0])
    watts = behind.parameters.get("power")
    return relabel(label(loads[0].name, 17), labels) + (f", {watts * loads[0].count:g} W" if watts else "")


def _line(axes, y, name, line, loads, labels):
    ink = colour(line)
    _terminal(axes, y, name, ink)
    if not loads:
        axes.text(0.4, y, "not used", va="center", fontsize=7, color=SOFT)
        return
    segment(axes, complex(0.1, y), complex(5.6, y), ink, lw=1.4)
    axes.add_patch(_box(0.7, y, 0.7, 0.26))
    segment(axes, complex(0.7, y), complex(1.4, y), INK, lw=0.8)
    _ammeter(axes, y)
    if all(resolve(load).kind == "lamp" for load in loads):
        _circle(axes, 4.0, y, 0.24)
        for turn in (1 + 1j, 1 - 1j):
            reach = 0.24 * turn / abs(turn)
            segment(axes, complex(4.0, y) - reach, complex(4.0, y) + reach, INK, lw=0.9, zorder=6)
    else:
        axes.add_patch(_box(3.6, y, 0.8, 0.3))
    axes.text(4.0, y + 0.28, _load_words(loads, labels), ha="center", va="bottom", fontsize=7)
    axes.plot([5.6], [y], marker="o", ms=3, color=INK, zorder=6)


def _neutral(axes, ohms):
    _terminal(axes, 0, "N", colour("N"))
    segment(axes, 0.1 + 0j, 0.7 + 0j, colour("N"), lw=1.4)
    segment(axes, 1.4 + 0j, 5.6 + 0j, colour("N"), lw=1.4)
    _ammeter(axes, 0)
    words = {0.0: "link in", inf: "link out"}.get(ohms, f"bad joint, {ohms:g} ohm")
    if 0.0 < ohms < inf:
        axes.add_patch(_box(0.7, 0, 0.7, 0.26))
    else:
        segment(axes, 0.7 + 0j, 1.25 + 0.42j if ohms else 1.4 + 0j, INK, lw=1.6)
        for x in (0.7, 1.4):
            axes.plot([x], [0], marker="o", ms=3.5, mfc="white", mec=INK, zorder=6)
    axes.text(1.05, -0.3, words, ha="center", va="top", fontsize=7, fontweight="bold")
    axes.text(5.75, 0, "star\npoint", va="center", fontsize=6.5)


def _terminal(axes, y, name, ink):
    axes.plot([0.0], [y], marker="o", ms=4.5, mfc="white", mec=INK)
    axes.text(-0.25, y, name, ha="right", va="center", fontweight="bold", color=ink)


def _ammeter(axes, y):
    _circle(axes, 2.3, y, 0.24)
    axes.text(2.3, y, "A", ha="center", va="center", fontsize=7, zorder=7)


def _circle(axes, x, y, radius):
    from matplotlib.patches import Circle

    axes.add_patch(Circle((x, y), radius, fc="white", ec=INK, lw=0.9, zorder=5))


def _box(x, y, width, height):
    from matplotlib.patches import Rectangle

    return Rectangle((x, y - height / 2), width, height, fc="white", ec=INK, lw=0.9, zorder=1.5)


def phasors(result, point, labels="L1/L2/L3", values=False):
    """Draw the voltages at `point` with the neutral and without, true to scale; with their `values` for the key."""
    states = [("with the neutral", s) for s in shown(result.before)[:1]]
    names = after_names(shown(result.after))
    after = "without the neutral" if afterwards(result.case) == "neutral out" else "with the bad neutral"
    states += [(after + name.removeprefix("after"), s) for name, s in zip(names, shown(result.after))]
    lines = result.case.point(point).phases
    panels, points, said = [], [0j], []
    for number_, (title, s) in enumerate(states):
        corners = {line: z for line in lines if (z := s.nodes.get((point, line))) is not None}
        neutral = s.nodes.get((point, "N"))
        points += [*corners.values()] + ([] if neutral is None else [neutral])
        panels.append(
            (title[0].upper() + title[1:], _phasor_panel(corners, neutral, labels, values, f"phasor-{number_}"))
        )
        read = (
            ", ".join(f"{relabel(line, labels)} {number(abs(z - neutral))} V" for line, z in corners.items())
            if neutral is not None
            else "the neutral floats"
        )
        said.append(f"{title[0].upper()}{title[1:]}: {read}.")
    return steps(panels, points, f"Phasor diagram, true to scale, twice. {' '.join(said)}")


def _phasor_panel(corners, neutral, labels, values, gid):
    def draw(axes):
        triangle(axes, corners, labels, f"{gid}-triangle")
        if neutral is None:
            write(axes, 0j, "N floats", -1j, 0.12 * max(map(abs, corners.values())), color=colour("N"))
            return
        size = max(map(abs, corners.values()))
        for line, z in corners.items():
            if abs(z - neutral) > 0.01 * size:
                arrow(axes, neutral, z, line, f"{gid}-{line}")
                if values:
                    across = 1j * (z - neutral)
                    write(
                        axes,
                        neutral + 0.55 * (z - neutral),
                        f"{number(abs(z - neutral))} V",
                        across,
                        0.2 * size,
                        fontsize=7.5,
                    )
        mark(
            axes,
            neutral,
            "N",
            clearest([*(z - neutral for z in corners.values()), -neutral]),
            0.13 * size,
            fontweight="bold",
            color=colour("N"),
        )

    return draw


def blank(corners, labels="L1/L2/L3"):
    """Draw the bare voltage triangle true to scale, for a class to draw on with its own readings."""
    words = ", ".join(relabel(line, labels) for line in corners)
    panels = [
        (title, lambda axes, n=n: triangle(axes, corners, labels, f"blank-{n}"))
        for n, title in enumerate(("Neutral in: my readings", "Neutral out: my readings"))
    ]
    return steps(
        panels,
        [*corners.values(), 0j],
        f"Empty voltage diagram with the corners {words}, twice, true to scale, to draw on.",
    )


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
        axes.plot(across, modelled, color=INK, lw=1.5, gid="lamp-model")
        fixed = amps[-1] / volts[-1] * across
        axes.plot(across, fixed, color=INK, lw=1.1, ls=DASHES["L2"], gid="lamp-fixed")
        axes.plot(volts, amps, ls="", marker="o", ms=5, mfc="white", mec=INK, gid="lamp-measured")
        axes.annotate(
            "fixed resistor",
            (across[130], fixed[130]),
            xytext=(10, -4),
            textcoords="offset points",
            fontsize=8,
            va="top",
        )
        axes.text(0.02 * across[-1], 0.72 * fixed[-1], "lamp: model (line), measured (circles)", fontsize=8)
        axes.set_xlim(0, across[-1])
        axes.set_ylim(0, fixed[-1])
        axes.set_xlabel("voltage across the lamp, V")
        axes.set_ylabel("current, A")
        bare(axes, "left", "bottom")

    pairs = "; ".join(f"{v:g} V {i:g} A" for v, i in zip(volts, amps))
    return svg(
        draw,
        2.1,
        f"Current of a 220 V lamp over its voltage. Measured: {pairs}. The model's line passes through the "
        "readings; the fixed resistor's straight line meets them at 220 V only and lies far below at less voltage.",
    )


def lamp_rows():
    """Return (V, A measured, A of the model, A of a fixed resistor) of every other reading of the measured lamp."""
    table, model = data.load("lamps")["measured_220_volt"], measured_lamp()
    volts, amps = table["voltage"], table["value"]
    return [
        (v, i, float(abs(model.admittance(model.settled(float(v))))) * v, amps[-1] / volts[-1] * v)
        for v, i in list(zip(volts, amps))[::2]
    ]


def measured_lamp():
    """Return the model of the measured lamp, which knows of it the power at 220 V only."""
    table = data.load("lamps")["measured_220_volt"]
    volts, amps = table["voltage"][-1], table["value"][-1]
    load = Load("lamp", "lamp", ("L1", "N"), "intake", float(volts), parameters={"power": volts * amps})
    return load_model(load, Supply(phasors={"L1": complex(volts)}))[0]


def main_point(case):
    """Return the name of the point that the diagrams are of: where the loads stand, else where the break leads."""
    places = dict.fromkeys(load.point for load in star_loads(case))
    return next(iter(places)) if len(places) == 1 else broken_run(case)
