"""How a class knows the conductors: the names of its lines and the colours of its country, for every figure and text."""

import re
from functools import cache

from lostneutral import data
from lostneutral.case.model import Case
from lostneutral.consequences.colours import colour_countries, conductor_colours
from lostneutral.errors import UsageError
from lostneutral.frozen import dataclass
from lostneutral.report.base.drawing import INK
from lostneutral.teaching.labels import relabel

HARMONISED = "IEC 60445"
OLD = " old"
#: how a colour word is drawn; dark enough to be told from paper, or drawn with a dark edge
_TINTS = {
    "brown": "#7a3f10",
    "black": "#000000",
    "grey": "#808080",
    "blue": "#1f6fc4",
    "light blue": "#59a7e8",
    "dark blue": "#0b2f7a",
    "red": "#c00000",
    "yellow": "#f0c800",
    "green-yellow": "#8ab000",
    "green": "#1a7a2e",
    "orange": "#e07000",
    "violet": "#7a2f9a",
    "white": "#ffffff",
}
_WORD = re.compile("|".join(sorted(_TINTS, key=len, reverse=True)))
PALE = 0.45  #: share of full light from which a tint needs a dark edge on white paper


@dataclass(frozen=True)
class Look:
    """Names of the lines (a key of `LABEL_SETS`) and a set of `colour_sets`."""

    labels: str = "L1/L2/L3"
    colours: str = HARMONISED

    def name(self, text: str) -> str:
        """Return `text` with L1, L2, L3 as the class calls them."""
        return relabel(text, self.labels)

    def word(self, conductor: str) -> str:
        """Return the first colour word of a conductor ("brown"), or an empty text where none is known."""
        found = _WORD.search(_schemes()[self.colours][conductor])
        return found.group() if found else ""

    def ink(self, conductor: str) -> str:
        """Return the colour in which a conductor is drawn; ink where its colour is not known."""
        return _TINTS.get(self.word(conductor), INK)

    def pale(self, conductor: str) -> bool:
        """Return whether a conductor's colour would be lost on white paper without a dark edge."""
        red, green, blue = (int(self.ink(conductor)[at : at + 2], 16) / 255 for at in (1, 3, 5))
        return 0.2126 * red**2.2 + 0.7152 * green**2.2 + 0.0722 * blue**2.2 > PALE


@cache
def _schemes():
    found = {HARMONISED: data.load("conductor_colours")["harmonised"]}
    for country in colour_countries():
        schemes = conductor_colours(country)
        present = [s for s in schemes if s["age"] == "present"]
        found[country] = (present or schemes)[0]
        if present and present[0] is not schemes[0]:
            found[country + OLD] = schemes[0]
    return found


def colour_sets() -> tuple[str, ...]:
    """Return what `Look.colours` may be: the harmonised colours, a country's present ones, or "COUNTRY old"."""
    return tuple(_schemes())


def country_of(colours: str) -> str | None:
    """Return the country of a colour set, None for the harmonised one."""
    return None if colours == HARMONISED else colours.removesuffix(OLD)


def look_for(case: Case, labels: str = "L1/L2/L3", colours: str | None = None) -> Look:
    """Return the look that was asked for; without `colours`, that of the case's country, else what is usual for its supply.

    UsageError, with the sets there are, for labels or colours that there are not.
    """
    relabel("", labels)
    if colours is None:
        usual = data.load("lesson")["colours"]["usual"][case.supply.system]
        colours = case.supply.old_colours or usual
    if colours not in _schemes():
        raise UsageError(f"there are no colours '{colours}' — one of: {', '.join(colour_sets())}")
    return Look(labels, colours)
