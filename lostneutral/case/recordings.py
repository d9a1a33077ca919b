"""What meters, inverters, chargers and power-quality recorders recorded, voltages and events: CSV files and workbooks that a case names."""

import hashlib
import io
from datetime import UTC, datetime, timedelta
from pathlib import Path

from lostneutral.case.faults import quoted, show
from lostneutral.case.model import Recording
from lostneutral.case.seen import Logged

BYTES_MAX, UNPACKED_MAX = 20_000_000, 400_000_000
ROWS_MIN, ROWS_MAX = 4, 500_000
ALLOWED = "a CSV file or .xlsx workbook in the folder of the case file or below it, its columns named in the first row"


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
    rows, delimiter = _workbook(entry, content) if content.startswith(b"PK") else _text(entry, content)
    head = rows[0] if rows else {}
    needed = "voltage_column" in entry.model_fields_set or entry.event_column is None or entry.voltage_column in head
    for key in ("time_column", *(("voltage_column",) if needed else ()), *(("event_column",) if entry.event_column else ())):
        if getattr(entry, key) not in head:
            raise _Wrong(key, f"{show(entry.file)} has no column {show(getattr(entry, key))}", "one of " + quoted([name for name in head if name]))
    if len(rows) > ROWS_MAX:
        raise _Wrong("file", f"{show(entry.file)} has more than {ROWS_MAX} rows", "fewer of them, such as means of a minute")
    _zone(entry)
    zero = _zero(entry)
    times, volts, events, unknown = [], [], [], {}
    for number, row in enumerate(rows, 2):
        when, value, event = ((row.get(column) or "").strip() if column else "" for column in
                              (entry.time_column, entry.voltage_column, entry.event_column))
        if not value and not event:
            continue  # a gap
        time = _seconds(entry, when, number, zero, delimiter) - entry.clock_error
        if value:
            volts.append(_number(entry, value, number, delimiter))
            times.append(time)
            if len(times) > 1 and times[-1] <= times[-2]:
                raise _Wrong("file", f"row {number} of {show(entry.file)} is not later than the row before", "times in order")
        if event:
            said = _said(entry, event)
            events += [Logged(time, e.word, tuple((e.between or entry.between).split("-")), e.bound, e.voltage) for e in said]
            if not said:
                unknown.setdefault(event, number)
    if unknown:
        raise _Wrong("event_column", f"{show(entry.file)} has events that `events` does not explain: {quoted(unknown)}, the first in row "
                     f"{min(unknown.values())}", "a word in `events` for each, without bound and voltage where it says nothing of a voltage")
    if len(times) < ROWS_MIN and (times or not events):
        raise _Wrong("file", f"{show(entry.file)} has {len(times)} voltages", f"at least {ROWS_MIN}, or events")
    return Recording(entry.file, hashlib.sha256(content).hexdigest(), entry.point or "", tuple(entry.between.split("-")),
                     tuple(times), tuple(volts), entry.averaging, entry.clock_error, entry.clock_deviation, entry.fitted == "after",
                     zero.isoformat(" ", "minutes") if zero else None, tuple(sorted(events, key=lambda e: e.time)))


def _said(entry, event):
    """What the case says of an event: the entries of the longest word that it begins with."""
    fitting = [e for e in entry.events if event.casefold().startswith(e.word.casefold())]
    longest = max((len(e.word) for e in fitting), default=0)
    return [e for e in fitting if len(e.word) == longest]


def _text(entry, content):
    """(rows {column: text}, delimiter) of a CSV file."""
    import csv

    if entry.sheet is not None:
        raise _Wrong("sheet", f"{show(entry.file)} is no workbook", "only of an .xlsx workbook")
    try:
        lines = content.decode("utf-8-sig").splitlines()
    except UnicodeDecodeError:
        raise _Wrong("file", f"{show(entry.file)} is neither UTF-8 text nor an .xlsx workbook", ALLOWED) from None
    head = lines[0] if lines else ""
    delimiter = max(";\t,", key=head.count)
    return list(csv.DictReader(lines, delimiter=delimiter, skipinitialspace=True)), delimiter


def _workbook(entry, content):
    """(rows {column: text}, ",") of a worksheet, whose first row that is not empty names the columns."""
    import zipfile

    try:
        import openpyxl
    except ImportError:
        raise _Wrong("file", f"{show(entry.file)} is a workbook, and the package that reads these, openpyxl, is not installed",
                     'a CSV file, or `pip install "lostneutral[desk]"`') from None
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            if sum(part.file_size for part in archive.infolist()) > UNPACKED_MAX:
                raise _Wrong("file", f"{show(entry.file)} is too large unpacked", "the one sheet as CSV")
        book = openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=True)
        names = [sheet.title for sheet in book.worksheets]
        if entry.sheet is not None and entry.sheet not in names:
            raise _Wrong("sheet", f"{show(entry.file)} has no sheet {show(entry.sheet)}", "one of " + quoted(names))
        sheet = book[entry.sheet or names[0]]
        rows = ([_cell(cell) for cell in row] for row in sheet.iter_rows(max_row=ROWS_MAX + 2, values_only=True))
        rows = [row for row in rows if any(row)]
    except _Wrong:
        raise
    except Exception as error:  # noqa: BLE001 - whatever a damaged file makes of the reader
        raise _Wrong("file", f"{show(entry.file)} cannot be read as a workbook ({type(error).__name__})", ALLOWED) from None
    head, *body = rows or [[]]
    return [dict(zip(head, row)) for row in body], ","


def _cell(value):
    return "" if value is None else value.isoformat() if isinstance(value, datetime) else str(value).strip()


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
