"""Voltages recorded by meters, inverters, chargers and power-quality recorders: CSV files that a case names."""

import csv
import hashlib
from datetime import UTC, datetime, timedelta
from pathlib import Path

from lostneutral.case.faults import quoted, show
from lostneutral.case.model import Recording

BYTES_MAX = 20_000_000
ROWS_MIN, ROWS_MAX = 4, 500_000
ALLOWED = "a CSV file in the folder of the case file or below it, its columns named in the first row"


class _Wrong(Exception):
    """What is wrong with a file, in words."""


def check_recordings(draft, faults, folder: Path) -> dict[int, Recording]:
    """Return {number of the [[record]] entry: Recording}; what is wrong with one goes to `faults`.

    `folder` is that of the case file. The files are read, never written.
    """
    found = {}
    for path, entry in draft.entries("record"):
        try:
            found[path[1]] = _read(entry, folder)
        except _Wrong as wrong:
            key, words, allowed = wrong.args
            faults.add((*path, key), words, allowed)
    return found


def _read(entry, folder):
    content = _content(entry.file, folder)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _Wrong("file", f"{show(entry.file)} is not UTF-8 text", ALLOWED) from None
    lines = text.splitlines()
    head = lines[0] if lines else ""
    delimiter = max(";\t,", key=head.count)
    rows = list(csv.DictReader(lines, delimiter=delimiter, skipinitialspace=True))
    for key in ("time_column", "voltage_column"):
        column = getattr(entry, key)
        if not rows or column not in rows[0]:
            raise _Wrong(key, f"{show(entry.file)} has no column {show(column)}",
                         "one of " + quoted([name for name in (rows[0] if rows else {}) if name]))
    if len(rows) > ROWS_MAX:
        raise _Wrong("file", f"{show(entry.file)} has more than {ROWS_MAX} rows", "fewer of them, such as means of a minute")
    _zone(entry)
    zero = _zero(entry)
    times, volts = [], []
    for number, row in enumerate(rows, 2):
        if not (row[entry.voltage_column] or "").strip():
            continue  # a gap
        volts.append(_number(entry, row[entry.voltage_column], number, delimiter))
        times.append(_seconds(entry, (row[entry.time_column] or "").strip(), number, zero, delimiter) - entry.clock_error)
        if len(times) > 1 and times[-1] <= times[-2]:
            raise _Wrong("file", f"row {number} of {show(entry.file)} is not later than the row before", "times in order")
    if len(times) < ROWS_MIN:
        raise _Wrong("file", f"{show(entry.file)} has {len(times)} voltages", f"at least {ROWS_MIN}")
    return Recording(entry.file, hashlib.sha256(content).hexdigest(), entry.point or "", tuple(entry.between.split("-")),
                     tuple(times), tuple(volts), entry.averaging, entry.clock_error, entry.clock_deviation, entry.fitted == "after")


def _content(name, folder):
    try:
        root = folder.resolve()
        path = (root / name).resolve()
        if not path.is_relative_to(root):
            raise _Wrong("file", f"{show(name)} is outside the folder of the case file", ALLOWED)
        if not path.is_file():
            raise _Wrong("file", f"{show(name)} is not there" if not path.exists() else f"{show(name)} is not a plain file", ALLOWED)
        if path.stat().st_size > BYTES_MAX:
            raise _Wrong("file", f"{show(name)} is larger than {BYTES_MAX // 10**6} MB", ALLOWED)
        return path.read_bytes()
    except (OSError, ValueError, RuntimeError) as error:
        raise _Wrong("file", f"{show(name)} cannot be read: {getattr(error, 'strerror', None) or error}", ALLOWED) from None


def _zone(entry):
    try:
        return UTC if entry.zone is None else datetime.fromisoformat(f"2000-01-01T00:00:00{entry.zone}").tzinfo or UTC
    except ValueError:
        raise _Wrong("zone", f"{show(entry.zone)} is no time zone", 'an offset such as "+01:00"') from None


def _zero(entry):
    if entry.zero is None:
        return None
    try:
        made = datetime.fromisoformat(entry.zero)
    except ValueError:
        raise _Wrong("zero", f"{show(entry.zero)} is no date with a time", 'such as "2025-11-08T14:00:00+01:00"') from None
    return made if made.tzinfo else made.replace(tzinfo=_zone(entry))


def _number(entry, text, row, delimiter):
    try:
        value = float(text.replace(",", ".") if delimiter != "," else text)
    except ValueError:
        value = -1.0
    if not 0 <= value <= 1e4:
        raise _Wrong("voltage_column", f"row {row} of {show(entry.file)}: {show(text)} is no voltage", "from 0 to 10000 V, or empty")
    return value


def _seconds(entry, text, row, zero, delimiter):
    try:
        return float(text.replace(",", ".") if delimiter != "," else text)
    except ValueError:
        pass
    try:
        when = datetime.fromisoformat(text)
    except ValueError:
        raise _Wrong("time_column", f"row {row} of {show(entry.file)}: {show(text)} is no time",
                     "seconds after time 0, or a date with a time such as 2025-11-08T14:10:00") from None
    if zero is None:
        raise _Wrong("zero", "is missing", 'the clock time of time 0 of the case, such as "2025-11-08T14:00:00+01:00"')
    when = when if when.tzinfo else when.replace(tzinfo=_zone(entry))
    return (when - zero) / timedelta(seconds=1)
