"""Lengths of time in words."""

from lostneutral.words.language import decimal_mark, tell

_UNITS = ((604800.0 * 2, 86400.0, "day"), (7200.0, 3600.0, "hour"), (120.0, 60.0, "minute"), (0.0, 1.0, "second"))
_YEAR = 365.25 * 86400.0


def duration(seconds: float | None) -> str:
    """Return a length of time (s) in words, to two figures; None is "not in this state".

    >>> for s in (0.07, 45.0, 600.0, 9000.0, 2e5, 4e6, 1e8, None):
    ...     print(duration(s))
    0.07 seconds
    45 seconds
    10 minutes
    2.5 hours
    56 hours
    46 days
    more than a year
    not in this state
    """
    if seconds is None:
        return tell("not in this state")
    if seconds > _YEAR:
        return tell("more than a year")
    return _with_unit(*_measured(seconds))


def span(earliest: float | None, latest: float | None) -> str:
    """Return "10 minutes to 2 hours" for a band of times (s); a side that has none is said.

    >>> print(span(600.0, 7200.0), "|", span(600.0, None), "|", span(5.0, 50.0), "|", span(1.2e6, 1.6e6))
    10 minutes to 2 hours | from 10 minutes | 5 to 50 seconds | 14 to 19 days
    """
    if earliest is None:
        return duration(latest) if latest is None else tell("up to {time}", time=duration(latest))
    if latest is None:
        return tell("from {time}", time=duration(earliest))
    first, last = duration(earliest), duration(latest)
    if first == last:
        return first
    if latest <= _YEAR and (number := _in_unit_of(latest, earliest)):
        first = decimal_mark(number)
    return tell("{first} to {last}", first=first, last=last)


def _measured(seconds):
    """Return (number as text, unit) of a length of time."""
    size, unit = next((size, unit) for start, size, unit in _UNITS if seconds >= start)
    return f"{float(f'{seconds / size:.2g}'):g}", unit


def _in_unit_of(other, seconds):
    """Return a length of time as a number in the unit that another is told in, or None where that is too large for it: less than two of them."""
    _, size, unit = next(entry for entry in _UNITS if other >= entry[0])
    number, own = _measured(seconds)
    if own == unit:
        return number
    return f"{float(f'{seconds / size:.2g}'):g}" if unit == "day" and seconds >= 2 * size else None


def _with_unit(number, unit):
    shown = decimal_mark(number)
    if number == "1":
        return {"day": tell("{number} day", number=shown), "hour": tell("{number} hour", number=shown),
                "minute": tell("{number} minute", number=shown), "second": tell("{number} second", number=shown)}[unit]
    return {"day": tell("{number} days", number=shown), "hour": tell("{number} hours", number=shown),
            "minute": tell("{number} minutes", number=shown), "second": tell("{number} seconds", number=shown)}[unit]
