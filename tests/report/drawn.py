"""What a figure draws, taken from the drawing itself before it becomes a file: texts with their places, lines, bars, discs."""

from contextlib import contextmanager
from unittest.mock import patch


@contextmanager
def unwritten(told=lambda figure: ""):
    """Within this figures are drawn, but not written out as SVG: what `told(figure)` returns stands in their place, in their size."""
    def stand_in(canvas, out, **_):
        wide, high = 72 * canvas.figure.get_size_inches()
        out.write(f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:g}pt" height="{high:g}pt">{told(canvas.figure)}</svg>')

    with patch("matplotlib.backends.backend_svg.FigureCanvasSVG.print_svg", stand_in):
        yield


def drawn(draw, *given, **keys):
    """Return the axes that `draw` fills, in their order."""
    figures = []
    with unwritten(lambda figure: figures.append(figure) or ""):
        draw(*given, **keys)
    return figures[-1].axes


def texts(axes):
    """Return {text: (x, y)} in the axes' own coordinates, of a label with an arrow that of its tip."""
    return {t.get_text(): tuple(map(float, getattr(t, "xy", t.get_position()))) for t in axes.texts if t.get_text()}


def arrows(axes):
    """Return [(start, end)] of every arrow."""
    return [(complex(*t.xyann), complex(*t.xy)) for t in axes.texts if getattr(t, "arrow_patch", None) and not t.get_text()]


def line(axes, gid):
    """Return the complex points of the line drawn under `gid`."""
    (found,) = [x for x in axes.lines if x.get_gid() == gid]
    return [complex(x, y) for x, y in zip(found.get_xdata(), found.get_ydata())]


def marks(axes, marker):
    """Return the complex points at which `marker` stands."""
    return [complex(x, y) for found in axes.lines if found.get_marker() == marker for x, y in zip(found.get_xdata(), found.get_ydata())]


def upright(axes):
    """Return where vertical lines across the whole axes stand."""
    return [float(x.get_xdata()[0]) for x in axes.lines if list(x.get_ydata()) == [0, 1] and x.get_xdata()[0] == x.get_xdata()[1]]


def level(axes):
    """Return where horizontal lines across the whole axes stand."""
    return [float(x.get_ydata()[0]) for x in axes.lines if list(x.get_xdata()) == [0, 1] and x.get_ydata()[0] == x.get_ydata()[1]]


def bars(axes):
    """Return [(left, width, middle height)] of every bar, in the order drawn."""
    return [(p.get_x(), p.get_width(), p.get_y() + p.get_height() / 2) for c in axes.containers for p in c]


def names(axes, way="y"):
    """Return [(place, text)] of the ticks that carry names."""
    ticks, labels = (axes.get_yticks(), axes.get_yticklabels()) if way == "y" else (axes.get_xticks(), axes.get_xticklabels())
    return [(float(at), text.get_text()) for at, text in zip(ticks, labels)]
