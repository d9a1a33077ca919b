"""What waveforms come to in rows and sentences, for report and page one alike."""

from dataclasses import dataclass

from lostneutral.circuit.waveform.measures import Wave
from lostneutral.circuit.waveform.parts import bridge_of
from lostneutral.consequences.upstream import beyond
from lostneutral.report.words import connection, number, significant

SHIFT = 1.0  #: V; a star point that moves less by the break has not moved
PART = 0.05  #: of its voltage: how far a meter may be off before it is called deceiving
CUT, OVER, RUNS = "at its cut-off", "above its rating", "runs"


@dataclass(frozen=True)
class PhaseWave:
    """Line to neutral at one point, before and after the break; None where it floats or is not known."""

    place: str
    line: str
    before: Wave | None
    after: Wave | None


@dataclass(frozen=True)
class LinkRow:
    """The d.c. link of one rectifier load, V d.c."""

    name: str
    connect: str
    line: str  #: the first line it lies on
    before: float | None  #: mean
    after: float  #: mean
    lowest: float
    highest: float
    rating: float  #: of the bulk capacitor
    cut_off: float
    verdict: str  #: CUT, OVER or RUNS

    @property
    def runs(self):
        """Whether it works within its range."""
        return self.verdict == RUNS


@dataclass(frozen=True)
class NeutralRow:
    """The neutral of one run in one state, A r.m.s."""

    feeding: str
    state: str
    current: float
    third: float  #: third harmonic
    line: float  #: the largest line current of the run


def faulted(case):
    """Return whether anything is broken or exchanged, so that before and after differ."""
    return bool(case.breaks_after() or case.crosses)


def states(case, waveforms):
    """Return the states to show: before and after the break, or the one there is where nothing is broken."""
    found = [state for state in (waveforms.before, waveforms.after) if state is not None]
    return found if faulted(case) else found[:1]


def places(case, waveforms):
    """Return the names of the points, the one whose star point moves furthest first."""
    stars = waveforms.after.stars
    return sorted((p.name for p in case.points), key=lambda name: -round(stars[name].rms, 6) if stars.get(name) else 0.0)


def phase_rows(case, waveforms):
    """Return a PhaseWave for every line of every point, in the order of `places`."""
    before = waveforms.before.phases if waveforms.before else {}
    return tuple(PhaseWave(name, line, before.get((name, line)), waveforms.after.phases.get((name, line)))
                 for name in places(case, waveforms) for line in case.point(name).phases)


def link_rows(case, waveforms):
    """Return a LinkRow for every rectifier load that is on, in the order of the case."""
    from lostneutral.loads import load_model

    before = {load.name: load.link for load in waveforms.before.loads} if waveforms.before else {}
    made = []
    for load, seen in zip(case.loads, waveforms.after.loads):
        if seen.link is None:
            continue
        mean, lowest, highest = seen.link
        rating, cut_off = float(load_model(load, case.supply)[0].capacitor_rating), bridge_of(load).cut_off
        was = before.get(load.name)
        made.append(LinkRow(load.name, connection(load), load.connect[0], was and was[0], mean, lowest, highest, rating,
                            cut_off, CUT if lowest <= cut_off else OVER if highest > rating else RUNS))
    return tuple(made)


def neutral_rows(case, waveforms):
    """Return a NeutralRow for the neutral of every run that carries current in it, state by state."""
    made = []
    for state in states(case, waveforms):
        for (feeding, conductor), wave in state.currents.items():
            lines = [w.rms for (run, c), w in state.currents.items() if run == feeding and c not in ("N", "PE") and w]
            if conductor == "N" and wave and lines and wave.rms > 1e-3 * max(lines):
                made.append(NeutralRow(feeding, state.name, wave.rms, wave.harmonics[2], max(lines)))
    return tuple(made)


def moved(waveforms):
    """Return the largest r.m.s. voltage (V) of a star point after the break, None where one floats."""
    stars = [star and star.rms for star in waveforms.after.stars.values()]
    return None if None in stars else max(stars)


def opened(case):
    """Return whether a neutral is open or bad."""
    return any(b.conductor == "N" for b in case.breaks_after())


