"""Figures in sentences: whole volts, amperes and watts to two or three digits, times to two, names and places in a row."""

from math import floor, isfinite, log10

from lostneutral.words.language import decimal_mark, tell
from lostneutral.words.times import duration, span

NOTHING = 1e-4  #: in the unit of a sentence: what is smaller came from rounding
MOST_PLACES = 3  #: points that a sentence names; the others are counted


def to_figures(value: float, figures: int = 2, nothing: float = NOTHING) -> str:
    """Return `value` to so many significant figures, never as a power of ten: "187", "0.12"; below `nothing` it is "0"."""
    if not isfinite(value):
        return "–"
    if abs(value) < nothing:
        return "0"
    places = figures - 1 - floor(log10(abs(value)))
    places -= abs(round(value, places)) >= 10 ** (figures - places)  # 0.9999 rounds to 1, which has a figure fewer behind
    return decimal_mark(f"{round(value, places):.{max(places, 0)}f}")


def plain(value: float, form: str = "g") -> str:
    """Return `value` in a format, with the decimal mark of the language: "230", "2.5"."""
    return decimal_mark(f"{value:{form}}")


def volts(value: float) -> str:
    """Return whole volts, "338 V"; below ten volts with one decimal, what is next to nothing as "0 V"."""
    if abs(value) < 0.05:
        return "0 V"
    return f"{plain(value, '.1f' if abs(value) < 9.95 else '.0f')} V"


def amount(value: float, unit: str) -> str:
    """Return a figure as a sentence has it, by its unit."""
    if unit == "V":
        return volts(value)
    if unit == "ohm":
        return f"{to_figures(value)} Ω" if value < 1e6 else f"{to_figures(value / 1e6)} MΩ"
    return f"{to_figures(value, 3 if unit in ('A', 'W', 'K') and value >= 100 else 2)} {unit}".rstrip()


def about(value: float, unit: str) -> str:
    """Return "about 155 V"; a figure of nothing has no "about"."""
    text = amount(value, unit)
    return text if text.startswith("0 ") else tell("about {amount}", amount=text)


def exactly(low: float, high: float, unit: str) -> str:
    """Return "80 to 332 V", or one figure where both print alike."""
    first, last = amount(low, unit), amount(high, unit)
    return last if first == last else tell("{low} to {high}", low=first.removesuffix(f" {unit}"), high=last)


def between(low: float, high: float, unit: str) -> str:
    """Return "about 80 to 332 V", or one figure where both print alike."""
    text = exactly(low, high, unit)
    return about(high, unit) if text == amount(high, unit) else tell("about {amount}", amount=text)


def share(ratio: float) -> str:
    """Return "26 % above" or "12 % below" for a ratio to nominal or rated."""
    percent = f"{abs(ratio - 1) * 100:.0f}"
    return tell("{percent} % above", percent=percent) if ratio >= 1 else tell("{percent} % below", percent=percent)


def in_a_row(names) -> str:
    """Return "a, b, c"; of names that have a comma themselves "heater, house 1; lamp, house 2"."""
    names = tuple(names)
    return _apart(names).join(names)


def listed(names) -> str:
    """Return "a, b and c"; of names that have a comma themselves "heater, house 1; lamp, house 2; and kettle, house 2"."""
    *others, last = names
    if not others:
        return last
    apart = _apart((*others, last))
    return tell("{others} and {last}", others=apart.join(others) + ";" * (apart == "; "), last=last)


def _apart(names):
    return "; " if any(", " in name for name in names) else ", "


def at_places(names) -> str:
    """Return " at a, b and 4 other points"; an empty text for none."""
    if not names:
        return ""
    kept, more = names[:MOST_PLACES], len(names) - MOST_PLACES
    if more > 1:
        return tell(" at {names} and {number} other points", names=in_a_row(kept), number=more)
    if more > 0:
        return tell(" at {names} and 1 other point", names=in_a_row(kept))
    return tell(" at {names}", names=listed(kept))


def soon(earliest, central, latest, later=False) -> str:
    """Return how soon (s) in words: "about 9 hours (4 to 20 hours)"; over two decades the early end alone.

    `later`: counted from the beginning of the incident, which is not that of the voltage told beside it.
    """
    if central is None and earliest is None:
        return ""
    if later and _open_ended(earliest, latest):
        return tell("possibly within {time} of the beginning of the incident; an upper end cannot be stated", time=duration(earliest))
    if later:
        return tell("{soon}, counted from the beginning of the incident", soon=soon(earliest, central, latest))
    if _open_ended(earliest, latest):
        return tell("possibly within {time}; an upper end cannot be stated", time=duration(earliest))
    if central is None:
        return tell("possibly within {time}", time=duration(earliest))
    return tell("about {time} ({range})", time=duration(central), range=span(earliest, latest))


def failing(earliest, central, latest, later=False) -> str:
    """Return that something is expected to fail and when (s), by the rule of `soon`."""
    words = soon(earliest, central, latest, later)
    if not words:
        return tell("failure expected")
    if central is None or _open_ended(earliest, latest):
        return tell("failure expected, {soon}", soon=words)
    return tell("failure expected after {soon}", soon=words)


def _open_ended(earliest, latest):
    return bool(earliest) and (latest is None or latest > 100 * earliest)


def counted(count: int, one: str, many: str = "") -> str:
    """Return "1 item", "3 items", in English: a sentence that is told in other languages counts with `items_of` and the like."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def items_of(count: int) -> str:
    """Return "1 item", "3 items"."""
    return tell("1 item") if count == 1 else tell("{number} items", number=count)


def named(names, most: int) -> str:
    """Return names in a row, so many at most and the others counted: "a, b and 3 others"."""
    names = tuple(names)
    more = len(names) - most
    if more > 1:
        return tell("{names} and {number} others", names=in_a_row(names[:most]), number=more)
    return tell("{names} and 1 other", names=in_a_row(names[:most])) if more > 0 else listed(names)
