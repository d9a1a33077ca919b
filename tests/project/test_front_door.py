"""The reference of the Python side: every public name has units, range, errors and an example that runs. Kind: behaviour laid down."""

import doctest
import subprocess
import sys
from pathlib import Path

import pytest

import lostneutral

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("name", lostneutral.__all__)
def test_every_public_name_has_an_example_that_runs(name, monkeypatch):
    monkeypatch.chdir(ROOT)
    thing = getattr(lostneutral, name)
    tests = [t for t in doctest.DocTestFinder(recurse=False).find(thing, name, globs={}) if t.examples]
    assert tests, f"{name} has no example"
    runner = doctest.DocTestRunner()
    for test in tests:
        runner.run(test)
    assert runner.summarize(verbose=False).failed == 0


@pytest.mark.parametrize("name", [n for n in lostneutral.__all__ if n not in ("CaseError", "Result")])
def test_every_function_names_its_errors(name):
    said = getattr(lostneutral, name).__doc__
    assert "Raises" in said or "UsageError" in said
    assert len(said.splitlines()[0]) < 130 and said.splitlines()[0].rstrip().endswith(".")


@pytest.mark.parametrize("name", ["read_case", "analyse", "follow", "bound", "where", "deduce", "teach", "page_html"])
def test_what_calculates_names_its_range(name):
    assert "Range: " in getattr(lostneutral, name).__doc__


def test_the_package_s_own_example_runs(monkeypatch):
    monkeypatch.chdir(ROOT)
    assert doctest.testmod(lostneutral).failed == 0


def test_pydoc_shows_every_name():
    shown = subprocess.run([sys.executable, "-m", "pydoc", "lostneutral"], capture_output=True, text=True, encoding="utf-8",
                           timeout=60, check=True).stdout
    for name in lostneutral.__all__:
        assert f"    {name}" in shown or f"class {name}" in shown, name
    assert "Raises CaseError with every error" in shown and "Range: " in shown
