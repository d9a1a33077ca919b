"""The catalogue of appliances as text for a terminal and as JSON."""

import json
import textwrap

from lostneutral import data
from lostneutral.loads.catalogue import Appliance, appliances
from lostneutral.loads.converter import Converter
from lostneutral.loads.discharge import Discharge, Transformer
from lostneutral.loads.electronic import Electronic
from lostneutral.loads.heater import Heater
from lostneutral.loads.lamp import Lamp
from lostneutral.loads.motor import Motor
from lostneutral.loads.ptc import PtcHeater
from lostneutral.loads.simple import Exponential, Resistive
from lostneutral.loads.varistor import Varistor

KINDS = {
    "resistive": ("fixed resistance", Resistive),
    "heater": ("heating element: very nearly a fixed resistance", Heater),
    "ptc_heater": ("PTC ceramic heater: almost constant power once warm", PtcHeater),
    "lamp": ("filament lamp: its resistance rises with its temperature", Lamp),
    "exponential": ("power as a power law of voltage, measured near rated voltage", Exponential),
    "electronic": ("electronic: constant power within its working voltage range, so more current at lower voltage", Electronic),
    "motor": ("motor: measured exponents while running, stalls when the voltage is low", Motor),
    "varistor": ("varistor: almost no current up to its rating, thermal runaway not far above it", Varistor),
    "charger": ("vehicle charger: constant current up to its power, off outside its voltage window, back after a delay", Converter),
    "source": ("inverter that feeds in: constant power, current-limited, off outside its voltage window, back after a delay", Converter),
    "discharge": ("discharge lamp with magnetic ballast: goes out when the voltage is low, restrikes once cool", Discharge),
    "transformer": ("load behind a transformer with an iron core: its magnetising current rises steeply above rated", Transformer),
}
"""Kind of load -> (how it answers a voltage, its model)."""


def catalogue_text(width=80):
    """Return the whole catalogue as a table: name, usual power, kind, power over voltage exponent."""
    rows = [("appliance", "W", "usual W", "kind", "exponent")]
    for item in appliances():
        power = item.parameters.get("power")
        rows.append((item.name, "" if power is None else f"{power:g}", _range(item), item.kind, _exponent(item)))
    widths = [max(map(len, column)) for column in zip(*rows)]
    lines = ["  ".join((c.rjust if i in (1, 2) else c.ljust)(w) for i, (c, w) in enumerate(zip(row, widths))).rstrip()
             for row in rows]
    lines.insert(1, "  ".join("-" * w for w in widths))
    told = ("Exponent: near rated voltage the power varies with voltage to this exponent; published value (lowest to highest). "
            "In a case: kind = \"appliance\", model = a name; any key of the kind may be added. "
            "`lostneutral loads NAME` describes one.")
    return "\n".join([*lines, "", *textwrap.wrap(told, width)]) + "\n"


def appliance_text(item: Appliance, width=80):
    """Return everything known of one appliance, as lines."""
    keys = ", ".join(f"{key} = {_toml(value)}" for key, value in item.parameters.items())
    said = [
        ("What it is", KINDS[item.kind][0]),
        ("In a case", f'kind = "appliance", model = "{item.name}"; the same as kind = "{item.kind}", {keys}'),
        ("Condition", item.operation),
        ("Usual power", f"{_range(item)} W" if item.power_range else ""),
        ("Exponent", f"power varies with voltage to the power of {_exponent(item)}" if item.exponent else "no measurement"),
        ("Where sources differ", item.spread),
        ("Not modelled", item.differs),
        ("What fails", item.fails),
        ("Source", f"{item.source} ({item.edition})" if item.edition else item.source),
        ("How known", data.KNOWN[item.known]),
        *((f"Source of {key}", f"{own['source']} ({data.KNOWN[own['known']]})") for key, own in item.sources.items()),
        ("The model", " ".join(KINDS[item.kind][1].__doc__.split("\n\n")[0].replace("`", "").split())),
    ]
    lines = [item.name, "=" * len(item.name)]
    for what, words in said:
        if words:
            lines += textwrap.wrap(f"{what}: {words}", width, subsequent_indent="  ")
    return "\n".join(lines) + "\n"


def catalogue_json(items):
    """Return `items` of the catalogue as JSON text, format "lostneutral-appliances/1"."""
    rows = [{**vars(item), "known": data.KNOWN[item.known], "parameters": dict(item.parameters)} for item in items]
    return json.dumps({"format": "lostneutral-appliances/1", "appliances": rows}, ensure_ascii=False, indent=1) + "\n"


def _range(item):
    return "" if item.power_range is None else "{:g} to {:g}".format(*item.power_range)


def _exponent(item):
    if item.exponent is None:
        return ""
    value, low, high = item.exponent
    return f"{value:.2f}" if low == high == value else f"{value:.2f} ({low:.2f} to {high:.2f})"


def _toml(value):
    return f'"{value}"' if isinstance(value, str) else f"{value:g}"
