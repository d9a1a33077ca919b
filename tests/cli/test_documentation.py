"""Help, README and code say the same. Kind of all checks: invariant."""

import re
import tomllib
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from lostneutral.case.load_schema import KINDS
from lostneutral.cli import COMMANDS, main
from lostneutral.cli.shell import STOPPED
from lostneutral.data import KNOWN
from lostneutral.errors import CaseError, LostNeutralError, NoSolutionError, UsageError
from lostneutral.loads.catalogue import appliances
from lostneutral.verify.checks import topics

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
OPTIONS = [(name, option) for name in COMMANDS for parameter in main.get_command(None, name).params
           if isinstance(parameter, click.Option) for option in parameter.opts]


def sh_blocks():
    return re.findall(r"^```sh\n(.*?)^```$", README, re.DOTALL | re.MULTILINE)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_and_is_in_the_readme(name):
    text = CliRunner().invoke(main, [name, "--help"]).output
    assert len(text.split("\n\n")) >= 3  # usage, what it does, options
    assert f"`lostneutral {name}" in README
    assert re.search(rf"^  {name} +[A-Z].*[.]$", CliRunner().invoke(main, ["--help"]).output, re.MULTILINE)


@pytest.mark.parametrize(("name", "option"), OPTIONS)
def test_every_option_has_help_and_is_in_the_readme(name, option):
    assert next(p for p in main.get_command(None, name).params if option in p.opts).help
    assert re.search(rf"`{re.escape(option)}[ `]", README)


def test_the_readme_names_no_command_or_option_that_is_not_there():
    assert set(re.findall(r"lostneutral ([a-z]+)\b(?= (?:[A-Z]|mine)|`)", README)) <= set(COMMANDS)
    known = {option for _, option in OPTIONS} | {"--help", "-h", "--version", "-m", "-e", "-n"}
    assert set(re.findall(r"(?<![\w-])--?[a-z][a-z-]*", README)) <= known


def test_exit_codes_are_those_of_the_code():
    rows = {int(code): words for code, words in re.findall(r"^\| (\d) \| (.*) \|$", README, re.MULTILINE)}
    assert sorted(rows) == [0, *sorted({e.exit_code for e in (LostNeutralError, UsageError, CaseError, NoSolutionError)})]
    shown = CliRunner().invoke(main, ["--help"]).output
    for code, words in rows.items():
        assert f"  {code}  {words.split(';')[0]}" in shown
    assert f"{STOPPED} means stopped" in README


def test_two_blocks_of_commands_and_the_second_is_what_is_run_for_every_change():
    first, second = sh_blocks()
    assert first.splitlines()[-2:] == ["lostneutral new mine.toml", "lostneutral report mine.toml"]
    ran = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    assert second.splitlines()[-1] == ran[-1] == "python -m pytest"
    assert "-e '.[test]'" in second and any("-e '.[test]'" in line for line in ran)


def test_every_dependency_has_its_reason():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = {re.match(r"[\w-]+", d)[0] for d in sum(project["optional-dependencies"].values(), project["dependencies"])}
    rows = re.findall(r"^\| ([\w, -]+) \| .+ \|$", README[README.index("## Dependencies"):], re.MULTILINE)
    assert {name for row in rows for name in row.split(", ")} - {"package"} == wanted


def test_every_case_has_its_row():
    assert sorted(re.findall(r"\(casebook/([\w-]+)\.toml\)", README)) == sorted(
        p.stem for p in (ROOT / "casebook").glob("*.toml"))


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_load_has_its_row(kind):
    assert re.search(rf"^\| `{kind}` \| .+ \|$", README, re.MULTILINE)


def test_what_is_counted_is_counted_right():
    figures = sum(len(check.printed or ()) + len(check.wrong or ()) for topic in topics() for check in topic.checks)
    assert f"against {figures} published figures" in README
    assert f"one of {len(appliances())} by everyday name" in README


@pytest.mark.parametrize(("code", "words"), KNOWN.items())
def test_how_figures_are_known_is_explained(code, words):
    assert f"| {words} |" in README
    assert f"| {code} | {words} |" in DEVELOPERS


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_what_is_linked_and_named_is_there(text):
    places = re.findall(r"\]\(([^)#]+)\)", text)
    places += re.findall(r"`((?:case|loads|circuit|consequences|report|cli|tests|data)/[\w/.-]+)`", text)
    assert not [p for p in places if not (ROOT / p).exists() and not (ROOT / "lostneutral" / p).exists()]


def test_the_readme_case_runs(tmp_path):
    (tmp_path / "case.toml").write_text(re.search(r"^```toml\n(.*?)^```$", README, re.DOTALL | re.MULTILINE)[1],
                                        encoding="utf-8")
    assert CliRunner().invoke(main, ["analyse", str(tmp_path / "case.toml")]).exit_code == 0
