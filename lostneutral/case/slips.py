"""Common slips in a file that is not TOML: what was probably meant, and what to type instead."""

import re
from datetime import date

NUMBER = r"[+-]?\d+"
VALUE = r"(?:^|[=\[,{])\s*"  #: what stands before a value
TRUTHS = {"True": "true", "TRUE": "true", "False": "false", "FALSE": "false", "yes": "true", "Yes": "true", "YES": "true",
          "no": "false", "No": "false", "NO": "false", "on": "true", "off": "false", "None": "", "null": "", "nan,": ""}
UNITS = {"W": 1.0, "kW": 1e3, "MW": 1e6, "VA": 1.0, "kVA": 1e3, "V": 1.0, "kV": 1e3, "A": 1.0, "mA": 1e-3, "ohm": 1.0,
         "ohms": 1.0, "Ω": 1.0, "kΩ": 1e3, "mΩ": 1e-3, "m": 1.0, "km": 1e3, "cm": 1e-2, "mm": 1.0, "mm²": 1.0, "mm2": 1.0,
         "Hz": 1.0, "s": 1.0, "ms": 1e-3, "min": 60.0, "h": 3600.0, "°C": 1.0, "C": 1.0, "K": 1.0, "%": 1e-2, "var": 1.0}
"""Unit that may stand behind a number -> what the number is to be multiplied by."""


def slip(text: str, line: int, words: str) -> str:
    """Return what to type instead in `line` (counted from 1) of `text`, which is not TOML because of `words`; "" if unknown."""
    lines = text.split("\n")
    here = lines[line - 1].rstrip("\r") if 0 < line <= len(lines) else ""
    # A text that is not closed is noticed at its end; a line that ends nowhere is noticed on the next one.
    near = [here] + ([lines[line - 2]] if line > 1 and not here.strip() else [])
    return next((hint for each in near for find in SLIPS if (hint := find(_without_comment(each), words))), "")


def _without_comment(line):
    kept, inside = "", ""
    for character in line:
        if character in "\"'":
            inside = "" if inside == character else inside or character
        if character == "#" and not inside:
            break
        kept += character
    return kept.rstrip()


def _bare(line):
    """Return `line` with what stands in straight quotes taken out."""
    return re.sub(r"\"(?:[^\"\\]|\\.)*\"|'[^']*'", '""', line)


def _curly(line, words):
    if re.search("[“”„‟«»‘’‚′″]", _bare(line)):
        return 'text goes between straight quotes, "…"; a word processor makes them curly, a plain text editor does not'
    return ""


def _date(line, words):
    found = re.search(VALUE + r"(\d{1,2})([./-])(\d{1,2})\2(\d{4})\b", _bare(line))
    if not found:
        return ""
    first, second, year = int(found[1]), int(found[3]), found[4]
    if max(first, second) > 12 or found[2] == ".":
        day, month = (first, second) if second <= 12 else (second, first)
        return f"a date is year-month-day, without quotes: {year}-{month:02}-{day:02}"
    return f"a date is year-month-day, without quotes, such as {year}-12-31"


def _decimal_comma(line, words):
    found = re.search(VALUE + rf"({NUMBER}),(\d+)\s*(?=$|[,}}\]])", _bare(line))
    if not found or ("[" in line and "=" not in line):
        return ""
    return f"a decimal point, not a comma: {found[1]}.{found[2]}"


def _thousands(line, words):
    found = re.search(VALUE + r"(\d{1,3}(?:[  '’ ]\d{3})+)\s*(?=$|[,}\]])", _bare(line))
    return f"digits without spaces: {re.sub('[^0-9]', '', found[1])}" if found else ""


def _point_alone(line, words):
    found = re.search(VALUE + r"(?:([+-]?\d+)\.|([+-]?)\.(\d+))\s*(?=$|[,}\]])", _bare(line))
    if not found:
        return ""
    return "digits on both sides of the decimal point: " + (f"{found[1]}.0" if found[1] else f"{found[2]}0.{found[3]}")


def _unit(line, words):
    found = re.search(VALUE + r"([+-]?\d+(?:[.,]\d+)?)\s*([A-Za-zΩ°%µ][\w²°Ω%]*)\s*(?=$|[,}\]])", _bare(line))
    if not found or found[2] not in UNITS:
        return ""
    value = float(found[1].replace(",", ".")) * UNITS[found[2]]
    return f"a number without its unit, which is fixed (W, V, A, ohm, m, mm², s): {value:.12g}"


def _truth(line, words):
    found = re.search(VALUE + r"([A-Za-z]+)\s*(?=$|[,}\]])", _bare(line))
    if not found or found[1] not in TRUTHS:
        return ""
    word = TRUTHS[found[1]]
    return f"in small letters, without quotes: {word}" if word else "a key without a value is left out, with its whole line"


