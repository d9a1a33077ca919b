"""Stars with a broken, poor or sound neutral against published worked examples, at the precision printed there.

Kind of every row: published, unless its id ends in "own" (independent: Millman's theorem at 30 digits, in the test) or
its source says "from memory".
"""

import re
from dataclasses import dataclass
from itertools import pairwise
from math import inf, sqrt

import mpmath
import pytest
from circuit_cases import angle, before, one_point, polar, split_phase, star, supply, watts

from lostneutral.case.model import Case
from lostneutral.circuit.states import before_and_after

DIVERSES = "J. Mollera Barriga, Qüestions Electrotècniques Diverses, v15.0 (2025), chapter 1"
POWER_SYSTEM = "V.K. Mehta and R. Mehta, Principles of Power System"
FUNDAMENTALS = "C.K. Alexander and M.N.O. Sadiku, Fundamentals of Electric Circuits"
SYNTHESIS = "B.R. Gupta, Network Analysis and Synthesis"
EXAM = "exam-type item"
PRACTICE = "common practice"


@dataclass(frozen=True)
class Row:
    """A published star: what is read off it -> the figure as printed; `share` where the source rounds on the way."""

    id: str
    source: str
    case: Case
    printed: dict
    share: float = 0.0  #: tolerance as a share of the figure, where that is wider than the last digit printed


def shows(value, printed, share=0.0):
    """Assert that `value` rounds to the figure `printed` ("12.3", "12.3∠-45.6" or "1.2-j3.4")."""
    if "∠" in printed:
        size, degrees = printed.split("∠")
        parts = [(abs(value), size), ((angle(value) - float(degrees) + 180) % 360 - 180 + float(degrees), degrees)]
    elif "j" in printed:
        real, sign, imaginary = re.fullmatch(r"(.+)([+-])j(.+)", printed).groups()
        parts = [(value.real, real), (value.imag, sign + imaginary)]
    else:
        parts = [(abs(value), printed)]
    scale = max(abs(float(text)) for _, text in parts)
    for number, text in parts:
        last_digit = 10.0 ** -len(text.partition(".")[2])
        assert number == pytest.approx(float(text), rel=0, abs=max(0.501 * last_digit, share * scale)), printed


def reading(case, states, what):
    """Return what a key of `Row.printed` names: "before IN", "V2", "shift", "L1-L2", "S" …"""
    which, _, what = what.rpartition(" ")
    found = states[0 if which == "before" else 1].reached
    loads = found.loads
    if what == "shift":
        return found.nodes["intake", "N"]
    if what == "IN":  # from the supply towards the point
        return found.currents["intake", "N"]
    if what == "S":
        return complex(sum(x.power for x in loads), sum(x.reactive_power for x in loads))
    if "-" in what:
        return found.voltage("intake", *what.split("-"))
    answer = loads[int(what[1]) - 1]
    return {"V": answer.voltage, "I": answer.current, "P": answer.power}[what[0]]


def three(volts, impedances, rotation="abc", neutral=inf, at=0.0):
    return star(supply(volts, rotation, at), impedances, neutral)


def two(volts, impedances):
    return star(split_phase(volts), impedances)


MILLIOHMS = (0.050, 0.080, 0.070)
LAMPS = one_point(supply(400 / sqrt(3)), [watts(100, 230, "L1"), watts(150, 230, "L2"), watts(100, 230, "L3", on=False)])
HOUSE = one_point(split_phase(250), [watts(35e3, 250, "L1"), watts(20e3, 250, "L2")])
STREET = one_point(split_phase(230), [watts(250e3, 230, "L1"), watts(400e3, 230, "L2")])
SHOP = one_point(supply(240), [watts(24e3, 240, "L1"), watts(18e3, 240, "L2"), watts(12e3, 240, "L3")])
BULBS = [watts(25, 220, "L1"), watts(100, 220, "L2")]

