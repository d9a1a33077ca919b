"""Lengths of time in words."""

_UNITS = ((604800.0 * 2, 86400.0, "days"), (7200.0, 3600.0, "hours"), (120.0, 60.0, "minutes"), (0.0, 1.0, "seconds"))
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
        return "not in this state"
    if seconds > _YEAR:
        return "more than a year"
    size, unit = next((size, unit) for start, size, unit in _UNITS if seconds >= start)
    number = f"{float(f'{seconds / size:.2g}'):g}"
    return f"{number} {unit[:-1] if number == '1' else unit}"


def span(earliest: float | None, latest: float | None) -> str:
    """Return "10 minutes to 2 hours" for a band of times (s); a side that has none is said.

    >>> print(span(600.0, 7200.0), "|", span(600.0, None), "|", span(5.0, 50.0))
    10 minutes to 2 hours | from 10 minutes | 5 to 50 seconds
    """
    if earliest is None:
        return duration(latest) if latest is None else f"up to {duration(latest)}"
    if latest is None:
        return f"from {duration(earliest)}"
    first, last = duration(earliest), duration(latest)
    if first == last:
        return first
    (number, _, unit), (_, _, other) = first.partition(" "), last.partition(" ")
    return f"{number} to {last}" if unit.rstrip("s") == other.rstrip("s") else f"{first} to {last}"
