"""Where it broke: the same causes and the same law as `deduce`, with what is unknown of loads and supply at its median."""

from dataclasses import replace
from functools import partial
from math import inf, log

import numpy as np

from lostneutral.case.model import Break, Case
from lostneutral.circuit import large
from lostneutral.circuit.network import network
from lostneutral.circuit.newton import first_guess
from lostneutral.circuit.outcome import solution
from lostneutral.circuit.search import SHORT
from lostneutral.circuit.wiring import wiring
from lostneutral.errors import NoSolutionError
from lostneutral.evidence import likelihood
from lostneutral.evidence.asked import asked, ceiling, ceiling_words
from lostneutral.evidence.effects import DOES_NOT_FIT, point_words
from lostneutral.evidence.likelihood import Judge
from lostneutral.evidence.located import Outcome, Where
from lostneutral.evidence.next_reading import next_readings
from lostneutral.evidence.places import MOST_RUNS, Place, tried
from lostneutral.evidence.rivals import CAUSES, rivals
from lostneutral.evidence.sampling import quantity
from lostneutral.evidence.scale import EVEN, PLAYS, UNDECIDED
from lostneutral.evidence.settled import Maps, Neighbours
from lostneutral.evidence.spans import percentile
from lostneutral.evidence.tempered import evaluated, joined
from lostneutral.evidence.thinned import everywhere, is_long, narrowed, shared_out, spread_over, thinned
from lostneutral.evidence.world import World, electrodes_high, highest_supply
from lostneutral.studies.recorded import with_all_observed
from lostneutral.words.amounts import listed

DRAWN = 64  #: values of a joint and draws of the couplings over which the law is integrated …
FEW = 12  #: … with so many runs or fewer; of more runs so many less …
LONG = 16  #: … down to what a long street has
PROBES = 3  #: draws of the couplings that tell whether they matter
LOADS = ("on", "power", "one_of")  #: keys of what is not known of loads
MOVES = 1.0  #: V by which couplings must move a reading to be integrated over
BEGUN = 8  #: of the likeliest samples, of the states of which one is looked for from one after the other


def where(case: Case) -> Where:
    """Return every cause of `case` that `deduce` weighs, ranked by what was observed.

    The case's own breaks and exchanges are left out: each cause has its own. Loads and supply are taken at
    their medians; integrated are the resistance of a joint, and couplings and unmeasured electrodes where they move a reading. Of several
    settled states all that are found count. `Where.outcomes` are in the order of `support`, their posterior probability
    (0 to 1, in all 1), by the priors and the law of `deduce` (data files `evidence`, `where`, `couplings`);
    `next_reading` is the measurement that best tells the first two apart. A long street is looked at coarsely first, then
    closely where the observations fit (see `thinned`). Range: steady state.

    Raises NoSolutionError where conductors without impedance join two sources.

    >>> from lostneutral import read_case, where
    >>> first = where(read_case("casebook/village-hall.toml")).outcomes[0]
    >>> print(first.place.words, f"{first.support:.2f}")
    open neutral in the cable to hall board 1.00
    """
    case = with_all_observed(case)
    found = rivals(case)
    if not is_long(case):
        answer = _told(case, *_weighed(case, found))
        few = len(case.points) <= MOST_RUNS
        notes = () if few else (f"Of {len(case.points)} cables {len(tried(case))} were tried, each with an open neutral only.",)
        return replace(answer, notes=notes + answer.notes)
    chosen, stands, answer = narrowed_down(case, found)
    notes = (f"Of {len(case.points)} cables {len(chosen)} were tried last, each with an open or a bad neutral only, closest together where the "
             "observations fit and tell neighbours apart, each for those up to the next; like premises of a stretch between them are taken together.",)
    return replace(answer, outcomes=everywhere(case, answer.outcomes, stands), notes=notes + answer.notes)


