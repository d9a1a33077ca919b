"""What an exercise may be drawn as, at its edges: which figures come out clearly, and how they are rounded. Kind of all: arithmetic by hand."""

from math import inf

import pytest

from lostneutral.teaching import exercises as whole
from lostneutral.teaching.exercises import exercises, findings, pairs, stars
from lostneutral.teaching.exercises.published import ITEMS
from lostneutral.teaching.exercises.task import (
    POINT,
    Answer,
    Unclear,
    as_printed,
    held,
    rounded_off,
    solved,
    solved_volts,
    star_case,
)

CLEAR = [
    # maker, figures, answers
    (pairs.series, (400, 100, 300), "300 V; 100 V"),
    (pairs.series_ohms, (240, 10, 20), "8 A; 80 V; 160 V"),
    (pairs.series_ohms, (300, 4, 6), "30 A; 120 V; 180 V"),  # the most
    (pairs.series_ohms, (200, 1600, 2400), "0.05 A; 80 V; 120 V"),  # the least
    (pairs.series_ohms, (400, 300, 500), "0.5 A; 150 V; 250 V"),
    (pairs.series_ohms, (400, 600, 1000), "0.25 A; 150 V; 250 V"),
    (pairs.split_phase, (120, 600, 1000), "3.3 A; 150 V; 90 V"),  # 400 W / 120 V; 240 V in 1000 to 600
    (pairs.growing, (400, 100, 1, 3), "300 V; 100 V"),
    (stars.neutral_current_exercise, (2, 5, 10), "7 A"),  # 3 and 8 A at 120°: 9 + 64 − 24 = 49
    (stars.neutral_current_exercise, (2, 2, 10), "8 A"),
    (stars.neutral_current_lagging, ((10, 1.0, "lag"), (5, 1.0, "lag"), (5, 1.0, "lead")), "5.0 A"),
    (stars.neutral_current_lagging, ((10, 0.6, "lag"), (10, 0.6, "lead"), (10, 1.0, "lag")), None),
    (stars.line_open, (240, 30), "139 V; 120 V; 4 A"),  # 240 / √3; half of 240; over 30
    (stars.line_open, (380, 20), "219 V; 190 V; 9.5 A"),
    (stars.shorted, (240, 30), "240 V; 8 A; 13.9 A"),
    (stars.shorted, (200, 80), "200 V; 2.5 A; 4.3 A"),
    (stars.bad_joint, (240, 20, 4.0), "10.00 A; 200 V; 40.0 V; 400 W"),
    (stars.bad_joint, (110, 400, 150.0), "0.20 A; 80 V; 30.0 V; 6 W"),  # the least current
    # 5 / (1/10 + 2/20 + 1/5): 240 V × (1/10 − 1/20) / 0.4 = 30 V; 210 V; √(150² + 3 × 120²) = 256.3 V
    (stars.bad_joint_star, (240, 10, 20, 5), "30 V; 210 V; 256 V"),
    (stars.bad_joint_star, (240, 20, 10, 5), "27 V; 267 V; 228 V"),  # −0.05 / 0.45; √((120 − 26.67)² + 3 × 120²)
]
UNCLEAR = [
    (pairs.series, (400, 100, 200)), (pairs.series, (400, 100, 100)),  # 266.7 V; nothing to divide
    (pairs.series_ohms, (310, 4, 6)), (pairs.series_ohms, (200, 2000, 3000)),  # 31 A; 0.04 A
    (pairs.series_ohms, (200, 40, 80)), (pairs.series_ohms, (20, 15, 25)),  # 1.667 A; 7.5 V
    (pairs.split_phase, (120, 100, 100)), (pairs.growing, (400, 100, 3, 3)),
    (stars.neutral_current_exercise, (4, 4, 4)), (stars.neutral_current_exercise, (2, 3, 5)),  # none; √7
    (stars.neutral_current_lagging, ((5, 0.8, "lag"),) * 3),
    (stars.line_open, (230, 70)), (stars.shorted, (200, 30)),  # 1.643 A; 6.667 A
    (stars.bad_joint, (95, 350, 150.0)), (stars.bad_joint, (246, 2, 4.0)),  # 0.19 A; 41 A
    (stars.bad_joint, (220, 99, 1.0)),  # 4.84 W
    (stars.bad_joint_star, (240, 60, 60, 2)), (stars.bad_joint_star, (120, 60, 48, 2)),  # 0; 120 × −0.0042 / 0.558 = −0.9 V
    (stars.three_unequal, (230, 100, 1001, 500)), (stars.three_unequal_ohms, (230, 10, 101, 50)),  # more than ten times
    (findings.legs, (120, 100, 1001, 0, 0)),
    (findings.find_fault, (230, 100, 100, 100, 0, 0)), (findings.legs, (120, 100, 110, 0, 0)),  # nothing to be seen; 11 V apart
]