def _twice(line, words):
    double = re.match(r"\s*\[\[\s*([\w-]+)\s*\]\]", line)
    if double and words.startswith("Cannot"):
        return f"[{double[1]}] stands further up; each of several begins with double brackets: [[{double[1]}]]"
    name = re.match(r"\s*\[\s*([\w-]+)\s*\]", line)
    if name and words.startswith("Cannot"):
        return f"[{name[1]}] stands there twice; of what there may be several, each begins with double brackets: [[{name[1]}]]"
    if words.startswith("Cannot overwrite"):
        return "this key stands twice in one table; is the line that begins the next table missing, such as [[load]]?"
    return ""


def _bracket(line, words):
    name = re.fullmatch(r"\s*(\[{1,2})\s*([\w.-]+)\s*(\]{0,2})\s*", line)
    if name and len(name[1]) != len(name[3]):
        two = "[[" if len(name[1]) == 2 or len(name[3]) == 2 else "["
        return f"as many brackets behind as before: {two}{name[2]}{two.replace('[', ']')}"
    return ""


def _equals(line, words):
    found = re.match(r"\s*([\w-]+)\s*(:|:=|\s)\s*([^\s\"']+|\".*\"|'.*')$", line)
    if found and "=" not in _bare(line):
        return f"a key, =, its value, such as {found[1]} = {found[3][:40]}"
    return ""


def _quote(line, words):
    found = re.match(r"\s*(?:([\w.-]+)\s*=\s*)?(.*)$", line)
    key, value = found[1], found[2].strip()
    if "\\" in value and "escape" in words.lower():
        return "in text between double quotes a backslash is written twice, \\\\; a forward slash / serves for folders"
    if key and value and value.count('"') == 1 and value[0] in '"' or value[-1:] == '"' and value.count('"') == 1:
        inner = value.replace('"', "").strip()
        return f'a quote is missing: {key + " = " if key else ""}"{inner}"'
    if value.startswith("'") and value.count("'") == 1:
        return f'a quote is missing: {key + " = " if key else ""}"{value[1:]}"'
    if key and re.match(r"[^\W\d]", value):
        return f'text goes between quotes: {key} = "{value}"'
    return ""


def _inner_quote(line, words):
    value = line.partition("=")[2].strip()
    for quote, other in (('"', "'"), ("'", '"')):
        if value[:1] == quote and value.count(quote) > 2 or value[:1] == quote == "'" and value.count(quote) == 3:
            return f"a text that holds {quote} goes between {other}" if other not in value else \
                f"a text cannot hold the quotes it stands between: {quote}"
    return ""


def _open_list(line, words):
    bare = _bare(line)
    if bare.count("{") > bare.count("}"):
        return "what stands between { and } goes on one line"
    if bare.count("[") > bare.count("]") and "=" in bare:
        return "a closing ] is missing"
    return ""


def _missing(line, words):
    found = re.fullmatch(r"\s*([\w-]+)\s*=\s*", line)
    return f"the value of {found[1]} is missing; a key without a value is left out, with its whole line" if found else ""


def _comment(line, words):
    return "a comment begins with #" if re.match(r"\s*(//|;|--|/\*)", line) else ""


SLIPS = (_comment, _twice, _curly, _date, _truth, _decimal_comma, _thousands, _point_alone, _unit, _missing, _bracket, _equals,
         _quote, _inner_quote, _open_list)
"""Each looks at the line without its comment and at what the parser said; the first that knows answers."""


def value_slip(value, wanted: str):
    """Return the value that was probably meant by `value` where a "number", a "truth" or a "date" is wanted, or None.

    >>> value_slip("2,2", "number"), value_slip("230 V", "number"), value_slip("True", "truth"), value_slip("31.5.2024", "date")
    (2.2, 230, True, datetime.date(2024, 5, 31))
    """
    if not isinstance(value, str):
        return None
    if wanted == "truth":
        return {"true": True, "false": False}.get(TRUTHS.get(value, value.casefold()))
    if wanted == "date":
        found = re.fullmatch(r"\s*(\d{1,2})([./-])(\d{1,2})\2(\d{4})\s*", value)
        first, second = (int(found[1]), int(found[3])) if found else (0, 0)
        if not found or (max(first, second) <= 12 and found[2] != "."):
            return None
        day, month = (first, second) if second <= 12 else (second, first)
        try:
            return date(int(found[4]), month, day)
        except ValueError:
            return None
    found = re.fullmatch(r"\s*([+-]?\d+(?:[.,]\d+)?)\s*([A-Za-zΩ°%µ][\w²°Ω%]*)?\s*", value)
    if not found or (found[2] or "W") not in UNITS:
        return None
    number = float(found[1].replace(",", ".")) * UNITS[found[2] or "W"]
    return int(number) if number == int(number) else float(f"{number:.12g}")
