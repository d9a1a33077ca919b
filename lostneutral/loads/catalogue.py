"""Typical appliances by their everyday names: which kind of load each is, with which parameters, and how known."""

from collections.abc import Mapping
from dataclasses import field, replace
from functools import cache

from lostneutral import data
from lostneutral.case.model import Load
from lostneutral.errors import UsageError
from lostneutral.frozen import dataclass

MEASURED = ("power_exponent", "reactive_exponent", "power_factor", "reactive_power")
"""Keys whose values come from an entry's source; the others are as usual in the trade."""


@dataclass(frozen=True)
class Appliance:
    """One entry of ``appliances.toml``."""

    name: str
    kind: str  #: kind of load of the case format
    parameters: Mapping[str, object]  #: keys of that kind
    operation: str  #: what it is doing when it takes this
    fails: str  #: what part to expect to fail, and how
    source: str  #: of the exponents, the power factor and the reactive power
    known: str  #: code of `data.KNOWN`
    edition: str = ""
    no_edition: str = ""  #: why there is none
    sources: Mapping[str, Mapping] = field(default_factory=dict)  #: key of `parameters` -> its own source and code
    power_range: tuple[float, float] | None = None  #: usual powers, W
    exponent: tuple[float, float, float] | None = None  #: power over voltage near rated: published, lowest, highest
    differs: str = ""  #: why the model does not follow the published exponent, if so
    spread: str = ""  #: where sources differ, and which is followed


@cache
def _by_name():
    entries = (
        {key: tuple(value) if isinstance(value, list) else value for key, value in row.items()}
        for row in data.load("appliances")["appliance"]
    )
    return {row["name"]: Appliance(**row) for row in entries}


def appliances():
    """Return every appliance of the catalogue, in its order."""
    return tuple(_by_name().values())


def appliance(name):
    """Return the appliance called `name`. Raises UsageError, with the nearest names, if there is none.

    >>> appliance("kettle").kind
    'heater'
    >>> appliance("ketle")
    Traceback (most recent call last):
    ...
    lostneutral.errors.UsageError: There is no appliance "ketle". Did you mean "kettle"? `lostneutral loads` lists all.
    """
    found = _by_name().get(name)
    if found is None:
        near = similar(name)
        meant = " Did you mean " + " or ".join(f'"{n}"' for n in near) + "?" if near else ""
        raise UsageError(f'There is no appliance "{name}".{meant} `lostneutral loads` lists all.')
    return found


def similar(name):
    """Return up to three names of the catalogue that are near `name`, or contain it as a word."""
    import difflib

    folded = {known.casefold(): known for known in _by_name()}
    wanted = name.casefold().strip()
    within = [known for known in folded if wanted and wanted in known.replace(",", "").split()]
    return [folded[k] for k in dict.fromkeys([*within, *difflib.get_close_matches(wanted, folded)])][:3]


def resolve(load: Load) -> Load:
    """Return `load` with the kind and keys that stand behind it: an appliance's, overridden by its own; else itself.

    Raises UsageError for an unknown appliance.

    >>> tea = Load("Tea", "appliance", ("L1", "N"), "intake", 230.0, parameters={"model": "kettle", "power": 3000.0})
    >>> resolve(tea).kind, dict(resolve(tea).parameters)
    ('heater', {'power': 3000.0, 'cooling': 'water'})
    """
    if load.kind != "appliance":
        return load
    entry = appliance(load.parameters["model"])
    own = {key: value for key, value in load.parameters.items() if key != "model"}
    return replace(load, kind=entry.kind, parameters={**entry.parameters, **own})
