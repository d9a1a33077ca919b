"""Lint and form of all code, as `pyproject.toml` sets them. Kind: practice."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("what", [("check",)], ids=["lint"])
def test_the_code_is_as_it_should_be(what):
    ran = subprocess.run([sys.executable, "-m", "ruff", *what, "--quiet", "lostneutral", "tests"], cwd=ROOT,
                         capture_output=True, text=True)
    assert ran.returncode == 0, ran.stdout + ran.stderr