ROWS = [
    Row("T1", f"{DIVERSES}, example 1.2: neutral through 46 ohm", three(230, MILLIOHMS, neutral=46.0),
        {"shift": "33.3433∠13.17", "IN": "0.7249∠-166.83", "I1": "3953.6056∠-2.20", "I2": "3174.7573∠-125.49",
         "I3": "3453.8265∠127.59"}),
    Row("T2", f"{DIVERSES}, example after 1.2: neutral not connected", three(230, MILLIOHMS),
        {"shift": "33.3588∠13.17", "I1": "3953.3068∠-2.20", "I2": "3174.9027∠-125.50", "I3": "3453.9180∠127.59"}),
    Row("T3", f"{POWER_SYSTEM}, example 14.11, p. 371", LAMPS, {"V1": "240", "V2": "160"}),
    Row("T4", f"{FUNDAMENTALS}, example 12.10 (from memory)", three(120, (5j, 10.0, -10j)),
        {"I1": "56.78∠0", "I2": "25.46∠135", "I3": "42.75∠-155.1", "S": "6480-j2156"}, 1e-3),
    Row("T5", f"{FUNDAMENTALS}, example 12.9 (from memory)", three(100, (15.0, 10 + 5j, 6 - 8j), "acb"),
        {"before I1": "6.67∠0", "before I2": "8.94∠93.44", "before I3": "10∠-66.87", "before IN": "10.06∠178.4"}, 1e-3),
    Row("T7", f"{SYNTHESIS}, example 3-11, p. 181", three(400 / sqrt(3), (20j, -20j, 20.0)),
        {"shift": "84.53-j146.41", "V2": "-200-j53.59", "I2": "2.6795-j10"}),
    Row("T8", f"{SYNTHESIS}, example 3-23, p. 188",
        star(supply(254, phasors={"L1": 254 + 0j, "L2": -127.02 - 220j, "L3": -127.02 + 220j}),
             (8.66 + 5j, 8.48 + 8.48j, 11.50 + 9.642j)), {"shift": "17.9603+j6.1771"}, 1e-4),
    Row("T9", f"{SYNTHESIS}, example 3-32, p. 193", three(400 / sqrt(3), (10.0, 20.0, 25.0), at=-30.0),
        {"I1": "14.74-j7.3", "I2": "-12.635-j3.64", "I3": "-2.105+j10.94", "shift": "52.6-j42.475", "P1": "2706"}, 5e-3),
    Row("T11", "textbook section 5.4 Balanced three-phase systems, example 5.1, pp. 112-113: all three",
        three(440 / sqrt(3), (10.0, 10.0, 10.0)), {"V1": "254", "I1": "25.4", "V2": "254", "I3": "25.4"}),
    Row("T11-one-opens", "textbook section 5.4 Balanced three-phase systems, example 5.1, pp. 112-113: two left",
        three(440 / sqrt(3), (10.0, 10.0, None)), {"I1": "22", "I2": "22", "I3": "0.000"}),
    Row("T12", f"{EXAM}: 200 V three-wire star, all equal", three(200 / sqrt(3), (10.0, 10.0, 10.0)),
        {"V1": "116"}, 1 / 116),
    Row("T12-one-opens", f"{EXAM}: 200 V three-wire star, one opens", three(200 / sqrt(3), (10.0, 10.0, None)),
        {"V1": "100"}),
    Row("T13-open", "Electrical Science, handbook 1011/3-92, volume 3, module 9, p. 23 (answers from memory)",
        three(240 / sqrt(3), (40.0, 40.0, None)), {"V1": "120", "I1": "3", "I2": "3"}),
    Row("T13-short", "Electrical Science, handbook 1011/3-92, volume 3, module 9, p. 23 (answers from memory)",
        three(240 / sqrt(3), (0.0, 40.0, 40.0)), {"V2": "240", "V3": "240", "I2": "6", "I3": "6", "I1": "10.4"}),
    Row("T14", f"{EXAM} (open-neutral figures from memory): three lamp groups",
        three(220, (5.0, 10.0, 20.0)),
        {"before I1": "44", "before I2": "22", "before I3": "11", "before IN": "29∠161", "V1": "144", "V2": "249.4",
         "V3": "288"}, 1e-3),
    Row("T14-short", f"{EXAM}, 380 V: one group shorted, neutral broken",
        three(380 / sqrt(3), (0.0, 10.0, 20.0)), {"V2": "380", "V3": "380"}),
    Row("T14-off", f"{EXAM}, 380 V (from memory): one group off, neutral broken",
        three(380 / sqrt(3), (None, 10.0, 20.0)), {"V2": "127", "V3": "253"}),
    Row("T15", "T.R. Kuphaldt, Lessons in Electric Circuits, volume II (AC), chapter 10, balanced star without neutral",
        three(120, (1.44, 1.44, 1.44), "acb"),
        {"V1": "120.0", "V2": "120.0", "V3": "120.0", "L1-L2": "207.8", "I1": "83.33", "I2": "83.33", "I3": "83.33"}),
    Row("T16", "J. Bird, Electrical Circuit Theory and Technology, chapter 19, example 4, p. 301", SHOP,
        {"before I1": "100", "before I2": "75", "before I3": "50", "before IN": "43.3"}),
    Row("T17", f"{PRACTICE}: 57.5, 46 and 33 ohm on 400 V", three(400 / sqrt(3), (57.5, 46.0, 33.0)),
        {"before I1": "4", "before I2": "5", "before I3": "7", "before IN": "2.6"}),
    Row("P1", f"{PRACTICE}: 100 W and 200 W at 120 V on a shared neutral",
        one_point(split_phase(), [watts(100, 120, "L1"), watts(200, 120, "L2")]),
        {"before I1": "0.8333", "before I2": "1.6667"}),
    Row("P2", f"{POWER_SYSTEM}, example 13.28, p. 343", HOUSE, {"V1": "181.8", "V2": "318.2"}),
    Row("P4", "B.L. Theraja and A.K. Theraja, Electrical Technology, volume III, example 40.28, p. 1600", STREET,
        {"V1": "283", "V2": "177"}),
    Row("P5", f"{EXAM}: 1000 W and 200 W on 100/200 V",
        one_point(split_phase(100), [watts(1000, 100, "L1"), watts(200, 100, "L2")]), {"V1": "33.3"}),
    Row("P6-150", f"{EXAM}: 150 V read on a 100 V side", two(100, (30.0, 10.0)), {"before V1": "100", "V1": "150"}),
    Row("P6-120", f"{EXAM}: 120 V read on a 100 V side", two(100, (30.0, 20.0)), {"before V1": "100", "V1": "120"}),
    Row("P7", f"{PRACTICE}: 20 ohm and 30 ohm on 200 V", two(100, (20.0, 30.0)), {"I1": "4", "V1": "80", "V2": "120"}),
    Row("P8", "R. Mullin and others, Electrical Wiring Residential, 18th edition, chapter 17, problem 4R (from memory)",
        two(120, (12.0, 24.0)), {"before IN": "5", "V1": "80", "V2": "160"}),
    Row("P10-2-2", f"{PRACTICE}: 110 ohm and 110 ohm on 380 V", three(380 / sqrt(3), (110.0, 110.0, None)),
        {"V1": "190", "V2": "190"}),
    Row("P10-4-2", f"{PRACTICE}: 55 ohm and 110 ohm on 380 V", three(380 / sqrt(3), (55.0, 110.0, None)),
        {"V1": "126.5", "V2": "253"}, 2e-3),
    Row("P10-6-2", f"{PRACTICE}: 36.7 ohm and 110 ohm on 380 V", three(380 / sqrt(3), (220 / 6, 110.0, None)),
        {"V1": "95", "V2": "285"}),
    Row("P11", f"{PRACTICE}: 25 W and 100 W, 220 V, in series on 440 V", one_point(split_phase(220), BULBS),
        {"V1": "352", "V2": "88", "I1": "0.182"}),
    Row("P12", f"{PRACTICE}: 25 W and 100 W, 220 V, in series on 220 V", one_point(split_phase(110), BULBS),
        {"P1": "16", "P2": "4"}),
]


