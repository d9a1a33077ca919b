"""Questions about cases: voltages, currents and powers, by phasors or by waveforms."""

import re
from functools import cache
from math import inf, sqrt

from lostneutral.verify.questions import NUMBER, QUESTIONS, question

_NAME = r"\S(?:.*\S)?"
_OF_LOADS = {"voltage": "voltage", "current": "current", "power": "power", "reactive power": "reactive_power"}


def _in_units(what):
    """Return what was asked of a case with the unit of the answer."""
    quantity = what.removeprefix("before: ")
    units = {"voltage": "V", "star point": "V", "metalwork": "V", "between": "V", "current": "A", "power": "W", "reactive power": "var",
             "complex power": "VA"}
    return f"{what}, {next(unit for start, unit in units.items() if quantity.startswith(start))}"


def _of_waves(what):
    """Return what was asked of a waveform with the unit of the answer."""
    return f"{what}, {'%' if what.endswith('distortion') else 'A' if ' line ' in what or ' neutral ' in what else 'V'}"


@cache
def _states(case):
    from lostneutral.case import parse_case
    from lostneutral.circuit.states import before_and_after

    read = parse_case(case, "case")
    return read, before_and_after(read)


@question(rf"(before: )?((voltage|current|power|reactive power) of {_NAME}|complex power|star point(?: at {_NAME})?|metalwork(?: at {_NAME})?"
          rf"|current (?:back )?in (?:L1|L2|L3|N|PE)(?: to {_NAME})?|between (?:L1|L2|L3|N|PE)-(?:L1|L2|L3|N|PE)(?: at {_NAME})?)",
          _in_units, '"voltage of", "current of", "power of" or "reactive power of" a load, "complex power", "star point", "metalwork", '
                '"current in N", "current back in N", "between L1-L2", each with "at" a point, "to" it for a current, if there are '
                'several; "before: " in front for the sound installation')
def case(case: str):
    """The case as text, as in a case file; answers of the state arrived at, in V, A, W and var."""
    read, states = _states(case)

    def answer(what):
        sound, _, what = what.rpartition("before: ")
        del sound
        return _read(read, states[0 if _ else 1], what)
    return answer


_CASE = case


@question(QUESTIONS["case"].asks, _in_units, QUESTIONS["case"].allowed)
def star(loads: list, voltage: float = 0.0, between_lines: float = 0.0, neutral: float = inf, system: str = "three-phase",
         rotation: str = "L1-L2-L3", angle: float = 0.0):
    """The loads A, B, C at one intake, line to neutral, such as "100 W 230 V", "5 ohm", "6-j8 ohm" or "off".

    `voltage` is line to neutral, or `between_lines` is given; `neutral` in ohm; `angle` that of L1 in degrees.
    """
    return _CASE(star_text(loads, voltage or between_lines / sqrt(3), neutral, system, rotation, angle))


def star_text(loads, voltage, neutral=inf, system="three-phase", rotation="L1-L2-L3", angle=0.0) -> str:
    """Return the case file of the question `star`; ValueError for a load that is written otherwise."""
    turn = {"L1-L2-L3": -120.0, "L1-L3-L2": 120.0}[rotation]
    lines = [f'title = "star"\n[supply]\nsystem = "{system}"\nnominal = {voltage!r}']
    if angle:
        each = ", ".join(f"L{n + 1} = [{voltage!r}, {(angle + n * turn + 180) % 360 - 180!r}]" for n in range(3))
        lines.append(f"phasors = {{ {each} }}")
    elif system == "three-phase":
        lines.append(f'rotation = "{rotation}"')
    if neutral < inf:
        lines.append(f'[[point]]\nname = "intake"\n[[break]]\nresistance = {neutral!r}')
    for n, (name, load) in enumerate(zip("ABC", loads)):
        lines.append(f'[[load]]\nname = "{name}"\nconnect = "L{n + 1}-N"\n{_load_text(load)}')
    return "\n".join(lines) + "\n"


def _load_text(load):
    if load == "off":
        return 'kind = "resistive"\npower = 1\non = false'
    if watts := re.fullmatch(rf"({NUMBER}) W ({NUMBER}) V", load):
        return f'kind = "resistive"\npower = {watts[1]}\nvoltage = {watts[2]}'
    if ohms := re.fullmatch(rf"({NUMBER})?(?:([+-]?)j({NUMBER}))? ohm", load):
        return f'kind = "impedance"\nresistance = {ohms[1] or 0}\nreactance = {ohms[2] or ""}{ohms[3] or 0}'
    raise ValueError(f"'{load}' is no load of a star — write it as \"100 W 230 V\", \"5 ohm\", \"6-j8 ohm\" or \"off\"")


def _read(read, state, what):
    """Return what a text of the question asks of a settled state."""
    found = state.reached
    if found is None:
        return None
    quantity, _, name = what.partition(" of ")
    if name and quantity in _OF_LOADS:
        load = next((x for x in found.loads if x.name == name), None)
        if load is None:
            raise ValueError(f"the case has no load called '{name}'")
        return getattr(load, _OF_LOADS[quantity])
    if what == "complex power":
        return complex(sum(x.power for x in found.loads if x.power), sum(x.reactive_power for x in found.loads if x.reactive_power))
    first = read.points[0].name
    if what.startswith("between "):
        pair, _, point = what.removeprefix("between ").partition(" at ")
        return found.voltage(point or first, *pair.split("-"))
    if what.startswith("current "):
        conductor, _, point = what.rpartition("in ")[2].partition(" to ")
        current = found.currents.get((point or first, conductor))
        return current if current is None or "back in" not in what else -current
    point = what.partition(" at ")[2] or first
    if what.startswith("star point"):
        return found.nodes.get((point, "N"))
    from lostneutral.circuit.wiring import EARTH

    volts = found.between((point, "PE"), EARTH)
    return None if volts is None else abs(volts)


@question(r"(before|after): (line|neutral|star|load) (harmonic \d+|distortion)", _of_waves,
          '"before: " or "after: ", then "line", "neutral", "star" or "load", then "harmonic 3" (peak value) or "distortion" (%)')
def harmonics(case: str):
    """The case as text; answers of the waveforms of its first point and load: peak values, V and A."""
    from lostneutral.case import parse_case
    from lostneutral.circuit.waveform.picture import waveforms

    read = parse_case(case, "case")
    found, point = waveforms(read), read.points[0].name

    def answer(what):
        state, _, rest = what.partition(": ")
        where, _, which = rest.partition(" ")
        told = getattr(found, state)
        wave = {"line": told.currents[point, "L1"], "neutral": told.currents[point, "N"], "star": told.stars.get(point),
                "load": told.loads[0].voltage}[where]
        if wave is None:
            return None
        return 100.0 * wave.thd if which == "distortion" else sqrt(2) * float(wave.harmonics[int(which.split()[1]) - 1])
    return answer
