"""Ten meters in a street whose PEN joint goes bad within days or at once: since when, how fast, and in which cable.

Kind of all expectations: independent. The street is solved here by nodal analysis with resistances from the tables of conductors and
loads that are plain resistances; what the joint does, and when, is put in.
"""

from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from lostneutral import read_case
from lostneutral.evidence.where import where
from lostneutral.report.evidence.recorded import beginning_words, recorded_over_calculated
from lostneutral.studies.beginning import recorded_beginning
from lostneutral.studies.recorded import all_observations, begins

CASEBOOK = Path(__file__).parents[2] / "casebook"
ALUMINIUM, COPPER = 0.0283, 0.0178  #: ohm mm²/m at 20 °C
DAY, HALF = 86400.0, 1800.0
HOUSES = range(1, 11)
BAD = 8  #: the cable whose joint goes bad: that to house joint 8
HEATED = (2, 4, 5, 7, 9, 10)  #: houses whose heater is on in the case


def street(joint):
    """Voltages line to neutral (10,) of the houses where the joint has `joint` ohm: lines and PEN as one chain of nodes each."""
    main, service, source = ALUMINIUM * 30 / 95 + 0.0024j, COPPER * 12 / 16 + 0.001j, 0.01 + 0.02j
    nodes = ["earth", ("pen", 0), *((c, k) for c in ("L0", "L1", "L2", "pen", "line in house", "pen in house") for k in HOUSES)]
    at = {node: n for n, node in enumerate(nodes)}  # the star point is 0 V
    admittance, current = np.zeros((len(at), len(at)), complex), np.zeros(len(at), complex)

    def tie(a, b, impedance):
        for x, y, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
            if x in at and y in at:
                admittance[at[x], at[y]] += sign / impedance

    tie(("pen", 0), "star point", source)
    tie("star point", "earth", 1.5)
    for k in HOUSES:
        tie(("pen", k - 1), ("pen", k), main + (joint if k == BAD else 0.0))
        for c in range(3):
            tie((f"L{c}", k - 1), (f"L{c}", k), main + (source if k == 1 else 0.0))  # before the first there is the transformer
        tie((f"L{(k - 1) % 3}", k), ("line in house", k), service)
        tie(("pen", k), ("pen in house", k), service)
        tie(("pen in house", k), "earth", 80.0)
        tie(("line in house", k), ("pen in house", k), 230**2 / (300 + 1500 * (k in HEATED)))
    for c in range(3):
        current[at[f"L{c}", 1]] = 230 * np.exp(-2j * np.pi * c / 3) / (main + source)
    volts = np.linalg.solve(admittance, current)
    return np.abs([volts[at["line in house", k]] - volts[at["pen in house", k]] for k in HOUSES])


def meters(folder, joint, days=14, seed=3):
    """The case of ten meters with their records of `days`, where the joint has `joint(s)` ohm."""
    random = np.random.default_rng(seed)
    times = HALF * np.arange(1, int(days * DAY / HALF) + 1)
    ohms = np.geomspace(1e-4, 1e3, 57)
    table = np.array([street(r) for r in ohms])
    parts = np.log([[joint(t - HALF * part) for part in (0.1, 0.3, 0.5, 0.7, 0.9)] for t in times])
    supply = 1.5 * np.sin(2 * np.pi * times / DAY)  # V, a day's rise and fall of the network
    text = (CASEBOOK / "ten-meters.toml").read_text(encoding="utf-8")
    (folder / "ten-meters.toml").write_text(text, encoding="utf-8")
    for k in range(10):
        volts = np.interp(parts, np.log(ohms), table[:, k]).mean(axis=1) + supply + random.normal(0, 0.7, len(times))
        rows = (f"{datetime(2025, 2, 18) + timedelta(seconds=t):%Y-%m-%dT%H:%M:%S},{v:.1f}" for t, v in zip(times, volts))
        (folder / f"ten-meters-{k + 1}.csv").write_text("time,voltage\n" + "\n".join(rows) + "\n")
    return read_case(folder / "ten-meters.toml")


def worsening(start, end, last=3.0):
    """Resistance (ohm) of a joint that is sound, and from day `start` to day `end` grows evenly by its logarithm to `last`."""
    return lambda t: 0.003 * (last / 0.003) ** np.clip((t / DAY - start) / (end - start), 0.0, 1.0)


def stepped(day, before=0.003, after=3.0):
    return lambda t: np.where(t > day * DAY, after, before)


@pytest.mark.parametrize("seed", [3, 4])
def test_a_joint_that_worsens_within_days_is_told_as_slow(tmp_path, seed):
    case = meters(tmp_path, worsening(4, 11), seed=seed)
    found = recorded_beginning(case)
    # put in: sound until day 4, at its worst from day 11, and a tenth of that by day 8.7
    assert found.slow and 4 < found.latest / DAY < 9.5 and found.start / DAY > 4 and abs(found.end / DAY - 11) < 1
    (said,) = beginning_words(case)
    assert "slowly" in said and "no later than" in said and "sudden" not in said
    assert begins(case) == found.start
    worst = street(3.0)
    for seen in all_observations(case):  # what is weighed as reached is what the worst joint does, but for the last quarter of the change
        if seen.details["state"] == "after":
            k = int(seen.point.removeprefix("house ")) - 1
            assert seen.voltage == pytest.approx(worst[k], abs=2.5)


@pytest.mark.thorough
def test_the_cable_of_a_joint_that_worsens_is_found(tmp_path):
    found = where(meters(tmp_path, worsening(4, 11)))
    assert found.leading.place.kind == "bad joint" and found.leading.place.feeding == f"house joint {BAD}"
    assert found.outcomes[1].ratio > 100


@pytest.mark.thorough
def test_a_joint_that_is_still_worsening_at_the_end_is_found_in_the_right_cable(tmp_path):
    case = meters(tmp_path, worsening(6, 14))
    found = recorded_beginning(case)
    assert found.slow and found.end / DAY == pytest.approx(14, abs=0.5)
    assert where(case).leading.place.feeding == f"house joint {BAD}"


@pytest.mark.parametrize("day", [2.02, 6.3, 11.71])
def test_a_joint_that_opens_at_once_is_told_as_one_step(tmp_path, day):
    case = meters(tmp_path, stepped(day, after=1e3))
    found = recorded_beginning(case)
    assert not found.slow and found.slowly_since is None
    assert found.earliest / DAY <= day <= found.latest / DAY and found.latest - found.earliest < 3 * HALF
    (said,) = beginning_words(case)
    assert "in one step" in said and "slowly" not in said


def test_a_joint_that_worsens_before_it_opens_is_told_as_both(tmp_path):
    case = meters(tmp_path, lambda t: np.where(t > 11 * DAY, 1e3, worsening(4, 11)(t)))
    found = recorded_beginning(case)
    assert not found.slow and found.earliest / DAY <= 11 <= found.latest / DAY
    assert 4 < found.slowly_since / DAY < 10.5
    assert "Before that they had been changing slowly" in beginning_words(case)[0]


def test_days_on_which_nothing_happens_are_told_as_nothing(tmp_path):  # but for a day's rise and fall of the network
    case = meters(tmp_path, lambda t: 0.003)
    assert recorded_beginning(case) is None and not beginning_words(case)


def test_both_ends_of_a_slow_change_are_drawn_and_said(tmp_path):
    case = meters(tmp_path, worsening(4, 11))
    case = replace(case, recordings=case.recordings[6:])
    assert "slow change began and was done" in recorded_over_calculated(case, {}, "nothing")[1]