@pytest.mark.parametrize(("maker", "figures", "answers"), CLEAR)
def test_what_comes_out_clearly_has_these_answers(maker, figures, answers):
    made = maker(None, figures)
    assert answers is None or "; ".join(a.words for a in made.answers) == answers


@pytest.mark.parametrize(("maker", "figures"), UNCLEAR)
def test_what_does_not_come_out_clearly_is_not_asked(maker, figures):
    with pytest.raises(Unclear):
        maker(None, figures)


@pytest.mark.parametrize(("maker", "figures"), [
    (stars.three_unequal, (230, 100, 1000, 500)), (stars.three_unequal_ohms, (230, 10, 100, 50)), (findings.legs, (120, 100, 1000, 0, 0))])
def test_ten_times_as_much_is_still_asked(maker, figures):
    assert maker(None, figures).answers


def test_a_fault_is_asked_from_a_fifth_apart():
    # 100 W and 150 W on 2 × 120 V: 144 and 96 V, 48 V apart; 100 and 122: 131.9 and 108.1 V, as whole volts 24 apart: a fifth of 120
    assert findings.legs(None, (120, 100, 122, 0, 0)).answers[0].words == "the neutral is open"
    with pytest.raises(Unclear):  # 100 and 121: 131.4 and 108.6 V, 131 and 109: 22 V
        findings.legs(None, (120, 100, 121, 0, 0))


FAULTS = [("the neutral is open", (0, 0)), ("L2 is open, the neutral sound", (1, 1)), ("L1 and neutral are transposed", (2, 0)), ("nothing is broken", (3, 0))]


@pytest.mark.parametrize(("words", "which"), FAULTS)
@pytest.mark.parametrize(("maker", "figures", "three"), [(findings.find_fault, (230, 20, 50, 100), True), (findings.legs, (120, 600, 1200), False)])
def test_the_fault_is_told_for_the_lines_that_there_are(words, which, maker, figures, three):
    made = maker(None, (*figures, *which))
    said = " ".join(made.steps)
    assert made.answers == (Answer("fault", words),) and f"So: {words}." in made.steps
    assert len([what for what, _ in made.given if what.startswith("load")]) == (3 if three else 2)
    assert ("three loads" in made.text) is three and ("three-wire single-phase" in made.text) is not three
    if "open, the" in words:
        assert ("the others there are only 230 V" in said and "The others have 230 V" in said) if three else (
            "the other there are only 120 V" in said and "The other has 120 V" in said)
    elif "transposed" in words:
        # L1 is where N was: the others are between lines to it, 230 × √3 and 2 × 120 V
        assert "The others read 398 V to what is called N, and L1 still 230 V" in said if three else (
            "The other line reads 240 V to what is called N, and L1 still 120 V" in said)
    elif "nothing" in words:
        assert f"All lines read {figures[0]} V to neutral and {398 if three else 240} V between them" in said
    else:
        # the highest resistance: 100 Ω, and the 600 W of 120 V
        assert ("is on L3" in said and "(100 Ω)" in said) if three else ("is on L1" in said and "(600 W at 120 V)" in said)


@pytest.mark.parametrize(("at", "forward", "order"), [(0, True, "L1-L2-L3"), (1, True, "L2-L3-L1"), (0, False, "L1-L3-L2"), (2, False, "L3-L2-L1")])
def test_the_brighter_lamp_is_on_the_line_after_the_capacitor(at, forward, order):
    # by hand, susceptance 1 and conductance 1: shift (−1 + 3j) / 5; lamps |∠∓120° − shift| = |−0.3 ∓ 0.866j − 0.6j| = 1.496 and 0.401
    made = findings.sequence(None, (200, 100, 1, at, forward))
    assert [a.words for a in made.answers] == ["299 V", "80 V", order]
    _, bright, dim = order.split("-")
    assert f"The lamp on {bright} is bright, that on {dim} dim." in made.text and ("capacitor, on " + order[:2], "100 Ω at the supply's frequency") in made.given


def test_rounding_keeps_away_from_halves():
    assert [rounded_off(1.479), rounded_off(1.521), rounded_off(-1.521), rounded_off(1.4521, 1)] == [1, 2, -2, 1.5]
    for near in (1.481, 1.519, -1.5):
        with pytest.raises(Unclear):
            rounded_off(near)
    with pytest.raises(Unclear):  # as printed it would round to 2
        rounded_off(1.4, printed=1.6)
    assert rounded_off(1.4, printed=0.6) == 1


