"""The report's faces, which characters they can show, and how the others are written."""

from functools import cache
from importlib.resources import files
from pathlib import Path

from lostneutral.report.base.words import visible

FACE, SPARE = "Lato", "DejaVu Sans"
"""The face that is shipped, and the one that comes with matplotlib for the letters and signs that it lacks."""


def font_folders() -> list[str]:
    """Return the folders of the fonts that documents are set in: our own, and matplotlib's."""
    return [str(_own()), font_folder()]


def face_files() -> tuple[str, ...]:
    """Return the files of the shipped face, regular and bold, for drawings."""
    return tuple(str(_own() / f"{FACE}-{weight}.ttf") for weight in ("Regular", "Bold"))


def _own() -> Path:
    return Path(str(files("lostneutral.report.base"))) / "fonts"


def font_folder():
    from matplotlib import get_data_path

    return f"{get_data_path()}/fonts/ttf"


@cache
def characters():
    """Return the code points that can be shown both in regular and in bold."""
    from matplotlib.ft2font import FT2Font

    weights = ((f"{_own()}/{FACE}-{own}.ttf", f"{font_folder()}/DejaVuSans{spare}.ttf") for own, spare in
               (("Regular", ""), ("Bold", "-Bold")))
    return frozenset.intersection(*(frozenset().union(*(FT2Font(name).get_charmap() for name in pair)) for pair in weights))


def printable(text):
    """Return `text` with every character that no font has, and every control character, as U+XXXX."""
    return "".join(c if ord(c) in characters() or c == " " else f"U+{ord(c):04X}" for c in visible(text))
