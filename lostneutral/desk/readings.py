"""A reading as somebody took it down, and where it goes in the case."""

from collections.abc import Mapping

from lostneutral.desk import plates
from lostneutral.desk.case import DeskCase
from lostneutral.frozen import dataclass

LOADS_ON, LOADS_OFF = "on", "off"
BEFORE = "before"
INSTRUMENTS: Mapping[str, float | None] = {
    "multimeter": 1e7, "multimeter, low impedance": 3e5, "two-pole voltage detector": 2e5, "clamp meter": 1e7,
    "installation tester": None, "plug-in meter": None}
"""Instruments that are offered -> input impedance that is written where the reading gives none (ohm); None: not known."""


@dataclass(frozen=True)
class Reading:
    """Texts as typed."""

    point: str = ""
    between: str = ""
    voltage: str = ""
    uncertainty: str = ""
    instrument: str = ""
    impedance: str = ""
    loads: str = LOADS_ON
    state: str = ""
    time: str = ""
    observer: str = ""
    note: str = ""


def add_reading(case: DeskCase, reading: Reading) -> str:
    """Add a reading; return what has to be said of where it went.

    One that was taken with the loads off says nothing of a circuit whose loads are on: it goes with the test results.
    """
    volts = plates.number(reading.voltage, "V").value
    between = reading.between.strip().replace("–", "-")
    if reading.loads == LOADS_OFF:
        data = {"circuit": reading.point or _first(case), "test": f"voltage {between}, loads off", "value": volts, "unit": "V",
                "instrument": reading.instrument.strip(), "by": reading.observer.strip()}
        case.add("test", {key: value for key, value in data.items() if value != ""})
        return "Taken as a test result: with the loads off it is printed, and not compared with the calculation."
    data = {"point": reading.point if len(case.entries("point")) > 1 or reading.point else "", "between": between, "voltage": volts,
            "uncertainty": _number(reading.uncertainty, "V"), "impedance": _number(reading.impedance, "ohm"),
            "state": BEFORE if reading.state == BEFORE else "", "time": _number(reading.time, "s"),
            "observer": reading.observer.strip(), "instrument": reading.instrument.strip(), "note": reading.note.strip()}
    case.add("observation", {key: value for key, value in data.items() if value not in ("", None)})
    return ""


def _number(text, unit):
    return plates.number(text, unit).value if text.strip() else None


def _first(case):
    return str(next((b.data.get("name") for b in case.entries("point")), "intake"))
