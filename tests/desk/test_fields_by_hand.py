"""What is typed into a field, and what stands in it afterwards. Kind of all: practice, what people type; behaviour laid down where that is open."""

from datetime import date, datetime

import pytest

from lostneutral.desk import plates
from lostneutral.desk.fields import Field, field, fields, kind_fields
from lostneutral.desk.plates import Read, number


@pytest.mark.parametrize(("sort", "text", "value"), [
    ("text", "  L1-N ", "L1-N"), ("text", "   ", None), ("long", " two\nlines ", " two\nlines "), ("number", "0,05 kW", 50.0), ("number", "no", "no"),
    ("whole", "3x", 3), ("whole", "3 ×", 3), ("whole", "2.5", 2.5), ("whole", "some", "some"), ("truth", "yes", True), ("truth", "not in use", False),
    ("numbers", "3; 5 7", [3, 5, 7]), ("numbers", "[3, 2.5]", [3, 2.5]), ("numbers", "3; x", "3; x"), ("joint", " Open ", "open"), ("joint", "20 mΩ", 0.02), ("joint", "bad", "bad"),
    ("when", "2025-09-19", date(2025, 9, 19)), ("when", "2025-09-19 11:40", datetime(2025, 9, 19, 11, 40)), ("when", "last autumn", "last autumn"),
    ("lines", "L1, L2;L3", ["L1", "L2", "L3"]), ("any", "0.3 Ω", "0.3 Ω"), ("any", "0.3", 0.3), ("any", "> 200", "> 200"), ("choice", "TT", "TT")])
def test_what_a_text_is_taken_for(sort, text, value):
    found = Field("key", "Label", "", sort, "W" if sort == "number" else "").read(text)
    assert found.value == value and type(found.value) is type(value)


def test_pairs_are_taken_in_the_units_of_the_field():
    assert Field("z", "", "", "pair", units=("ohm", "ohm")).read("30 mΩ; 0,02").value == [0.03, 0.02]
    assert Field("z", "", "", "pair", units=("V", "degrees")).read("(230, -120)").value == [230.0, -120.0]
    assert plates.pair("1;2;3", ("V", "V")).value == "1;2;3" and plates.pair("1; x", ("V", "V")).value == "1; x"


def test_a_note_comes_with_what_was_taken():
    watts = Field("power", "", "", "number", "W")
    assert watts.read("6 A", 230.0) == Read(1380.0, "6 A × 230 V, power factor 1 taken") and watts.read("6 A") == Read("6 A", "a current needs the rated voltage beside it")
    assert Field("count", "", "", "whole").read("1,200").note == "1,200 can be read as 1.2 or as 1200: write it without the mark"


@pytest.mark.parametrize(("value", "text"), [
    (None, ""), (True, "yes"), (False, "no"), (230.0, "230"), (0.05, "0.05"), (123456.789, "123456.789"), (date(2025, 9, 19), "2025-09-19"),
    (datetime(2025, 9, 19, 11, 40, 5), "2025-09-19 11:40"), ([0.03, 0.02], "0.03; 0.02"), ((1, True), "1; yes"), ("open", "open")])
def test_what_stands_in_a_field(value, text):
    assert plates.shown(value) == text == Field("key", "", "", "text").shown(value)


def test_lines_stand_with_blanks_between_them():
    assert Field("phases", "", "", "lines").shown(["L1", "L3"]) == "L1 L3" and Field("phases", "", "", "lines").shown("L1") == "L1"


def test_fields_of_a_table_are_what_the_schema_says():
    resistance, earthing, connect = field("break", "resistance"), field("supply", "earthing"), field("load", "connect")
    assert (resistance.sort, earthing.sort, field("load", "count").sort, field("load", "on").sort) == ("joint", "choice", "whole", "truth")
    assert "TN-C-S" in earthing.choices and field("load", "on").choices == ("yes", "no") and connect.label[:1].isupper()
    assert field("point", "phases").sort == "lines" and field("", "description").sort == "long" and field("", "date").sort == "when"
    assert field("load", "name").required and not field("load", "count").required and kind_fields("no such kind") == ()
    assert {f.sort for f in fields("cable")} >= {"number"} and field("cable", "length").unit == "m"
    assert next(f for f in kind_fields("electronic") if f.key == "protection").sort == "any" == field("test", "value").sort
    assert {field("observation", key).sort for key in ("reference", "with_on", "with_off")} == {"text"}  # names are no numbers, several or not
    assert not {"name", "connect", "point"} & {f.key for f in kind_fields("heater")}


# Figures as people write them

@pytest.mark.parametrize(("text", "unit", "value"), [
    ("1.200.000", "W", 1.2e6), ("1.2.3", "W", "1.2.3"), ("12 34", "W", "12 34"), (".5", "W", 0.5), ("5.", "W", 5.0), ("1.234.567,5", "W", 1234567.5), ("0.125", "W", 0.125),
    ("1234.567", "W", 1234.567), ("2 MW", "W", 2e6), ("3 km", "m", 3000.0), ("5 mm", "m", 0.005), ("2 m", "s", "2 m"), ("3 d", "s", 259200.0), ("-1.5 kV", "V", -1500.0),
    ("2 kVA", "W", 2000.0), ("2,0 kA", "W", "2,0 kA"), ("100 nF", "F", 1e-7), ("50Hz", "Hz", 50.0), ("5 Mm", "m", 0.005), ("5 MM", "m", 0.005), ("5 µm", "m", 5e-6), ("2 MV", "V", 2e6), ("3 mm", "mm", 3.0), ("30°", "degrees", 30.0), ("7 W.", "W", 7.0)])
def test_figures(text, unit, value):
    found = number(text, unit).value
    assert found == (pytest.approx(value) if isinstance(value, float) else value)


@pytest.mark.parametrize(("text", "power", "voltage"), [
    ("2.2 kW 400 V", "2.2 kW", "400 V"), ("220-240V~ 50/60 Hz 45 W", "45 W", ""), ("220–240 V 45 W", "45 W", ""), ("230-240 V", "", ""),
    ("200/230 V; 1 A", "1 A", ""), ("1 kV", "", "1 kV"), ("12 VA", "12 VA", ""), ("AC 230V 6 A", "6 A", "230V")])
def test_plates(text, power, voltage):
    assert plates.plate(text, 230.0) == (power, voltage)
