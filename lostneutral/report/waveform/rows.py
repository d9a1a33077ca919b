"""The rows of tables and figures on waveforms."""

from lostneutral.circuit.waveform.parts import bridge_of
from lostneutral.circuit.waveform.waves import Wave
from lostneutral.consequences.upstream import faulted
from lostneutral.consequences.waves import RUNS, link_verdict, neutrals
from lostneutral.frozen import dataclass
from lostneutral.loads import load_model
from lostneutral.report.base.words import connection


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


def states(case, waveforms):
    """Return the states to show: before and after the break, or the one there is where nothing is broken."""
    found = [state for state in (waveforms.before, waveforms.after) if state is not None]
    return found if faulted(case) else found[:1]


def by_star_point(case, waveforms):
    """Return the names of the points, that whose star point moves furthest first."""
    stars = waveforms.after.stars
    moved = lambda name: round(stars[name].rms, 6) if stars.get(name) else 0.0
    return sorted((p.name for p in case.points), key=moved, reverse=True)


def phase_rows(case, waveforms):
    """Return a PhaseWave for every line of every point, in the order of `by_star_point`."""
    before = waveforms.before.phases if waveforms.before else {}
    return tuple(PhaseWave(name, line, before.get((name, line)), waveforms.after.phases.get((name, line)))
                 for name in by_star_point(case, waveforms) for line in case.point(name).phases)


def link_rows(case, waveforms):
    """Return a LinkRow for every rectifier load that is on, in the order of the case."""

    return links_in(case, waveforms.after, waveforms.before)


def links_in(case, after, before=None):
    """Return the same of a `WaveState` by itself, with the mean links of the one before it, if there is one."""
    before = {load.name: load.link for load in before.loads} if before else {}
    made = []
    for load, seen in zip(case.loads, after.loads):
        if seen.link is None:
            continue
        mean, lowest, highest = seen.link
        rating, cut_off = float(load_model(load, case.supply)[0].capacitor_rating), bridge_of(load).cut_off
        was = before.get(load.name)
        made.append(LinkRow(load.name, connection(load), load.connect[0], was and was[0], mean, lowest, highest, rating,
                            cut_off, link_verdict(load, rating, seen.link)))
    return tuple(made)


def neutral_rows(case, waveforms):
    """Return a NeutralRow for the neutral of every run that carries current in it, state by state."""
    made = []
    for state in states(case, waveforms):
        made += [NeutralRow(feeding, state.name, wave.rms, wave.harmonics[2], most)
                 for feeding, wave, most in neutrals(state) if wave.rms > 1e-3 * most]
    return tuple(made)
