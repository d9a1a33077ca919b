"""The one table of keys. Kind of all checks: invariant."""

import re

import pytest

from lostneutral.case import case_schema
from lostneutral.case.keys import keys, unit_of
from lostneutral.case.load_schema import KINDS


def test_every_key_has_its_meaning_and_what_it_takes():
    assert not [(key.table, key.name) for key in keys() if not key.meaning or not key.allowed]


def test_units_are_those_that_the_schema_tells():
    told = str(case_schema())
    for key in keys():
        if key.unit and key.unit != "multiples of the rated voltage":
            assert re.search(rf"{re.escape(key.unit)}|degrees", told), key


def test_a_key_of_loads_has_one_unit_in_every_kind():
    """`power` of a charger and of a lamp are read, listed and drawn by one unit."""
    tables = {model.__name__.removesuffix("Entry") for kind, model in KINDS.items() if kind != "appliance"}
    for name in {key.name for key in keys() if key.table in tables}:
        assert len({key.unit for key in keys() if key.name == name and key.table in tables}) == 1, name


@pytest.mark.parametrize(("key", "unit"), [("power", "W"), ("area", "mm²"), ("supply_voltage", "V"), ("resistance", "ohm"),
                                           ("kind", ""), ("element_temperature", "°C")])
def test_units_by_name(key, unit):
    assert unit_of(key) == unit
