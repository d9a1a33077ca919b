"""The one table of keys of the case file: unit, what is allowed and meaning of each, as the schema states them."""

from collections.abc import Iterator
from functools import cache
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel

from lostneutral.case.values import Allowed, TablesByName, notes_of, tables_of
from lostneutral.frozen import dataclass


@dataclass(frozen=True)
class Key:
    """A key of a table of the case file."""

    table: str  #: the table's name in the schema
    name: str
    unit: str  #: "" for a number without unit, and for what is no number
    allowed: str  #: in words, as messages say it
    meaning: str


@cache
def keys() -> tuple[Key, ...]:
    """Return every key of the case file, table by table."""
    from lostneutral.case.schema import CaseFile

    return tuple(_keys(CaseFile, set()))


@cache
def unit_of(key: str) -> str:
    """Return the unit of the values of `key` ("" where there is none); KeyError if no table has such a key.

    A key has the same unit in every table; where it is a number in one and text in another, the number's unit counts.
    """
    found = {entry.unit for entry in keys() if entry.name == key}
    if not found:
        raise KeyError(key)
    return next(iter(sorted(found - {""})), "")


def _keys(model: type[BaseModel], seen: set[type[BaseModel]]) -> Iterator[Key]:
    if model in seen:
        return
    seen.add(model)
    table = model.__name__.removesuffix("Entry")
    for name, field in model.model_fields.items():
        notes = [note for note in notes_of(field) if isinstance(note, Allowed)]
        units = {note.unit for note in notes} or {_unit_within(m) for m in _models(field)}
        words = [note.text for note in notes] or [f"one of {', '.join(map(str, _choices(field.annotation)))}"]
        yield Key(table, field.alias or name, next((u for u in sorted(units) if u), ""),
                  " or ".join(dict.fromkeys(words)).removesuffix("one of ") or "a table", field.description or "")
        for inner in _models(field):
            yield from _keys(inner, seen)


def _choices(annotation: Any) -> Iterator[str]:
    if get_origin(annotation) is Literal:
        yield from map(str, get_args(annotation))
    else:
        for part in get_args(annotation):
            yield from _choices(part)


def _unit_within(model: type[BaseModel]) -> str:
    """Return the unit that all figures of a table share ("" if they do not), as of a spread of powers."""
    units = {note.unit for field in model.model_fields.values() for note in notes_of(field) if isinstance(note, Allowed)} - {""}
    return units.pop() if len(units) == 1 else ""


def _models(field: Any) -> Iterator[type[BaseModel]]:
    for found in tables_of(field):
        yield from found.values() if isinstance(found, TablesByName) else [found]