def narrowed_down(case, found):
    """Return (runs that were tried last, what stands for each point then, the answer) of a long street: coarse first, then closer
    where the observations fit, until every run there was tried or lies between two that nothing tells apart."""
    every = [p.name for p in tried(case)]
    chosen, last = tuple(dict.fromkeys((*spread_over(every), every[-1]))), ()
    while chosen != last:
        last = chosen
        coarse, stands = thinned(case, last)
        _, world, *_, evidence = weighed = _weighed(coarse, shared_out(case, found, last), LONG)
        ratios = {}
        for place, own in ((rival.place, own) for rival, own in zip(world.causes, evidence) if rival.place):
            if place.feeding in last:
                ratios[place.feeding] = min(_ratio(evidence, own), ratios.get(place.feeding, inf))
        chosen = narrowed(case, last, ratios) if case.observations else last
    return last, stands, _told(coarse, *weighed)


def _weighed(case, found, drawn=None):
    """Return (judge, world of the causes `found` that are listed, the others, a step of each listed, evidence of each listed, then each other)."""
    drawn = drawn or max(DRAWN * FEW // max(len(tried(case)), FEW), LONG)
    judge, shown, observed = Judge(case), [r for r in found if r.kind != "not listed"], bool(case.observations)
    world = World(case, shown, judge.conditions, judge.readings[0])
    others = [r for r in found if r.kind == "not listed"] if observed else []
    steps = _integrated(world, judge, Maps(0), drawn) if observed else [None] * len(shown)
    evidence = [np.mean(step.likelihood) if step else 1.0 for step in steps] + [judge.not_listed()[0] for _ in others]
    return judge, world, others, steps, np.array(evidence)


def _ratio(evidence, own):
    """Return the likelihood ratio of the best of `evidence` to that of one."""
    return float(evidence.max() / own) if own else inf


def _told(case, judge, world, others, steps, evidence):
    """Return what `where` says of what `_weighed` found."""
    observed, shown = bool(case.observations), world.causes
    prior = np.array([r.prior for r in (*shown, *others)])
    made = [_outcome(world, judge, n, step) for n, step in enumerate(steps)]
    made += [Outcome(Place("not listed", "", other.words)) for other in others]
    posterior = evidence * prior / max((evidence * prior).sum(), 1e-300)
    best = evidence.max()
    made = [replace(o, support=float(p), prior=float(q), ratio=_ratio(evidence, e),
                    misfit=float(-2 * log(max(e, 1e-300) / max(best, 1e-300)))) for o, p, q, e in zip(made, posterior, prior, evidence)]
    order = sorted(range(len(made)), key=lambda n: -round(made[n].support, EVEN) if observed else CAUSES.index(made[n].place.kind))
    reading = next_readings(case, [(shown[n], _Part(steps[n]), made[n].support) for n in order
                                   if n < len(shown) and observed and made[n].support > PLAYS]) if observed else ()
    made = [made[n] for n in order]
    declined = _declined(world, judge, made, steps) if observed else ""
    ceilings = _ceilings(world, judge, steps, made) if observed else ()
    return Where(tuple(made), observed, reading[0] if reading else None, _notes(case, made, ceilings, _unsolved(shown, steps, made), declined), ceilings,
                 declined)


def _unsolved(rivals_, steps, found):
    """Return the words of the causes for which no settled state was found."""
    if any(step is not None for step in steps):
        return [r.words for r, step in zip(rivals_, steps) if not step.states.solved.any()]
    return [o.place.words for o in found if o.solution is None and (o.place.breaks or o.place.crosses)]


def _ceilings(world, judge, steps, made):
    """Return how high each reading can be that fits under no cause."""
    listed = [o for o in made if o.misfits]
    return tuple(ceiling(judge.case, likelihood.words(judge.case, o),
                         [(r.words, s.volts[:, n]) for r, s in zip(world.causes, steps)], highest_supply(world))
                 for n, o in enumerate(judge.observations)
                 if o.is_reading and all(outcome.misfits[n][2] > DOES_NOT_FIT for outcome in listed))


class _Part:
    """The rows of one cause as `next_readings` takes them."""

    def __init__(self, step):
        share = step.states.weight * step.likelihood[step.states.sample]
        self.values = step.values[step.states.sample]
        self.states, self.weight = step.states, share / share.sum() if share.any() else np.full(len(share), 1 / len(share))


def _integrated(world, judge, maps, drawn):
    """Return a step for every cause: `drawn` values of its joint, each with one draw of couplings and electrodes; of one without a joint its median
    state, or, where they move it, one for each draw."""
    coupled = [n for n, c in enumerate(world.columns) if c.unknown is None and c.law is not None or c.key == "electrode"]
    draws = np.full((drawn, len(world.columns)), 0.5)
    draws[:, coupled] = _even_points(drawn, len(coupled))
    draws[:, -1] = (np.arange(drawn) + 0.5) / drawn
    probes = np.concatenate([np.full((1, len(world.columns)), 0.5), draws[:PROBES]])
    made = _steps(world, judge, [probes if rival.own is None else draws for rival in world.causes], maps)
    moved = [n for n, step in enumerate(made) if world.causes[n].own is None and _moved_by(step.volts, step.states.sample) > MOVES]
    known = Neighbours({n: (made[n].values[made[n].states.sample], made[n].states) for n in moved})
    probed = {n: made[n].part(1, len(probes)) for n in moved}
    made = [step.part(0, 1) if world.causes[n].own is None else step for n, step in enumerate(made)]
    for n, step in zip(moved, _steps(world, judge, [draws[PROBES:]] * len(moved), known, moved)):
        made[n] = joined([probed[n], step])
    return made


def _moved_by(volts, sample):
    """Return by how much (V) the readings of a state differ at most from those of the nearest state of another sample.

    `volts` are (states, readings, leads), nan where there is none; `sample` says which sample a state is of.
    """
    volts = np.nan_to_num(volts).reshape(len(volts), -1)
    away = np.abs(volts[:, None] - volts).max(axis=2, initial=0.0)
    return max(away[:, sample == k].min(axis=1).max() for k in np.unique(sample))


def _even_points(count, columns):
    """Return `count` points of the unit cube of `columns` dimensions, each coordinate once in every `count`-th of its range.

    Source: McKay, Beckman and Conover, A Comparison of Three Methods for Selecting Values of Input Variables (1979): Latin hypercube.
    """
    parts = np.tile(np.arange(count)[:, None], columns)
    return (np.random.default_rng(1).permuted(parts, axis=0) + 0.5) / count


def _steps(world, judge, values, maps, causes=None):
    """Return the step of each of `causes` (numbers; None: all) with the samples `values` of each, solved together."""
    if not len(values):
        return []
    sizes = [len(own) for own in values]
    causes = range(len(values)) if causes is None else causes
    whole = evaluated(world, judge, np.repeat(causes, sizes), np.concatenate(values), maps)
    ends = np.cumsum(sizes)
    return [whole.part(end - size, end) for size, end in zip(sizes, ends)]


def _outcome(world, judge, n, step):
    rival = world.causes[n]
    place = rival.place or Place(rival.kind, "", rival.words)
    if step is None:
        own = quantity(rival.own, 0.5) if rival.own is not None else None
        weight = None
    else:
        weight = _Part(step).weight
        own = quantity(rival.own, step.values[int(np.argmax(step.likelihood)), -1]) if rival.own is not None else None
    if rival.kind == "bad joint":
        place = replace(place, breaks=(Break(place.feeding, "N", float(own)),))
    settles = partial(_solved, world, n, place, own, step, judge.conditions[0])
    if step is None:
        return Outcome(place, settles)
    return Outcome(place, settles, misfits=tuple(_misfits(judge, step, weight)), asks=partial(_asked, world, n, step, weight, judge.conditions[0]))


def _asked(world, n, step, weight, condition):
    """Return the voltages under the cause numbered `n` given everything observed."""
    values = step.values[step.states.sample]
    return asked(world.causes[n].words, step.states, weight, world.loose_metalwork(np.full(len(values), n), values, condition))


def _solved(world, n, place, own, step, condition):
    """Return (a settled state with the loads at their medians, what stands at each point then) of the cause numbered `n`; see `_begun`.

    Metalwork is judged with electrodes that nobody measured as `electrodes_high` has them.
    """
    rival = world.causes[n]
    case = electrodes_high(replace(at_medians(world.case), breaks=place.breaks, crosses=place.crosses, events=()), world.columns)
    supply = case.supply
    if rival.kind == "supply overvoltage":
        factor = float(own) / np.mean([abs(v) for v in supply.phasors.values()])
        case = replace(case, supply=replace(supply, phasors={k: v * factor for k, v in supply.phasors.items()}))
    elif rival.phasors:
        case = replace(case, supply=replace(supply, phasors=dict(rival.phasors)))
    elif rival.kind in ("supply neutral open", "raised earth"):
        return None, {}
    try:
        net = network(wiring(case, case.breaks_now(), case.crosses))
        state = large.followed(net, _begun(world, n, net, step, condition), **SHORT)
    except (NoSolutionError, np.linalg.LinAlgError):
        state = None
    if state is None:
        return None, {}
    found = solution(case, state.net, state.root, attracting=False, reached=False)
    return found, {p.name: point_words(case, p, found) for p in case.points}


def _begun(world, n, net, step, condition):
    """Yield the voltages of the nodes of `net` (V) from which the state of the cause numbered `n` is looked for: the likeliest that
    its samples have, one after the other, or, where nothing was observed, the usual guess and the states at the median."""
    known = step is not None and net.node.keys() <= world.net.node.keys()
    guess = net.all_voltages(np.zeros(net.free, complex)) if known else first_guess(net, world.case.supply.nominal)
    if step is None:
        yield guess
        states = world.settle(np.array([n]), np.full((1, len(world.columns)), 0.5), condition, True, Maps(0))
        rows = np.flatnonzero(states.solved)
    else:
        states, likely = step.states, step.states.weight * (step.genuine + step.other).prod(axis=1)
        rows = [k for k in np.argsort(-likely, kind="stable") if states.solved[k]][:BEGUN]
    for row in rows:
        yield _start(world, net, guess, states.v[row])


def _start(world, net, guess, volts):
    """Return the voltages of the nodes of `net` (V) as `volts` of the world's have them, elsewhere as `guess`."""
    start = guess.copy()
    for terminal, k in net.node.items():
        if k < net.free and terminal in world.net.node:
            start[k] = volts[world.net.node[terminal]]
    return start


def at_medians(case: Case) -> Case:
    """Return `case` with its unknown loads at their medians: on where that is as likely as not, powers in the middle."""
    loads = {load.name: load for load in case.loads}
    for u in case.unknowns:
        if u.on is not None:
            loads[u.load] = replace(loads[u.load], on=u.on > 0.5)
        if u.power is not None:
            loads[u.load] = replace(loads[u.load], parameters={**loads[u.load].parameters, "power": float(quantity(u.power, 0.5))})
        if u.one_of:
            likeliest = int(np.searchsorted(np.cumsum(u.chances), 0.5, side="right"))
            for k, name in enumerate(u.one_of):
                loads[name] = replace(loads[name], on=k == likeliest)
    return replace(case, loads=tuple(loads[load.name] for load in case.loads))


def _misfits(judge, step, weight):
    for n, o in enumerate(judge.observations):
        part = float(weight @ (step.genuine[:, n] + step.other[:, n]))
        if o.is_reading:
            lead, second = judge.lead(o, step.volts[:, n], weight)
            volts = step.volts[:, n, lead]
            there = np.isfinite(volts)
            low, middle, high = percentile(volts[there], weight[there]) if there.any() else (np.nan,) * 3
            gives = "no such voltage" if np.isnan(middle) else f"{middle:.0f} V" if high - low < 2 * MOVES else f"{low:.0f} to {high:.0f} V"
            gives += f" to {second}" if second else ""
            peak = float(judge.reading(o, np.array([[o.voltage]]))[0])
        elif o.device is not None:
            likely = float(weight @ (step.genuine[:, n] / judge.trust(o)))
            gives = f"expected with a probability of {likely:.2f}"
            peak = judge.trust(o)
        else:
            k = next(i for i, load in enumerate(judge.case.loads) if load.name == o.load)
            highest, together = (weight @ np.nan_to_num(volts[:, k]) / judge.case.loads[k].voltage
                                 for volts in (step.states.loads, step.states.together))
            gives = f"{highest:.2f} × rated voltage"
            gives += f", its branches together as if at {together:.2f} ×" if f"{together:.2f}" != f"{highest:.2f}" else ""
            gives = gives if weight @ step.states.on[:, k] > 0.5 else "switched off"
            peak = judge.trust(o)
        yield likelihood.words(judge.case, o), gives, max(-2 * log(max(part, 1e-300) / peak), 0.0)


def _declined(world, judge, found, steps):
    """Return why no cause is named: the first two are not told apart, or an unknown load's state decides."""
    first, *others = found
    if others and first.support < UNDECIDED * others[0].support:
        return (f"“{first.place.words}” and “{others[0].place.words}” are within a factor of {UNDECIDED:g} of each other; "
                "nothing here tells them apart.")
    for k, column in enumerate(world.columns):
        for share, chance in _other_positions(column):
            turned = np.array([np.mean(s.likelihood) for s in
                               _steps(world, judge, [_with(step.values, k, share) for step in steps], Maps())])
            turned *= [r.prior for r in world.causes]
            other = world.causes[int(np.argmax(turned))]
            if other.words != first.place.words and UNDECIDED * chance * turned.max() > _weight_of(world, judge, steps, first):
                return f"The leading cause depends on {column.name}: otherwise it would be “{other.words}”."
    return _declined_together(world, judge, first, steps)


def _declined_together(world, judge, first, steps):
    """Return that `first` does not stand out once all that is not known of loads and supply is weighed together; "" where it does, or loads are known."""
    taken = [k for k, column in enumerate(world.columns) if column.key in (*LOADS, "supply_voltage")]
    if not any(world.columns[k].key in LOADS for k in taken):
        return ""
    points, values = _even_points(DRAWN, len(taken)), []
    for step in steps:
        values.append(np.resize(step.values, (DRAWN, len(world.columns))))
        values[-1][:, taken] = points
    weighed = {r.words: np.mean(s.likelihood) * r.prior for s, r in zip(_steps(world, judge, values, Maps(0)), world.causes)}
    own = weighed.pop(first.place.words, _weight_of(world, judge, steps, first))
    other = max(weighed, key=weighed.get, default=None)
    if other is None or UNDECIDED * weighed[other] <= own:
        return ""
    names = listed([world.columns[k].name for k in taken])
    return f"The leading cause depends on {names}: with all of this weighed it does not stand out from “{other}”."


def _with(values, k, share):
    values = values.copy()
    values[:, k] = share
    return values


def _weight_of(world, judge, steps, outcome):
    listed_ = (np.mean(s.likelihood) * r.prior for s, r in zip(steps, world.causes) if r.words == outcome.place.words)
    return next(listed_, None) or judge.not_listed()[0] * outcome.prior


def _other_positions(column):
    """(share, chance against that of the median) of the positions of a switch other than that at its median."""
    u = column.unknown
    if column.key == "on":
        usual = max(u.on, 1 - u.on)
        return ((0.0 if u.on <= 0.5 else 1.0, (1 - usual) / usual),) if 0 < u.on < 1 else ()
    if column.key != "one_of":
        return ()
    edges = np.concatenate([[0.0], np.cumsum(u.chances), [1.0]])
    usual = next(b - a for a, b in zip(edges, edges[1:]) if a <= 0.5 < b)
    return tuple(((a + b) / 2, (b - a) / usual) for a, b in zip(edges, edges[1:]) if b - a > 1e-9 and not a <= 0.5 < b)


def _notes(case, found, ceilings, none, declined=""):
    notes = [ceiling_words(c) for c in ceilings]
    taken = [_taken(case, u) for u in case.unknowns]
    if any(taken):
        notes.append(f"Taken at the median of what is unknown: {'; '.join(t for t in taken if t)}. `lostneutral deduce` weighs "
                     "all that is possible.")
    if none:
        more = f" and {len(none) - 5} more" if len(none) > 5 else ""
        notes.append(f"Not weighed, because no settled state was found with the loads as they are taken: {'; '.join(none[:5])}{more}. Loads may shut "
                     "down and restart repeatedly there; `lostneutral analyse` of a case with that fault follows it.")
    if case.observations and found[0].place.kind == "not listed" and not declined:
        notes.append("Not explained by any cause considered. Check the readings, the terminals used and the time, and look "
                     "for something that is not in the case.")
    return tuple(notes)


def _taken(case, u):
    if u.one_of:
        on = next((x.name for x in at_medians(case).loads if x.name in u.one_of and x.on), None)
        return f"{on} on" if on else f"none of {', '.join(u.one_of)} on"
    parts = [f"{u.load} {'on' if u.on > 0.5 else 'off'}"] if u.on is not None else []
    parts += [f"{u.load} {quantity(u.power, 0.5):.0f} W"] if u.power is not None else []
    return ", ".join(parts)
