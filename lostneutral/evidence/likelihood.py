"""How likely each observation is in every sampled state: meter readings, and what was seen of loads."""

from dataclasses import dataclass, replace
from functools import cached_property
from math import inf, log, pi, sqrt

import numpy as np

from lostneutral import data
from lostneutral.case.checks_seen import uncertainty
from lostneutral.case.model import Case, Load, Observation
from lostneutral.circuit.wiring import EARTH
from lostneutral.consequences.harm import harm_at
from lostneutral.consequences.limits import band
from lostneutral.loads import load_model
from lostneutral.words.times import duration

LIGHT = ("brighter", "dimmer", "unchanged", "off")
FATE = ("failed", "survived")
_NO_LIGHT = {"brighter": "stronger", "dimmer": "weaker"}
_SAID = {"off": "did not work"}
GRID = 240  #: voltages at which laws of wear are asked
FLAT = 4.0  #: standard deviations from which a misfit guides in proportion
HIGHEST = 2.5  #: of the nominal line-to-line voltage: the top of that grid


@dataclass(frozen=True)
class Judge:
    """The observations of a case as laws of probability over its states."""

    case: Case

    @cached_property
    def table(self):
        """The data file `evidence`."""
        return data.load("evidence")

    @cached_property
    def looks_back(self):
        """Whether the state before the break is asked for."""
        return any(o.seen in LIGHT or before(o) for o in self.case.observations)

    @cached_property
    def drawing(self):
        """{number of a reading after the break: its instrument as a load}, where that draws enough to matter."""
        most = self.table["floating"]["low_impedance"]
        return {n: Load("instrument", "impedance", o.between, o.point, self.case.supply.nominal,
                        parameters={"resistance": o.details["impedance"]})
                for n, o in enumerate(self.case.observations)
                if o.load is None and "earth" not in o.between and not before(o) and o.details.get("impedance", inf) <= most}

    def volts(self, after, before_=None, drawn=None):
        """Return what stands between the terminals of each reading (rows, observations), V; nan where one floats.

        `drawn` has, for readings of `drawing`, the states with the instrument connected; what floats without it, floats.
        """
        columns = []
        for n, o in enumerate(self.case.observations):
            bare = np.full(len(after.sample), np.nan) if o.load else self._between(o, before_ if before(o) else after)
            loaded = self._between(o, drawn[n]) if drawn and n in drawn else bare
            columns.append(np.where(np.isnan(bare), np.nan, loaded))
        return np.stack(columns, axis=1)

    def likelihoods(self, volts, after, before_=None):
        """Return (genuine, other), each (rows, observations): the parts of every observation's likelihood.

        `genuine` is its probability (of readings its density, 1/V) if it means what it says, `other` if it does not;
        both with their weights, so that their sum is the likelihood. `after` and `before_` are `Solved` with equal rows,
        `volts` as `volts` returns them.
        """
        parts = [self.of(o, v, before_ if before(o) else after, before_) for o, v in zip(self.case.observations, volts.T)]
        genuine, other = (np.stack(column, axis=1) for column in zip(*parts, strict=True))
        lost = ~after.solved
        genuine[lost], other[lost] = 0.0, 0.0
        return genuine, other

    def guide(self, volts, after, before_=None):
        """Return a logarithm (rows,) that leads samples to what fits: it falls with every reading's misfit without end.

        The likelihood itself is flat where a reading must be a slip, so that nothing would point the way to what fits.
        Beyond some standard deviations the misfit counts in proportion, not squared.
        """
        total = np.zeros(len(after.sample))
        for o, v in zip(self.case.observations, volts.T):
            if o.load is None:
                off = np.nan_to_num(np.abs(v - o.voltage) / self.sigma(o), nan=FLAT)
                total -= off**2 / 2 / (1 + off / FLAT)
            else:
                total += np.log(np.sum(self.of(o, v, before_ if before(o) else after, before_), axis=0))
        return np.where(after.solved, total, -1e3)

    def sigma(self, observation):
        """Return one standard deviation (V) of a reading, no less than meter and leads allow."""
        return max(uncertainty(observation), self.table["least_uncertainty"]["value"])

    def of(self, observation: Observation, volts, state, healthy):
        """Return (genuine, other) of one observation in every row of `state`; of a reading where `volts` stand."""
        if observation.load is None:
            slip = self.table["slip"]["value"]
            likely = self.reading(observation, volts)
            return (1 - slip) * likely, np.full(len(likely), slip / (2 * self.case.supply.nominal_line_to_line))
        trust = data.load("where")["seen"]["trust"]
        words = LIGHT if observation.seen in LIGHT else FATE
        likely = self.seen(observation, state, healthy)
        return trust * likely, np.full(len(likely), (1 - trust) / len(words))

    def _between(self, observation, state):
        a, b = (EARTH if name == "earth" else (observation.point, name) for name in observation.between)
        return np.abs(state.between(a, b))

    def reading(self, observation, volts):
        """Return the density (1/V) of a reading where `volts` (V) stand: a normal law of the instrument's uncertainty.

        On what floats: anything up to line to line alike, or near zero with an instrument of low impedance.
        """
        entry, sigma = self.table["floating"], self.sigma(observation)
        read, most = observation.voltage, self.case.supply.nominal_line_to_line
        if observation.details.get("impedance", inf) <= entry["low_impedance"]:
            loose = 2 * _normal(read, entry["near_zero"])
        else:
            loose = 1 / most if read <= most else 0.0
        return np.where(np.isnan(volts), loose, _normal(np.nan_to_num(volts) - read, sigma))

    def seen(self, observation, state, healthy):
        """Return the probability of what was seen of a load, in every row."""
        k = next(n for n, load in enumerate(self.case.loads) if load.name == observation.load)
        volts, on = np.nan_to_num(np.abs(state.loads[:, k])), state.on[:, k]
        if observation.seen in FATE:
            fails = np.where(on, self.fails(self.case.loads[k], volts, exposure(observation)), 0.0)
            return fails if observation.seen == "failed" else 1 - fails
        was = np.nan_to_num(np.abs(healthy.loads[:, k]))
        return self.light(self.case.loads[k], volts, was, on)[LIGHT.index(observation.seen)]

    def light(self, load, volts, was, on):
        """Return the probabilities of `LIGHT` (4, rows) of a load at `volts` that was at `was` (V)."""
        from scipy.special import ndtr

        rules, blur = data.load("where")["seen"], self.table["blur"]
        off = np.where(on, ndtr((rules["off_below"] - volts / load.voltage) / blur["off"]), 1.0)
        change = volts / np.maximum(was, 1e-9)
        brighter = ndtr((change - rules["brighter_above"]) / blur["change"])
        dimmer = ndtr((rules["dimmer_below"] - change) / blur["change"])
        lit = 1 - off
        return np.stack([lit * brighter, lit * dimmer, lit * np.maximum(1 - brighter - dimmer, 0.0), off])

    def fails(self, load, volts, seconds):
        """Return the probability that `load`, new, has failed after `seconds` at `volts` (V, array)."""
        grid = np.linspace(0.0, HIGHEST * self.case.supply.nominal_line_to_line, GRID)
        if (load.name, seconds) not in self._fates:
            self._fates[load.name, seconds] = np.array(self._fate(replace(load, on=True), grid, seconds))
        return np.interp(volts, grid, self._fates[load.name, seconds])

    @cached_property
    def _fates(self):
        return {}

    def _fate(self, load, grid, seconds):
        model, limits = load_model(load, self.case.supply)[0], band(self.case.supply.limits)
        return [self._failed(harm_at(load, model, v, limits)[0], v / load.voltage, seconds) for v in grid]

    def _failed(self, harm, ratio, seconds):
        """By the harm's times as the bounds of a log-normal law; without a law of wear by the voltage (`ratio` to rated)."""
        from scipy.special import ndtr, ndtri

        entry = self.table["life"]
        if harm.outcome == "not known":
            return ndtr((ratio - entry["without_law_fails_at"]) / entry["without_law_blur"])
        if harm.central is None:
            return 0.0
        spread = log(harm.latest / harm.earliest) if harm.latest and harm.earliest else 0.0
        sigma = max(spread / (2 * ndtri((1 + entry["bounds"]) / 2)), entry["least_spread"])
        return ndtr(log(max(seconds, 1e-3) / harm.central) / sigma)


def before(observation: Observation) -> bool:
    """Return whether it was made before the break."""
    return observation.details.get("state") == "before"


def exposure(observation: Observation) -> float:
    """Return how long (s) the load had been exposed: as said, else by the time of the observation, else assumed."""
    given = observation.within if observation.within is not None else observation.details.get("time")
    return data.load("evidence")["exposure"]["value"] if given is None else given


def words(case: Case, observation: Observation) -> str:
    """Return what was observed in a few words: of a load that gives no light "weaker", not "dimmer"."""
    back = ", before the break" if before(observation) else ""
    if observation.load is None:
        return f"{'-'.join(observation.between)} at {observation.point} read {observation.voltage:g} V{back}"
    soon = f" within {duration(observation.within)}" if observation.within is not None else ""
    model = next((load_model(load, case.supply)[0] for load in case.loads if load.name == observation.load), None)
    said = (_NO_LIGHT.get(observation.seen) if model and model.gives_light is False else None) or observation.seen
    return f"{observation.load} {_SAID.get(said, said)}{soon}{back}"


def _normal(off, sigma):
    return np.exp(-((off / sigma) ** 2) / 2) / (sigma * sqrt(2 * pi))