@pytest.mark.parametrize("row", ROWS, ids=[r.id for r in ROWS])
def test_published_star(row):
    states = before_and_after(row.case)
    for what, printed in row.printed.items():
        shows(reading(row.case, states, what), printed, row.share)


@pytest.mark.parametrize("row", ROWS, ids=[r.id for r in ROWS])
def test_laws_of_the_star_hold(row):
    # Invariant: lines and neutral sum to zero, line-to-line voltages stay the source's, power is Re(V I*) = V²/R.
    found = before_and_after(row.case)[1].reached
    lines = row.case.supply.lines
    total = sum(found.currents["intake", c] for c in (*lines, "N"))
    largest = max(abs(found.currents["intake", c]) for c in lines)
    assert abs(total) <= 1e-9 * largest
    assert found.residual <= 1e-9 * largest
    for a, b in pairwise(lines):
        expected = row.case.supply.phasors[a] - row.case.supply.phasors[b]
        assert found.voltage("intake", a, b) == pytest.approx(expected, rel=1e-12)
    for given, answer in zip(row.case.loads, found.loads):
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


def test_design_figures_of_100_200_300_watts():
    # Independent: figures worked out beforehand with a separate model, printed to 0.1 V.
    case = one_point(supply(230), [watts(100, 230, "L1"), watts(200, 230, "L2"), watts(300, 230, "L3")])
    state = before_and_after(case)[1]
    assert len(state.solutions) == 1 and state.unique
    for answer, printed in zip(state.reached.loads, ("289.4", "239.4", "175.7")):
        shows(answer.voltage, printed)


