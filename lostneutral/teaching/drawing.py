"""What the drawings of a lesson share: text as text, conductors in the class's colours, steps at one scale, a scale bar."""

from cmath import phase, rect
from math import ceil, floor, log10, pi

from lostneutral.frozen import dataclass
from lostneutral.report.base import drawing
from lostneutral.report.base.drawing import DASHES, INK, WIDTH
from lostneutral.teaching.look import Look

SCALE_SHARE = 0.3  #: of a panel's width, the longest that the scale to measure by may be
FAINT = "#4d4d4d"  #: for lines beside the subject; dark enough for a copier
THIN = 0.9  #: points, the finest line that a copier keeps
PLAIN = Look()
MM = 1 / 25.4  #: inches


def drawn_svg(draw, height, alternative):
    """Return (SVG text, alternative) of what `draw(figure)` draws `height` inches high; its texts stay texts."""

    def with_texts(figure):
        import matplotlib

        # Within the context in which the report's own `drawn_svg` draws and saves.
        matplotlib.rcParams["svg.fonttype"] = "none"
        draw(figure)

    return drawing.svg(with_texts, height, alternative)


def box_of(points):
    """Return (low corner, high corner, margin) of complex `points`."""
    low = complex(min(z.real for z in points), min(z.imag for z in points))
    high = complex(max(z.real for z in points), max(z.imag for z in points))
    return low, high, 0.15 * max((high - low).real, (high - low).imag)


SHEET = 6.0  #: inches, the tallest drawing that a sheet has beside its steps


def panel_mm(points):
    """Return how many mm one unit is on paper where a class draws: one panel on a sheet."""
    low, high, margin = box_of(points)
    return min(WIDTH / ((high - low).real + 2 * margin), (SHEET - 0.3) / ((high - low).imag + 2.8 * margin)) / MM


def steps(panels, points, alternative, unit="V", columns=2, tallest=SHEET):
    """Return (SVG text, alternative) of `panels`, a list of (title, draw(axes)), all at one scale.

    `points` are all complex points that have to be in view. Real axis right, imaginary axis up. A bar of a round
    number of `unit` stands in each panel to measure by. `tallest` in inches.
    """
    low, high, margin = box_of(points)
    size = high - low
    across, upright = size.real + 2 * margin, size.imag + 2.8 * margin
    columns = min(columns, len(panels))
    rows = ceil(len(panels) / columns)
    height = rows * (WIDTH / columns * upright / across + 0.3)

    points_a_unit = 72 * min(WIDTH / columns / across, (min(height, tallest) / rows - 0.3) / upright)

    def draw(figure):
        for at, (title, each) in enumerate(panels, 1):
            axes = figure.add_subplot(rows, columns, at)
            axes.lostneutral = _Labels(points_a_unit, [])
            axes.set_aspect("equal")
            axes.set_xlim(low.real - margin, high.real + margin)
            axes.set_ylim(low.imag - 1.8 * margin, high.imag + margin)
            axes.set_title(title, fontsize=8.5, loc="left", fontweight="bold", y=1.0)  # where it would be put: nothing is in its way
            axes.set(xticks=(), yticks=())
            axes.set_axis_off()
            each(axes)
            _scale(axes, low - complex(0.9 * margin, 1.6 * margin), across, unit, margin)

    return drawn_svg(draw, min(height, tallest), alternative)


def round_length(longest):
    """Return the longest of 1, 2, 5 times a power of ten that is not above `longest`."""
    step = 10.0 ** floor(log10(longest))
    return max(k * step for k in (1, 2, 5) if k * step <= longest)


def _scale(axes, at, across, unit, margin):
    length = round_length(SCALE_SHARE * across)
    for x in (at.real, at.real + length):
        axes.plot([x, x], [at.imag - 0.12 * margin, at.imag + 0.12 * margin], color=INK, lw=THIN)
    segment(axes, at, at + length, INK, lw=THIN)
    axes.text(at.real + length + 0.15 * margin, at.imag, f"{length:g} {unit}", va="center", fontsize=7.5)


def segment(axes, start, end, ink=INK, gid=None, **style):
    """Draw the straight line from `start` to `end`; `gid` names it in the SVG."""
    axes.plot([start.real, end.real], [start.imag, end.imag], color=ink, gid=gid, **({"lw": 1.0} | style))


def draw_conductor(axes, points, name, look=PLAIN, gid=None, **style):
    """Draw a line through complex `points` in a conductor's own colour and dashes, with a dark edge where it is pale."""
    style = {"lw": 1.8, "ls": DASHES[name], "solid_capstyle": "butt", "dash_capstyle": "butt"} | style
    xs, ys = [z.real for z in points], [z.imag for z in points]
    if look.pale(name):
        axes.plot(xs, ys, color=INK, **(style | {"lw": style["lw"] + 1.6}))
    axes.plot(xs, ys, color=look.ink(name), gid=gid, **style)