def test_figures_as_they_are_printed():
    assert [as_printed(-0.04, 1), as_printed(-1.25, 1), as_printed(2.0), as_printed(0.0, 2)] == ["0.0", "−1.2", "2", "0.00"]
    assert Answer("x", 2.5, "A", 2).words == "2.50 A" and Answer("x", 3.0).words == "3" and Answer("x", "L1").words == "L1"


def test_a_key_holds_to_half_of_its_last_place():
    for answer, value in ((Answer("x", 230, "V"), 230.5), (Answer("x", 1.2, "A", 1), 1.25)):
        assert held((answer,), (value,)) == (answer,)
    for answer, value in ((Answer("x", 230, "V"), 230.51), (Answer("x", 1.2, "A", 1), 1.252)):
        with pytest.raises(ArithmeticError):
            held((answer,), (value,))
    assert held((Answer("x", "L1"),), (0,)) == (Answer("x", "L1"),)


def test_marks_are_one_an_answer_and_one_more_for_each_grade():
    assert [stars.neutral_current_exercise(None, x).marks for x in ((2, 2, 10), (2, 5, 10))] == [1, 2]
    assert [stars.neutral_current_exercise(None, x).grade for x in ((2, 2, 10), (2, 5, 10))] == [1, 2]
    assert stars.bad_joint(None, (240, 20, 4.0)).marks == 5 and stars.bad_joint_star(None, (240, 10, 20, 5)).marks == 5


@pytest.mark.parametrize(("backward", "sign"), [(False, -1), (True, 1)])
def test_the_sequence_of_a_circuit(backward, sign):
    case = star_case(100, {"L1": complex(3, 4)}, backward=backward, crosses=((("L1", "N")),), breaks=("L2",))
    assert case.supply.phasors["L2"] == pytest.approx(complex(-50, sign * 86.60254)) and case.supply.phasors["L3"].imag == pytest.approx(-sign * 86.60254)
    assert case.loads[0].parameters == {"resistance": 3, "reactance": 4} and case.supply.nominal == 100
    assert [(b.conductor, b.resistance) for b in case.breaks] == [("L2", inf)] and case.crosses[0].conductors == ("L1", "N")
    pair = star_case(100, {"L1": 10, "L2": 30}, inf, "split-phase")
    assert pair.supply.phasors == {"L1": 100, "L2": -100} and pair.points[0].phases == ("L1", "L2")
    before, after = solved(pair)
    assert solved_volts(before, "L1") == pytest.approx(100) and solved_volts(after, "L1") == pytest.approx(50) and solved_volts(after, "L1", "L2") == pytest.approx(200)
    assert (POINT, "N") in after.currents


# Which are drawn

def test_the_least_and_the_most_that_can_be_asked():
    assert len(exercises(1, 0)) == 1
    with pytest.raises(whole.UsageError, match="no labels 'X'"):
        exercises(1, 1, "X")


def test_every_fifth_is_published_and_the_rest_when_no_other_is_left(monkeypatch):
    monkeypatch.setattr(whole, "KINDS", ())
    found = exercises(len(ITEMS), 1)
    assert len({e.source for e in found}) > 1 and all(e.source for e in found)
    with pytest.raises(whole.UsageError, match=f"only {len(ITEMS)} such"):
        exercises(len(ITEMS) + 1, 1)


def test_a_kind_is_given_up_when_it_has_no_more():
    drawn, other = [], pairs.series(None, (400, 100, 300))
    fits = lambda e: True

    def kind(random):
        drawn.append(1)
        return other

    # the wanted one, then the same again until the tries are used up; another grade until `OTHERS` of it; one that does not fit at once
    assert whole._drawn(kind, None, set(), fits, ()) is other and len(drawn) == 1
    drawn.clear()
    assert whole._drawn(kind, None, {(other.kind, other.given)}, fits, ()) is None and len(drawn) == whole.TRIES
    drawn.clear()
    assert whole._drawn(kind, None, set(), fits, (3,)) is None and len(drawn) == whole.OTHERS
    drawn.clear()
    assert whole._drawn(kind, None, set(), lambda e: False, ()) is None and len(drawn) == 1


@pytest.mark.parametrize(("r1", "r", "word"), [(10, 20, "smaller resistance, falls"), (20, 10, "larger resistance, rises")])
def test_the_larger_resistance_takes_more_behind_a_joint(r1, r, word):
    # practice: a displaced star point gives the largest resistance the highest voltage; by the figures above 210 and 267 V of 240 V
    made = stars.bad_joint_star(None, (240, r1, r, 5))
    assert word in made.steps[-1]
