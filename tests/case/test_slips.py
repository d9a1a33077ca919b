"""Slips of people who never met TOML: what to type instead. What is usual of a value: a warning, and the case is taken."""

import pytest

from lostneutral import data
from lostneutral.case import parse_case
from lostneutral.case.slips import slip
from lostneutral.errors import CaseError

HEAD = 'title = "t"\n[supply]\n'
LAMP = '[[load]]\nname = "lamp"\nkind = "lamp"\nconnect = "L1-N"\npower = 60\n'
BARE = LAMP.replace("power = 60\n", "")

# Practice: slips seen in forms and spreadsheets; each text -> what the one message has to hold.
SLIPS = {
    "decimal comma": (HEAD + BARE + "power = 2,2\n", "a decimal point, not a comma: 2.2"),
    "decimal comma within braces": (HEAD + '[[point]]\nname = "a"\ncable = { length = 2,5, area = 16 }\n' + LAMP, "not a comma: 2.5"),
    "decimal commas in a pair": (HEAD + "line_impedance = [0,1, 0,2]\n" + LAMP, "with decimal points, not commas"),
    "decimal comma in quotes": (HEAD + BARE + 'power = "2,2"\n', "did you mean 2.2?"),
    "day first": ('title = "t"\ndate = 31.05.2024\n[supply]\n' + LAMP, "2024-05-31"),
    "day first in quotes": ('title = "t"\ndate = "31.05.2024"\n[supply]\n' + LAMP, "did you mean 2024-05-31?"),
    "month first": ('title = "t"\ndate = 05/31/2024\n[supply]\n' + LAMP, "2024-05-31"),
    "day or month first": ('title = "t"\ndate = 05/06/2024\n[supply]\n' + LAMP, "a date is year-month-day"),
    "curly quotes": ("title = “t”\n[supply]\n" + LAMP, "straight quotes"),
    "True": (HEAD + LAMP + "on = True\n", "in small letters, without quotes: true"),
    "no": (HEAD + LAMP + "on = no\n", "in small letters, without quotes: false"),
    "true in quotes": (HEAD + LAMP + 'on = "true"\n', "did you mean true?"),
    "[load] twice": (HEAD + (LAMP + LAMP).replace("[[", "[").replace("]]", "]"), "double brackets: [[load]]"),
    "[load], then [[load]]": (HEAD + LAMP.replace("[[", "[").replace("]]", "]") + LAMP, "double brackets: [[load]]"),
    "last quote lost": (HEAD + LAMP.replace('"lamp"\nk', '"lamp\nk'), 'a quote is missing: name = "lamp"'),
    "first quote lost": (HEAD + LAMP.replace('= "lamp"\nk', '= lamp"\nk'), 'a quote is missing: name = "lamp"'),
    "no quotes": (HEAD + LAMP.replace('= "lamp"\nk', "= Hall lamp\nk"), 'text goes between quotes: name = "Hall lamp"'),
    "quotes within": ('title = "The "old" house"\n[supply]\n' + LAMP, 'a text that holds " goes between \''),
    "unit": (HEAD + BARE + "power = 2.2 kW\n", "a number without its unit, which is fixed (W, V, A, ohm, m, mm², s): 2200"),
    "unit in quotes": (HEAD + BARE + 'power = "2.2 kW"\n', "did you mean 2200?"),
    "point at the end": (HEAD + BARE + "power = 60.\n", "60.0"),
    "point at the start": (HEAD + BARE + "power = .5\n", "0.5"),
    "thousands": (HEAD + BARE + "power = 1 000\n", "digits without spaces: 1000"),
    "no value": (HEAD + BARE + "power = \n", "the value of power is missing"),
    "colon": (HEAD + BARE + "power: 60\n", "such as power = 60"),
    "bracket lost": (HEAD + LAMP.replace("[[load]]", "[[load]"), "as many brackets behind as before: [[load]]"),
    "braces over lines": (HEAD + '[[point]]\nname = "a"\ncable = {\nlength = 2 }\n' + LAMP, "goes on one line"),
    "slashes": (HEAD + "// the street\n" + LAMP, "a comment begins with #"),
    "folder": ('title = "t"\ndescription = "c:\\pictures"\n[supply]\n' + LAMP, "a backslash is written twice"),
    "IT": (HEAD + 'earthing = "IT"\n' + LAMP, "an IT supply is outside what is calculated here"),
    "PEN in TN-S": (HEAD + 'earthing = "TN-S"\n[[break]]\nconductor = "PEN"\n' + LAMP, "neutral and earth are separate in it"),
    "PEN of unknown earthing": (HEAD + '[[break]]\nconductor = "PEN"\n' + LAMP, "a PEN needs supply.earthing"),
}


