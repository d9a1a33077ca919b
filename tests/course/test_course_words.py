"""What is said of a course: no line is dead, calculated times are rough, and names are the trade's. Kind: practice."""

import json
from functools import cache
from pathlib import Path

import pytest

from lostneutral import follow, parse_case, read_case, result_json
from lostneutral.consequences import cautions
from lostneutral.report.course import figures as course_figures
from lostneutral.report.course.rows import Failure, conditions, failure_words, happenings, seen_words
from lostneutral.report.course.text import course_text
from lostneutral.report.screen.short_answers import course_in_short

CASEBOOK = Path(__file__).parents[2] / "casebook"


@cache
def followed(name):
    return follow(read_case(CASEBOOK / f"{name}.toml"))


def flow(text):
    return " ".join(text.split())


def moments(result):
    return happenings(result.case, result.courses.central)


def test_a_line_without_voltage_to_the_neutral_is_still_live():
    """One lamp on an open neutral puts the neutral at its line: no voltage across the lamp, 230 V from line to earth."""
    result = followed("wrong-room")
    told = " ".join(text for h in moments(result) for text in seen_words(result.case, h))
    assert "L1 0 V, no voltage to neutral, STILL LIVE to earth" in told
    text = flow(course_text(result)).split("Cautions -")[0]
    assert ", dead" not in text and "no voltage to neutral, STILL LIVE to earth" in text


def test_a_lost_line_is_not_called_live_and_not_called_dead():
    text = ('title = "t"\n[supply]\n[[break]]\nconductor = "L1"\n'
            '[[load]]\nname = "a"\nkind = "resistive"\nconnect = "L1-N"\npower = 60\n')
    result = follow(parse_case(text))
    assert "L1 0 V, no voltage to neutral, not proved dead" in seen_words(result.case, moments(result)[-1])[0]


def test_the_result_file_keeps_its_words_for_conditions():
    """Contract: what other programs read stays, whatever is printed."""
    result = followed("wrong-room")
    told = json.loads(result_json(result))["course"]["loads"]
    assert {w for load in told for w in load["condition"]} <= {
        "running", "dim", "dark", "glaring", "too high", "too low", "dead", "off", "failed"}
    assert next(x for x in told if x["name"] == "Stair lamp")["condition"].count("dark")
    assert "dark" in conditions(result.case, result.courses.central)["Stair lamp"]
    drawn = course_figures.strips(result)[1]
    assert "no light" in drawn and "dark" not in drawn and "dead" not in drawn


def test_a_calculated_time_is_rough_and_a_given_one_is_not():
    result = followed("lamps-one-by-one")
    failing = [h for h in moments(result) if h.calculated]
    assert failing and all(h.when.startswith("about ") and "failure expected, open-circuit" in h.what for h in failing)
    assert all("about" not in h.when for h in moments(result) if not h.calculated)
    text = course_text(result)
    assert all(h.when in text for h in failing)


def test_the_conductor_has_its_name():
    told = " ".join(h.what for h in moments(followed("farm-lane")))
    assert "PEN in the cable to farmhouse goes open-circuit" in told or "PEN in the cable to" in told
    joint = [h.what for h in moments(followed("intermittent-joint"))]
    assert any("becomes a high-resistance joint (" in what and "Ω)" in what for what in joint) or \
        any(what.endswith("is restored") for what in joint)
    assert not any("in the run" in what for what in joint)


def test_a_course_without_a_failure_says_so():
    assert "Expected failures: none within the period" in flow(course_text(followed("wrong-room")))


@pytest.mark.parametrize("times, words", [
    ((600.0, 120.0, 3000.0), "about 10 min (early course: about 2 min; late course: about 50 min)"),
    ((None, 120.0, None), "not within the period (early course: about 2 min)"),
    ((600.0, 20.0, 3000.0), "possibly within about 20 s; an upper end cannot be stated"),
])
def test_a_failure_is_told_by_its_range(times, words):  # the last: rule of the house, a range beyond two decades
    assert failure_words(Failure("lamp", "filament", *times)) == words


def test_a_split_phase_supply_has_no_star_point_and_no_triangle():
    words = course_figures.track(followed("split-phase-house"))[1]
    assert "star point" not in words and "triangle" not in words and "centre tap" in words


def test_short_cautions_stand_before_the_answer():
    result = followed("wrong-room")
    text = "".join(course_text(result).split())
    assert all(text.index("".join(short.split())) < text.index("Sequenceofevents") for short in cautions(result.case, "short"))


def test_on_one_screen_the_point_that_is_furthest_off_is_told():
    """The board behind the break, not the intake before it, where all is as ever."""
    case = parse_case('title = "t"\n[supply]\n[[point]]\nname = "intake"\n[[point]]\nname = "board"\nfed_from = "intake"\n'
                      '[[event]]\ntime = 10\nbreak = "board"\n[[event]]\ntime = 11\nbreak = "board"\nresistance = 0\n'
                      '[[load]]\nname = "a"\nkind = "resistive"\nconnect = "L1-N"\npower = 1000\npoint = "board"\n'
                      '[[load]]\nname = "b"\nkind = "resistive"\nconnect = "L2-N"\npower = 1000\npoint = "board"\n')
    told = flow(course_in_short(follow(case)))
    assert "10 s: neutral in the cable to board goes open-circuit. board: L1 199 V, below limits; L2 199 V, below limits; " \
           "L3 345 V, above limits … and 1 more point, in the result file" in told
    assert "11 s: neutral in the cable to board is restored. L1 230 V, within limits" in told


def test_conductors_that_are_transposed_are_what_happens_at_first():
    case = parse_case('break = []\ntitle = "t"\n[supply]\n[[point]]\nname = "shop"\n[[cross]]\nconductors = ["L1", "N"]\n'
                      '[[load]]\nname = "a"\nkind = "resistive"\nconnect = "L1-N"\npower = 60\n')
    assert [h.what for h in moments(follow(case))][:2] == ["before the first event", "L1 and N are transposed at shop"]
