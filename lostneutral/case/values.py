"""The kinds of value that keys of the case file take: each refuses what it does not allow and says what it does."""

import re
from collections.abc import Mapping
from datetime import date, datetime
from importlib import import_module
from math import inf
from typing import Annotated, Any, Literal, Union, get_args

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints, TypeAdapter, WithJsonSchema
from pydantic_core import PydanticCustomError, core_schema

from lostneutral import data
from lostneutral.frozen import dataclass


class Entry(BaseModel):
    """A table of the case file: no unknown key, no conversion of types, no nan or inf."""

    model_config = ConfigDict(
        strict=True, extra="forbid", frozen=True, allow_inf_nan=False, defer_build=True,
        model_title_generator=lambda model: model.__name__.removesuffix("Entry"),
        field_title_generator=lambda name, field: field.alias or name)


class TablesByName(Mapping):
    """Models of tables by name, each given by its place in this package, as "module:class", and imported when it is asked for."""

    def __init__(self, places):
        self._places = places

    def __getitem__(self, name):
        return table_at(self._places[name])

    def __contains__(self, name):
        return name in self._places

    def __iter__(self):
        return iter(self._places)

    def __len__(self):
        return len(self._places)


def table_at(place):
    """Return the model at `place`, "module:class"."""
    module, _, name = place.partition(":")
    return getattr(import_module(f"lostneutral.case.{module}"), name)


class Later:
    """Beside the type of a table: its model, or the place of it, is asked for and its validator built when the first such table is met.

    To import and build all of them takes longer than an ordinary case.
    """

    def __init__(self, model):
        self._model = model

    @property
    def model(self):
        return table_at(self._model) if isinstance(self._model, str) else self._model

    def __get_pydantic_core_schema__(self, source, handler):
        return core_schema.no_info_plain_validator_function(lambda value: self.model.model_validate(value))

    def __get_pydantic_json_schema__(self, schema, handler):
        return handler(core_schema.list_schema(TypeAdapter(self.whole).core_schema))["items"]  # by itself it would not be named

    @property
    def whole(self):
        """The type with everything in it."""
        return self.model


class OneOf(Later):
    """The same of a table that is one of several `TablesByName` by its `kind`."""

    def __get_pydantic_core_schema__(self, source, handler):
        return core_schema.tagged_union_schema(
            {kind: core_schema.no_info_plain_validator_function(lambda value, kind=kind: self.model[kind].model_validate(value))
             for kind in self.model}, "kind")

    @property
    def whole(self):
        return Annotated[Union[tuple(self.model.values())], Field(discriminator="kind")]  # noqa: UP007 - they are not named here


def later(model):
    """Return the type of a table of `model`, or of that at the place `model`, which few cases have."""
    return Annotated[Any if isinstance(model, str) else model, Later(model)]


def later_list(model):
    """Return the type of an array of such tables."""
    return list[later(model)]


def notes_of(field):
    """Yield everything that stands beside the types of a model's `field`."""
    yield from field.metadata
    yield from _beside(field.annotation)


def tables_of(field):
    """Yield the models, or the `TablesByName` of such by kind, that a model's `field` takes."""
    later = [note.model for note in notes_of(field) if isinstance(note, Later)]
    yield from later or _models(field.annotation)


def _beside(annotation):
    yield from getattr(annotation, "__metadata__", ())
    for part in get_args(annotation):
        yield from _beside(part)


def _models(annotation):
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for part in get_args(annotation):
        yield from _models(part)


@dataclass(frozen=True)
class Allowed:
    """What a key takes, in words, for the messages."""

    text: str
    unit: str = ""


def number_between(unit, low, high):
    """Return the type of a number in `unit` from `low` to `high`."""
    return Annotated[float, Field(ge=low, le=high), Allowed(f"a number from {low:.15g} to {high:.15g}" + (f", in {unit}" if unit else ""), unit)]


