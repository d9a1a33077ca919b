"""What a meter would read between any two terminals of a point, and which reading deceives."""

from dataclasses import replace
from itertools import combinations
from math import isinf, pi
from typing import TYPE_CHECKING

import numpy as np

from lostneutral import data
from lostneutral.case.model import Case
from lostneutral.circuit.solution import Solution
from lostneutral.circuit.wiring import EARTH, Element, terminal_names
from lostneutral.consequences.limits import band, verdict
from lostneutral.consequences.meters import Reading
from lostneutral.consequences.upstream import beyond, breaks_towards
from lostneutral.studies.electrode_range import with_electrodes
from lostneutral.studies.near import shown_impedances, state_near

if TYPE_CHECKING:
    from lostneutral.circuit.waveform.waves import WaveState

MOST_POINTS = 12  #: points of which readings are worked out, those behind a break first
MOST_WORK = 600  #: points times points of which readings are worked out, as far as more than two are


def readings(case: Case, known: Solution | None = None) -> tuple[Reading, ...]:
    """Return the readings at each point after the breaks, with the loads as given and with those of the point off.

    The settled state is followed from `known` (None: the usual guess), with the loads on as with those of the point off.
    Each load is held at the admittance it settles at, and the instruments (data file `meters`) draw from what the
    network then shows at their terminals. Conductors of one point couple by a capacitance that is assumed; it matters
    only where nothing else ties them down. An electrode of TT that is left out is there (`with_electrodes`). No readings
    where no state that holds lies next to `known`.
    """
    case, stray = with_electrodes(case), tuple(_stray(case))
    found, loaded = [], state_near(case, known, stray)
    for point in _points(case):
        own = beyond(case, point)
        off = replace(case, loads=tuple(replace(load, on=load.on and load.point not in own) for load in case.loads))
        found += [*_at(case, loaded, point, True), *_at(off, state_near(off, known, stray), point, False)]
    return tuple(found)


def _points(case):
    behind = [p for p in case.points if any(breaks_towards(case, p, c) for c in ("N", "PE", *case.supply.lines))]
    there = {p.name for p in behind}
    rest = [p for p in case.points if p.name not in there]
    most = max(2, min(MOST_POINTS, MOST_WORK // len(case.points)))
    return [p for p in (*behind, *rest) if p.kind != "joint"][:most]


def _at(case, state, point, loads_on):
    if state is None:
        return ()
    net, root = state.net, state.root
    places = {name: (point.name, name) for name in terminal_names(case, point)}
    places |= {"earth": EARTH} if case.supply.earthing else {}
    # Of conductors that nothing ties to the rest, not even a coupling, nothing can be said.
    tied = [name for name, terminal in places.items() if terminal in net.node]
    pairs = [pair for pair in combinations(tied, 2) if "earth" not in pair or "PE" in pair]
    ends = np.array([[net.node[places[a]], net.node[places[b]]] for a, b in pairs], int).reshape(-1, 2)
    volts = np.abs(root.drop(ends))
    inner = shown_impedances(net, root, ends)
    meters = data.load("meters")
    high, low = (volts * np.abs(m / (m + inner)) for m in (meters["high"]["impedance"], meters["low"]["impedance"]))
    return [Reading(point.name, pair, loads_on, float(h), float(low_), warning)
            for pair, h, low_, warning in zip(pairs, high, low, _warnings(case, pairs, high, low))]


def _stray(case):
    """Capacitances between the conductors of each point: what ties a conductor that nothing else does."""
    entry = data.load("meters")["stray"]
    for point in case.points:
        length = point.cable.given.get("length", entry["length"])
        impedance = 1 / (2j * pi * case.supply.frequency * entry["value"] * max(length, 1.0))
        for a, b in combinations(terminal_names(case, point), 2):
            yield Element(("stray", point.name, a, b), (point.name, a), (point.name, b), impedance)


def _warnings(case, pairs, high, low):
    """Say of each reading how it deceives, if it does."""
    words, nominal = data.load("meters")["deceives"], case.supply.nominal
    to_earth = dict(zip(pairs, high)).get(("PE", "earth"), 0.0)
    for (a, b), volts, loaded in zip(pairs, high, low):
        if b == "N" and abs(volts / nominal - 1) <= words["normal_within"] and loaded < words["collapses_below"] * nominal:
            yield (f"A high-impedance voltmeter would read about {volts:.0f} V although the neutral is open. A low-impedance tester "
                   f"would read about {loaded:.0f} V.")
        elif volts > words["near_zero"] and loaded < words["collapses_below"] * volts:
            yield ("One of the two is connected by coupling only: a high-impedance voltmeter may read anything from zero to the voltage between "
                   f"two lines; about {volts:.0f} V if it couples to all conductors alike.")
        elif (a, b) == ("N", "PE") and volts < words["near_zero"] < to_earth:
            yield (f"N and PE would both be at {to_earth:.0f} V to the ground: a reading between them shows nothing. Measure "
                   "to an earth that does not depend on this terminal.")
        else:
            yield ""


def readings_of_waves(case: Case, state: "WaveState", phasors: tuple[Reading, ...]) -> tuple[Reading, ...]:
    """Return the readings in a state of waveforms: line to neutral is the true r.m.s. value, others with N are left out.

    Those with the loads off are the ones of `phasors`.
    """
    made = []
    if phasors:
        made = [Reading(point, (line, "N"), True, wave.rms, None, _NORMAL if _reads_normal(case, point, wave) else "")
                for (point, line), wave in state.phases.items() if wave is not None]
    return (*made, *(r for r in phasors if not (r.loads_on and "N" in r.between)))


_NORMAL = ("A true-r.m.s. meter would read normal although the neutral is open: the rectifiers keep the phase voltages near "
           "normal. Measure the peak value, or N to earth.")


def _reads_normal(case, point, wave):
    cut = any(b.conductor == "N" and isinf(b.resistance) and point in beyond(case, case.point(b.feeding))
              for b in case.breaks_after())
    return cut and verdict(wave.rms / case.supply.nominal, band(case.supply.limits)) == "within"