def arrow(axes, start, end, name, gid, look=PLAIN, **style):
    """Draw a phasor in the conductor's own colour and dashes."""
    draw_conductor(axes, (start, end), name, look, gid, **style)
    near = end - 0.02 * (end - start)
    axes.annotate(
        "",
        (end.real, end.imag),
        (near.real, near.imag),
        arrowprops={
            "arrowstyle": "-|>",
            "facecolor": look.ink(name),
            "edgecolor": INK if look.pale(name) else look.ink(name),
            "lw": 1.2,
            "shrinkA": 0,
            "shrinkB": 0,
        },
    )


def arc(axes, centre, radius, towards, spread, name, look=PLAIN, gid=None, **style):
    """Draw the arc about `centre` that reaches `spread` (rad) to each side of the direction of the phasor `towards`."""
    turns = [phase(towards) + spread * k / 24 for k in range(-24, 25)]
    draw_conductor(
        axes, [centre + rect(radius, turn) for turn in turns], name, look, gid, **({"lw": 1.3, "ls": "-"} | style)
    )


def mark(axes, at, text, direction, distance, **style):
    """Put a dot at `at` and write `text` beside it, `distance` away in `direction`."""
    axes.plot([at.real], [at.imag], marker="o", ms=3.5, color=INK, zorder=6)
    if text:
        write_label(axes, at, text, direction, distance, **style)


@dataclass()
class _Labels:
    """What a panel knows of its labels: points on paper a unit, and the (low, high) corners of those written so far."""

    points: float
    taken: list

    def box(self, centre, text, size):
        half = complex(0.32 * size * len(text) + 1, 0.5 * size + 1) / self.points
        return centre - half, centre + half

    def free(self, box):
        return all(
            min(box[1].real, b.real) <= max(box[0].real, a.real) or min(box[1].imag, b.imag) <= max(box[0].imag, a.imag)
            for a, b in self.taken
        )


#: turns and stretches of a label's place that are tried until it lies over no other
_PLACES = [
    (stretch, turn * pi / 8)
    for stretch in (1.0, 1.4, 1.9)
    for turn in (0, 1, -1, 2, -2, 3, -3, 4, -4, 5, -5, 6, -6, 7, -7, 8)
]


def write_label(axes, at, text, direction, distance, **style):
    """Write `text` centred `distance` away from `at` in `direction`, or as near to that as no other label of the panel lies."""
    way, style = distance * direction / (abs(direction) or 1.0), {"fontsize": 8.5, "color": INK} | style
    to, labels = at + way, getattr(axes, "lostneutral", None)
    if labels:
        places = [at + way * rect(stretch, turn) for stretch, turn in _PLACES]
        to = next((z for z in places if labels.free(labels.box(z, text, style["fontsize"]))), to)
        labels.taken.append(labels.box(to, text, style["fontsize"]))
    axes.text(
        to.real,
        to.imag,
        text,
        ha="center",
        va="center",
        zorder=7,
        **style,
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.3, "alpha": 0.85},
    )


def triangle(axes, corners, look, gid):
    """Draw the voltage triangle (split-phase: the line) with the names of its corners, and the cross in the middle."""
    ends = list(corners.values())
    outline = [*ends, ends[0]] if len(ends) > 2 else ends
    axes.plot([z.real for z in outline], [z.imag for z in outline], color=FAINT, lw=THIN, gid=gid)
    axes.plot([0], [0], marker="+", ms=8, mew=1.1, color=INK, zorder=3)
    for line, z in corners.items():
        write_label(axes, z, look.name(line), z or 1, 0.15 * max(map(abs, ends)), fontweight="bold")


def lamp(axes, at, light, radius, gid=None):
    """Draw a lamp's light as a multiple of the usual: a broken circle for the usual, a disc of the light's area, and rays.

    Rays stand only about a lamp that is brighter than usual, so that a copy in grey tells them apart too.
    """
    from matplotlib.patches import Circle

    size = radius * min(max(light, 0.003), 4.0) ** 0.5
    axes.add_patch(
        Circle((at.real, at.imag), size, fc="#ffe27a" if light >= 0.9 else "white", ec=INK, lw=1.3, zorder=5, gid=gid)
    )
    axes.add_patch(Circle((at.real, at.imag), radius, fc="none", ec=INK, lw=THIN, ls=(0, (3, 2)), zorder=6))
    for turn in range(12 if light > 1.1 else 0):
        way = rect(1.0, turn * pi / 6)
        segment(axes, at + way * (size + 0.12 * radius), at + way * (size + 0.4 * radius), INK, lw=1.0)
