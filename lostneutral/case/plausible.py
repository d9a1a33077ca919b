"""What a case says that is possible but unlikely: a warning with what is usual, its source and the slip that it looks like."""

import re

from lostneutral import data
from lostneutral.case.cables import resistance, sizes
from lostneutral.case.defaults import FREQUENCY, NOMINAL
from lostneutral.case.faults import key_path, show

RATIO = {"three-phase": 3**0.5, "split-phase": 2.0}  #: line-to-line over line-to-neutral voltage
NEAR = 0.06  #: two voltages as near as this are one, for telling a slip


def check_plausible(context):
    """Warn of every value that is far from what is usual; one warning for all that a group made."""
    said = set()

    def warn(path, name, words):
        where = context.faults.written(path)
        if where not in said:
            said.add(where)
            context.warn(f"{key_path(where)}{f' ({show(name)})' if name else ''}: {words}")

    if context.supply is not None:
        _supply(context, warn)
    looked_at = set()  # what a group made is alike in every premises
    for path, load in context.draft.entries("load"):
        if (where := context.faults.written(path)) in looked_at:
            continue
        looked_at.add(where)
        _power(path, load, warn)
        if context.supply is not None:
            _rated(context, path, load, warn)
    if context.supply is not None and context.supply.transformer is not None:
        _rated_power(("supply", "transformer", "rated_power"), "", context.supply.transformer.rated_power, warn)
    for path, generator in context.draft.entries("generator"):
        if generator.rated_power is not None:
            _rated_power((*path, "rated_power"), generator.name, generator.rated_power, warn)
    for path, point in context.draft.entries("point"):
        if point.electrode is not None:
            _electrode((*path, "electrode"), point.name, point.electrode, warn)
        if point.cable is not None:
            _cable((*path, "cable"), point, warn)


def _supply(context, warn):
    supply, table = context.supply, data.load("plausible")
    usual, ratio = table["nominal"][supply.system], RATIO[supply.system]
    entry = table["nominal"]
    volts = supply.nominal
    if volts is not None and not _near(volts, usual, entry["within"]) and (volts >= entry["from"] or volts < 1):
        slip = "line to neutral, in V?"
        if _near(1e3 * volts, usual, entry["within"]):
            slip = f"in kV? Then {1e3 * volts:g}"
        elif _near(volts / ratio, usual, entry["within"]):
            slip = f"the voltage between the lines? Line to neutral that is {volts / ratio:.0f}"
        warn(("supply", "nominal"), "", _unusual(f"{volts:g} V line to neutral", f"{usual[0]:g} to {usual[-1]:g} V", entry, slip))
    frequency = supply.frequency or FREQUENCY[supply.system]
    if not _near(frequency, table["frequency"]["usual"], table["frequency"]["within"]):
        warn(("supply", "frequency"), "", _unusual(f"{frequency:g} Hz", "50 or 60 Hz", table["frequency"], "in Hz?"))
    for key in ("line_impedance", "neutral_impedance"):
        _impedance(("supply", key), "", getattr(supply, key), table["source_impedance"], warn)
    if supply.electrode:
        _electrode(("supply", "electrode"), "", supply.electrode, warn)


def _power(path, load, warn):
    table, power = data.load("plausible")["power"], getattr(load, "power", None)
    if power is None:
        return
    row = _named(load)
    if row is None and load.kind not in table["kinds"]:
        return
    (low, high), what = row["power_range"] if row else table["kinds"][load.kind], row["name"] if row else f"kind {load.kind}"
    beyond = 1.0 if row is None else table["beyond"]
    if low / beyond <= power <= high * beyond:
        return
    slip = "in W?"
    if power < low and low / 2 <= 1e3 * power <= 2 * high:
        slip = f"in kW? Then {1e3 * power:g}"
    elif power > high and low / 2 <= 1e-3 * power <= 2 * high:
        slip = f"a thousand times too much? Then {1e-3 * power:g}"
    warn((*path, "power"), load.name, _unusual(f"{power:g} W", f"{what}: {low:g} to {high:g} W", table, slip))


