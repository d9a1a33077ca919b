"""Values as people write them. Kind: practice, what is usual on lists and plates."""


import pytest

from lostneutral.desk.fields import field, fields, kind_fields
from lostneutral.desk.plates import number, pair, truth


@pytest.mark.parametrize(("text", "unit", "value"), [
    ("2.2 kW", "W", 2200.0), ("2,2 kW", "W", 2200.0), ("1,5", "W", 1.5), ("230 V", "V", 230.0), ("230V~", "V", "230V~"), ("60W", "W", 60.0),
    ("1 200 W", "W", 1200.0), ("1'200", "W", 1200.0), ("1,234.5", "W", 1234.5), ("1.234,5", "W", 1234.5), ("1.200 kW", "W", 1200.0),
    ("2,5 mm2", "mm²", 2.5), ("32 m", "m", 32.0), ("45 cm", "m", 0.45), ("250 mΩ", "ohm", 0.25), ("1 MΩ", "ohm", 1e6), ("10 min", "s", 600.0),
    ("1 h", "s", 3600.0), ("abc", "W", "abc"), ("-3", "V", -3.0), ("−3 V", "V", -3.0), ("5 potatoes", "W", "5 potatoes"), ("", "W", ""),
    ("2 kV", "W", "2 kV"), ("1e3", "W", "1e3"), ("٣٠", "W", 30.0)])
def test_numbers(text, unit, value):
    assert number(text, unit).value == value


def test_a_current_is_a_power_at_the_voltage_beside_it_and_says_so():
    assert number("6 A", "W", 230.0).value == 1380 and "power factor 1" in number("6 A", "W", 230.0).note
    assert number("500 mA", "W", 230.0).value == 115
    assert number("6 A", "W").value == "6 A"
    assert number("12 VA", "W").value == 12 and "power factor 1" in number("12 VA", "W").note


@pytest.mark.parametrize("text", ["1,200", "1.200", "1,200 W", "12.345 W"])
def test_what_can_be_read_in_two_ways_is_not_guessed(text):
    assert number(text, "W").value == text and "can be read as" in number(text, "W").note


def test_switches_and_pairs():
    assert [truth(t).value for t in ("on", "Off", "?", "", "perhaps")] == [True, False, None, None, "perhaps"]
    assert pair("0.03; 0.02", ("ohm", "ohm")).value == [0.03, 0.02] == pair("[0.03, 0.02]", ("ohm", "ohm")).value
    assert pair("0,03 0,02", ("ohm", "ohm")).value == [0.03, 0.02] and pair("7", ("ohm", "ohm")).value == "7"


def test_every_key_of_what_the_desk_shows_is_a_field_with_the_schemas_words():
    from lostneutral.case import exhibits_schema, schema, seen_schema, wiring_schema
    from lostneutral.case.values import tables_of

    def in_the_file(model):
        """The keys that are no tables themselves: those are kept as they are, and not shown."""
        return {entry.alias or name for name, entry in model.model_fields.items() if not any(tables_of(entry))}

    for table, model in (("supply", schema.SupplyEntry), ("point", wiring_schema.PointEntry), ("cable", wiring_schema.CableEntry), ("break", wiring_schema.BreakEntry),
                         ("observation", seen_schema.ObservationEntry), ("test", exhibits_schema.TestEntry), ("document", exhibits_schema.DocumentEntry),
                         ("photo", exhibits_schema.PhotoEntry)):
        assert {f.key for f in fields(table)} == in_the_file(model), table
    assert field("point", "electrode").label == "Local earth electrode, ohm" and field("point", "electrode").unit == "ohm"
    orders = next(f for f in kind_fields("harmonic") if f.key == "orders")
    assert orders.read("3; 5 7").value == [3, 5, 7] and orders.shown([3, 5]) == "3; 5"
    assert {f.key for f in kind_fields("lamp")} == {"power", "technology", "colour_temperature"}
