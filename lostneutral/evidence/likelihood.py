"""The law of an observation: how likely each one is in a state of the world, readings and what was seen of loads alike.

In a given state (cause, loads, joint, electrode, supply, couplings) observations are independent; what they share, a
floating conductor above all, is drawn once for all of them. `where` and `deduce` both weigh by this law.
"""

from dataclasses import replace
from functools import cached_property
from math import log, pi, sqrt

import numpy as np

from lostneutral import data
from lostneutral.case.checks_seen import uncertainty
from lostneutral.case.model import Case, Observation
from lostneutral.circuit.wiring import EARTH, terminal_names
from lostneutral.consequences.harm import harm_at
from lostneutral.consequences.limits import band
from lostneutral.evidence.operated import device_trust, operates
from lostneutral.evidence.outcomes import by_ports, distinct_ports
from lostneutral.frozen import dataclass
from lostneutral.loads import load_model
from lostneutral.studies.conditions import before, condition_of, course_of, exposure
from lostneutral.words.times import duration

LIGHT = ("brighter", "dimmer", "unchanged", "off")
FATE = ("failed", "survived")
_NO_LIGHT = {"brighter": "stronger", "dimmer": "weaker"}
_SAID = {"off": "not working"}
BOUNDS = ("up to", "more than", "about")
GRID = 240  #: voltages at which laws of wear are asked
FLAT = 4.0  #: standard deviations from which a misfit guides in proportion
HIGHEST = 2.5  #: of the nominal line-to-line voltage: the top of that grid
NEVER = 1e12  #: s, in place of a life that does not end


