"""A figure as it is printed in a source, and whether a computed one agrees with it to the digits printed.

Forms: ``12.3``, ``1.2e-3``, ``12.3∠-45.6`` (degrees), ``1.2-j3.4``, ``14 to 16`` (a range), ``= 230*20/45`` (a closed
form, held to a billionth), and words (the same words).
"""

import ast
import operator
import re
from cmath import phase
from math import degrees, inf, pi, sqrt

from lostneutral.frozen import dataclass

HALF = 0.501  #: of the last digit printed; the thousandth is for ties
EXACT = 1e-9  #: relative tolerance of a closed form
_NUMBER = r"[+-]?\d+(?:\.\d+)?(?:e[+-]?\d+)?"
_FORMS = {
    "polar": re.compile(rf"({_NUMBER})∠({_NUMBER})"),
    "rectangular": re.compile(rf"({_NUMBER})([+-])j({_NUMBER})"),
    "range": re.compile(rf"({_NUMBER}) to ({_NUMBER})"),
    "number": re.compile(rf"({_NUMBER})"),
}
_OPERATIONS = {ast.Add: operator.add, ast.Sub: operator.sub, ast.Mult: operator.mul, ast.Div: operator.truediv,
               ast.Pow: operator.pow}


@dataclass(frozen=True)
class Agreement:
    """How a computed figure stands to a printed one, each part in words."""

    computed: str
    difference: str
    tolerance: str
    agrees: bool


def compare(value, printed: str, within: float = 0.0, zeros: bool = True) -> Agreement:
    """Return how `value` (a number, complex number, word or None) agrees with the figure `printed`.

    The tolerance is half of the last digit printed, or the share `within` of the figure where that is wider (`within` is
    for a source that rounds on the way). With `zeros` false the zeros that end a whole number are not counted as printed.
    A complex value against a plain figure is taken by its size. Raises ValueError if `printed` is no such figure.
    """
    form, parts = _read(printed)
    if value is None or isinstance(value, str) or form == "words":
        told = "no figure" if value is None else str(value)
        return Agreement(told, "–", "the same words" if form == "words" else "–", told == printed)
    if form == "closed":
        expected = parts[0]
        off = abs(_size(value) - expected)
        return Agreement(f"{_size(value):.10g}", f"{off:.1g}" if off else "0", f"{EXACT:g} of it", off <= EXACT * abs(expected))
    if form == "range":
        low, high = map(float, parts)
        number = _size(value)
        off = max(low - number, number - high, 0.0)
        return Agreement(_digits(number, parts[0], 1), f"{off:.2g}" if off else "0", "within the range", off == 0.0)
    if form == "polar":
        turned = (degrees(phase(value)) - float(parts[1]) + 180) % 360 - 180 if value else -float(parts[1])
        numbers, signs = (abs(value), float(parts[1]) + turned), ("", "∠", "°")
    elif form == "rectangular":
        number = complex(value)
        numbers, signs = (number.real, number.imag), ("", " j", "")
    else:
        numbers, signs = (_size(value),), ("", "", "")
    scale = max(abs(float(text)) for text in parts)
    off = [abs(number - float(text)) for number, text in zip(numbers, parts)]
    allowed = [max(HALF * last_digit(text, zeros), within * scale) for text in parts]
    told = [_digits(number, text, 1) for number, text in zip(numbers, parts)]
    agrees = all(o <= a for o, a in zip(off, allowed))
    differ = [f"{o:.1g}" if o > 1e-6 * a else "0" for o, a in zip(off, allowed)]
    return Agreement(*(_joined(part, signs) for part in (told, differ, [f"{a:.2g}" for a in allowed])), agrees)


def is_figure(printed: str) -> bool:
    """Return whether `printed` is a figure, or words that cannot be mistaken for a figure wrongly written."""
    try:
        form, _ = _read(printed)
    except ValueError:
        return False
    return form != "words" or not re.match(r"\s*[+\-.=\d]", printed)


def last_digit(text: str, zeros: bool = True) -> float:
    """Return the worth of the last digit printed of a number: 0.01 for "12.30", 1 for "12" and 1e-4 for "1.2e-3"."""
    mantissa, _, power = text.partition("e")
    whole, _, places = mantissa.partition(".")
    after = len(places) if places or zeros else len(whole.rstrip("0")) - len(whole)
    return 10.0 ** (int(power or 0) - after)


def _read(printed):
    """Return (form, parts) of a printed figure."""
    text = printed.replace("−", "-").strip()
    if text.startswith("="):
        return "closed", (_closed(text[1:]),)
    for form, pattern in _FORMS.items():
        if found := pattern.fullmatch(text):
            groups = found.groups()
            return form, (groups[0], groups[1] + groups[2]) if form == "rectangular" else groups
    return "words", ()


def _closed(text):
    """Return the value of a formula of numbers, + - * / **, brackets, sqrt(…) and pi; ValueError if it is none."""
    try:
        found = _value(ast.parse(text.strip(), mode="eval").body)
    except (SyntaxError, ArithmeticError, RecursionError, MemoryError, TypeError) as error:
        raise ValueError(f"'{text.strip()[:60]}' cannot be calculated") from error
    if not isinstance(found, (int, float)) or not -inf < found < inf:
        raise ValueError(f"'{text.strip()[:60]}' is not a finite number")
    return float(found)


def _value(node):
    match node:
        case ast.Constant(value=int() | float() as number) if not isinstance(number, bool):
            return float(number)
        case ast.Name(id="pi"):
            return pi
        case ast.UnaryOp(op=ast.USub(), operand=inner):
            return -_value(inner)
        case ast.BinOp(left=left, op=op, right=right) if type(op) in _OPERATIONS:
            return _OPERATIONS[type(op)](_value(left), _value(right))
        case ast.Call(func=ast.Name(id="sqrt"), args=[inner], keywords=[]):
            return sqrt(_value(inner))
    raise ValueError("a closed form has numbers, + - * / **, brackets, sqrt(…) and pi")


def _size(value):
    return abs(value) if isinstance(value, complex) else float(value)


def _digits(number, printed, more):
    """Return `number` with the places of `printed` and `more` of them."""
    mantissa, e, _ = printed.partition("e")
    places = len(mantissa.partition(".")[2]) + more
    return f"{number:.{places}e}" if e else f"{number:.{places}f}"


def _joined(texts, signs):
    first, between, last = signs
    return first + between.join(texts) + last