def test_before_has_a_reason_when_a_dead_short_on_an_ideal_supply_has_no_solution():
    # Invariant: a zero-ohm load across an ideal source has no solution; with the neutral gone it has one.
    sound, broken = before_and_after(three(220, (0.0, 10.0, 20.0)))
    assert sound.solutions == () and "short" in sound.reason
    assert broken.reached is not None


class TestWrongFiguresAreNotReproduced:
    """Figures found in circulation that are wrong, each with the right one (independent: loop equations, closed form)."""

    def test_X1_weights_one_two_three_as_admittances(self):
        found = before_and_after(three(380 / sqrt(3), (6.0, 3.0, 2.0)))[1].reached
        shift = found.nodes["intake", "N"]
        assert abs(shift) == pytest.approx(380 / 6, rel=1e-9)  # U0·|1 + 2a² + 3a|/6 = U0/(2√3)
        assert angle(shift) == pytest.approx(150.0, abs=1e-6)
        assert abs(abs(shift) - 190) > 100  # in circulation: 190 V, and 109.7 V with the line voltage put in
        for size, right in zip((abs(x.voltage) for x in found.loads), (276.1, 228.4, 167.6)):
            assert size == pytest.approx(right, abs=0.5)

    def test_X2_other_two_taken_as_parallel_across_the_line_voltage(self):
        found = before_and_after(three(380 / sqrt(3), (100.0, 200.0, 300.0)))[1].reached
        shows(found.nodes["intake", "N"], "71.91∠-13.90")
        for answer, right, wrong in zip(found.loads, ("150.58", "249.11", "274.20"), (172, 276, 309)):
            shows(answer.voltage, right)
            assert abs(abs(answer.voltage) - wrong) > 20

    def test_X3_voltage_over_the_open_phase_is_one_and_a_half(self):
        found = before_and_after(three(100, (None, 100 + 100j, 100 + 100j)))[1].reached
        shows(found.loads[0].voltage, "150.0∠0.0")  # in circulation: 0
        shows(found.loads[1].voltage, "86.60∠-90.00")  # in circulation: 225 degrees
        shows(found.loads[2].voltage, "86.60∠90.00")  # in circulation: 45 degrees
        shows(found.nodes["intake", "N"], "-50.0+j0.0")

    def test_X5_the_load_of_greater_power_does_not_rise(self):
        loads = [watts(p, 230, x) for p, x in ((60, "L1"), (500, "L2"), (2000, "L3"))]
        voltages = [abs(x.voltage) for x in before_and_after(one_point(supply(230), loads))[1].reached.loads]
        assert voltages[0] > 230 > voltages[2] and voltages == sorted(voltages, reverse=True)

    def test_X6_power_of_the_third_branch_of_T9(self):
        found = before_and_after(three(400 / sqrt(3), (10.0, 20.0, 25.0), at=-30.0))[1].reached
        assert found.loads[2].power == pytest.approx(3102.5, abs=0.05)  # in circulation: 3158 W
        assert found.loads[1].power == pytest.approx(3457.1, abs=0.05)


def test_a_healthy_return_current_is_opposite_to_the_sum_of_the_lines():
    # Practice, and the result file's contract: run currents count from the supply's end, so N returns at 180 degrees.
    found = before(one_point(supply(230), [watts(2300, 230, "L1"), watts(1000, 230, "L2")]))
    lines = sum(found.currents["intake", x] for x in ("L1", "L2", "L3"))
    assert found.currents["intake", "L1"] == pytest.approx(10.0, rel=1e-12)
    assert found.currents["intake", "N"] == pytest.approx(-lines, rel=1e-12)
    assert abs(angle(found.currents["intake", "N"] / lines)) == pytest.approx(180.0)


def test_polar_and_shows_tell_a_wrong_figure():
    # The check itself must be able to fail.
    with pytest.raises(AssertionError):
        shows(polar(33.344, 13.17), "33.3433∠13.17")
    with pytest.raises(AssertionError):
        shows(polar(33.3433, 13.18), "33.3433∠13.17")
