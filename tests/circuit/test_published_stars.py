"""What holds in every published star, and the stars' own extensions against Millman's theorem.

The published figures themselves are checks of ``lostneutral/data/checks/stars.toml``.
"""

from itertools import pairwise
from math import inf, sqrt

import mpmath
import pytest
from circuit_cases import angle, before, one_point, split_phase, star, supply, watts

from lostneutral import parse_case
from lostneutral.circuit.states import before_and_after
from lostneutral.verify.checks import given_of, topic
from lostneutral.verify.of_circuits import star_text


def three(volts, impedances, rotation="abc", neutral=inf, at=0.0):
    return star(supply(volts, rotation, at), impedances, neutral)


STARS = {check.id: check for check in topic("stars").checks}


def case_of(check):
    given = given_of(check)
    return parse_case(given["case"] if "case" in given else star_text(
        voltage=given.pop("voltage", None) or given.pop("between_lines") / sqrt(3), **given))


@pytest.mark.parametrize("name", STARS)
def test_laws_of_the_star_hold(name):
    # Invariant: lines and neutral sum to zero, line-to-line voltages stay the source's, power is Re(V I*) = V²/R.
    case = case_of(STARS[name])
    found = before_and_after(case)[1].reached
    lines = case.supply.lines
    total = sum(found.currents["intake", c] for c in (*lines, "N") if found.currents["intake", c] is not None)
    largest = max(abs(found.currents["intake", c]) for c in lines)
    assert abs(total) <= 1e-9 * largest
    assert found.residual <= 1e-9 * largest
    for a, b in pairwise(lines):
        expected = case.supply.phasors[a] - case.supply.phasors[b]
        assert found.voltage("intake", a, b) == pytest.approx(expected, rel=1e-12)
    for given, answer in zip(case.loads, found.loads):
        assert answer.power == pytest.approx((answer.voltage * answer.current.conjugate()).real, rel=1e-9, abs=1e-9)
        if given.on and given.kind == "resistive":
            expected = given.parameters["power"] * abs(answer.voltage) ** 2 / given.voltage**2
            assert answer.power == pytest.approx(expected, rel=1e-9)


OWN = {
    "T5-opened-own": (supply(100, "acb"), (15.0, 10 + 5j, 6 - 8j), inf),
    "T4-own": (supply(120), (5j, 10.0, -10j), inf),
    "T16-opened-own": (supply(240), (2.4, 3.2, 4.8), inf),
    "T17-opened-own": (supply(400 / sqrt(3)), (57.5, 46.0, 33.0), inf),
    "P1-opened-own": (split_phase(), (144.0, 72.0), inf),
    **{f"T14-neutral-{r:g}-ohm-own": (supply(220), (5.0, 10.0, 20.0), r) for r in (0.1, 1.0, 5.0, 50.0)},
}


@pytest.mark.parametrize(("source", "impedances", "neutral"), OWN.values(), ids=OWN)
def test_own_extension_against_millman(source, impedances, neutral):
    # Independent: Millman's theorem at 30 digits.
    with mpmath.workdps(30):
        sources = [mpmath.mpc(source.phasors[x]) for x in source.lines]
        y = [1 / mpmath.mpc(z) for z in impedances]
        shift = sum(a * b for a, b in zip(sources, y)) / (sum(y) + (0 if neutral == inf else 1 / mpmath.mpf(neutral)))
    found = before_and_after(star(source, impedances, neutral))[1].reached
    assert found.nodes["intake", "N"] == pytest.approx(complex(shift), rel=1e-12, abs=1e-10)
    for answer, e in zip(found.loads, sources):
        assert answer.voltage == pytest.approx(complex(e - shift), rel=1e-12, abs=1e-10)
    run = found.currents["intake", "N"]
    assert run == pytest.approx(complex(0 if neutral == inf else -shift / neutral), rel=1e-11)


def test_before_has_a_reason_when_a_dead_short_on_an_ideal_supply_has_no_solution():
    # Invariant: a zero-ohm load across an ideal source has no solution; with the neutral gone it has one.
    sound, broken = before_and_after(three(220, (0.0, 10.0, 20.0)))
    assert sound.solutions == () and "short" in sound.reason
    assert broken.reached is not None


def test_a_healthy_return_current_is_opposite_to_the_sum_of_the_lines():
    # Practice, and the result file's contract: run currents count from the supply's end, so N returns at 180 degrees.
    found = before(one_point(supply(230), [watts(2300, 230, "L1"), watts(1000, 230, "L2")]))
    lines = sum(found.currents["intake", x] for x in ("L1", "L2", "L3"))
    assert found.currents["intake", "L1"] == pytest.approx(10.0, rel=1e-12)
    assert found.currents["intake", "N"] == pytest.approx(-lines, rel=1e-12)
    assert abs(angle(found.currents["intake", "N"] / lines)) == pytest.approx(180.0)
