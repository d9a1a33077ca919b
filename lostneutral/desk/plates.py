"""Values as people write them on lists and read them off rating plates: "2.2 kW", "1,5", "230 V", "6 A"."""

import re
from datetime import date, datetime

from lostneutral.frozen import dataclass

PREFIX = {"": 1.0, "k": 1e3, "K": 1e3, "M": 1e6, "m": 1e-3, "µ": 1e-6, "μ": 1e-6, "u": 1e-6, "n": 1e-9, "p": 1e-12}
UNITS = {"W": ("w", "watt", "watts"), "V": ("v", "volt", "volts"), "ohm": ("ohm", "ohms", "ω", "Ω"), "m": ("m", "metre", "metres", "meter"),
         "mm²": ("mm²", "mm2", "mm^2", "sqmm", "sq mm", "qmm"), "°C": ("°c", "c", "degc"), "s": ("s", "sec", "seconds"),
         "Hz": ("hz",), "A": ("a", "amp", "amps"), "F": ("f",), "var": ("var",), "K": ("k",), "mm": ("mm",), "degrees": ("°", "deg", "degrees")}
"""A unit of the case file -> how it is written; the case is looked at only where two would be alike."""
TIMES = {"min": 60.0, "mins": 60.0, "minute": 60.0, "minutes": 60.0, "h": 3600.0, "hour": 3600.0, "hours": 3600.0, "d": 86400.0,
         "day": 86400.0, "days": 86400.0}
NUMBER = re.compile(r"([+\-−]?)\s*(\d[\d\s'’.,]*|[.,]\d+)\s*(.*)", re.DOTALL)


@dataclass(frozen=True)
class Read:
    """What a text was taken for: `value` to be written (the text itself where it is no value), `note` what that rests on."""

    value: object
    note: str = ""


def number(text: str, unit: str = "", volts: float | None = None) -> Read:
    """Return the number in `text` in `unit` of the case file; the text itself where it is none.

    A current or an apparent power, for a power in W, is taken with power factor 1 at `volts`.

    >>> number("2.2 kW", "W").value, number("1,5", "W").value, number("10 min", "s").value
    (2200.0, 1.5, 600.0)
    >>> number("6 A", "W", 230.0)
    Read(value=1380.0, note='6 A × 230 V, power factor 1 taken')
    """
    found = NUMBER.fullmatch(text.strip())
    if not found:
        return Read(text)
    sign, digits, rest = found[1], found[2].strip(), " ".join(found[3].split()).rstrip(".")
    figure, note = _figure(digits, rest)
    if figure is None:
        return Read(text, note)
    figure = -figure if sign in ("-", "−") else figure
    scale, more = _scale(rest, unit, volts)
    if scale is None:
        return Read(text, more)
    if more:
        more = f"{figure:g} {rest} {more}"
    return Read(float(f"{figure * scale:.12g}"), more)


def _figure(digits, rest):
    """Return (number, note); None where it can be read in two ways."""
    plain = re.sub(r"[\s'’](?=\d{3}(\D|$))", "", digits)
    if re.search(r"\s", plain):
        return None, ""
    marks = re.findall(r"[.,]", plain)
    if len(set(marks)) == 2:  # the last is the decimal mark
        last = max(plain.rfind("."), plain.rfind(","))
        return float(re.sub(r"[.,]", "", plain[:last]) + "." + plain[last + 1:]), ""
    if len(marks) > 1:
        return (float(re.sub(r"[.,]", "", plain)), "") if re.fullmatch(r"\d{1,3}([.,]\d{3})+", plain) else (None, "")
    if re.fullmatch(r"[1-9]\d{0,2}[.,]\d{3}", plain) and not re.match(r"[kKM]", rest):
        return None, f"{plain} can be read as {float(plain.replace(',', '.')):g} or as {re.sub('[.,]', '', plain)}: write it without the mark"
    return float(plain.replace(",", ".").rstrip(".") or 0), ""