@pytest.mark.parametrize("name", SLIPS)
def test_a_slip_is_told_with_what_to_type(name):
    text, words = SLIPS[name]
    with pytest.raises(CaseError) as caught:
        parse_case(text, "f")
    (fault,) = caught.value.faults
    assert words in fault
    assert fault.isprintable()


def test_a_comma_within_a_list_on_a_line_of_its_own_separates():
    for line, hint in (("x = 0,1", "a decimal point"), ("x = [0,1", "a decimal point"), ("  0,1,", "a decimal point"), ("  [0,1],", "")):
        assert slip(line, 1, "").startswith(hint) and bool(slip(line, 1, "")) is bool(hint)


@pytest.mark.parametrize("word", [w for words in data.load("synonyms")["earthing"].values() for w in words])
def test_other_words_of_earthing_are_understood(word):
    meant = next(key for key, words in data.load("synonyms")["earthing"].items() if word in words)
    case = parse_case(HEAD + f'earthing = "{word.lower()}"\n' + LAMP)
    assert case.supply.earthing == meant
    assert any("is understood as" in w for w in case.warnings)


def test_a_pen_by_its_name_is_the_neutral_of_its_run():
    """Invariant: a case that says PEN is the case that says N."""
    text = HEAD + 'earthing = "PME"\n' + LAMP + '[[break]]\nconductor = "{0}"\n[[cross]]\nconductors = ["L1", "{0}"]\n' \
        '[[unknown]]\nbreak = "intake"\nconductor = "{0}"\nresistance = {{ low = 1, high = 2 }}\n' \
        '[[observation]]\nbetween = "L1-{0}"\nvoltage = 200\n[[event]]\ntime = 1\nbreak = "intake"\nconductor = "{0}"\n'
    pen, n = parse_case(text.format("PEN")), parse_case(text.format("N"))
    for part in ("breaks", "crosses", "unknowns", "events"):
        assert getattr(pen, part) == getattr(n, part)
    assert pen.observations[0].between == ("L1", "N")


def load(connect="L1-N", **keys):
    keys = {"name": "thing", "kind": "resistive", "connect": connect, "power": 100} | keys
    return "[[load]]\n" + "".join(f'{k} = "{v}"\n' if isinstance(v, str) else f"{k} = {v}\n" for k, v in keys.items())


