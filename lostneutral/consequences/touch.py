"""Touch voltages at earth terminals, to remote earth and between neighbours, and what they may do to a person."""

from itertools import combinations

from lostneutral import data
from lostneutral.case.model import Case
from lostneutral.circuit.solution import Solution, State
from lostneutral.circuit.wiring import EARTH, terminal_names
from lostneutral.consequences import shock
from lostneutral.consequences.electrode_range import electrode_range, touch_range
from lostneutral.consequences.limits import published
from lostneutral.consequences.upstream import pen_breaks
from lostneutral.consequences.weighing import figure, sure, weighed
from lostneutral.result import Finding

MOST_PAIRED = 150  #: earth terminals of which every pair is looked at; of more, only the neighbours along the wiring


def touch_voltages(case: Case, solution: Solution):
    """Return {point: V to remote earth at its earth terminal, None where it floats}; prospective, nobody touching."""
    return {p.name: _size(solution.between((p.name, "PE"), EARTH)) for p in case.points
            if "PE" in terminal_names(case, p)}


def between_neighbours(case: Case, solution: Solution):
    """Return {(point, point): V between their earth terminals} of points that a person might reach together.

    Whether they can be reached at once only the place tells: all pairs are taken, in a large case those
    fed from the same point or from points next to each other.
    """
    earthed = [p for p in case.points if "PE" in terminal_names(case, p)]
    pairs = combinations(earthed, 2) if len(earthed) <= MOST_PAIRED else _near(case, earthed)
    return {(a.name, b.name): volts for a, b in pairs
            if (volts := _size(solution.between((a.name, "PE"), (b.name, "PE")))) is not None}


def _near(case, earthed):
    fed, feeder = {}, {p.name: p.fed_from for p in case.points}
    for point in earthed:
        fed.setdefault(point.fed_from, []).append(point)
    for place, points in fed.items():
        yield from combinations(points, 2)
        yield from ((a, b) for a in points for b in fed.get(feeder.get(place), ()))


def _size(volts):
    return None if volts is None else abs(volts)


def person(case: Case, before: State, after: State):
    """Yield what the worst touch voltage to remote earth may drive through a person, as an indication only."""
    found = [(volts, name) for s in weighed(after) for name, volts in touch_voltages(case, s).items()
             if volts is not None]
    limit = published(data.load("touch")["limit_special"])
    if not found or max(found)[0] <= limit.value:
        return
    volts, name = max(found)
    currents = [shock.body_current(volts, p, path="hand_to_feet") for p in (95, 5)]
    worst = shock.zone(currents[1])
    computed = " to ".join(f"{float(f'{1e3 * i:.2g}'):g}" for i in currents) + " mA"
    yield Finding(
        "danger", f"person at {name}",
        f"A person who touches metalwork at {name} and stands on the ground outside may carry about {computed} "
        f"(from {figure(volts, 'V')} over a dry body from hand to feet, for 90 % of people; wet skin or a child: more). "
        f"Such a current, as long as it lasts, {shock.EFFECTS[worst]} (zone {worst} at the high end). "
        "No protective device need act. This is an indication, never a leave to touch.",
        computed, published(data.load("touch")["limit_normal"] if volts > 50.0 else data.load("touch")["limit_special"]),
        f"indicative: {shock.marks()}")


def charging_points(case: Case, before: State, after: State):
    """Yield a warning for each intake behind a broken PEN whose earth terminal is above the limit for charging points."""
    entry = data.load("touch")["open_pen"]
    limit = published(entry)
    worst = {}
    for solution in weighed(after):
        for name, volts in touch_voltages(case, solution).items():
            point = case.point(name)
            if point.kind == "intake" and volts is not None and volts > limit.value and pen_breaks(case, point):
                worst[name] = max(volts, worst.get(name, 0.0))
    if worst:
        name = max(worst, key=worst.get)
        more = f" and at {len(worst) - 1} more" if len(worst) > 1 else ""
        yield Finding(
            "warning", f"charging point at {name}",
            f"A vehicle on charge out of doors at {name}{more} would stand at {figure(worst[name], 'V')} to the ground if "
            "its earth came from this supply: above the limit for charging points with the PEN open. A device that "
            "watches only line to neutral may not see it.", figure(worst[name], "V"), limit, sure(after))


def neighbours(case: Case, before: State, after: State):
    """Yield the largest voltage between the earth terminals of two points, where it is above the limits."""
    special = published(data.load("touch")["limit_special"])
    found = [(volts, pair) for s in weighed(after) for pair, volts in between_neighbours(case, s).items()]
    if not found or max(found)[0] <= special.value:
        return
    volts, (a, b) = max(found)
    normal = published(data.load("touch")["limit_normal"])
    over = volts > normal.value
    yield Finding(
        "danger" if over else "warning", f"metalwork of {a} and {b}",
        f"Between metalwork earthed at {a} and metalwork earthed at {b} stand {figure(volts, 'V')}: who can reach both at "
        "once, or a pipe or cable screen that joins them, bridges it.", figure(volts, "V"), normal if over else special,
        sure(after))


def not_known(case: Case, before: State, after: State):
    """Yield the range of touch voltage over the electrode's resistance where earthing or electrode is not given."""
    found = touch_range(case)
    if found is None:
        return
    entry = data.load("touch")["electrode_range"]
    low, high = electrode_range()
    as_if = "" if case.supply.earthing else "How it is earthed is not given: shown as if TN-C-S. "
    volts = figure([float(min(found.volts)), float(max(found.volts))], "V")
    yield Finding(
        "warning", f"touch voltage at {found.point}",
        f"{as_if}With the PEN broken, metalwork at {found.point} would stand at {volts} to remote earth, for an own "
        f"electrode from {low:g} to {high:g} ohm, all other ways to earth as given. Which value holds cannot be known "
        "without measuring the electrode and every metallic path.", volts, published(data.load("touch")["limit_normal"]),
        f"range: {entry['source']} ({data.KNOWN[entry['known']]})")


