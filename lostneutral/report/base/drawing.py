"""What all figures share: conductor colours with their patterns, sizes, and a drawing as SVG text."""

import io
import logging
import textwrap
from contextlib import contextmanager
from html import escape

from lostneutral import data
from lostneutral.report.base.glyphs import FACE, SPARE, face_files, printable

# Where no folder can be written to, matplotlib keeps its list of fonts elsewhere: that is nothing to tell a user.
logging.getLogger("matplotlib").setLevel(logging.ERROR)

#: how dark or bright a colour word of the data is drawn
_TINTS = {"brown": "#8a4b17", "black": "#000000", "grey": "#7d7d7d", "blue": "#0057a8", "green-yellow": "#5b8c00"}
#: a pattern for every conductor, so that no line is told by its colour alone: dashes in points, and a hatch
DASHES = {"L1": "-", "L2": (0, (7, 2)), "L3": (0, (7, 2, 1.5, 2)), "N": (0, (1.5, 1.5)), "PE": (0, (10, 2, 3, 2))}
HATCHES = {"L1": "", "L2": "////", "L3": "....", "N": "xxxx", "PE": "----"}
MARKERS = {"above limits": "^", "within limits": "o", "below limits": "v", "no voltage to neutral": "X", "no voltage": "X",
           "no defined potential": "D", "off": "s"}
INK, SOFT, BAND = "#1a1a1a", "#6b6b6b", "#e4e4e4"
WIDTH = 6.5  #: inches, the width of the page's text

_STYLE = {"svg.hashsalt": "lostneutral", "svg.fonttype": "path", "font.family": [FACE, SPARE], "font.size": 9,
          "axes.linewidth": 0.6, "axes.edgecolor": SOFT, "axes.labelcolor": INK, "xtick.color": SOFT,
          "ytick.color": INK, "text.color": INK, "hatch.linewidth": 0.5, "axes.unicode_minus": True,
          "text.parse_math": False, "xtick.labelsize": 8.5, "ytick.labelsize": 9, "lines.solid_capstyle": "round"}


def colour(conductor):
    """Return the colour of a conductor ("L1", "N" …) by the harmonised scheme (IEC 60445)."""
    return _TINTS[data.load("conductor_colours")["harmonised"][conductor]]


def svg(draw, height, alternative, width=WIDTH):
    """Return what `draw(figure)` draws on `width` by `height` inches, as (SVG text, its text alternative).

    Nothing outside is used or changed: neither the user's matplotlib settings nor pyplot. The same drawing gives
    the same text.
    """
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    out, alternative = io.StringIO(), printable(alternative)
    with styled():
        figure = Figure(figsize=(width, height), layout="constrained")
        draw(figure)
        # not savefig, which draws it once more beforehand
        FigureCanvasSVG(figure).print_svg(out, metadata={"Date": None, "Creator": None})
    text = out.getvalue()
    start = text.index("<svg")
    return f'<svg role="img" aria-label="{escape(alternative)}"{text[start + 4:]}', alternative


def empty_drawing(height):
    """Return a drawing of that height with nothing in it, as `svg` does: for finding out what has room on a page."""
    return f'<svg xmlns="http://www.w3.org/2000/svg" width="{72 * WIDTH:g}pt" height="{72 * height:g}pt"/>', "nothing"


@contextmanager
def styled():
    """Draw in the report's own settings, whatever the user's are, and change nothing outside."""
    import matplotlib
    from matplotlib import font_manager

    known = {entry.fname for entry in font_manager.fontManager.ttflist}
    for file in face_files():  # our own face is no installed one: matplotlib has to be told of it once
        if file not in known:
            font_manager.fontManager.addfont(file)
    with matplotlib.rc_context():
        matplotlib.rcParams.update({k: v for k, v in matplotlib.rcParamsDefault.items() if k != "backend"})
        matplotlib.rcParams.update(_STYLE)
        yield


def bare(axes, *keep):
    """Take the frame off `axes` but for the sides named, and the ticks of the sides taken off."""
    for side, spine in axes.spines.items():
        spine.set_visible(side in keep)
    axes.tick_params(length=0 if not keep else 3, left="left" in keep, bottom="bottom" in keep)


def label(text, longest=34, lines=1):
    """Return `text` fit for a figure: letters that no font has spelled out, on so many lines, cut only beyond these."""
    text = printable(text)
    if lines == 1:
        return text if len(text) <= longest else text[:longest - 1] + "…"
    return "\n".join(textwrap.wrap(text, longest, max_lines=lines, placeholder="…", break_on_hyphens=False))
