"""Exercises: every key against loop equations at 30 digits, no two alike, and what stands in the worked solution.

Kind: independent (loop equations in mpmath, written from the figures given, not from the solver) unless said otherwise.
"""

import re
from math import sqrt

import mpmath
import pytest

from lostneutral.errors import UsageError
from lostneutral.teaching.exercises import KINDS, MOST, exercises, sheet, solutions
from lostneutral.teaching.exercises.published import ITEMS, item
from lostneutral.teaching.labels import LABEL_SETS

mpmath.mp.dps = 30
A = mpmath.expjpi(mpmath.mpf(-2) / 3)  # the second line, 120° behind


@pytest.fixture(scope="module")
def many():
    return exercises(MOST, 20260101)


def loop_star(e, z, r=mpmath.inf):
    """Load voltages and currents of a star fed by `e`, its star point tied through `r`: two loops (three with `r`)."""
    if r == mpmath.inf:
        # loops 1-2 and 2-3: currents i1, i2 = the two loop currents, the third is what is left
        m = mpmath.matrix([[z[0] + z[1], -z[1]], [-z[1], z[1] + z[2]]])
        a, b = mpmath.lu_solve(m, mpmath.matrix([e[0] - e[1], e[1] - e[2]]))
        currents = (a, b - a, -b)
    else:
        m = mpmath.matrix([[z[0] + r, r, r], [r, z[1] + r, r], [r, r, z[2] + r]])
        currents = tuple(mpmath.lu_solve(m, mpmath.matrix(list(e))))
    return [i * x for i, x in zip(currents, z)], currents


def lines(u):
    return [u, u * A, u * A**2]


def expected(e):
    """The figures of an exercise by loop equations from what is given."""
    d = e.data
    if e.kind == "two loads in series across two lines":
        if "p1" in d:
            loop = mpmath.mpf(d["u"]) / (mpmath.mpf(1) / d["p1"] + mpmath.mpf(1) / d["p2"])
            return [loop / d["p1"], loop / d["p2"]]
        if "r1" in d:
            i = mpmath.mpf(d["u"]) / (d["r1"] + d["r2"])
            return [i, i * d["r1"], i * d["r2"]]
        i = mpmath.mpf(d["u"]) / (mpmath.mpf(1) / d["n1"] + mpmath.mpf(1) / d["n2"])
        return [i / d["n1"], i / d["n2"]]
    if e.kind == "split-phase with the neutral lost":
        r1, r2 = (mpmath.mpf(d["leg"]) ** 2 / d[p] for p in ("p1", "p2"))
        i = 2 * d["leg"] / (r1 + r2)
        return [abs(d["leg"] / r1 - d["leg"] / r2), i * r1, i * r2]
    if e.kind == "neutral current of unbalanced loads":
        if "amps" in d:
            return [abs(sum(a * A**n for n, a in enumerate(d["amps"])))]
        total = 0
        for n, (size, factor, side) in enumerate(d["currents"]):
            angle = mpmath.acos(mpmath.mpf(factor)) * (-1 if side == "lag" else 1)
            total += size * A**n * mpmath.expj(angle)
        return [abs(total)]
    if e.kind == "three unequal loads without neutral":
        u = mpmath.mpf(d["u"])
        across, _ = loop_star(lines(u), [u**2 / p for p in d["powers"]])
        return [abs(lines(u)[0] - across[0]), *map(abs, across)]
    if e.kind == "one phase open":
        i = mpmath.mpf(d["u"]) / (2 * d["r"])
        across, _ = loop_star(lines(d["u"] / mpmath.sqrt(3)), [mpmath.mpf(d["r"])] * 3)
        return [abs(across[0]), i * d["r"], i]
    if e.kind == "one load shorted":
        across, currents = loop_star(lines(d["u"] / mpmath.sqrt(3)), [mpmath.mpf(0), mpmath.mpf(d["r"]), mpmath.mpf(d["r"])])
        return [abs(across[1]), abs(currents[1]), abs(currents[0])]
    if e.kind == "effect of a bad joint" and "r1" not in d:
        i = d["u"] / (mpmath.mpf(d["r"]) + d["joint"])
        return [i, i * d["r"], i * d["joint"], i**2 * d["joint"]][: len(e.answers)]
    if e.kind == "effect of a bad joint":
        across, currents = loop_star(lines(mpmath.mpf(d["u"])), [mpmath.mpf(x) for x in (d["r1"], d["r"], d["r"])], mpmath.mpf(d["joint"]))
        return [abs(sum(currents)) * d["joint"], abs(across[0]), abs(across[1])]
    if e.kind == "phase sequence from two lamps and a capacitor":
        across, _ = loop_star(lines(mpmath.mpf(d["u"])), [mpmath.mpc(0, -d["r"]), mpmath.mpf(d["r"]), mpmath.mpf(d["r"])])
        return [abs(across[1]), abs(across[2]), None]
    return [None]


def test_every_key_agrees_with_loop_equations(many):
    compared = 0
    for e in many:
        for answer, value in zip(e.answers, expected(e), strict=True):
            if value is None:
                assert isinstance(answer.value, str)
            else:
                assert abs(answer.value - value) <= mpmath.mpf(10) ** -answer.decimals / 2 + mpmath.mpf("1e-9"), e
                compared += 1
    assert compared > 900


