"""Findings on what each load sees and does."""

from lostneutral import data
from lostneutral.case.model import Case
from lostneutral.circuit.solution import State
from lostneutral.consequences.limits import band, published, verdict
from lostneutral.consequences.weighing import farthest, figure, outcomes, percent_from, sure, weighed
from lostneutral.loads import catalogue
from lostneutral.result import Finding, Limit

MEANING = {
    "over": ("damage", "high", "more than it can be expected to bear for long: damage or a shortened life"),
    "under": ("warning", "low", "too little to work properly"),
    "dead": ("warning", "low", "practically nothing: it does not work, but it is not isolated"),
}


def _on(case):
    """The loads that are on, each appliance as what stands behind it."""
    return ((number, catalogue.resolve(load)) for number, load in enumerate(case.loads) if load.on)


def load_voltages(case: Case, before: State, after: State):
    """Yield a finding for each load that is on and sees more or less than its rating and the band's tolerance."""
    limits = band(case.supply.limits)
    for number, load in _on(case):
        seen = [s.loads[number].ratio for s in weighed(after)]
        for kind, ratios, share in outcomes(seen, [verdict(r, limits) for r in seen]):
            if kind not in MEANING:
                continue
            severity, edge, words = MEANING[kind]
            volts = figure([r * load.voltage for r in ratios], "V")
            yield Finding(severity, f"load '{load.name}'",
                          f"'{load.name}' sees {volts}{share}, {percent_from(farthest(ratios))} its rated "
                          f"{load.voltage:g} V: {words}.", volts, limits.limit(edge, load.voltage), sure(after))


def within_band(case: Case, before: State, after: State):
    """Yield one note naming the loads whose voltage stays within their rating and the band's tolerance."""
    limits = band(case.supply.limits)
    kept = [load.name for number, load in _on(case)
            if weighed(after) and all(verdict(s.loads[number].ratio, limits) == "within" for s in weighed(after))]
    if kept and case.breaks_after():
        names = ", ".join(f"'{name}'" for name in kept)
        yield Finding("note", "loads within the band",
                      f"Within the tolerance of {limits.name} about their rated voltage: {names}. The settled voltage "
                      "does not explain damage to them.", None, None, sure(after))


def lamp_light(case: Case, before: State, after: State):
    """Yield a note for each lamp whose light changes enough to be seen."""
    entry = data.load("yardsticks")["brightness"]
    for number, load in _on(case):
        usual = next((light for light in _light(before, number) if light), 1.0)
        change = [None if light is None else light / usual for light in _light(after, number)]
        for word, values, share in outcomes(change, [brightness(c) for c in change]):
            if word == "unchanged":
                continue
            times = figure(values, "times")
            yield Finding("note", f"load '{load.name}'",
                          f"'{load.name}' is {word}{share}: it gives {times} the light it gave before.",
                          times, published(entry, entry[_EDGE[word]]), sure(after))


def _light(state, number):
    return [s.loads[number].details.get("light") for s in weighed(state)]


_EDGE = {"out": "out", "dimmer": "unchanged_low", "brighter": "unchanged_high", "glaring": "glaring"}


def brightness(light: float | None) -> str | None:
    """Return "out", "dimmer", "unchanged", "brighter" or "glaring" for a lamp's light as a multiple of before."""
    if light is None:
        return None
    edge = data.load("yardsticks")["brightness"]
    if light < edge["out"]:
        return "out"
    if light < edge["unchanged_low"]:
        return "dimmer"
    if light <= edge["unchanged_high"]:
        return "unchanged"
    return "brighter" if light <= edge["glaring"] else "glaring"


def heater_power(case: Case, before: State, after: State):
    """Yield a finding for each heater that takes clearly more or less power than rated."""
    limits = band(case.supply.limits)
    source = f"square of the voltage limit of {limits.name} ({limits.source})"
    for number, load in _on(case):
        if load.kind != "heater":
            continue
        rated = load.parameters["power"] * load.count
        powers = [s.loads[number].power for s in weighed(after)]
        kinds = [None if p is None or limits.low**2 <= p / rated <= limits.high**2 else
                 "warning" if p > rated else "note" for p in powers]
        for severity, watts, share in outcomes(powers, kinds):
            taken, hot = figure(watts, "W"), severity == "warning"
            hottest = [t for s in weighed(after) if (t := s.loads[number].details.get("element_temperature"))]
            element = f" Its element settles at {figure(hottest, '°C')}." if hottest else ""
            words = "It overheats, and so may what stands near it." if hot else "It heats poorly."
            edge = limits.high if hot else limits.low
            yield Finding(severity, f"load '{load.name}'",
                          f"'{load.name}' takes {taken}{share} instead of {figure(rated, 'W')}. {words}{element}",
                          taken, Limit(round(rated * edge**2, 9), "W", source, limits.known), sure(after))


def outside_measured_range(case: Case, before: State, after: State):
    """Yield a finding for each load with a measured power law that is used outside the range it was measured in."""
    entry = data.load("yardsticks")["exponential_law"]
    for number, load in _on(case):
        if load.kind not in ("exponential", "motor"):
            continue
        low = load.parameters.get("valid_from", entry["valid_from"])
        high = load.parameters.get("valid_to", entry["valid_to"])
        seen = [s.loads[number].ratio for s in weighed(after)]
        kinds = [None if r is None or low <= r <= high else
                 "outside" if entry["far_below"] <= r <= entry["far_above"] else "far" for r in seen]
        for where, ratios, share in outcomes(seen, kinds):
            shown = figure(ratios, "of rated")
            words = ("far outside: what is computed for it, and for all on its star point, is not to be relied on"
                     if where == "far" else "outside: its figures are a continuation, not a measurement")
            key, edge = ("valid_to", high) if farthest(ratios) > 1 else ("valid_from", low)
            limit = None if key in load.parameters else published(entry, edge)
            yield Finding("warning" if where == "far" else "note", f"load '{load.name}'",
                          f"'{load.name}' stands at {shown}{share}, and its power law was measured from {low:g} to "
                          f"{high:g} of rated voltage. That is {words}.", shown, limit,
                          "unsure: measured coefficients are used outside their range")
