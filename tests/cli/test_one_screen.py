"""Answers on one screen: about forty lines with every caution in short; `--full` gives everything. Kind of all checks: practice."""

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from lostneutral import read_case
from lostneutral.cli import main
from lostneutral.consequences.cautions import open_cautions

CASEBOOK = Path(__file__).parents[2] / "casebook"
ASKED = [("where", "mill-cottage", ()), ("bound", "upstairs-flat", ("--samples", "64")), ("deduce", "hatchery", ("--samples", "128"))]


def squeezed(text):
    return re.sub(r"\s+", "", text)


@pytest.mark.parametrize("command, name, more", ASKED, ids=[command for command, _, _ in ASKED])
def test_an_answer_is_one_screen_with_every_caution_in_short(command, name, more, tmp_path):
    path, items = CASEBOOK / f"{name}.toml", tmp_path / "items.csv"
    done = CliRunner().invoke(main, [command, str(path), *more, "--items", str(items)])
    assert done.exit_code == 0, done.stderr
    assert len(done.stdout.splitlines()) <= 48
    assert all(squeezed(text) in squeezed(done.stdout) for text in open_cautions(read_case(path), "short"))
    assert "--full" in done.stdout and "more" in done.stdout  # what is left out is counted
    rows = items.read_text(encoding="utf-8").splitlines()
    assert rows[0].startswith("item,point,connected") and len(rows) >= 2 + len(read_case(path).loads)


def test_one_result_at_a_time_goes_to_standard_output():
    done = CliRunner().invoke(main, ["bound", str(CASEBOOK / "upstairs-flat.toml"), "--json", "-", "--items", "-"])
    assert done.exit_code == 2 and "one result at a time" in done.stderr