@dataclass(frozen=True)
class Judge:
    """The observations of a case as laws of probability over states of the world."""

    case: Case
    varied: tuple[tuple[str, str, float], ...] = ()  #: (entry, key, value) of the data file `evidence` that are taken otherwise

    def taken(self, *varied):
        """Return this judge with `varied` instead; what voltages do to loads hangs on nothing of that, and is worked out once for both."""
        other = Judge(self.case, varied)
        other.__dict__["_harms"] = self._harms
        return other

    @cached_property
    def table(self):
        """The data file `evidence`, with what is `varied`."""
        table = dict(data.load("evidence"))
        for entry, key, value in self.varied:
            table[entry] = {**table[entry], key: value}
        return table

    @cached_property
    def observations(self):
        """What was observed, in the case's order."""
        return self.case.observations

    @cached_property
    def of_condition(self):
        """The condition of each observation."""
        return tuple(condition_of(self.case, o) for o in self.observations)

    @cached_property
    def courses(self):
        """{observation number: (condition, s) that a load went through until its fate was seen}."""
        return {n: course_of(self.case, o) for n, o in enumerate(self.observations) if o.load and o.seen in FATE}

    @cached_property
    def conditions(self):
        """Every condition that is needed, first the one under which most was observed after the fault began."""
        after = [c for n, c in enumerate(self.of_condition) if n not in self.courses and not c.before]
        main = max(after, key=after.count) if after else next(
            (spans[0][0] for spans in self.courses.values()), condition_of(self.case, Observation()))
        needed = [main, *self.of_condition, *(c for spans in self.courses.values() for c, _ in spans)]
        if any(o.seen in LIGHT for o in self.observations if o.load):
            needed += [replace(c, before=True, runs=()) for n, c in enumerate(self.of_condition)
                       if self.observations[n].load and self.observations[n].seen in LIGHT]
        return tuple(dict.fromkeys(needed))

    @cached_property
    def readings(self):
        """(point, (a, b)) of every pair of terminals at which a meter may have been held, and where each observation's stand."""
        pairs, places = [], {}
        for n, o in enumerate(self.observations):
            if o.is_reading:
                places[n] = []
                for b in self._second(o):
                    key = o.point, (o.between[0], b)
                    if key not in pairs:
                        pairs.append(key)
                    places[n].append(pairs.index(key))
        return tuple(pairs), places

    def _second(self, observation):
        """The terminals that the second lead may have been on."""
        a, b = observation.between
        if b != "?":
            return (b,)
        if "reference" in observation.details:
            return observation.details["reference"]
        names = terminal_names(self.case, self.case.point(observation.point))
        return tuple(n for n in (*names, *(("earth",) if self.case.supply.earthing else ())) if n != a)

    def volts(self, states, instrument):
        """Return what stands, with the meter held there, at each pair of `readings` (rows, observations, most leads), V.

        `states` are {condition: `States`} with equal rows; `instrument(classes)` gives the impedance (rows,) where it was
        not named, of an instrument of one of these classes.
        """
        pairs, places = self.readings
        most = max([len(k) for k in places.values()], default=1)
        made = np.full((len(states[self.conditions[0]].sample), len(self.observations), most), np.nan)
        for n, which in places.items():
            now = states[self.of_condition[n]]
            details = self.observations[n].details
            meter = details["impedance"] if "impedance" in details else instrument(details.get("instrument_class", ()))
            for k, pair in enumerate(which):
                point, (a, b) = pairs[pair]
                ends = (EARTH if c == "earth" else (point, c) for c in (a, b))
                made[:, n, k] = loaded(now.between(*ends), now.inner[:, pair], meter)
        return made

    def likelihoods(self, volts, states):
        """Return (genuine, other), each (rows, observations): the parts of every observation's likelihood.

        `genuine` is its probability (of readings its density, 1/V) if it means what it says, `other` if it does not;
        both with their weights, so that their sum is the likelihood.
        """
        rows = len(volts)
        genuine, other = np.zeros((rows, len(self.observations))), np.zeros((rows, len(self.observations)))
        for n, o in enumerate(self.observations):
            if o.is_reading:
                slip = self.table["slip"]["value"]
                genuine[:, n] = (1 - slip) * self.reading(o, volts[:, n])
                other[:, n] = slip * self.anything(o)
            else:
                trust = self.trust(o)
                genuine[:, n] = trust * self.seen(n, states)
                other[:, n] = (1 - trust) * self.anything(o)
        lost = ~states[self.conditions[0]].solved
        genuine[lost], other[lost] = 0.0, 0.0
        return genuine, other

    def trust(self, observation):
        """Return how reliable a statement about a load or a device is."""
        usual = device_trust() if observation.device else data.load("where")["seen"]["trust"]
        return observation.details.get("reliability", usual)

    def anything(self, observation):
        """Return the probability (density, 1/V) of what was observed if it says nothing about the circuit."""
        if observation.device is not None:
            return 0.5
        if observation.load is not None:
            return 1 / len(LIGHT if observation.seen in LIGHT else FATE)
        if observation.bound in ("up to", "more than"):
            return 0.5
        return 1 / (2 * self.case.supply.nominal_line_to_line)

    def not_listed(self):
        """Return (probability of all observations under a cause that is not listed, with each of them left out).

        Readings at the same terminals under one condition have one voltage behind them; else anything up to the
        highest of the data file is as likely as anything else.
        """
        return self._unlisted(range(len(self.observations))), tuple(
            self._unlisted([k for k in range(len(self.observations)) if k != n]) for n in range(len(self.observations)))

    def _unlisted(self, numbers):
        highest = max(self.table["not_listed"]["highest"], *(o.voltage or 0.0 for o in self.observations))
        groups, total = {}, 1.0
        for n in numbers:
            o = self.observations[n]
            if not o.is_reading:
                total *= self.anything(o)
            elif self.of_condition[n].before:
                sigma = np.hypot(self.sigma(o), self.table["usual_supply"]["deviation"] * self.case.supply.nominal)
                total *= max(_normal(o.voltage - self.case.supply.nominal, sigma), 1 / highest)
            else:
                groups.setdefault((o.point, frozenset(o.between), self.of_condition[n]), []).append(o)
        grid = np.linspace(0.0, highest, 4001)
        for alike in groups.values():
            law = np.ones_like(grid)
            for o in alike:
                slip = self.table["slip"]["value"]
                law *= (1 - slip) * self.reading(o, grid[:, None]) + slip * self.anything(o)
            total *= float(np.trapezoid(law, grid)) / highest
        return total

    def guide(self, volts, genuine, other, solved):
        """Return a logarithm (rows,) that leads samples to what fits: it falls with every reading's misfit without end.

        The likelihood itself is flat where a reading must be a slip, so that nothing would point the way to what fits.
        Beyond some standard deviations the misfit counts in proportion, not squared.
        """
        total = np.zeros(len(volts))
        for n, o in enumerate(self.observations):
            if o.is_reading and o.bound not in ("up to", "more than"):
                off = np.nan_to_num(np.nanmin(np.abs(volts[:, n] - o.voltage), axis=1, initial=1e3) / self.sigma(o), nan=FLAT)
                total -= off**2 / 2 / (1 + off / FLAT)
            else:
                total += np.log(np.maximum(genuine[:, n] + other[:, n], 1e-300))
        return np.where(solved, total, -1e3)

    def sigma(self, observation):
        """Return one standard deviation (V) of a reading, no less than meter and leads allow."""
        least = self.table["least_uncertainty"]["value"]
        return max(uncertainty(observation), least, of_class(observation.details.get("instrument_class", ()), observation.voltage))

    def reading(self, observation, volts):
        """Return the density (1/V) of a reading where `volts` (rows, leads it may have been on; V) stand.

        A normal law of the instrument's uncertainty; of "up to" and "more than" the probability that the voltage was
        on that side. Where the second lead is not known, the mean over the terminals that it may have been on.
        """
        from scipy.special import ndtr

        sigma, bound = self.sigma(observation), observation.bound
        there = np.isfinite(volts)
        off = (np.nan_to_num(volts) - observation.voltage) / sigma
        each = ndtr(-off) if bound == "up to" else ndtr(off) if bound == "more than" else _normal(off, 1.0) / sigma
        count = there.sum(axis=1)
        return np.where(count > 0, np.where(there, each, 0.0).sum(axis=1) / np.maximum(count, 1), 0.0)

    def lead(self, observation, volts, weight):
        """Return (number, name) of the terminal on which the second lead fits best, "" where it is known, of `volts` as of `reading`."""
        fits = [weight @ self.reading(observation, volts[:, [k]]) for k in range(volts.shape[1])]
        k = int(np.argmax(fits))
        return k, self._second(observation)[k] if observation.between[1] == "?" else ""

    def seen(self, n, states):
        """Return the probability of what was seen of a load or a device, in every row."""
        o, condition = self.observations[n], self.of_condition[n]
        if o.device is not None:
            given = next(d for d in self.case.devices if d.name == o.device)
            likely = operates(self.case, given, states[condition], exposure(self.case, o))
            return likely if o.operated else 1 - likely
        k = next(i for i, load in enumerate(self.case.loads) if load.name == o.load)
        load = self.case.loads[k]
        if o.seen in FATE:
            fails = self.fails(load, [(self._met(k, states[c]), states[c].on[:, k], s) for c, s in self.courses[n]])
            likely = fails if o.seen == "failed" else 1 - fails
            return likely * self._sooner(load, o, n, states)
        now, was = states[condition], states[replace(condition, before=True, runs=())]
        change = np.nan_to_num(now.together[:, k]) / np.maximum(np.nan_to_num(was.together[:, k]), 1e-9)
        return self.light(load, np.nan_to_num(now.loads[:, k]), change, now.on[:, k])[LIGHT.index(o.seen)] \
            * self._sooner(load, o, n, states)

    def light(self, load, volts, change, on):
        """Return the probabilities of `LIGHT` (4, rows) of a load at `volts` (V), `change` times what its branches together had before."""
        from scipy.special import ndtr

        rules, blur = data.load("where")["seen"], self.table["blur"]
        off = np.where(on, ndtr((rules["off_below"] - volts / load.voltage) / blur["off"]), 1.0)
        brighter = ndtr((change - rules["brighter_above"]) / blur["change"])
        dimmer = ndtr((rules["dimmer_below"] - change) / blur["change"])
        lit = 1 - off
        return np.stack([lit * brighter, lit * dimmer, lit * np.maximum(1 - brighter - dimmer, 0.0), off])

    def fails(self, load, course):
        """Return the probability that `load`, new, has failed after `course`: (V as of `_met`, whether on, s) one after the other.

        Life used adds up over the course. A load without supply does not fail by it.
        """
        from scipy.special import ndtr

        used, widest, direct = 0.0, self.table["life"]["least_spread"], 0.0
        for volts, on, seconds in course:
            log_life, spread, without_law = self._lives_at(load, volts)
            used = used + np.where(on, max(seconds, 1e-3) / np.exp(log_life), 0.0)
            widest = np.maximum(widest, np.where(on, spread, 0.0))
            direct = np.maximum(direct, np.where(on, without_law, 0.0))
        return np.maximum(ndtr(np.log(np.maximum(used, 1e-300)) / widest), direct)

    def _sooner(self, load, observation, n, states):
        """The probability of the order that is told: that what was seen of `load` happened before what did to the other load.

        What light or heat does, it does when the fault begins; a failure comes when the life is used up. Of two things at the
        beginning either may be told as the first. 1 where no order is told.
        """
        from scipy.special import ndtr

        if "sooner_than" not in observation.details:
            return 1.0
        other = next(x for x in self.case.loads if x.name == observation.details["sooner_than"])
        of_other = next((o.seen for o in self.observations if o.load == other.name and o.seen in ("failed", "brighter", "dimmer", "off")), "failed")
        condition = self.courses[n][0][0] if n in self.courses else self.of_condition[n]
        lives, widths = zip(*(self._ends(one, states[condition], seen == "failed") for one, seen in ((load, observation.seen), (other, of_other))))
        return ndtr((lives[1] - lives[0]) / np.maximum(np.hypot(*widths), 1e-9))

    def _ends(self, load, states, fails):
        """(logarithm of the s after the beginning of the fault at which it happens, its spread)."""
        if not fails:
            return log(self.table["order"]["value"]), 0.0
        k = self.case.loads.index(load)
        volts = self._met(k, states)
        log_life, spread, _ = self._lives_at(load, np.where(states.on[:, k] if volts.ndim == 1 else states.on[:, [k]], volts, 0.0))
        return log_life, np.maximum(spread, self.table["life"]["least_spread"])

    def _met(self, k, states):
        """What decides on the life of load number `k` in every row: V across it, of a machine (rows, ports) what it has of each sequence."""
        ported = by_ports(load_model(self.case.loads[k], self.case.supply)[0])
        return states.ports(k) if ported else np.nan_to_num(states.loads[:, k])

    def _lives_at(self, load, volts):
        """(logarithm of the life in s, its spread, probability of failing at once where there is no law of wear) at what it met."""
        if np.ndim(volts) == 1:
            grid, *tables = self._life(load)
            return tuple(np.interp(volts, grid, table) for table in tables)
        distinct, which = distinct_ports(load, volts)
        laws = [self._law(load, v.max(), harm) for v, harm in zip(distinct, self._harms_of(load, distinct))]
        return tuple(np.array(laws)[which].T)

    def _life(self, load):
        """(V, logarithm of the life in s, its spread, probability of failing at once where there is no law of wear)."""
        if load.name not in self._lives:
            self._lives[load.name] = self._worked_out(load)
        return self._lives[load.name]

    @cached_property
    def _lives(self):
        return {}

    @cached_property
    def _harms(self):
        return {}

    def _harms_of(self, load, grid):
        """What each of the voltages `grid`, or of the rows of those of its ports, does to `load`; each is worked out once."""
        model, limits = load_model(load, self.case.supply)[0], band(self.case.supply.limits)
        keys = [(load.name, *np.ravel(volts)) for volts in grid]
        for key, volts in zip(keys, grid):
            if key not in self._harms:
                self._harms[key] = harm_at(replace(load, on=True), model, volts, limits)[0]
        return [self._harms[key] for key in keys]

    def _worked_out(self, load):
        grid = np.linspace(0.0, HIGHEST * self.case.supply.nominal_line_to_line, GRID)
        return grid, *np.array([self._law(load, volts, harm) for volts, harm in zip(grid, self._harms_of(load, grid))]).T

    def _law(self, load, volts, harm):
        """(logarithm of the life in s, its spread, probability of failing at once) at `volts` (V), which does `harm` to `load`."""
        from scipy.special import ndtr, ndtri

        entry = self.table["life"]
        if harm.outcome == "not known":
            return log(NEVER), entry["least_spread"], ndtr((volts / load.voltage - entry["without_law_fails_at"]) / entry["without_law_blur"])
        if not harm.earliest:
            return log(NEVER), entry["least_spread"], 0.0
        central = harm.central or NEVER  # without a late end the spread is that between the other two
        wide = log(harm.latest / harm.earliest) / 2 if harm.latest else log(central / harm.earliest)
        return log(central), max(wide / ndtri((1 + entry["bounds"]) / 2), entry["least_spread"]), 0.0


