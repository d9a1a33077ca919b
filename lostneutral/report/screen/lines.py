"""Text and tables in the columns of a terminal."""

import textwrap
import unicodedata

from lostneutral.report.base.words import NOTHING, visible
from lostneutral.words.terms import NO_VOLTAGE

_COLOURS = {"above limits": "31", **dict.fromkeys(NO_VOLTAGE.values(), "31"), "below limits": "33", "no defined potential": "35",
            "within limits": "32", "danger": "1;31", "damage": "31", "warning": "33", "note": "36"}
_GAP = "  "
_NARROWEST = 12  # columns a wrapped column keeps


def table_text(head, body, align, width, paint, wraps=(0, -1)):
    """Return a table as text, whose columns `wraps` are wrapped, in this order, so that it fits `width` where it can."""
    body = [[visible(cell) for cell in row] for row in body]
    if all(row[-1] == NOTHING for row in body):
        head, body = head[:-1], [row[:-1] for row in body]
    widths = [max(width_of(row[i]) for row in [head, *body]) for i in range(len(head))]
    excess = sum(widths) + len(_GAP) * (len(widths) - 1) - width
    for at in wraps:
        cut = min(max(excess, 0), max(widths[at] - _NARROWEST, 0))
        widths[at] -= cut
        excess -= cut
    lines = [*_row(head, widths, align), _GAP.join("-" * w for w in widths)]
    for row in body:
        first, *more = _row(row, widths, align)
        word = next((cell for cell in row[2:] if cell in _COLOURS), "")
        start, found, end = first.rpartition(word) if word else (first, "", "")
        lines += [start + paint(found, word) + end, *more]
    return "\n".join(line.rstrip() for line in lines)


def _row(cells, widths, align):
    cut = [wrapped(cell, w) for cell, w in zip(cells, widths)]
    for i in range(max(map(len, cut))):
        line = [column[i] if i < len(column) else "" for column in cut]
        yield _GAP.join(" " * (w - width_of(c)) + c if a == "r" else c + " " * (w - width_of(c))
                        for c, w, a in zip(line, widths, align))


def wrapped(text, width, indent="", first=""):
    """Return `text` as lines of at most `width` columns."""
    return textwrap.wrap(text, max(width, 10), initial_indent=first, subsequent_indent=indent, break_on_hyphens=False) or [""]


def width_of(text):
    """Return how many terminal columns `text` takes."""
    return sum(0 if unicodedata.combining(c) or unicodedata.category(c) in ("Cf", "Mn", "Me") else
               2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text)


def painted(text, meaning):
    """Return `text` in the colour of what it means, with escape codes."""
    return f"\x1b[{_COLOURS[meaning]}m{text}\x1b[0m" if meaning in _COLOURS else text
