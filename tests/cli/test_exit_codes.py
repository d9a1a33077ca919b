"""What each command ends with and says. Kind of all checks: behaviour laid down for the command line."""

import pytest
from click.testing import CliRunner

from lostneutral.cli import main

LAMPS = """title = "Two lamps"
[supply]
[[load]]
name = "Left"
kind = "lamp"
connect = "L1-N"
power = 40
[[load]]
name = "Right"
kind = "lamp"
connect = "L2-N"
power = 60
"""
# An inductor and a capacitor of the same size in series, with no resistance anywhere: no steady state.
RESONANCE = """title = "Resonance"
[supply]
[[load]]
name = "Coil"
kind = "impedance"
connect = "L1-N"
reactance = 50
[[load]]
name = "Capacitor"
kind = "impedance"
connect = "L2-N"
reactance = -50
"""


@pytest.fixture
def run(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "lamps.toml").write_text(LAMPS, encoding="utf-8")

    def call(*arguments, **options):
        result = CliRunner().invoke(main, [str(a) for a in arguments], **options)
        assert "Traceback" not in result.output
        return result

    return call


@pytest.mark.parametrize("arguments", [("check", "lamps.toml"), ("analyse", "lamps.toml"), ("schema",),
                                       ("new", "mine.toml"), ("--help",), ("--version",)], ids=" ".join)
def test_done(run, arguments):
    assert run(*arguments).exit_code == 0


@pytest.mark.parametrize(("arguments", "said"), [
    ((), "Usage"),
    (("anlyse", "lamps.toml"), "Did you mean 'analyse'?"),
    (("analyse",), "Missing argument"),
    (("analyse", "lamps.toml", "--jsn", "x"), "--json"),
    (("analyse", "nowhere.toml"), "No such file"),
    (("analyse", "."), "Is a directory"),
    (("analyse", "x" * 5000), "too long"),
    (("check", ""), "cannot be read"),
    (("report", "lamps.toml", "--for", "judge"), "'client', 'trainer', 'investigator'"),
    (("report", "lamps.toml", "-o", "."), "folder"),
    (("report", "lamps.toml", "-o", "lamps.toml", "--force"), "the case file itself"),
    (("report", "lamps.toml", "-o", "lamps.toml/report.pdf"), "cannot be written"),
    (("report", "nowhere.toml"), "No such file"),
    (("analyse", "lamps.toml", "--json", "lamps.toml"), "the case file itself"),
    (("new", "lamps.toml"), "--force"),
    (("new", ""), "folder"),
], ids=str)
def test_fault_in_the_command(run, arguments, said):
    result = run(*arguments)
    assert result.exit_code == 2
    assert said in result.stderr
    assert not result.stdout


@pytest.mark.parametrize(("content", "said"), [
    (b"", "empty"),
    (b"\x89PNG\r\n\x1a\n\0\0", "UTF-8"),
    (b"title = ", "case.toml:1:"),
    (LAMPS.replace("power = 40", 'power = "40"').encode(), "load[1].power"),
    (LAMPS.replace('"lamp"', '"lmap"').encode(), "lamp"),
], ids=["empty", "binary", "syntax", "type", "kind"])
@pytest.mark.parametrize("command", ["check", "analyse", "report"])
def test_fault_in_the_case(run, tmp_path, command, content, said):
    (tmp_path / "case.toml").write_bytes(content)
    result = run(command, "case.toml")
    assert result.exit_code == 2
    assert said in result.stderr
    assert not result.stdout
    assert not (tmp_path / "reports").exists()


def test_every_fault_is_told_at_once(run, tmp_path):
    (tmp_path / "case.toml").write_text(LAMPS.replace("40", "-40").replace("L2-N", "L4-N"), encoding="utf-8")
    said = run("check", "case.toml").stderr
    assert "case.toml:7:" in said and "case.toml:11:" in said


@pytest.mark.parametrize("command", ["analyse", "report"])
def test_no_solution(run, command):
    result = run(command, "-", input=RESONANCE)
    assert result.exit_code == 3
    assert "tried" in result.stderr or "started" in result.stderr
    assert not result.stdout


def test_fault_of_ours(run, monkeypatch):
    def broken():
        raise ZeroDivisionError("by nothing")

    monkeypatch.setattr("lostneutral.case.starter", broken)
    result = run("new", "mine.toml")
    assert result.exit_code == 1
    assert "ZeroDivisionError: by nothing (new.py, line" in result.stderr
    assert "report" in result.stderr


def test_stopped_by_the_user(run, monkeypatch):
    def stopped():
        raise KeyboardInterrupt

    monkeypatch.setattr("lostneutral.case.starter", stopped)
    assert run("new", "mine.toml").exit_code == 130


@pytest.mark.parametrize("command", ["check", "analyse"])
def test_case_from_standard_input(run, command):
    from_file, from_input = run(command, "lamps.toml"), run(command, "-", input=LAMPS)
    assert from_input.exit_code == 0
    assert from_input.stdout == from_file.stdout
    assert (from_input.stderr == from_file.stderr.replace("lamps.toml", "standard input"))


def test_faults_of_standard_input_are_located(run):
    assert "<stdin>:7:" in run("check", "-", input=LAMPS.replace("40", "-40")).stderr


def test_starter_is_checked_and_analysed(run):
    assert run("new", "mine.toml").exit_code == 0
    checked, analysed = run("check", "mine.toml"), run("analyse", "mine.toml")
    assert checked.exit_code == 0 and "no errors in the file; 7 loads, 1 break." in checked.stderr
    assert analysed.exit_code == 0 and analysed.stdout


@pytest.mark.parametrize(("arguments", "said"), [
    (("bound", "lamps.toml", "--samples", "3"), "3 is out of range — give a whole number from 16 to 10 000 000"),
    (("bound", "lamps.toml", "--seed", "1.5"), "1.5 is not a whole number — give one from 0 to"),
    (("follow", "lamps.toml", "--end", "nan"), "nan is out of range — give a number from 0.001 to 1 000 000 000"),
    (("follow", "lamps.toml", "--end", "soon"), "soon is not a number"),
], ids=str)
def test_numbers_out_of_range(run, arguments, said):
    result = run(*arguments)
    assert result.exit_code == 2 and said in result.stderr


def test_ranges_stand_in_the_help_as_words(run):
    said = " ".join(run("follow", "--help").stdout.split())
    assert "Range: 0.001 to 1 000 000 000." in said and "<=" not in said
