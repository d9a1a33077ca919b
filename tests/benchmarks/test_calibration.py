"""Simulated incidents with known truth: do stated ranges and probabilities hold as often as they say?

`INCIDENTS=1000 python -m pytest tests/benchmarks/test_calibration.py -s` prints the reliability table of that many; the
suite takes few. The quantity is laid down beforehand: the voltage L1-N at the flat. Truths are drawn from the same
priors, and observations by the same laws, so this holds the sampling and weighing to account, not the laws themselves.
Kind: independent (simulation; rank statistics as in Cook, Gelman and Rubin, Validation of software for Bayesian models, 2006).
"""

import os
from dataclasses import replace

import numpy as np
import pytest

from lostneutral import parse_case
from lostneutral.case.model import Observation
from lostneutral.evidence.deduce import deduce
from lostneutral.evidence.likelihood import FATE, LIGHT, Judge
from lostneutral.evidence.rivals import CAUSES, rivals
from lostneutral.evidence.world import World

INCIDENTS = int(os.environ.get("INCIDENTS", "15"))
WIDER = float(os.environ.get("WIDER", "1"))  #: of the spreads that truths are drawn from, against those stated
SEED = 20250511
WEIGHTS = {"sound": 1, "open neutral": 2, "bad joint": 2, "supply overvoltage": 1}
TEXT = """title = "A flat"
[supply]
voltage = 230
[[point]]
name = "flat"
cable = { length = 30, area = 16 }
[[load]]
name = "Lamp"
kind = "resistive"
connect = "L1-N"
power = 60
[[load]]
name = "Heater"
kind = "resistive"
connect = "L2-N"
power = 2000
[[load]]
name = "Iron"
kind = "resistive"
connect = "L3-N"
power = 1200
[[unknown]]
load = "Iron"
on = 0.4
[[unknown]]
load = "Heater"
power = { low = 100, high = 2500 }
[[event]]
time = 300
load = "Heater"
on = false
""" + "".join(f'[[prior]]\ncause = "{cause}"\nweight = {WEIGHTS.get(cause, 0)}\n' for cause in CAUSES)
ALL_OFF = ("Lamp", "Heater", "Iron")
READ = Observation("flat", ("L1", "N"), 230.0, 4.0)
KINDS_OF_EVIDENCE = (
    (READ, Observation(load="Lamp", seen="brighter"), Observation(load="Heater", seen="failed")),
    # on a floating conductor: nothing on, a meter of high and one of low impedance
    (replace(READ, details={"impedance": 1e7, "with_off": ALL_OFF}),
     Observation("flat", ("L2", "N"), 230.0, 4.0, details={"impedance": 1e7, "with_off": ALL_OFF}),
     replace(READ, details={"impedance": 5e3, "with_off": ALL_OFF})),
    # with an event between two readings, and one whose instrument nobody named
    (READ, replace(READ, details={"time": 400.0}), Observation(load="Lamp", seen="dimmer", details={"time": 400.0})),
)


def incident(case, number):
    """Return (cause, voltage L1-N just after the fault, whether the iron was on, the case with what was then seen)."""
    random = np.random.default_rng((SEED, number))
    template = replace(case, observations=KINDS_OF_EVIDENCE[number % len(KINDS_OF_EVIDENCE)])
    judge, found = Judge(template), rivals(template)
    world = World(template, found, judge.conditions, judge.readings[0])
    cause = random.choice(len(found), p=[r.prior for r in found])
    # a spread that is wider than stated: more of its draws near the ends
    drawn = random.random((1, len(world.columns)))
    values = np.clip(0.5 + (drawn - 0.5) * WIDER, 1e-6, 1 - 1e-6)
    states = {c: world.settle(np.array([cause]), values, c, False) for c in judge.conditions}
    volts = judge.volts(states, lambda classes: world.impedance(values, classes))[0]
    seen = tuple(_seen(judge, n, o, states, volts[n, 0], random) for n, o in enumerate(template.observations))
    main = states[judge.conditions[0]]
    stands = abs(main.between(("flat", "L1"), ("flat", "N")))[0]
    return found[cause].kind, stands, bool(main.on[0, 2]), replace(template, observations=seen)


def _seen(judge, n, observation, states, volts, random):
    """What is then read or said, by the law that is held to account."""
    if observation.load is None:
        slips = random.random() < judge.table["slip"]["value"]
        return replace(observation, voltage=random.uniform(0, 2 * 230 * 3**0.5) if slips else abs(random.normal(volts, 4.0)))
    words = LIGHT if observation.seen in LIGHT else FATE
    chances = []
    for word in words:
        said = tuple(replace(o, seen=word) if k == n else o for k, o in enumerate(judge.observations))
        chances.append(Judge(replace(judge.case, observations=said)).seen(n, states)[0])
    chances = 0.9 * np.array(chances) / np.sum(chances) + 0.1 / len(words)
    return replace(observation, seen=str(random.choice(words, p=chances)))


@pytest.fixture(scope="module")
def outcomes():
    """(stated share of each kind, true kind, rank of the voltage, stated chance that the iron was on, whether it was)."""
    case, made = parse_case(TEXT), []
    for number in range(INCIDENTS):
        kind, volts, on, seen = incident(case, number)
        found = deduce(seen, 256, number)
        low, high = found.voltages[0][2], found.voltages[0][4]
        chance = next(k.after[0] for k in found.unknowns if k.name == "Iron")
        made.append(({k.kind: k.posterior for k in found.kinds}, kind, low <= volts <= high, chance, on))
    return made


def test_ranges_cover_as_often_as_they_say(outcomes):
    covered = np.mean([row[2] for row in outcomes])
    print(f"\n{INCIDENTS} incidents: the 5 to 95 % range of L1-N held the truth in {100 * covered:.1f} %")
    allowed = 0.04 if INCIDENTS >= 300 else 3 * (0.09 / INCIDENTS) ** 0.5
    assert abs(covered - 0.9) <= allowed


def test_stated_probabilities_are_frequencies(outcomes):
    said = np.array([row[0].get(kind, 0.0) for row in outcomes for kind in row[0]])
    true = np.array([kind == row[1] for row in outcomes for kind in row[0]])
    print("\nstated share   causes   true")
    off = 0.0
    for low, high in ((0, 0.05), (0.05, 0.2), (0.2, 0.4), (0.4, 0.6), (0.6, 0.8), (0.8, 0.95), (0.95, 1.01)):
        inside = (said >= low) & (said < high)
        if not inside.any():
            continue
        mean, share, n = said[inside].mean(), true[inside].mean(), inside.sum()
        print(f"{mean:10.3f} {n:10d} {share:8.3f}")
        off = max(off, abs(share - mean) / np.sqrt(max(mean * (1 - mean), 0.01) / n))
    assert off < 4  # standard deviations of a frequency


def test_switches_by_a_randomised_rank(outcomes):
    from scipy.stats import kstest

    random = np.random.default_rng(SEED)
    ranks = [random.uniform(1 - chance, 1) if on else random.uniform(0, 1 - chance) for *_, chance, on in outcomes]
    assert kstest(ranks, "uniform").pvalue > 0.001
