"""`lostneutral follow`: what it writes, and that words, result file, figures and report tell the same course."""

import io
import json
import re
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image

from lostneutral import follow, parse_case, result_json
from lostneutral.circuit.record import Course, Occurrence
from lostneutral.cli import main
from lostneutral.consequences.course import Courses
from lostneutral.report.course import figures as course_figures
from lostneutral.report.course import film
from lostneutral.report.course.rows import clock, conditions, failures_told, happenings, seen_words
from lostneutral.report.course.section import course as section
from lostneutral.report.course.text import course_text

CASEBOOK = Path(__file__).parents[2] / "casebook"
CASE = """
title = "Two lamps & a heater"
[supply]
[[load]]
name = "Lamp"
kind = "lamp"
connect = "L1-N"
power = 40
[[load]]
name = "Heater"
kind = "heater"
connect = "L2-N"
power = 1500
[[load]]
name = "Spare"
kind = "lamp"
connect = "L3-N"
power = 60
on = false
[[event]]
time = 1
break = "intake"
[[event]]
time = 3
load = "Spare"
on = true
[course]
end = 14400
"""


@pytest.fixture(scope="module")
def result():
    return follow(parse_case(CASE))


def run(*arguments, **more):
    return CliRunner().invoke(main, ["follow", *arguments], **more)


def test_the_time_line_tells_every_moment_and_every_caution(result):
    text = course_text(result, 100)
    flat = " ".join(text.split())
    for moment in result.courses.central.moments:
        assert moment.what in flat
    for caution in result.cautions:
        assert " ".join(caution.split()) in flat
    assert "Lamp: failure expected, open-circuit" in flat and "early course" in flat
    assert max(map(len, text.splitlines())) <= 100


def test_the_result_file_has_the_course_with_one_value_a_time(result):
    course = json.loads(result_json(result))["course"]
    length = len(course["times"])
    assert course["times"] == sorted(course["times"]) and course["times"][-1] == 14400
    lists = [course["star_point"]["voltage"], course["star_point"]["angle"]]
    lists += [p["voltage"] for point in course["points"] for p in point["phases"]]
    for load in course["loads"]:
        lists += [load["voltage"], load["power"], load["state"], load["condition"], load["life_used"]]
    assert {len(x) for x in lists} == {length}
    assert [e["kind"] for e in course["events"]][:3] == ["start", "break", "switch"]
    assert {"ends", "early", "late", "failures"} <= course.keys()
    assert [x["load"] for x in course["failures"]] == list(result.courses.central.failures)


def test_the_star_point_and_the_voltages_of_the_result_file_agree(result):
    """Invariant: line to neutral is the line's phasor less the star point's."""
    course = json.loads(result_json(result))["course"]
    star = [v * np.exp(1j * np.radians(a or 0.0)) for v, a in zip(course["star_point"]["voltage"],
                                                               course["star_point"]["angle"])]
    for phase in course["points"][0]["phases"]:
        source = result.case.supply.phasors[phase["name"]]
        assert phase["voltage"] == pytest.approx([abs(source - z) for z in star], abs=1e-6)


def test_conditions_follow_the_lamp_from_running_to_failed(result):
    words = conditions(result.case, result.courses.central)
    seen = [w for i, w in enumerate(words["Lamp"]) if i == 0 or w != words["Lamp"][i - 1]]
    assert seen == ["running", "glaring", "failed"]
    assert words["Spare"][0] == "off" and "glaring" in words["Spare"]
    assert "too low" in words["Heater"]


def test_failures_have_their_three_times_in_order(result):
    found = {f.load: f for f in failures_told(result.case, result.courses)}
    assert found["Lamp"].early < found["Lamp"].central
    assert found["Lamp"].part == "filament"


def test_a_floating_neutral_is_called_floating_and_drawn_nowhere():
    """Made by hand: the neutral floats in the second half."""
    case = parse_case(CASE)
    times = np.array([0.0, 1.0, 2.0])
    phasors = case.supply.phasors
    nodes = {("intake", line): np.full(3, v) for line, v in phasors.items()}
    nodes["intake", "N"] = np.array([0j, 0j, np.nan])
    volts = {("intake", line): 230.0 for line in phasors}
    moments = (Occurrence(0.0, "start", "the installation", "before", volts),
               Occurrence(1.5, "break", "intake", "all is open", dict.fromkeys(volts)),
               Occurrence(2.0, "end", "the installation", "end", dict.fromkeys(volts)))
    empty = {load.name: np.full(3, np.nan) for load in case.loads}
    made = Course(times, nodes, empty, empty, empty, {load.name: {} for load in case.loads}, {}, moments, "time")
    assert seen_words(case, happenings(case, made)[1]) == ("L1 floating; L2 floating; L3 floating",)
    stand_in = type("R", (), {"case": case, "courses": Courses(made)})
    assert "floating" in course_figures.track(stand_in)[1]
    assert course_figures.voltages_in_time(stand_in)[0].startswith("<svg")


