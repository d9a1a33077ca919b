"""Vehicle chargers: the current that the pilot allows, the charger's own power above that, off outside their voltages."""

import numpy as np

from lostneutral import data
from lostneutral.loads.converter import WIRES, Converter
from lostneutral.loads.switching import switching_keys

_DATA = data.load("converter")
_CHARGER = _DATA["charger"]


def from_keys(given):
    """Return the model of a charger of the case, by the keys that `given` has (see `lostneutral.loads.build`).

    `current` (A, each line) is what the pilot allows; by default what `power` takes at rated voltage.
    """
    keys, voltage, power = given.load.parameters, given.load.voltage, given.per_branch("power")
    scale, three = np.asarray(voltage, float) / 230.0, given.branches == 3
    filtering = _CHARGER["filter"]["three" if three else "single"]
    capacitance = given.value("capacitance", filtering)
    low = given.value("works_from", _scaled(_CHARGER["works_from"], scale))
    high = given.value("cuts_out_above", _scaled(_CHARGER["cuts_out_above"], scale))
    delay = given.value("drop_out_delay", {**_CHARGER["works_from"], "value": _CHARGER["works_from"]["seconds"], "unit": "s"})
    given.note("charging current", _CHARGER["law"])
    return Converter(
        power, voltage, keys["current"] if "current" in keys else power / np.asarray(voltage, float),
        wires=WIRES[len(given.load.connect)], susceptance=2 * np.pi * given.supply.frequency * capacitance, below=((low, delay),), above=((high, delay),),
        healthy=(keys.get("restarts_from", low), keys.get("restarts_below", high)),
        **{**switching_keys(given, "start_current", "start_time"),
           "restart_delay": given.value("restart_delay", _CHARGER["restart_delay"])})


def _scaled(entry, scale):
    return {**entry, "value": entry["value"] * scale}
