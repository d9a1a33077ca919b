"""The result file and its schema: every case of the casebook gives a file that the schema takes, and no other key."""

import json
from pathlib import Path

import pytest
from casebook_results import result as casebook
from click.testing import CliRunner

from lostneutral import follow, read_case, result_json
from lostneutral.cli import main
from lostneutral.report.result.schema import ResultFile, result_schema

CASEBOOK = Path(__file__).parents[2] / "casebook"
CASES = ["bad-joint", "fan-heater", "farm-lane", "row-of-cottages", "split-phase-house", "three-equal-lamps", "leaves-the-triangle"]


@pytest.mark.parametrize("name", CASES)
def test_the_file_is_as_its_schema_says(name):  # invariant: the model forbids keys that it does not know
    read = ResultFile.model_validate_json(result_json(casebook(name)))
    assert [s.name for s in read.states] == ["before", "after"]


def test_a_course_is_as_its_schema_says():
    result = follow(read_case(CASEBOOK / "wrong-room.toml"), 30.0)
    read = ResultFile.model_validate_json(result_json(result))
    assert read.course is not None and len(read.course.times) == len(read.course.star_point.voltage)


@pytest.mark.parametrize("name", ["fan-heater"])  # named, so that it runs where the case has been worked out
def test_a_state_says_whether_its_figures_are_phasors(name):  # practice: a true r.m.s. value has no sum
    made = json.loads(result_json(casebook(name)))
    assert {s["figures"] for s in made["states"]} == {"true r.m.s. of waveforms"}
    assert {s["figures"] for s in made["sine_wave_states"]} == {"phasors"}


def test_every_figure_of_the_schema_that_needs_a_unit_names_it():
    text = json.dumps(result_schema())
    for key in ("earth_terminal", "life_used", "residual", "reactive_power", "figures"):
        assert f'"{key}"' in text
    assert result_schema()["$schema"].endswith("2020-12/schema")


def test_the_command_prints_it():
    run = CliRunner().invoke(main, ["schema", "--result"])
    assert run.exit_code == 0 and json.loads(run.stdout) == result_schema()
