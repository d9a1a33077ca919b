"""What unknown loads leave open: how high each voltage may have been, how likely, and which unknown matters most."""

from collections.abc import Callable
from dataclasses import field, replace

import numpy as np

from lostneutral import data
from lostneutral.analysis import analyse
from lostneutral.case.model import Case
from lostneutral.consequences.harm import LOW_OUTCOMES, OUTCOMES, Harm
from lostneutral.consequences.limits import ROUNDING, Band, band, published
from lostneutral.evidence.guarantee import Guarantee, guarantee
from lostneutral.evidence.influence import Influence, influences
from lostneutral.evidence.outcomes import by_ports, outcomes_at, ports
from lostneutral.evidence.sampling import columns, draw, may_be_on, needs_single, solve, unknown_values
from lostneutral.evidence.spans import Span, made_span
from lostneutral.frozen import dataclass
from lostneutral.loads import load_model
from lostneutral.result import Result

ONE_STATE, SEVERAL = 8192, 256  #: samples by default: where all have one settled state, and where each is looked for
MANY_LOADS, FEWER = 20, 2048  #: with more loads than this, so many samples by default where all have one settled state
SCRAMBLINGS = 8  #: sequences, each scrambled anew; how their answers differ is the sampling error
CHUNK = 4096  #: samples drawn and solved at a time, of all sequences together
STARS = 4000  #: star points kept for the figure


@dataclass(frozen=True, eq=False)
class Ranges:
    """What the unknowns leave open after the break, if every combination is as likely as the case says."""

    phases: tuple[Span, ...]  #: line to neutral, at each point
    loads: tuple[Span, ...]  #: across each load that may be on, while it is on
    highest: Span  #: the highest voltage line to neutral anywhere
    guarantee: Guarantee
    influences: tuple[Influence, ...]  #: on `highest`, the strongest first
    unknowns: tuple[str, ...]
    samples: int
    scramblings: int
    seed: int
    unsolved: float  #: share of the samples for which no settled state was found
    several: float  #: share of the samples with more than one settled state
    falling: tuple[str, ...]  #: loads because of which samples may have several settled states
    point: str  #: whose star point is `star`
    star: np.ndarray = field(repr=False)  #: complex, V: the neutral of that point in some of the samples, nan where it floats
    star_weight: np.ndarray = field(repr=False)


def bound(case: Case, samples: int | None = None, seed: int = 1,
          tick: Callable[[int], object] | None = None) -> Result:
    """Return what `case` works out to as given, and in `Result.ranges` what its `[[unknown]]` entries leave open.

    `samples` is their number (default by the case: 256 to 8192, rounded up), `seed` the start of the random sequence: the
    same seed gives the same answer. `tick(number)` is called as samples are done. Voltages are r.m.s. V: `low`, `middle` and
    `high` are those below which 5, 50 and 95 % of the samples lie. Range: steady state of sine waves; the probabilities
    rest on those put in. Source: arithmetic of the samples; limits as in `analyse`.

    Raises UsageError if nothing is unknown, NoSolutionError as `analyse` does.

    >>> from lostneutral import bound, read_case
    >>> found = bound(read_case("casebook/upstairs-flat.toml"), samples=64).ranges
    >>> print(f"{found.highest.low:.0f} to {found.highest.high:.0f} V in {found.samples} samples")
    232 to 400 V in 64 samples
    """
    found = ranges(case, samples, seed, tick)
    return replace(analyse(case), ranges=found)


def ranges(case: Case, samples: int | None = None, seed: int = 1, tick=None) -> Ranges:
    """Return the ranges that the `[[unknown]]` entries of `case` leave open after its breaks.

    `samples` is rounded up (see `sample_count`). Of a sample with several settled states each counts alike.
    `tick(number)` is called as samples are done. Memory: what `CHUNK` samples need, and 8 bytes for each sample and
    voltage asked for. The same seed gives the same answer. Raises UsageError if nothing is unknown.
    """
    whole = sample_count(case, samples)
    each, where = whole // SCRAMBLINGS, _point(case)
    step = CHUNK // SCRAMBLINGS
    parts = [_solved(case, where, seed, first, min(step, each - first), tick) for first in range(0, each, step)]
    rows = _Rows(*(np.concatenate(column) for column in zip(*parts, strict=True)))
    limits, nominal = band(case.supply.limits), case.supply.nominal
    everywhere = np.ones(len(rows.weight), bool)
    phases = tuple(_span(rows, point, line, v, everywhere, _tests(case, limits, v, nominal, True))
                   for (point, line), v in zip(lines(case), rows.lines.T))
    top = np.where(np.isnan(rows.lines).all(axis=1), np.nan, np.nanmax(np.nan_to_num(rows.lines, nan=-1.0), axis=1))
    some = np.linspace(0, len(rows.weight) - 1, min(STARS, len(rows.weight))).astype(int)
    return Ranges(
        phases=phases,
        loads=tuple(_load(case, limits, rows, k) for k in np.flatnonzero(may_be_on(case))),
        highest=_span(rows, "highest", "", top, everywhere, _tests(case, limits, top, nominal, True)),
        guarantee=guarantee(case), influences=influences(columns(case), rows.values, top, rows.weight),
        unknowns=tuple(c.name for c in columns(case)), samples=whole, scramblings=SCRAMBLINGS, seed=seed,
        unsolved=float(rows.weight[~rows.solved].sum() / whole), several=float(rows.weight[rows.weight < 1].sum() / whole),
        falling=needs_single(case), point=where, star=rows.star[some], star_weight=rows.weight[some])