POINT = '[[point]]\nname = "a"\n'
# Practice: what an electrician would call out on reading it; the text -> what the one warning has to hold.
UNLIKELY = {
    "kettle of 2.2 W": (HEAD + load(name="Kettle", power=2.2), ("2.2 W", "1500 to 3000 W", "in kW? Then 2200")),
    "appliance of 3 MW": (HEAD + load(kind="appliance", model="kettle", power=3e6), ("a thousand times too much? Then 3000",)),
    "motor of 5.5 W": (HEAD + load("L1-L2-L3", kind="motor", power=5.5), ("in kW? Then 5500",)),
    "delta motor for 230 V on 400 V": (HEAD + load("L1-L2-L3", kind="motor", power=3000, voltage=230),
                                       ("a rated voltage of 230 V between lines, 400 V", "319 to 498 V", "The key is the voltage between lines: 400")),
    "400 V from line to neutral": (HEAD + load(voltage=400), ("184 to 288 V", "Then 230; or is it connected line to line?")),
    "rated for 0.23 kV": (HEAD + load(voltage=0.23), ("0.23 V from line to neutral, 230 V", "184 to 288 V", "in kV? Then 230")),
    "rated for 0.4 kV": (HEAD + load("L1-L2-L3", kind="motor", power=3000, voltage=0.4), ("between lines, 400 V", "in kV? Then 400")),
    "rated for 100 V": (HEAD + load(voltage=100), ("184 to 288 V", "its rated voltage?")),
    "supply of 400 V": (HEAD + "nominal = 400\n" + load(), ("IEC 60038", "the voltage between the lines? Line to neutral that is 231")),
    "supply of 208 V": (HEAD + "nominal = 208\n" + load(), ("Line to neutral that is 120",)),
    "supply of 0.23 kV": (HEAD + "nominal = 0.23\n" + load(voltage=0.23), ("in kV? Then 230",)),
    "split-phase of 240 V": (HEAD + 'system = "split-phase"\nnominal = 240\n' + load(), ("Line to neutral that is 120",)),
    "voltage of 400 V": (HEAD + "voltage = 400\n" + load(), ("far from its nominal", "write voltage = 230.9")),
    "25 Hz": (HEAD + "frequency = 25\n" + load(), ("50 or 60 Hz",)),
    "2 km of 1.5 mm²": (HEAD + POINT + "cable = { length = 2000, area = 1.5 }\n" + load(), ("2000 m of 1.5 mm²", "up to 200 m", "242 V")),
    "source of 24 ohm": (HEAD + "line_impedance = [24, 10]\n" + load(), ("in milliohm? Then [0.024, 0.01]",)),
    "cable of 48 ohm": (HEAD + POINT + "cable = { line = [48, 0] }\n" + load(), ("in milliohm? Then [0.048, 0]",)),
    "electrode of 0.02 ohm": (HEAD + 'earthing = "TT"\n' + POINT + "electrode = 0.02\n" + load(), ("in kilohm? Then 20",)),
    "electrode of 1 Mohm": (HEAD + 'earthing = "TT"\n' + POINT + "electrode = 1e6\n" + load(), ("in ohm?",)),
    "transformer of 400 VA": (HEAD + "[supply.transformer]\nrated_power = 400\n" + load(), ("in kVA? Then 400000",)),
    "one warning for a group": (HEAD + '[[group]]\nname = "cottage"\ncount = 9\n[[group.load]]\nname = "kettle"\nkind = "resistive"\npower = 2\n',
                                ("group[1].load[1].power", "Then 2000")),
}


@pytest.mark.parametrize("name", UNLIKELY)
def test_an_unlikely_value_is_warned_of_and_taken(name):
    text, wanted = UNLIKELY[name]
    (warning,) = parse_case(text).warnings
    assert all(words in warning for words in wanted), warning


def test_two_kilometres_lose_what_ohms_law_says():
    """Independent: 12.1 ohm/km (IEC 60228, 1.5 mm² copper) times 2 km, there and back, times 5 A = 242 V."""
    assert 2 * 12.1 * 2 * 5 == pytest.approx(242)


@pytest.mark.parametrize("text", [
    HEAD + load("L1-L2-L3", kind="motor", power=3000, voltage=400), HEAD + "nominal = 277\nfrequency = 60\n" + load(),
    HEAD + load(name="Soldering iron", power=40), HEAD + "nominal = 24\n" + load(power=5), HEAD + load(voltage=240),
    HEAD + POINT + "cable = { length = 150, area = 2.5 }\n" + load()])
def test_what_is_usual_is_not_warned_of(text):
    assert parse_case(text).warnings == ()