OHM_MAX = 1e9  #: ohm; above it "open" is meant
Ohm = number_between("ohm", 0.0, OHM_MAX)
Volt = number_between("V", 0.1, 1000.0)
Watt = number_between("W", 1e-3, 1e7)
Var = number_between("var", -1e7, 1e7)
Second = number_between("s", 0.0, 1e9)
Exponent = number_between("", -10.0, 10.0)
Multiple = number_between("multiples of the rated voltage", 0.0, 10.0)
Share = number_between("", 0.0, 1.0)
Truth = Annotated[bool, Allowed("true or false")]
Count = Annotated[int, Field(ge=1, le=100_000), Allowed("a whole number from 1 to 100000")]
Text = Annotated[str, Allowed("text between quotes")]
Name = Annotated[str, StringConstraints(min_length=1, max_length=200, pattern=r"^\S(.*\S)?$"),
                 Allowed("text of 1 to 200 characters on one line, with no space at either end")]
Title = Annotated[str, StringConstraints(min_length=1, max_length=500, pattern=r"\S"),
                  Allowed("text of 1 to 500 characters between quotes")]


def _complex(value):
    if isinstance(value, list) and len(value) == 2:
        return tuple(value)
    raise PydanticCustomError("pair", "is not a pair of numbers")


def pair(first, second, words):
    """Return the type of a pair of numbers, in words `words`."""
    return Annotated[tuple[first, second], BeforeValidator(_complex), Allowed(words)]


Impedance = pair(Ohm, number_between("ohm", -OHM_MAX, OHM_MAX), "[resistance, reactance], in ohm, resistance 0 or more")
Phasor = pair(Volt, number_between("degrees", -360.0, 360.0), "[magnitude in V, above 0; angle in degrees, −360 to 360]")


def _open(value):
    if value == "open":
        return inf
    if isinstance(value, (int, float)) and not isinstance(value, bool) and 0 <= value <= OHM_MAX:
        return float(value)
    raise PydanticCustomError("resistance", "cannot be a resistance")


JointResistance = Annotated[
    Any, BeforeValidator(_open), Allowed(f'"open", or a number from 0 (sound) to {OHM_MAX:.0e}, in ohm'),
    WithJsonSchema({"anyOf": [{"const": "open"}, {"type": "number", "minimum": 0, "maximum": OHM_MAX}]})]


def _date(value):
    if type(value) is date:
        return value.isoformat()
    try:
        return date.fromisoformat(value).isoformat()
    except (TypeError, ValueError):
        raise PydanticCustomError("date", "is not a date") from None


Date = Annotated[str, BeforeValidator(_date), Allowed("a date such as 2024-05-31"),
                 WithJsonSchema({"type": "string", "format": "date"})]



def _when(value):
    if isinstance(value, datetime):
        return value.isoformat(" ", "minutes")
    if type(value) is date:
        return value.isoformat()
    if isinstance(value, str) and 0 < len(value.strip()) <= 200:
        return value.strip()
    raise PydanticCustomError("when", "is not a date")


When = Annotated[str, BeforeValidator(_when), Allowed('a date such as 2024-05-31, with its time or in words: "31 May 2024, about 10 h"'),
                 WithJsonSchema({"type": "string"})]

def understood(choices, key):
    """Return the type of one of `choices`, a Literal, for which the data file `synonyms` has further words under `key`."""
    named = {_plain(word): value for value, words in data.load("synonyms")[key].items() for word in (*words, value)}
    options = get_args(choices)
    every = [*options, *(word for words in data.load("synonyms")[key].values() for word in words)]

    def read(value):
        known = isinstance(value, str) and value not in options
        return named.get(_plain(value), value) if known else value

    return Annotated[choices, BeforeValidator(read), WithJsonSchema({"type": "string", "enum": every})]


def _plain(word):
    return re.sub(r"[\s_-]+", "", word.casefold())


Line = Literal["L1", "L2", "L3"]
Conductor = Literal["N", "L1", "L2", "L3", "PE", "PEN"]
Connect = Literal["L1-N", "L2-N", "L3-N", "L1-L2", "L2-L3", "L3-L1", "L2-L1", "L3-L2", "L1-L3", "L1-L2-L3",
                  "L1-L2-L3-N",
                  "L1-PE", "L2-PE", "L3-PE", "N-PE"]
