"""The names of the lines as a class knows them: L1 L2 L3, R Y B, A B C or U V W."""

import re

from lostneutral.errors import UsageError

LABEL_SETS = {
    "L1/L2/L3": ("L1", "L2", "L3"),
    "R/Y/B": ("R", "Y", "B"),
    "A/B/C": ("A", "B", "C"),
    "U/V/W": ("U", "V", "W"),
}
"""What `--labels` may be -> the names of the three lines (split-phase: the first two)."""

_LINE = re.compile(r"(?<![A-Za-z0-9])L([123])(?![A-Za-z0-9])")


def relabel(text: str, labels: str = "L1/L2/L3") -> str:
    """Return `text` with each line's name L1, L2, L3 that stands alone as the set `labels` has it.

    Names within longer words stay: "L1-N" becomes "R-N", while "XL1" and "L10" are left alone. UsageError, with the
    sets there are, if there is no such set.

    >>> relabel("L2-N", "R/Y/B"), relabel("between L1 and L3", "A/B/C"), relabel("L10")
    ('Y-N', 'between A and C', 'L10')
    """
    if labels not in LABEL_SETS:
        raise UsageError(f"there are no labels '{labels}' — one of: {', '.join(LABEL_SETS)}")
    return _LINE.sub(lambda found: LABEL_SETS[labels][int(found[1]) - 1], text)
