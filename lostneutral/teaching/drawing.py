"""What the drawings of a lesson share: steps side by side at one scale, named lines, a bar to measure by."""

from cmath import phase, rect
from math import ceil, floor, log10

from lostneutral.report.drawing import DASHES, INK, SOFT, WIDTH, colour, svg
from lostneutral.teaching.labels import relabel

SCALE_SHARE = 0.3  #: of a panel's width, the longest that the scale to measure by may be


def steps(panels, points, alternative, unit="V", columns=2):
    """Return (SVG text, alternative) of `panels`, a list of (title, draw(axes)), all at one scale.

    `points` are all complex points that have to be in view. Real axis right, imaginary axis up. A bar of a round
    number of
    `unit` stands in each panel to measure by.
    """
    low, high = min(z.real for z in points), max(z.real for z in points)
    bottom, top = min(z.imag for z in points), max(z.imag for z in points)
    margin = 0.13 * max(high - low, top - bottom)
    across, upright = high - low + 2 * margin, top - bottom + 2.6 * margin
    columns = min(columns, len(panels))
    rows = ceil(len(panels) / columns)
    height = rows * (WIDTH / columns * upright / across + 0.3)

    def draw(figure):
        for at, (title, each) in enumerate(panels, 1):
            axes = figure.add_subplot(rows, columns, at)
            axes.set_aspect("equal")
            axes.set_xlim(low - margin, high + margin)
            axes.set_ylim(bottom - 1.6 * margin, top + margin)
            axes.set_title(title, fontsize=8.5, loc="left", fontweight="bold")
            axes.set(xticks=(), yticks=())
            axes.set_axis_off()
            each(axes)
            _scale(axes, complex(low - 0.8 * margin, bottom - 1.3 * margin), across, unit, margin)

    return svg(draw, min(height, 8.6), alternative)


def _scale(axes, at, across, unit, margin):
    longest = SCALE_SHARE * across
    step = 10.0 ** floor(log10(longest))
    length = max(k * step for k in (1, 2, 5) if k * step <= longest)
    for x in (at.real, at.real + length):
        axes.plot([x, x], [at.imag - 0.12 * margin, at.imag + 0.12 * margin], color=INK, lw=0.8)
    segment(axes, at, at + length, INK, lw=0.8)
    axes.text(at.real + length + 0.15 * margin, at.imag, f"{length:g} {unit}", va="center", fontsize=7)


def segment(axes, start, end, ink=INK, gid=None, **style):
    """Draw the straight line from `start` to `end`; `gid` names it in the SVG."""
    axes.plot([start.real, end.real], [start.imag, end.imag], color=ink, gid=gid, **({"lw": 1.0} | style))


def arrow(axes, start, end, conductor, gid, **style):
    """Draw a phasor in the conductor's own colour and dashes."""
    ink = colour(conductor)
    segment(axes, start, end, ink, gid, **({"lw": 1.8, "ls": DASHES[conductor]} | style))
    near = end - 0.02 * (end - start)
    axes.annotate(
        "",
        (end.real, end.imag),
        (near.real, near.imag),
        arrowprops={"arrowstyle": "-|>", "color": ink, "lw": 1.2, "shrinkA": 0, "shrinkB": 0},
    )


def arc(axes, centre, radius, towards, spread, ink=INK, gid=None, **style):
    """Draw the arc about `centre` that runs `spread` (rad) to each side of the direction of the phasor `towards`."""
    turns = [phase(towards) + spread * k / 24 for k in range(-24, 25)]
    points = [centre + rect(radius, turn) for turn in turns]
    axes.plot([z.real for z in points], [z.imag for z in points], color=ink, gid=gid, **({"lw": 0.9} | style))


def mark(axes, at, text, direction, distance, **style):
    """Put a dot at `at` and write `text` beside it, `distance` away in `direction`."""
    axes.plot([at.real], [at.imag], marker="o", ms=3.5, color=INK, zorder=6)
    write(axes, at, text, direction, distance, **style)


def write(axes, at, text, direction, distance, **style):
    """Write `text` centred `distance` away from `at` in `direction`."""
    to = at + distance * direction / (abs(direction) or 1.0)
    axes.text(
        to.real,
        to.imag,
        text,
        ha="center",
        va="center",
        zorder=7,
        **({"fontsize": 8.5} | style),
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.3, "alpha": 0.85},
    )


def triangle(axes, corners, labels, gid):
    """Draw the voltage triangle (split-phase: the line) with the names of its corners, and the cross in the middle."""
    ends = list(corners.values())
    outline = [*ends, ends[0]] if len(ends) > 2 else ends
    axes.plot([z.real for z in outline], [z.imag for z in outline], color=SOFT, lw=0.9, gid=gid)
    axes.plot([0], [0], marker="+", ms=7, color=SOFT, zorder=3)
    for line, z in corners.items():
        write(axes, z, relabel(line, labels), z or 1, 0.15 * max(map(abs, ends)), fontweight="bold", color=colour(line))