def sample_count(case: Case, samples: int | None = None) -> int:
    """Return how many samples are taken where `samples` are asked for (None: the default for such loads).

    Raises UsageError if nothing is unknown.
    """
    unknown_values(case)
    usual = ONE_STATE if len(case.loads) <= MANY_LOADS else FEWER
    wanted = samples or (SEVERAL if needs_single(case) else usual)
    return SCRAMBLINGS * max(-(-wanted // SCRAMBLINGS), 2)


def lines(case: Case):
    """Return (point, line) of every line at every point."""
    return tuple((point.name, line) for point in case.points for line in point.phases)


@dataclass(frozen=True, eq=False)
class _Rows:
    """What is kept of every row that was solved."""

    values: np.ndarray  #: (rows, unknowns), 0 to 1
    scrambling: np.ndarray
    weight: np.ndarray  #: 1 for a sample
    lines: np.ndarray  #: (rows, lines of all points), V
    loads: np.ndarray  #: (rows, loads), V
    ports: np.ndarray  #: (rows, loads of `_machines`, their ports), V
    on: np.ndarray  #: (rows, loads)
    star: np.ndarray  #: complex, V
    solved: np.ndarray


def _solved(case, where, seed, first, size, tick):
    """Return what is kept of the samples `first` to `first + size` of every sequence, solved together."""
    sequences = [draw(case, size, (seed, scrambling), first) for scrambling in range(SCRAMBLINGS)]
    drawn = replace(sequences[0], size=size * SCRAMBLINGS, values=np.concatenate([s.values for s in sequences]))
    told = []
    found = solve(drawn, tick=tick and (lambda n: (told.append(n), tick(n))))
    if tick:
        tick(drawn.size - sum(told))
    volts = np.stack([np.abs(found.between((p, line), (p, "N"))) for p, line in lines(case)], axis=1)
    return (drawn.values[found.sample], found.sample // size, found.weight * drawn.size, volts,
            np.abs(found.loads), _of_machines(case, found), found.on, found.nodes[where, "N"], found.solved)


def _machines(case):
    return [k for k, load in enumerate(case.loads) if by_ports(load_model(load, case.supply)[0])]


def _of_machines(case, found):
    machines = _machines(case)
    made = np.zeros((len(found.sample), len(machines), 3))
    for n, k in enumerate(machines):
        load = case.loads[k]
        sizes = ports(load_model(load, case.supply)[0], [found.nodes[load.terminal(c)] for c in load.connect])
        made[:, n, :sizes.shape[1]] = np.nan_to_num(sizes)
    return made


def _point(case):
    """The point whose star point is drawn: the first behind a break, else the first; a fuse before the transformer feeds none of them."""
    broken = [b.feeding for b in case.breaks_after() if not b.at_supply] + [u.feeding for u in case.unknowns if u.feeding]
    return broken[0] if broken else case.points[0].name


def _span(rows, name, line, volts, counts, tests, outcomes=None):
    return made_span(name, line, volts, rows.weight, rows.scrambling, counts & rows.solved, tests, outcomes)


def _load(case, limits, rows, k):
    load, volts, machines = case.loads[k], rows.loads[:, k], _machines(case)
    many = len(load_model(load, case.supply)[0].ports)
    outcomes = outcomes_at(case, load, rows.ports[:, machines.index(k), :many] if k in machines else volts)
    fails = np.isin(outcomes, [word for word in (*OUTCOMES, *LOW_OUTCOMES) if Harm(load.name, word).fails])
    tests = [*_tests(case, limits, volts, load.voltage, False), ("fails", None, fails)]
    return _span(rows, load.name, "", volts, rows.on[:, k], tests, outcomes)


def _tests(case, limits: Band, volts, rated, line):
    """The limits that a voltage is held against: (words, limit, where it is passed)."""
    low, high = limits.yardstick("low", rated), limits.yardstick("high", rated)
    dead = replace(published(data.load("yardsticks")["dead"], data.load("yardsticks")["dead"]["below"] * rated), unit="V")
    found = [("too high", high, volts > high.value * (1 + ROUNDING)),
             ("too low", low, volts < low.value * (1 - ROUNDING)),
             ("dead", dead, volts < dead.value)]
    if not line:
        return found
    split = case.supply.system == "split-phase"
    entry = data.load("stress")["loss_of_neutral_split_phase" if split else "loss_of_neutral"]
    stress = published(entry, rated * entry["factor"])
    return [found[0], ("beyond insulation", stress, volts > stress.value * (1 + ROUNDING)), *found[1:]]