def _scale(rest, unit, volts):
    """Return (factor to `unit`, note's end), or (None, why not)."""
    if not rest:
        return 1.0, ""
    words = UNITS.get(unit, ())
    if rest == unit or rest.lower() in words or rest in words:
        return 1.0, ""
    if unit == "s" and rest.lower() in TIMES:
        return TIMES[rest.lower()], ""
    if rest[0] in PREFIX and (rest[1:].strip().lower() in words) and not (unit == "m" and rest.lower() == "mm"):
        return PREFIX[rest[0]], ""
    if unit == "m" and rest.lower() in ("mm", "cm", "km"):
        return {"mm": 1e-3, "cm": 1e-2, "km": 1e3}[rest.lower()], ""
    if unit == "W":
        prefix = PREFIX[rest[0]] if rest[0] in PREFIX and len(rest) > 1 else 1.0
        bare = rest[1:] if prefix != 1.0 else rest
        if bare.strip().upper() == "VA":
            return prefix, "taken as W, power factor 1"
        if bare.strip().upper() in ("A", "AMP", "AMPS"):
            if not volts:
                return None, "a current needs the rated voltage beside it"
            return prefix * volts, f"× {volts:g} V, power factor 1 taken"
    return None, ""


def plate(text: str, volts: float) -> tuple[str, str]:
    """Return (power, voltage) as texts, of a rating plate that may say both, and the frequency.

    A range of voltage that holds `volts`, which it is used at, says no more than that it is meant for it; another is given as it
    stands, for whoever writes it to choose.

    >>> plate("2.2 kW 400 V", 230.0), plate("220-240V~ 50/60 Hz 45 W", 230.0), plate("60", 230.0), plate("100-120 V 45 W", 230.0)
    (('2.2 kW', '400 V'), ('45 W', ''), ('60', ''), ('45 W', '100-120 V'))
    """
    rest = re.sub(r"\d+(?:\s*[/-]\s*\d+)?\s*Hz\b|[~⎓=]|\bAC\b", " ", text, flags=re.IGNORECASE)
    span = re.search(r"(\d+)\s*(?:V\s*)?[-–/]\s*(\d+)\s*V(?![A-Za-z])", rest)
    voltage = ""
    if span and float(span[1]) <= volts <= float(span[2]):
        rest = rest[:span.start()] + " " + rest[span.end():]
    else:
        one = span or re.search(r"\d+(?:[.,]\d+)?\s*k?V(?![A-Za-z])", rest)
        if one:
            voltage, rest = one[0], rest[:one.start()] + " " + rest[one.end():]
    return " ".join(rest.strip(" ,;·").split()), voltage


def truth(text: str) -> Read:
    """Return True for on, False for off, None for not known; the text itself where it is none of them."""
    word = text.strip().lower()
    if word in ("on", "yes", "y", "true", "1", "x", "in use", "running", "✓"):
        return Read(True)
    if word in ("off", "no", "n", "false", "0", "not in use"):
        return Read(False)
    return Read(None) if word in ("", "?", "not known", "unknown", "don't know", "maybe") else Read(text)


def when(text: str) -> Read:
    """Return a date, a date with its time, or the words as they are."""
    text = text.strip()
    try:
        return Read(date.fromisoformat(text))
    except ValueError:
        pass
    try:
        return Read(datetime.fromisoformat(text))
    except ValueError:
        return Read(text)


def joint(text: str) -> Read:
    """Return "open", or a resistance in ohm."""
    return Read("open") if text.strip().lower() == "open" else number(text, "ohm")


def numbers(text: str) -> Read:
    """Return several numbers, written with spaces or semicolons between them.

    >>> numbers("3; 5 7").value
    [3, 5, 7]
    """
    found = [number(part).value for part in re.split(r"[;\s]+|,\s+", text.strip().strip("[]")) if part]
    if not all(isinstance(x, float) for x in found):
        return Read(text)
    return Read([int(x) if x.is_integer() else x for x in found])


def pair(text: str, units: tuple[str, str]) -> Read:
    """Return two numbers, written with a semicolon, a space or, where no comma is a decimal mark, a comma between them."""
    bare = text.strip().strip("[]()")
    parts = re.split(r"\s*;\s*", bare) if ";" in bare else re.split(r",?\s+", bare) if " " in bare else bare.split(",")
    found = [number(part, unit).value for part, unit in zip(parts, units)]
    return Read(found) if len(parts) == 2 and all(isinstance(x, float) for x in found) else Read(text)


def shown(value, unit: str = "") -> str:
    """Return `value` of the case file as a field shows it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return f"{value:.12g}"
    if isinstance(value, datetime):
        return value.isoformat(" ", "minutes")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, (list, tuple)):
        return "; ".join(shown(v) for v in value)
    return str(value)
