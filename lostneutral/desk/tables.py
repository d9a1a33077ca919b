"""Lists pasted or brought as a file: tab-separated, CSV or .xlsx; which column is what, shown before anything is taken."""

import csv
import io
import re
import zipfile
from collections.abc import Sequence
from dataclasses import replace

from lostneutral.desk import everyday, plates
from lostneutral.desk.case import DeskCase
from lostneutral.desk.items import Written, add_item, circuit, fate_of
from lostneutral.errors import UsageError
from lostneutral.frozen import dataclass

BYTES_MAX, UNPACKED_MAX = 5_000_000, 60_000_000
ROWS_MAX, COLUMNS_MAX = 2000, 40
COLUMNS = {"": "not taken", "name": "name", "what": "what it is", "power": "power or current", "voltage": "rated voltage",
           "count": "how many", "point": "board or circuit", "connect": "line (L1, L2, L3)", "on": "on or off", "fate": "what became of it",
           "light": "seen during the fault"}
"""Field of `Written` -> its name above a column."""
HEADS = {"name": ("name", "item", "equipment", "description", "designation", "load", "appliance name"),
         "what": ("what", "what it is", "type", "kind", "appliance", "sort", "model"),
         "power": ("power", "w", "watt", "watts", "rating", "kw", "rated power", "plate", "load w", "power w", "va", "current", "a", "amps"),
         "voltage": ("voltage", "v", "volts", "rated voltage", "u"),
         "count": ("count", "no", "number", "qty", "quantity", "pcs", "pieces", "how many", "units"),
         "point": ("board", "circuit", "point", "distribution", "location", "place", "room", "db", "cct", "fed from"),
         "connect": ("line", "phase", "lines", "phases", "connection", "connect", "connected", "l"),
         "on": ("on", "switch", "switched on", "state", "on/off", "in use", "was on"),
         "fate": ("became", "what became of it", "seen", "condition", "result", "damage", "status", "works", "outcome", "after"),
         "light": ("during", "during the fault", "seen during the fault", "light")}


@dataclass(frozen=True)
class Table:
    """Rows of text, each with a cell a column, with the field of each column ("": not taken) and whether the first row names them."""

    rows: tuple[tuple[str, ...], ...]
    columns: tuple[str, ...]
    headed: bool
    left: int = 0  #: rows beyond the most that are taken

    def with_column(self, number: int, name: str) -> "Table":
        """Return it with a column taken for something else; no field has two columns."""
        columns = tuple(name if at == number else "" if name and c == name else c for at, c in enumerate(self.columns))
        return replace(self, columns=columns)

    @property
    def body(self) -> tuple[tuple[str, ...], ...]:
        return self.rows[1:] if self.headed else self.rows

    def written(self) -> tuple[Written, ...]:
        """Return the items of the table as they are written in it; rows without a name are left out."""
        made = []
        unit = self._unit("power")
        for row in self.body:
            found = {name: row[at].strip() for at, name in enumerate(self.columns) if name}
            if not (found.get("what") or found.get("name")):
                continue
            if unit and found.get("power") and re.fullmatch(r"[\d.,'\s]+", found["power"]):
                found["power"] += f" {unit}"
            made.append(Written(**found))
        return tuple(made)

    def _unit(self, name):
        """Return the unit that a column's heading gives, for figures without one."""
        if not self.headed or name not in self.columns:
            return ""
        found = re.search(r"\b(kW|W|kVA|VA|A)\b", self.rows[0][self.columns.index(name)])
        return found[1] if found else ""


def read_text(text: str) -> Table:
    """Return the table in pasted or read text: tabs, semicolons or commas between the cells."""
    text = text.lstrip("\ufeff")
    lines = [line for line in text.splitlines() if line.strip()]
    if not lines:
        raise UsageError("there is nothing to take — copy the rows of a spreadsheet, or a CSV file")
    first = lines[0]
    mark = "\t" if "\t" in text else ";" if first.count(";") >= max(first.count(","), 1) else ","
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=mark))
    except csv.Error as error:
        raise UsageError(f"this cannot be read as a table: {error} — save it as CSV or .xlsx") from None
    return _table(rows)


def read_file(name: str, content: bytes) -> Table:
    """Return the table in a file that was brought: .xlsx by its content, else text. UsageError says what is wrong."""
    if len(content) > BYTES_MAX:
        raise UsageError(f"the file is larger than {BYTES_MAX // 10**6} MB — a list of items is smaller")
    if content.startswith(b"PK"):
        return _table(_workbook(content))
    if content.startswith(b"\xd0\xcf\x11\xe0"):
        raise UsageError("this is an old .xls file — save it as .xlsx or CSV")
    if b"\0" in content[:2000] and not content.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise UsageError("this is no table — bring CSV, tab-separated text or .xlsx")
    for coding in ("utf-16",) if content.startswith((b"\xff\xfe", b"\xfe\xff")) else ("utf-8-sig", "cp1252", "latin-1"):
        try:
            return read_text(content.decode(coding))
        except UnicodeDecodeError:
            continue
    raise UsageError("the text of this file cannot be read — save it as UTF-8")


