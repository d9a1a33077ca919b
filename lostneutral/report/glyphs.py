"""Which characters the report's font can show, and how the others are written."""

from functools import cache

from lostneutral.report.words import visible


def font_folder():
    """Return the folder of the fonts that come with matplotlib; every report is set in them."""
    from matplotlib import get_data_path

    return f"{get_data_path()}/fonts/ttf"


@cache
def characters():
    """Return the code points that both the regular and the bold face of the report's font have."""
    from matplotlib.ft2font import FT2Font

    faces = (FT2Font(f"{font_folder()}/DejaVuSans{face}.ttf").get_charmap() for face in ("", "-Bold"))
    return frozenset.intersection(*map(frozenset, faces))


def printable(text):
    """Return `text` with every character that the font lacks, and every control character, as U+XXXX."""
    return "".join(c if ord(c) in characters() or c == " " else f"U+{ord(c):04X}" for c in visible(text))