def test_the_fault_behind_the_readings_is_the_only_one_that_gives_them(many):
    """Independent: all faults of the question worked out by loop equations; the readings fit the named one only."""
    for e in (x for x in many if x.kind == "find the fault from readings"):
        d, fits = e.data, []
        for fault in ("the neutral is open", "nothing is broken", *(f"{line} {what}" for line in ("L1", "L2", "L3") for what in (
                "is open, the neutral sound", "and neutral are exchanged"))):
            if readings(fault, d["u"], d["ohms"]) == pytest.approx(list(d["read"]), abs=1.01):
                fits.append(fault)
        assert fits == [e.answers[0].value], e


def readings(fault, u, ohms):
    e, names = lines(mpmath.mpf(u)), ("L1", "L2", "L3")
    at = names.index(fault[:2]) if fault[0] == "L" else None
    if fault == "the neutral is open":
        across, _ = loop_star(e, [mpmath.mpf(r) for r in ohms])
        volts = [*across, mpmath.mpf(0)]
    else:
        volts = [*e, mpmath.mpf(0)]
        if "is open" in fault:
            volts[at] = volts[3]  # its load carries nothing, so the conductor stands at N
        elif "exchanged" in fault:
            volts[at], volts[3] = volts[3], volts[at]
    pairs = [(0, 3), (1, 3), (2, 3), (0, 1), (1, 2), (2, 0)]
    return [float(abs(volts[a] - volts[b])) for a, b in pairs]


def test_the_bright_lamp_follows_the_capacitor(many):
    # published: Boylestad, Introductory Circuit Analysis, the two-lamp phase-sequence indicator (read in a secondary source)
    for e in (x for x in many if x.kind.startswith("phase sequence")):
        first, second, _ = e.answers[2].value.split("-")
        assert (first, second) == (e.data["capacitor"], e.data["bright"])
        assert e.answers[0].value > e.answers[1].value


# What must hold

def test_no_two_are_alike_and_all_kinds_are_there(many):
    assert len({(e.text, e.given) for e in many}) == len(many) == MOST
    assert len({e.kind for e in many}) == 9
    assert {e.grade for e in many} == {1, 2, 3}
    assert [e.grade for e in many] == sorted(e.grade for e in many)
    assert len(KINDS) == 13


def test_answers_are_plain_figures(many):
    for e in many:
        for a in (a for a in e.answers if not isinstance(a.value, str)):
            assert a.value > 0
            assert len(re.sub(r"\D", "", a.words.lstrip("0."))) <= 4
            assert a.decimals <= 2


def test_the_steps_end_in_the_answers(many):
    for e in many:
        said = " ".join(e.steps)
        for a in e.answers:
            assert a.words in said or f"{a.words}." in said, (e.kind, a, e.steps)


def test_the_first_grade_needs_no_phasors(many):
    for e in (x for x in many if x.grade == 1):
        assert not re.search(r"√|∠|cos|sin|j\b", " ".join(e.steps))


def test_the_same_seed_gives_the_same_sheet():
    assert exercises(25, 7) == exercises(25, 7)
    assert exercises(25, 7) != exercises(25, 8)


@pytest.mark.parametrize("labels", [x for x in LABEL_SETS if x != "L1/L2/L3"])
def test_labels_leave_no_other_name(labels):
    made = exercises(60, 4, labels)
    assert not re.search(r"\bL[123]\b", str([sheet(made), solutions(made)]))
    assert [[a.value for a in e.answers if not isinstance(a.value, str)] for e in made] == [
        [a.value for a in e.answers if not isinstance(a.value, str)] for e in exercises(60, 4)]


@pytest.mark.parametrize("number", [0, -3, MOST + 1])
def test_a_number_that_cannot_be(number):
    with pytest.raises(UsageError, match="from 1 to"):
        exercises(number, 1)


def test_sheet_has_no_answers_and_both_are_safe_to_hand_out():
    made = exercises(12, 2)
    asked, told = str(sheet(made)), str(solutions(made))
    assert "switch off, lock off, prove dead" in asked and "switch off, lock off, prove dead" in told
    assert "Check" in told and "Check" not in asked
    assert sum(block["kind"] == "table" for block in sheet(made)) == 24


# Published items

@pytest.mark.parametrize("number", range(len(ITEMS)), ids=lambda n: f"{ITEMS[n].kind}-{n}")
def test_published_items_come_out_as_printed(number):
    """Published: each at the precision printed; where the source takes √3 as 1.73, to 1 V."""
    row, made = ITEMS[number], item(number)
    assert made.source == row.source
    for answer, printed in zip(made.answers, row.printed, strict=True):
        if printed is not None:
            loose = 1.0 if "1.73" in row.source else 0.5 if answer.unit == "V" else 0.051
            assert answer.value == pytest.approx(printed, abs=loose)


def test_a_sheet_holds_published_items():
    assert sum(bool(e.source) for e in exercises(20, 3)) == 4
    assert 230 * sqrt(3) == pytest.approx(398.4, abs=0.05)  # the line-to-line voltage that the three-line kinds take