def _named(load):
    """Return the row of the catalogue of an appliance, or of a load that has an appliance's name within its own."""
    rows = [row for row in data.load("appliances")["appliance"] if "power_range" in row]
    other = data.load("plausible")["power"]["not_by_name"]
    if load.kind == "appliance":
        return next((row for row in rows if row["name"] == load.model), None)
    words = load.name.casefold()
    found = [row for row in rows if row["kind"] == load.kind or load.kind in ("resistive", "exponential")]
    found = [row for row in found if row["name"] not in other and re.search(rf"\b{re.escape(row['name'])}s?\b", words)]
    return max(found, key=lambda row: len(row["name"]), default=None)


def _rated(context, path, load, warn):
    entry, supply, ends = data.load("plausible")["rated_voltage"], context.supply, load.connect.split("-")
    if load.voltage is None or not any(end[0] == "L" for end in ends):
        return
    ratio = RATIO[supply.system]
    nominal = supply.nominal or (supply.voltage if supply.phasors else None) or NOMINAL[supply.system]
    between = len(ends) > 2 or all(end[0] == "L" for end in ends)
    there = nominal * (ratio if between else 1.0)
    if entry["low"] <= load.voltage / there <= entry["high"]:
        return
    slip = "its rated voltage?"
    if between and _near(load.voltage * ratio, [there], NEAR):
        slip = f"the voltage of line to neutral, or of a winding in star? The key is the voltage between lines: {_round(there)}"
    elif not between and _near(load.voltage / ratio, [there], NEAR):
        slip = f"the voltage between lines typed for that of line to neutral? Then {_round(there)}; or is it connected " \
               "line to line?"
    elif _near(1e3 * load.voltage, [there], NEAR):
        slip = f"in kV? Then {1e3 * load.voltage:g}"
    what = f"between lines, {_round(there)} V," if between else f"from line to neutral, {_round(there)} V,"
    warn((*path, "voltage"), load.name, _unusual(f"a rated voltage of {load.voltage:g} V {what}",
                                                 f"{entry['low'] * there:.0f} to {entry['high'] * there:.0f} V", entry, slip))


def _cable(path, point, warn):
    table, cable = data.load("plausible"), point.cable
    if cable.area is None or cable.length is None:
        if cable.line is not None:
            _impedance((*path, "line"), point.name, cable.line, table["cable_impedance"], warn)
        return
    if cable.area not in sizes(cable.material):
        return  # an error, told elsewhere
    longest = next((length for area, length in table["cable"]["longest"] if cable.area <= area), None)
    if longest is None or cable.length <= longest:
        return
    drop, ohms = table["drop"], resistance(cable.length, cable.area, cable.material, cable.temperature)
    volts = 2 * ohms * drop["current"]
    warn((*path, "length"), point.name, _unusual(
        f"{cable.length:g} m of {cable.area:g} mm²", f"up to {longest:g} m", table["cable"],
        f"in m? {drop['current']:g} A there and back lose {volts:.0f} V on it; {100 * drop['share']:g} % is usual "
        f"({_known(drop)})"))


def _impedance(path, name, pair, entry, warn):
    size = abs(complex(*pair))
    if size > entry["high"]:
        slip = f"in milliohm? Then [{pair[0] / 1e3:g}, {pair[1] / 1e3:g}]"
        warn(path, name, _unusual(f"{size:.3g} ohm", f"up to {entry['high']:g} ohm", entry, slip))


def _rated_power(path, name, power, warn):
    entry = data.load("plausible")["rated_power"]
    if not entry["low"] <= power <= entry["high"]:
        slip = f"in kVA? Then {1e3 * power:g}" if power < entry["low"] else "in VA?"
        warn(path, name, _unusual(f"{power:g} VA", f"{entry['low']:g} to {entry['high']:g} VA", entry, slip))


def _electrode(path, name, ohms, warn):
    entry = data.load("plausible")["electrode"]
    if not entry["low"] <= ohms <= entry["high"]:
        slip = f"in kilohm? Then {1e3 * ohms:g}" if 0 < ohms < entry["low"] else "in ohm?"
        warn(path, name, _unusual(f"an electrode of {ohms:g} ohm", f"{entry['low']:g} to {entry['high']:g} ohm", entry, slip))


def _round(volts):
    return "400" if abs(volts - 400) < 3 else f"{volts:.4g}"


def _unusual(value, usual, entry, slip):
    return f"{value} is unusual; usual: {usual} ({_known(entry)}). Is it {slip}"


def _known(entry):
    return f"{entry['source']}; {data.KNOWN[entry['known']]}"


def _near(value, usual, within):
    return any(abs(value / other - 1) <= within for other in usual)
