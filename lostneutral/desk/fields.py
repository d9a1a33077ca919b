"""The fields that the desk shows of each table: key, label, unit and what may be typed, from the schema's own texts."""

from functools import cache
from typing import Literal, get_args, get_origin

from lostneutral.case.exhibits_schema import DocumentEntry, PhotoEntry, TestEntry
from lostneutral.case.load_schema import COMMON, KINDS, LoadEntry
from lostneutral.case.schema import CaseFile, SupplyEntry
from lostneutral.case.seen_schema import ObservationEntry
from lostneutral.case.values import Allowed, tables_of
from lostneutral.case.wiring_schema import BreakEntry, CableEntry, PointEntry
from lostneutral.desk import plates
from lostneutral.desk.plates import Read
from lostneutral.frozen import dataclass

TABLES = {"": CaseFile, "supply": SupplyEntry, "point": PointEntry, "cable": CableEntry, "break": BreakEntry,
          "observation": ObservationEntry, "test": TestEntry, "document": DocumentEntry, "photo": PhotoEntry, "load": LoadEntry}
LONG = ("description", "instruction", "note")


@dataclass(frozen=True)
class Field:
    """One key of a table as a field of a form."""

    key: str
    label: str  #: the schema's text up to the first semicolon
    help: str  #: the rest of it
    sort: str  #: "number" | "whole" | "text" | "long" | "numbers" | "choice" | "truth" | "pair" | "joint" | "when" | "lines"
    unit: str = ""
    choices: tuple[str, ...] = ()
    units: tuple[str, str] = ("", "")
    required: bool = False

    def read(self, text: str, volts: float | None = None) -> Read:
        """Return what `text` is taken for; the text itself where it is no value, so that the check says what is."""
        bare = text.strip()
        if not bare:
            return Read(None)
        match self.sort:
            case "long":
                return Read(text)
            case "number":
                return plates.number(bare, self.unit, volts)
            case "whole":
                found = plates.number(bare.lower().removesuffix("x").removesuffix("×"))
                value = found.value
                return Read(int(value) if isinstance(value, float) and value.is_integer() else value, found.note)
            case "truth":
                return plates.truth(bare)
            case "pair":
                return plates.pair(bare, self.units)
            case "numbers":
                return plates.numbers(bare)
            case "joint":
                return plates.joint(bare)
            case "when":
                return plates.when(bare)
            case "lines":
                return Read(list(bare.replace(",", " ").replace(";", " ").split()))
            case "any":
                found = plates.number(bare)
                return found if isinstance(found.value, float) else Read(bare)
        return Read(bare)

    def shown(self, value) -> str:
        """Return a value of the case file as text of this field."""
        if self.sort == "lines" and isinstance(value, list):
            return " ".join(str(v) for v in value)
        return plates.shown(value, self.unit)


@cache
def fields(table: str) -> tuple[Field, ...]:
    """Return the fields of a table of the case file ("cable" is that of a point), in the schema's order."""
    return _of(TABLES[table])


@cache
def kind_fields(kind: str) -> tuple[Field, ...]:
    """Return the fields that loads of `kind` have besides those of every load."""
    return tuple(f for f in _of(KINDS[kind]) if f.key not in COMMON) if kind in KINDS else ()


def field(table: str, key: str) -> Field:
    """Return one field by its key."""
    return next(f for f in fields(table) if f.key == key)


def _of(model):
    made = (_field(entry.alias or name, entry) for name, entry in model.model_fields.items())
    return tuple(f for f in made if f is not None)


def _field(key, entry):
    if any(tables_of(entry)):
        return None
    note = next((note for note in entry.metadata if isinstance(note, Allowed)), Allowed(""))
    allowed = note.text
    label, _, more = (entry.description or key).partition("; ")
    sort, choices = _sort(key, entry.annotation, allowed)
    unit = note.unit if sort == "number" else ""
    units = ("ohm", "ohm") if "[resistance" in allowed else ("V", "degrees")
    return Field(key, label[:1].upper() + label[1:], more, sort, unit, choices, units, entry.is_required())


def _sort(key, annotation, allowed):
    """Return (sort, choices)."""
    if get_origin(annotation) is Literal:
        return "choice", get_args(annotation)
    if allowed.startswith("true or false"):
        return "truth", ("yes", "no")
    if allowed.startswith(('"open"',)):
        return "joint", ()
    if allowed.startswith(("[resistance", "[magnitude")):
        return "pair", ()
    if allowed.startswith("a number, or text"):
        return "any", ()
    if allowed.startswith("a date"):
        return "when", ()
    if allowed.startswith("a whole number"):
        return "whole", ()
    if allowed.startswith("a number"):
        return "number", ()
    if allowed.startswith('a list such as ["L1"]'):
        return "lines", ()
    if get_origin(annotation) is list and any(part in (int, float) for part in _within(annotation)):
        return "numbers", ()
    if allowed.startswith(("text", "two of")):
        return ("long" if key in LONG else "text"), ()
    if allowed.startswith('"none", or the varistor'):
        return "any", ()
    return "text", ()


def _within(annotation):
    """Yield every type inside what a key takes."""
    yield annotation
    for part in get_args(annotation):
        yield from _within(part)