@pytest.mark.parametrize("draw", [course_figures.track, course_figures.voltages_in_time, course_figures.strips])
def test_a_figure_says_in_words_what_it_shows_and_is_the_same_each_time(result, draw):
    drawn, words = draw(result)
    assert (drawn, words) == draw(result)
    assert "<path" in drawn and ("Lamp" in words or "Spare" in words)
    assert not re.search(r"\bnan\b", words)


def test_the_track_is_drawn_true_to_scale(result):
    """Invariant: the star point ends where its phasor says, on the scale of the triangle's sides."""
    drawn = course_figures.track(result)[0]

    def path(gid):
        found = re.search(rf'id="{gid}".*?<path d="(.*?)"', drawn, re.DOTALL).group(1)
        return [complex(float(x), -float(y)) for x, y in re.findall(r"[ML] (-?[\d.]+) (-?[\d.]+)", found)]

    corner = path("triangle")
    scale = (corner[1] - corner[0]) / (result.case.supply.phasors["L2"] - result.case.supply.phasors["L1"])
    assert abs(scale.imag) < 1e-3 * abs(scale)
    moved = path("track")[-1] - corner[0]
    expected = complex(result.courses.central.nodes["intake", "N"][-1]) - result.case.supply.phasors["L1"]
    assert moved / scale == pytest.approx(expected, abs=1.0)


@pytest.mark.usefixtures("figures_unwritten")
def test_the_report_has_the_course_if_it_was_followed_and_not_otherwise(result):
    from dataclasses import replace

    blocks = section(result)
    assert [b["kind"] for b in blocks].count("figure") == 3
    assert section(replace(result, courses=None)) == []


@pytest.mark.thorough
def test_all_that_can_be_written_is_written_at_once(tmp_path, monkeypatch):
    monkeypatch.setattr(film, "FRAMES", 6)
    case = tmp_path / "case.toml"
    case.write_text(CASE, encoding="utf-8")
    made = run(str(case), "--json", str(tmp_path / "r.json"), "-o", str(tmp_path / "r.pdf"), "--film",
               str(tmp_path / "r.gif"), "--end", "30")
    assert made.exit_code == 0 and "end of the period" in made.stdout
    assert json.loads((tmp_path / "r.json").read_text("utf-8"))["course"]["times"][-1] == 30
    assert (tmp_path / "r.pdf").read_bytes().startswith(b"%PDF")
    shown = Image.open(io.BytesIO((tmp_path / "r.gif").read_bytes()))
    assert shown.format == "GIF" and shown.n_frames > 4
    shown.seek(shown.n_frames - 1)
    again = run(str(case), "--json", str(tmp_path / "r.json"))
    assert again.exit_code == 2 and "--force" in again.stderr


def test_standard_output_takes_one_thing():
    text = run("-", "--json", "-", "--end", "2", input=CASE.replace("time = 3", "time = 2"))
    assert text.exit_code == 0 and json.loads(text.stdout)["course"]["times"][-1] == 2
    both = run("-", "--json", "-", "--film", "-", input=CASE)
    assert both.exit_code == 2 and "one result at a time" in both.stderr


def test_an_end_that_is_no_time_is_refused():
    assert run("-", "--end", "-3", input=CASE).exit_code == 2


@pytest.mark.parametrize(("seconds", "words"), [(0.0, "0 s"), (1e-4, "0.10 ms"), (0.1, "100 ms"), (59.96, "60 s"),
                                                (3600.0, "60 min"), (7200.0, "2 h"), (86399.0, "24 h")])
def test_the_clock(seconds, words):
    assert clock(seconds) == words


@pytest.mark.parametrize("name", ["wrong-room", "lamps-one-by-one", "intermittent-joint"])
def test_the_stories_of_the_casebook_come_out(name):
    """Practice: what the trade knows of each story."""
    text = (CASEBOOK / f"{name}.toml").read_text("utf-8")
    course = follow(parse_case(text)).courses.central
    words = conditions(parse_case(text), course)
    if name == "wrong-room":
        lit = [w for t, w in zip(course.times, words["Stair lamp"]) if 10.1 < t < 25]
        assert set(lit) == {"glaring"}
        assert {w for t, w in zip(course.times, words["Stair lamp"]) if 0.1 < t < 9 or 26 < t < 39} == {"dark"}
    elif name == "lamps-one-by-one":
        times = [t for t, _ in course.failures.values()]
        assert len(times) == 4 and times == sorted(times)
        gaps = np.diff([0.0, *times])
        assert gaps[-1] < gaps[0]
    else:
        quiet = [w for t, w in zip(course.times, words["Bedside lamp"]) if 40.5 < t < 89]
        assert set(quiet) == {"running"}
        assert words["Bedside lamp"][-1] in ("glaring", "failed")
