"""Figures and facts of a result as short plain words, the same in every rendering."""

import unicodedata
from cmath import phase
from math import degrees, isfinite

from lostneutral.case.model import Case
from lostneutral.circuit.solution import LoadResult, Solution, State
from lostneutral.consequences.weighing import weighed
from lostneutral.words.amounts import to_figures
from lostneutral.words.conclusion import faults as clauses
from lostneutral.words.language import decimal_mark

NOTHING = "–"  #: stands where there is no figure
ROUNDED_OFF = 1e-6  #: in any unit; what is smaller came from rounding and is printed as 0
NO_ANGLE_BELOW = 1e-9  #: V or A; a phasor this small has no direction worth a figure
DETAILS = {"light": ("light", "%", 100.0), "filament_temperature": ("filament", "K", 1.0),
           "element_temperature": ("element", "°C", 1.0), "link_voltage": ("d.c. link", "V", 1.0),
           "capacitor_stress": ("capacitor voltage, of its rating", "%", 100.0),
           "varistor_power": ("varistor", "W", 1.0), "varistor_overload": ("× its dissipation limit", "", 1.0),
           "heat": ("thermal trip, used", "%", 100.0), "slip": ("slip", "%", 100.0),
           "positive_sequence": ("positive sequence", "V", 1.0), "negative_sequence": ("negative sequence", "V", 1.0),
           "current_ratio": ("highest line current", "× rated", 1.0), "winding_heat": ("winding's rise", "× rated", 1.0)}
FLAGS = {"above_window": "above its working range", "at_cut_off": "at its cut-off, going on and off", "backward": "in reverse"}
TOLD_ELSEWHERE = ("works", "harmonic_share", "as_sine")  #: an assumption of its own, or what goes without saying


def number(value, decimals=1):
    """Return `value` with `decimals` places (a sign only where it shows), or a dash if there is none."""
    if value is None or not isfinite(value):
        return NOTHING
    text = f"{value:.{decimals}f}"
    return decimal_mark(text[1:] if text.startswith("-") and not text.strip("-0.") else text)


def significant(value, unit="", figures=3):
    """Return `value` to `figures` significant figures, never as a power of ten, with its unit."""
    if value is None or not isfinite(value):
        return NOTHING
    return f"{to_figures(value, figures, ROUNDED_OFF)} {unit}".rstrip()


def size(phasor):
    """Return |phasor|, or None if there is none."""
    return None if phasor is None else abs(phasor)


def angle(phasor):
    """Return the angle in degrees in (−180, 180], or None where a phasor is missing or has no direction."""
    if phasor is None or abs(phasor) < NO_ANGLE_BELOW:
        return None
    value = degrees(phase(phasor))
    return 180.0 if value <= -180.0 else value + 0.0


def remaining(residual):
    """Return how large an imbalance of currents (A) a solution leaves; below 1 nA its size is the machine's rounding."""
    return "under 1 nA" if residual < 1e-9 else f"{residual:.1e} A"


def shown(state: State) -> tuple[Solution, ...]:
    """Return the settled states a reader has to see: the one arrived at, else every attracting one, else all."""
    return weighed(state)


def after_names(solutions):
    """Return the headings of the settled states after the break: "after", or "after A", "after B" …"""
    if len(solutions) == 1:
        return ("after",)
    return tuple(f"after {chr(ord('A') + i)}" for i in range(len(solutions)))


def what_is_taken(case: Case):
    """Return the hypothesis of the case, one sentence each: what is taken as open, bad or transposed, and what was mended."""
    found = clauses(case)
    return tuple(f"{text[0].upper()}{text[1:]}." for text in found) or ("No open-circuit or high-resistance conductor is assumed.",)


def connection(load):
    """Return "L1-N" and the like."""
    return "-".join(load.connect)


def details(load: LoadResult | None):
    """Return light, temperatures and whatever else the load's model tells of its state, in words."""
    if load is None or not load.on:
        return NOTHING if load is None else "off"
    said = []
    for key, value in load.details.items():
        if key in TOLD_ELSEWHERE:
            continue
        if isinstance(value, bool):
            said += [FLAGS.get(key, key.replace("_", " "))] * value
            continue
        name, unit, scale = DETAILS.get(key, (key.replace("_", " "), "", 1.0))
        said.append(f"{name} {significant(scale * value, unit, 4 if scale == 1.0 else 3)}")
    return ", ".join(said) or NOTHING


def visible(text):
    """Return `text` with control and direction-changing characters spelled out as U+XXXX, line breaks as spaces."""
    return "".join(" " if c in "\n\r\t" else f"U+{ord(c):04X}" if unicodedata.category(c) in ("Cc", "Cs") or
                   c in "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069" else c for c in text)
