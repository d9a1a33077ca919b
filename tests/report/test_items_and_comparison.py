"""The list of items as CSV, the answer on one screen, and what changed between two result files."""

import csv
import io
import json
from dataclasses import replace

import handmade
import pytest
from click.testing import CliRunner

from lostneutral import analyse, parse_case, result_json
from lostneutral.cli import main
from lostneutral.errors import UsageError
from lostneutral.report.damage.items_file import HEAD, items_csv
from lostneutral.report.screen.compare_text import differences, read_result
from lostneutral.report.screen.lines import width_of
from lostneutral.report.screen.short_text import short_text
from lostneutral.report.screen.terminal import terminal_text
from lostneutral.words.conclusion import dangers
from lostneutral.words.items import OUTCOMES


@pytest.fixture(scope="module")
def result():
    return handmade.star([100.0, 200.0, 300.0], names=["=SUM(A1)", "Stair lamp, second floor", "Lamp"])


def test_the_list_has_a_row_an_item_and_no_formula(result):
    head, *rows, caution = csv.reader(io.StringIO(items_csv(result)))
    assert tuple(head) == HEAD and [row[0] for row in rows] == ["'=SUM(A1)", "Stair lamp, second floor", "Lamp"]
    assert [row[5] for row in rows] == ["289.4", "239.4", "175.7"]  # independent: node-voltage formula, by hand
    assert [row[9] for row in rows] == [OUTCOMES[v.outcome] for v in result.verdicts]
    assert "not measured" in caution[0]


@pytest.mark.parametrize("width", [60, 80, 120])
def test_one_screen_has_dangers_voltages_items_and_cautions(result, width):
    text = short_text(result, width=width)
    flat = " ".join(text.split())
    assert max(map(width_of, text.splitlines())) <= width
    assert all(said in flat for said in dangers(result)) and all(said in flat for said in result.cautions)
    assert all(load.name in flat for load in result.case.loads) and "289" in flat and "above limits" in flat
    assert len(text.splitlines()) < len(terminal_text(result, width=width).splitlines()) / 1.5


def test_colour_adds_no_word(result):
    import re

    assert re.sub(r"\x1b\[[0-9;]*m", "", short_text(result, colour=True)) == short_text(result)


def of(result):
    return read_result(result_json(result).encode(), "a.json")


def test_a_result_does_not_differ_from_itself(result):
    assert differences(of(result), of(result)) == ()


def test_every_change_is_told(result):
    other = handmade.star([100.0, 200.0, 150.0], names=["=SUM(A1)", "Stair lamp, second floor", "Lamp 3"])
    other = replace(other, software=dict(other.software) | {"version": "0.2.0"})
    told = "\n".join(differences(of(result), of(other)))
    for said in (
        "program: 0.1.0 → 0.2.0",
        "L1 at intake after the fault: 289 V (above limits) →",
        "Lamp: ",
        "→ not in this file",
        "Lamp 3: not in this file →",
    ):
        assert said in told


@pytest.mark.parametrize(
    "content, words",
    [
        (b"{", "x.json:1:2: this is not JSON"),
        (b"\xff", "byte 1 is not UTF-8"),
        (b"[]", "format is null"),
        (b'{"format": "other/3"}', "other/3"),
        (b"[" * 100_000, "nested too deeply"),
    ],
)
def test_what_is_no_result_file_is_refused(content, words):
    with pytest.raises(UsageError, match=words.replace("(", r"\(")):
        read_result(content, "x.json")


def test_a_result_file_with_a_part_missing_is_refused(result):
    broken = dict(of(result))
    del broken["verdicts"]
    with pytest.raises(UsageError, match="incomplete"):
        differences(of(result), broken)


def test_the_command_shows_differences_and_a_caution(result, tmp_path):
    old, new = tmp_path / "old.json", tmp_path / "new.json"
    old.write_text(result_json(result))
    new.write_text(json.dumps(json.loads(old.read_text()) | {"assumptions": []}))
    run = CliRunner().invoke(main, ["compare", str(old), str(new)])
    assert run.exit_code == 0 and "values assumed: 1 → 0" in run.output and "Caution" in run.output
    assert CliRunner().invoke(main, ["compare", str(old), str(tmp_path / "none.json")]).exit_code == 2


def test_items_of_several_premises_are_told_apart():
    """Invariant: each item stands under the intake that feeds it."""
    points = "".join(f'[[point]]\nname = "{name}"\nkind = "{kind}"\nfed_from = "{by}"\n' for name, kind, by in (
        ("No 1", "intake", "supply"), ("kitchen", "board", "No 1"), ("No 2", "intake", "supply")))
    loads = "".join(f'[[load]]\nname = "{name}"\nkind = "resistive"\nconnect = "L1-N"\npower = 60\npoint = "{point}"\n'
                    for name, point in (("a", "kitchen"), ("b", "No 2"), ("c", "No 1")))
    made = analyse(parse_case(f'title = "Two houses"\nbreak = []\n[supply]\n{points}{loads}'))
    head, *rows, _ = csv.reader(io.StringIO(items_csv(made)))
    assert [(row[0], row[head.index("premises")]) for row in rows] == [("a", "No 1"), ("b", "No 2"), ("c", "No 1")]
