"""Neutral current that returns another way: through electrodes, pipes, cable screens and neighbours' bonding."""

from math import inf, pi, sqrt

from lostneutral import data
from lostneutral.case.cables import resistance
from lostneutral.case.model import Case
from lostneutral.circuit.solution import Solution
from lostneutral.frozen import dataclass


@dataclass(frozen=True)
class Way:
    """One way back beside the neutral: an electrode or a metallic path."""

    name: str
    current: complex | None  #: A, into remote earth, or from the path's start to its end
    share: float | None  #: |current| to the current the broken conductor carried while sound; None without one


def ways(case: Case, before: Solution | None, after: Solution) -> tuple[Way, ...]:
    """Return every electrode and path with its current in `after`; shares need `before`."""
    carried = [abs(i) for b in case.breaks_after() if b.conductor == "N" and before is not None
               and (i := before.currents.get((b.feeding, "N"))) is not None]
    whole = max(carried, default=0.0)
    return tuple(Way(_name(case, key), i, abs(i) / whole if i is not None and whole > 0 else None)
                 for key, i in after.earth_currents.items())


def _name(case, key):
    if key[0] == "electrode":
        return "electrode of the supply" if key[1] == "supply" else f"electrode at {key[1]}"
    path = case.paths[key[1]]
    return f"path from {path.start} to {'remote earth' if path.end == 'earth' else path.end}"


def heating_time(current, area=None):
    """Return the time (s) in which `current` (A) heats a copper conductor to its insulation's final temperature.

    t = (k S / I)² without any heat given off (adiabatic), IEC 60364-5-54; on the short side beyond about 5 s.
    `area` in mm², default that of the data file `diverted`.
    """
    table = data.load("diverted")
    area = area or table["conductor"]["area"]
    return inf if current == 0 else (table["insulation"]["k"] * area / current) ** 2


def steady_warming(current, area=None):
    """Return the rise (K) over the surroundings at which a single insulated copper conductor in air gives off its heat.

    R' I² = h π d ΔT with the conductor's resistance at 20 °C, d over its insulation and h of the data file `diverted`:
    an indication, for one conductor in still air.
    """
    table = data.load("diverted")
    area = area or table["conductor"]["area"]
    outside = (sqrt(4 * area / pi) + 2 * table["insulation"]["thickness_mm"]) / 1000
    return resistance(1.0, area) * current**2 / (table["heat_transfer"]["value"] * pi * outside)