def of_class(classes, volts) -> float:
    """Return the least standard deviation (V) of a reading of `volts` by an instrument of one of `classes`; 0 where none is named."""
    entry = data.load("couplings")["instrument"]
    return min((entry["volts"][k] + entry["share"][k] * volts for k, name in enumerate(entry["classes"]) if name in classes), default=0.0)


def loaded(open_, inner, meter):
    """Return what a meter of `meter` (ohm) shows (V) where `open_` (complex, V) stands without it.

    `inner` (rows, 2, 2; ohm) is what the network shows there, real and imaginary parts apart, for loads need not be
    linear; the meter's own current changes what stands by that much.
    """
    whole = inner / np.reshape(meter, (-1, 1, 1)) + np.eye(2)
    a, b, c, d = whole[:, 0, 0], whole[:, 0, 1], whole[:, 1, 0], whole[:, 1, 1]
    determinant, real, imaginary = a * d - b * c, open_.real, open_.imag
    return np.hypot(d * real - b * imaginary, a * imaginary - c * real) / np.abs(np.where(determinant == 0, 1.0, determinant))


def words(case: Case, observation: Observation) -> str:
    """Return what was observed in a few words: of a load that gives no light "weaker", not "dimmer"."""
    back = ", before the break" if before(case, observation) else ""
    if observation.device is not None:
        return f"{observation.device} {'operated' if observation.operated else 'did not operate'}{back}"
    if "times" in observation.details:
        return f"{'-'.join(observation.between)} at {observation.point}: {observation.details['bound']} {observation.voltage:g} V logged{back}"
    if "recording" in observation.details:
        return f"{'-'.join(observation.between)} at {observation.point}: mean {observation.voltage:.0f} V recorded{back}"
    if observation.load is None:
        bound = observation.bound
        second = " or ".join(observation.details.get("reference", ())) or "unknown terminal"
        terminals = "-".join(second if t == "?" else t for t in observation.between)
        return f"{terminals} at {observation.point} read {f'{bound} ' if bound else ''}{observation.voltage:g} V{back}"
    soon = f" within {duration(observation.within)}" if observation.within is not None else ""
    sooner = f", before {observation.details['sooner_than']}" if "sooner_than" in observation.details else ""
    model = next((load_model(load, case.supply)[0] for load in case.loads if load.name == observation.load), None)
    said = (_NO_LIGHT.get(observation.seen) if model and model.gives_light is False else None) or observation.seen
    return f"{observation.load}: {_SAID.get(said, said)}{sooner}{soon}{back}"


def _normal(off, sigma):
    return np.exp(-((off / sigma) ** 2) / 2) / (sigma * sqrt(2 * pi))
