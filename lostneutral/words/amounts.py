"""Figures in sentences: whole volts, amperes and watts to two or three digits, times to two, names and places in a row."""

from math import floor, isfinite, log10

from lostneutral.consequences.times import duration, span

NOTHING = 1e-4  #: in the unit of a sentence: what is smaller came from rounding
MOST_PLACES = 3  #: points that a sentence names; the others are counted


def rounded(value: float, figures: int = 2) -> str:
    """Return `value` to so many significant figures, never as a power of ten: "187", "0.12"."""
    if not isfinite(value):
        return "–"
    if abs(value) < NOTHING:
        return "0"
    places = figures - 1 - floor(log10(abs(value)))
    return f"{round(value, places):.{max(places, 0)}f}"


def volts(value: float) -> str:
    """Return whole volts, "338 V"; below ten volts with one decimal, what is next to nothing as "0 V"."""
    if abs(value) < 0.05:
        return "0 V"
    return f"{value:.1f} V" if abs(value) < 9.95 else f"{value:.0f} V"


def amount(value: float, unit: str) -> str:
    """Return a figure as a sentence has it, by its unit."""
    if unit == "V":
        return volts(value)
    if unit == "ohm":
        return f"{rounded(value)} Ω" if value < 1e6 else f"{rounded(value / 1e6)} MΩ"
    return f"{rounded(value, 3 if unit in ('A', 'W', 'K') and value >= 100 else 2)} {unit}".rstrip()


def about(value: float, unit: str) -> str:
    """Return "about 155 V"; a figure of nothing has no "about"."""
    text = amount(value, unit)
    return text if text.startswith("0 ") else f"about {text}"


def between(low: float, high: float, unit: str) -> str:
    """Return "about 80 to 332 V", or one figure where both print alike."""
    first, last = amount(low, unit), amount(high, unit)
    return about(high, unit) if first == last else f"about {first.removesuffix(f' {unit}')} to {last}"


def share(ratio: float) -> str:
    """Return "26 % above" or "12 % below" for a ratio to nominal or rated."""
    return f"{abs(ratio - 1) * 100:.0f} % {'above' if ratio >= 1 else 'below'}"


def listed(names) -> str:
    """Return "a, b and c"."""
    *others, last = names
    return f"{', '.join(others)} and {last}" if others else last


def places(names, word="at") -> str:
    """Return " at a, b and 4 other points"; an empty text for none."""
    if not names:
        return ""
    kept, more = names[:MOST_PLACES], len(names) - MOST_PLACES
    if more > 0:
        return f" {word} {', '.join(kept)} and {more} other point{'s' * (more > 1)}"
    return f" {word} {listed(kept)}"


def soon(earliest, central, latest) -> str:
    """Return how soon (s) in words: "about 9 hours (4 to 20 hours)"; over two decades the early end alone."""
    if central is None and earliest is None:
        return ""
    if _open_ended(earliest, latest):
        return f"possibly within {duration(earliest)}; an upper end cannot be stated"
    if central is None:
        return f"possibly within {duration(earliest)}"
    return f"about {duration(central)} ({span(earliest, latest)})"


def failing(earliest, central, latest) -> str:
    """Return that something is expected to fail and when (s), by the rule of `soon`."""
    words = soon(earliest, central, latest)
    if not words:
        return "failure expected"
    return f"failure expected{',' if central is None or _open_ended(earliest, latest) else ' after'} {words}"


def _open_ended(earliest, latest):
    return bool(earliest) and (latest is None or latest > 100 * earliest)


def counted(count: int, one: str, many: str = "") -> str:
    """Return "1 item", "3 items"."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def named(names, most: int) -> str:
    """Return names in a row, so many at most and the others counted: "a, b and 3 others"."""
    names = tuple(names)
    more = len(names) - most
    return f"{', '.join(names[:most])} and {more} other{'s' * (more > 1)}" if more > 0 else listed(names)
