"""The movement of the star point as an animation, for a lesson."""

import tempfile
from pathlib import Path

import numpy as np

from lostneutral.report.base.drawing import DASHES, INK, colour, label, styled
from lostneutral.report.base.words import number
from lostneutral.report.course.figures import corners, incident_triangle, seen_point
from lostneutral.report.course.rows import clock, happenings, phase_voltages

FRAMES = 80
A_SECOND = 8  #: frames shown in a second
HELD = 12  #: frames for which the last one stands
DOTS = 90  #: a inch


def incident_film(result, each=lambda frames: frames) -> bytes:
    """Return an animated GIF of the central course: the star point over the voltage triangle, and what happens.

    Frames follow the course's own times, thinned out evenly, so that what is quick is seen slowly. `each` is given
    the list of frames and yields them; a caller that wants to show how far it is wraps it.
    """
    course = result.courses.central
    chosen = np.unique(np.linspace(0, len(course.times) - 1, FRAMES).astype(int))
    frames = [*chosen.tolist(), *[int(chosen[-1])] * HELD]
    return moving(frames, lambda figure, frame: _draw(figure, result, frame), each)


def moving(frames, draw, each=lambda frames: frames, size=(5.2, 4.6), dots=DOTS) -> bytes:
    """Return an animated GIF of what `draw(figure, frame)` draws for each of `frames`; `each` is as in `incident_film`.

    `size` in inches, `dots` an inch.
    """
    from matplotlib.animation import PillowWriter
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    with styled(), tempfile.TemporaryDirectory() as folder:
        figure = Figure(figsize=size, dpi=dots)
        FigureCanvasAgg(figure)
        path = Path(folder) / "film.gif"
        writer = PillowWriter(fps=A_SECOND)
        with writer.saving(figure, path, dots):
            for frame in each(frames):
                figure.clear()
                draw(figure, frame)
                writer.grab_frame()
        return path.read_bytes()


def _draw(figure, result, at):
    case, course = result.case, result.courses.central
    point = seen_point(case, course)
    neutral = course.nodes[point.name, "N"]
    ends = corners(course, point)
    axes = figure.add_axes((0.02, 0.14, 0.96, 0.74))
    incident_triangle(axes, ends, neutral)
    axes.plot(neutral[:at + 1].real, neutral[:at + 1].imag, color=colour("N"), lw=1.2, alpha=0.6)
    now = neutral[at]
    if np.isnan(now):
        axes.text(0, 0, "N floating", ha="center", va="top", color=colour("N"))
    else:
        for line, z in ends.items():
            axes.plot([now.real, z.real], [now.imag, z.imag], color=colour(line), ls=DASHES[line], lw=2.0)
        axes.plot(now.real, now.imag, marker="o", ms=8, color=colour("N"), mec=INK, zorder=5)
    last = [h for h in happenings(case, course) if h.time <= course.times[at]][-1 if at else 0]
    volts = {line: float(v[at]) for (p, line), v in phase_voltages(case, course).items() if p == point.name}
    figure.text(0.03, 0.94, clock(float(course.times[at])), fontsize=12, fontweight="bold")
    figure.text(0.3, 0.945, label(last.what, 60), fontsize=8.5)
    figure.text(0.03, 0.05, "   ".join(f"{line} {number(v, 0)} V" for line, v in volts.items()), fontsize=11)
    warn(figure)


def warn(figure, fontsize=7):
    """Write the caution that goes with every frame along its foot."""
    figure.text(0.97, 0.015, "While a broken neutral is possible: treat neutral and earthed metal as live.", fontsize=fontsize,
                ha="right")
