"""The same demonstration at extra-low voltage: loads that can be bought, and what the solver says they will do."""

from dataclasses import dataclass, replace
from math import inf, log, log10

from lostneutral import data
from lostneutral.case.model import Break, Case, Load, Point, Supply
from lostneutral.loads.catalogue import resolve
from lostneutral.result import Result, analyse
from lostneutral.teaching.star import NotAStar, star_loads


@dataclass(frozen=True)
class Bench:
    """A star at bench voltage: one load a line, computed with and without the neutral."""

    kind: str  #: "lamp" | "resistive"
    rated: dict[str, float]  #: line -> W at the bench voltage
    ohms: dict[str, float]  #: line -> ohm at the bench voltage (lamps: hot)
    result: Result


def line_powers(case: Case) -> dict[str, float]:
    """Return {line: W at the supply's nominal voltage} of all that stands between a line and the broken neutral.

    NotAStar if one of them is anything else than a lamp, heater or resistance: its law does not scale to another
    voltage.
    """
    powers = {}
    for load in star_loads(case):
        behind = resolve(load)
        if behind.kind not in ("lamp", "heater", "resistive"):
            raise NotAStar(f"“{load.name}” is no lamp, heater or resistor and cannot be rescaled to another voltage")
        watts = behind.parameters["power"] * load.count * (case.supply.nominal / load.voltage) ** 2
        line = load.connect[0]
        powers[line] = powers.get(line, 0.0) + watts
    if len(powers) < 2:
        raise NotAStar("with one line only there is no star to show")
    return {line: powers[line] for line in case.supply.lines if line in powers}


def has_lamps_only(case: Case) -> bool:
    """Return whether all that stands on the broken neutral are filament lamps."""
    return all(resolve(load).kind == "lamp" for load in star_loads(case))


def bench(case: Case, kind: str) -> Bench:
    """Return the bench version of `case` with loads of `kind` ("lamp" or "resistive").

    Ratings are those of data file `lesson` that keep the ratios of the case best. NotAStar if none comes near.
    """
    table, powers = data.load("lesson")["bench"], line_powers(case)
    volts = table["voltage"]
    if kind == "lamp":
        choices = [(_nearest(powers, top, table["lamps"]["power"])) for top in table["lamps"]["power"]]
    else:
        values = [m * 10.0**d for d in range(7) for m in table["resistors"]["series"]]
        least = volts**2 / table["resistors"]["largest_load"]
        tops = [ohm for ohm in values if 0.95 * least <= ohm <= 2 * least]
        watts = [volts**2 / ohm for ohm in values]
        choices = [_nearest(powers, volts**2 / top, watts) for top in tops]
    error, rated = min(choices, key=lambda pair: (round(pair[0], 6), sum(pair[1].values())))
    if error > log(table["close_enough"]["ratio"]):
        raise NotAStar(
            f"no {'lamps' if kind == 'lamp' else 'resistors'} for {volts:g} V stand in the ratio of these loads"
        )
    return Bench(
        kind,
        rated,
        {line: volts**2 / watts for line, watts in rated.items()},
        analyse(plain_star(case.supply, volts, rated, kind)),
    )


def _nearest(powers, top, ratings):
    """Return (largest error as a logarithm, {line: rating}) with the largest power at `top`."""
    scale = top / max(powers.values())
    rated = {line: min(ratings, key=lambda r, w=watts: abs(log(r / (w * scale)))) for line, watts in powers.items()}
    errors = [log(rated[line] / (watts * scale)) for line, watts in powers.items()]
    return max(errors) - min(errors), rated


def plain_star(supply: Supply, volts: float, powers: dict[str, float], kind: str = "resistive") -> Case:
    """Return a case of one load a line on an ideal source of `volts` to neutral, its neutral open.

    `powers` {line: W at `volts`}; angles are those of `supply`.
    """
    phasors = {line: z / abs(z) * volts for line, z in supply.phasors.items()}
    source = Supply(
        phasors=phasors, system=supply.system, nominal=volts, frequency=supply.frequency, limits=supply.limits
    )
    loads = tuple(
        Load(f"load on {line}", kind, (line, "N"), "bench", volts, parameters={"power": watts})
        for line, watts in powers.items()
    )
    return Case("bench", source, (Point("bench", phases=source.lines),), loads, breaks=(Break("bench", "N", inf),))


def resistor_rating(watts: float) -> float:
    """Return the rating (W) to buy for a resistor that gives off `watts`; the largest listed if none is enough."""
    table = data.load("lesson")["bench"]["resistor_ratings"]
    return next((r for r in table["power"] if r >= table["margin"] * watts), table["power"][-1])


def with_way_back(case: Case, ohms: float) -> Case:
    """Return a plain star with a way back of `ohms` in place of its open neutral."""
    return replace(case, breaks=tuple(replace(b, resistance=ohms) for b in case.breaks))


def ohm_words(ohms: float) -> str:
    """Return a resistance as it is marked: "56 ohm", "1.2 kohm"."""
    return f"{ohms / 1000:.3g} kohm" if log10(ohms) >= 3 - 1e-9 else f"{ohms:.3g} ohm"