def _workbook(content):
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            if sum(entry.file_size for entry in archive.infolist()) > UNPACKED_MAX:
                raise UsageError("the workbook is too large — save the one sheet as CSV")
        import openpyxl

        book = openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=True)
        sheet = book.worksheets[0]
        rows = []
        for row in sheet.iter_rows(max_col=COLUMNS_MAX, values_only=True):
            rows.append(["" if cell is None else plates.shown(cell) for cell in row])
            if len(rows) > 2 * ROWS_MAX:
                break
        return rows
    except UsageError:
        raise
    except Exception as error:  # noqa: BLE001 - whatever a damaged file makes of the reader
        raise UsageError(f"this workbook cannot be read ({type(error).__name__}) — save it as .xlsx anew, or as CSV") from None


def _table(rows: Sequence[Sequence[str]]) -> Table:
    rows = [[str(cell).strip()[:500] for cell in row[:COLUMNS_MAX]] for row in rows if any(str(cell).strip() for cell in row)]
    if not rows:
        raise UsageError("there is nothing to take — copy the rows of a spreadsheet, or a CSV file")
    width = max(len(row) for row in rows)
    used = [at for at in range(width) if any(at < len(row) and row[at] for row in rows)]
    rows = [tuple(row[at] if at < len(row) else "" for at in used) for row in rows]
    columns, headed = _columns(rows)
    body = rows[: ROWS_MAX + headed]
    return Table(tuple(body), columns, headed, len(rows) - len(body))


def _columns(rows):
    """Return (field of each column, whether the first row names them), by headings or else by what the cells hold."""
    named = [_headed(cell) for cell in rows[0]]
    if sum(bool(n) for n in named) >= max(1, min(2, len(rows[0]))) and len(rows) > 1:
        return _once(named), True
    guessed = [_held([row[at] for row in rows]) for at in range(len(rows[0]))]
    return _once(guessed), False


def _once(names):
    made = []
    for name in names:
        made.append(name if name and name not in made else "what" if name == "name" and "what" not in made else "")
    if "name" not in made and "what" not in made and "" in made:
        made[made.index("")] = "name"
    return tuple(made)


def _headed(cell):
    word = re.sub(r"[\[(].*?[\])]", "", cell.lower()).strip(" .:,/")
    word = re.sub(r"\s+", " ", word)
    return next((name for name, heads in HEADS.items() if word in heads), "") or next(
        (name for name, heads in HEADS.items() if any(len(h) > 3 and h in word for h in heads)), "")


def _held(cells):
    """Return what a column without a heading holds, or ""."""
    full = [cell for cell in cells if cell]
    if not full:
        return ""
    share = lambda test: sum(bool(test(c)) for c in full) / len(full)  # noqa: E731 - asked six times
    if share(lambda c: re.fullmatch(r"(?i)(phase )?L?[123]([-–/ ]*(N|L?[123]|PE))*", c) and not c.isdigit()) > 0.7:
        return "connect"
    if share(lambda c: re.search(r"(?i)\d\s*k?(W|VA|A)\b", c)) > 0.5:
        return "power"
    if share(lambda c: re.search(r"(?i)\d\s*V\b", c)) > 0.5:
        return "voltage"
    if share(lambda c: re.fullmatch(r"\d{1,3}\s*[x×]?", c)) > 0.8:
        return "count"
    if share(lambda c: c.lower() in ("on", "off", "not known", "yes", "no", "?")) > 0.7:
        return "on"
    if share(lambda c: isinstance(plates.number(c).value, float)) > 0.8:
        return "power"
    if share(fate_of) > 0.6:
        return "fate"
    if share(lambda c: re.search(r"(?i)board|circuit|\bdb\b|panel|intake", c)) > 0.5:
        return "point"
    if share(lambda c: everyday.meant(c) and len(c.split()) < 4) > 0.7:
        return "what"
    return "name"


def take(case: DeskCase, written: Sequence[Written]) -> tuple[int, ...]:
    """Add the items, and the boards they name that are not there yet, as one step of undo; return their numbers."""
    first = next((str(p.data.get("name")) for p in case.entries("point")), "supply")
    with case.one_step():
        for name in new_boards(case, written):
            case.add("point", {"name": name, "fed_from": first})
        return tuple(add_item(case, w) for w in written)


def new_boards(case: DeskCase, written: Sequence[Written]) -> tuple[str, ...]:
    """Return the boards that `written` names and the case does not have."""
    known = {str(p.data.get("name")) for p in case.entries("point")}
    named = (circuit(f"{w.point} {w.connect}", case)[0] for w in written)
    return tuple(dict.fromkeys(name for name in named if name and name not in known))