def outcome(case, waveforms):
    """Return in one sentence what the pulses came to."""
    links = link_rows(case, waveforms)
    cut, over = ([r for r in links if r.verdict == word] for word in (CUT, OVER))
    if waveforms.after.ends == "cycle":
        return "The power supplies cut off and start again and again, and the voltages swing with them."
    if waveforms.after.ends == "undecided":
        return "The voltages did not come to rest in the time that was followed."
    if cut:
        return (f"The star is torn apart: the power supplies on {_lines(cut)} stand at their cut-off, at {_links(cut)} "
                "V d.c. inside"
                + (f", those on {_lines(over)} at {_links(over)} V, above what their capacitors are rated for." if over else "."))
    if over:
        return (f"No power supply has cut off, but inside those on {_lines(over)} stand {_links(over)} V d.c., above "
                "what their capacitors are rated for.")
    if not links:
        return "There is no rectifier with a capacitor among the loads that are on."
    if (opened(case) and moved(waveforms) is None) or (moved(waveforms) or 0.0) < _before(waveforms) + SHIFT:
        return _neutral(case, waveforms) or f"Inside the power supplies stand {_links(links)} V d.c.; none is outside its range."
    was = [r.before for r in links if r.before]
    return (f"The pulses of the power supplies hold the star together: inside them stand {_links(links)} V d.c."
            + (f" instead of {_span(was)} V" if was else "") + ", none above its capacitor's rating and none cut off.")


def voltages(case, waveforms):
    """Return the true r.m.s. voltages before and after at the point whose star point moves furthest, one sentence."""
    rows_ = [r for r in phase_rows(case, waveforms) if r.place == places(case, waveforms)[0]]
    return "; ".join(f"line {r.line} was left floating" if r.after is None else
                     f"line {r.line} {_way(r)} {number(r.after.rms, 0)} V" for r in rows_)


def _way(row):
    if row.before is None or abs(row.after.rms - row.before.rms) < 0.5:
        return "stood at"
    return f"{'rose' if row.after.rms > row.before.rms else 'fell'} from {number(row.before.rms, 0)} to"


def deceiving(case, waveforms):
    """Return (row, what an averaging meter shows too much, V) of the phase where it is furthest off; None if it is near."""
    found = [r for r in phase_rows(case, waveforms) if r.after and r.after.rms > SHIFT]
    off = lambda r: abs(r.after.average_reading - r.after.rms) / r.after.rms
    worst = max(found, key=off, default=None)
    return None if worst is None or off(worst) < PART / 2 else worst


def line_powers(case):
    """Return {line: W behind bridges between it and neutral}, of loads that are on beyond a broken or bad neutral.

    The whole case where no neutral is broken.
    """
    cut = [b.feeding for b in case.breaks_after() if b.conductor == "N"] or [p.name for p in case.points]
    inside = frozenset().union(*(beyond(case, case.point(name)) for name in cut))
    powers = dict.fromkeys(case.supply.lines, 0.0)
    for load in case.loads:
        bridge = bridge_of(load) if load.on and load.point in inside else None
        if bridge and len(load.connect) == 2 and "N" in load.connect:
            line = next((c for c in load.connect if c in powers), None)
            if line:
                powers[line] += bridge.power
    return powers


def _before(waveforms):
    stars = waveforms.before.stars.values() if waveforms.before else ()
    return max((s.rms for s in stars if s), default=0.0)


def _neutral(case, waveforms):
    found = max(neutral_rows(case, waveforms), key=lambda r: r.current / r.line, default=None)
    if found is None or found.third < PART * found.current:
        return ""
    return (f"The neutral of the run to “{found.feeding}” carries {significant(found.current, 'A')}, "
            f"{number(found.current / found.line, 2)} times the largest line current, and "
            f"{significant(found.third, 'A')} of it as third harmonic.")


def _lines(links):
    return _and(dict.fromkeys(r.connect for r in links))


def _links(links):
    return _span([r.after for r in links])


def _span(volts):
    low, high = number(min(volts), 0), number(max(volts), 0)
    return low if low == high else f"{low} to {high}"


def _and(words):
    words = list(words)
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
