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
from lostneutral.evidence.rivals import rivals
from lostneutral.evidence.sampling import draw, solve

INCIDENTS = int(os.environ.get("INCIDENTS", "16"))
SEED = 20250511
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
""" + "".join(f'[[prior]]\ncause = "{cause}"\nweight = {weight}\n' for cause, weight in {
    "sound": 1, "open neutral": 2, "bad joint": 2, "supply overvoltage": 1, "line lost": 0, "line lost as well": 0,
    "line crossed with neutral": 0, "protective conductor open": 0}.items())


def incident(case, number):
    """Return (cause, voltage L1-N, whether the iron was on, the case with what was then seen)."""
    random = np.random.default_rng((SEED, number))
    found = rivals(case)
    rival = found[random.choice(len(found), p=[r.prior for r in found])]
    drawn = draw(rival.case, 1, (SEED, number, 1))
    drawn = replace(drawn, values=random.random(drawn.values.shape))
    state = solve(drawn)
    healthy = solve(replace(drawn, case=rival.before, values=drawn.values[:, :2]))
    judge = Judge(case)
    volts = abs(state.between(("flat", "L1"), ("flat", "N")))[0]
    read = random.uniform(0, 2 * case.supply.nominal_line_to_line) if random.random() < judge.table["slip"]["value"] \
        else random.normal(volts, 4.0)
    size, was = abs(state.loads[0]), abs(healthy.loads[0])
    light = judge.light(case.loads[0], size[:1], was[:1], state.on[0, :1])[:, 0]
    failed = judge.fails(case.loads[1], size[1:2], 3600.0)[0]
    seen = (Observation("flat", ("L1", "N"), read, 4.0),
            Observation(load="Lamp", seen=random.choice(LIGHT, p=0.9 * light + 0.1 / 4)),
            Observation(load="Heater", seen=random.choice(FATE, p=0.9 * np.array([failed, 1 - failed]) + 0.1 / 2)))
    return rival.kind, volts, bool(state.on[0, 2]), replace(case, observations=seen)


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
