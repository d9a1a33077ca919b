"""Where data goes, and what happens to files that are there. Kind of all checks: behaviour laid down, or invariant."""

import json
import os
import sys

import pytest
from click.testing import CliRunner

from lostneutral import analyse, parse_case
from lostneutral.cli import main
from lostneutral.consequences import one_caution
from lostneutral.consequences.cautions import cautions as short_cautions
from lostneutral.errors import UsageError
from lostneutral.report.base.files import write_file

CASE = """title = "A lamp and a heater — “Größe”"
[supply]
[[load]]
name = "Lamp"
kind = "lamp"
connect = "L1-N"
power = 40
[[load]]
name = "Heater"
kind = "resistive"
connect = "L2-N"
power = 60
"""
WRITERS = {"new": ("new", "{}"), "json": ("analyse", "case.toml", "--json", "{}"),
           "items": ("analyse", "case.toml", "--items", "{}"),
           "report": ("report", "case.toml", "-o", "{}"),
           "page": ("report", "case.toml", "-o", "-", "--page", "{}"), "explore": ("explore", "case.toml", "-o", "{}")}


@pytest.fixture
def run(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "case.toml").write_text(CASE, encoding="utf-8")
    return lambda *arguments, **options: CliRunner().invoke(main, arguments, **options)


@pytest.mark.parametrize("writer", WRITERS)
def test_nothing_is_overwritten_without_force(run, tmp_path, writer):
    arguments = [a.format("out") for a in WRITERS[writer]]
    (tmp_path / "out").write_bytes(b"precious")
    refused = run(*arguments)
    assert refused.exit_code == 2 and "--force" in refused.stderr
    assert (tmp_path / "out").read_bytes() == b"precious"
    assert run(*arguments, "--force").exit_code == 0
    assert (tmp_path / "out").read_bytes() != b"precious"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["case.toml", "out"]


GENERATOR = """[[generator]]
name = "Set"
rated_power = 20000
earthing = "bonded"
electrode = 60
[[changeover]]
name = "Switch"
point = "intake"
generator = "Set"
poles = ["L1", "L2", "L3", "N"]
[[point]]
name = "intake"
"""


@pytest.mark.parametrize("arguments", [(*WRITERS["page"],), (*WRITERS["explore"],), (*WRITERS["report"],)], ids=" ".join)
def test_what_cannot_be_written_is_refused_before_anything_is_worked_out(run, tmp_path, monkeypatch, arguments):
    for name in ("analyse", "follow"):
        monkeypatch.setattr(f"lostneutral.{name}", lambda *_, **__: pytest.fail("worked out"), raising=False)
    (tmp_path / "out").write_bytes(b"precious")
    refused = run(*(a.format("out") for a in arguments))
    assert refused.exit_code == 2 and "--force" in refused.stderr and not refused.stdout
    if arguments[0] == "explore" or "--page" in arguments:  # nor a case that no page can show
        (tmp_path / "case.toml").write_text(CASE + GENERATOR, encoding="utf-8")
        refused = run(*(a.format("new") for a in arguments))
        assert refused.exit_code == 2 and "no second supply (Set)" in refused.stderr and not (tmp_path / "new").exists()


@pytest.mark.parametrize("writer", WRITERS)
@pytest.mark.parametrize("place", ["case.toml/out", "/proc/none/out"])
def test_a_place_that_cannot_be_written(run, tmp_path, writer, place):
    result = run(*(a.format(place) for a in WRITERS[writer]))
    assert result.exit_code == 2
    assert place in result.stderr
    assert [p.name for p in tmp_path.iterdir()] == ["case.toml"]


def test_report_goes_to_a_folder_of_its_own(run, tmp_path):
    result = run("report", "case.toml")
    assert result.exit_code == 0 and not result.stdout
    assert str(tmp_path.joinpath("reports", "case.pdf").relative_to(tmp_path)) in result.stderr
    written = (tmp_path / "reports" / "case.pdf").read_bytes()
    assert written.startswith(b"%PDF-") and written.rstrip().endswith(b"%%EOF")
    assert run("report", "-", "-o", "-", input=CASE).stdout_bytes == written  # invariant: same input, same bytes


def test_json_alone_goes_to_standard_output(run):
    result = run("analyse", "case.toml", "--json", "-")
    data = json.loads(result.stdout_bytes.decode("utf-8"))
    assert data["format"] == "lostneutral-result/1"
    assert data["case"]["title"] == "A lamp and a heater — “Größe”"


def test_json_file_and_terminal_text_in_one(run, tmp_path):
    result = run("analyse", "case.toml", "--json", "out.json")
    assert result.stdout == run("analyse", "case.toml").stdout
    alone = run("analyse", "case.toml", "--json", "-")
    assert (tmp_path / "out.json").read_bytes() == alone.stdout_bytes


def test_cautions_are_in_every_output(run):
    cautions = analyse(parse_case(CASE)).cautions
    assert cautions
    text = " ".join(run("analyse", "case.toml", "--full").stdout.split())
    assert all(caution in text for caution in cautions)
    text = " ".join(run("analyse", "case.toml").stdout.split())
    assert all(caution in text for caution in short_cautions(parse_case(CASE), "short"))
    assert json.loads(run("analyse", "case.toml", "--json", "-").stdout)["cautions"] == list(cautions)


def test_schema_is_json_and_new_writes_to_standard_output(run):
    assert json.loads(run("schema").stdout)["type"] == "object"
    assert run("check", "-", input=run("new", "-").stdout).exit_code == 0


def test_a_file_appears_whole_or_not_at_all(tmp_path, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    (tmp_path / "out").write_bytes(b"old")
    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(UsageError, match="No space left"):
        write_file(tmp_path / "out", b"new", force=True)
    assert (tmp_path / "out").read_bytes() == b"old"
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


@pytest.mark.skipif(sys.platform == "win32", reason="needs links and device files")
def test_links_stay_and_devices_are_refused(tmp_path):
    (tmp_path / "real").write_bytes(b"old")
    (tmp_path / "link").symlink_to("real")
    write_file(tmp_path / "link", b"new", force=True)
    assert (tmp_path / "link").is_symlink() and (tmp_path / "real").read_bytes() == b"new"
    with pytest.raises(UsageError, match="not a plain file"):
        write_file("/dev/null", b"new", force=True)


@pytest.mark.skipif(sys.platform == "win32" or os.geteuid() == 0, reason="needs a user whom permissions hold back")
def test_a_folder_without_permission(run, tmp_path):
    (tmp_path / "locked").mkdir(mode=0o500)
    result = run("new", "locked/out.toml")
    assert result.exit_code == 2 and "Permission denied" in result.stderr


@pytest.mark.parametrize("arguments", [("check", "case.toml"), ("loads",), ("loads", "kettle")], ids=" ".join)
def test_a_caution_stands_under_what_analyses_nothing(run, arguments):
    assert run(*arguments).stdout.splitlines()[-1] == f"Caution: {one_caution()}"


@pytest.mark.parametrize("arguments", [("report", "--page"), ("teach", "--slides"), ("teach", "--film"),
                                       ("teach", "--figures")], ids=" ".join)
def test_what_goes_to_a_file_does_not_go_to_standard_output(tmp_path, arguments):
    command, option = arguments
    (tmp_path / "case.toml").write_text(CASE, encoding="utf-8")
    done = CliRunner().invoke(main, [command, str(tmp_path / "case.toml"), option, "-"])
    assert done.exit_code == 2 and "give its name" in done.stderr and not done.stdout
    assert [path.name for path in tmp_path.iterdir()] == ["case.toml"]
