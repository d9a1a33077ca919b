"""What a stranger's type checker sees, and the types between the layers. Kind: invariant."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

import lostneutral

ROOT = Path(__file__).parents[2]
BETWEEN_LAYERS = ("__init__", "errors", "case.model", "circuit.solution", "claims.model", "data")
"""Modules whose objects go from layer to layer: checked strictly."""


@pytest.fixture(scope="module")
def said(tmp_path_factory):
    """What the type checker says, in one run: (of a program that uses the front door, of the modules between the layers)."""
    program = tmp_path_factory.mktemp("types") / "stranger.py"
    program.write_text("import lostneutral\n" + "".join(
        f"reveal_type(lostneutral.{name})\n" for name in lostneutral.__all__ if name != "Result"))
    files = [f"lostneutral/{name.replace('.', '/')}" for name in BETWEEN_LAYERS]
    files = [f"{file}/__init__.py" if (ROOT / file).is_dir() else f"{file}.py" for file in files]
    told = subprocess.run([sys.executable, "-m", "mypy", "--strict", "--follow-imports=silent", "--no-error-summary", str(program), *files],
                          cwd=ROOT, capture_output=True, text=True).stdout.splitlines()
    return ["\n".join(line for line in told if ("stranger.py:" in line) is of_program) for of_program in (True, False)]


@pytest.mark.thorough
def test_the_front_door_has_types_without_any(said):
    assert said[0].count("Revealed type") == len(lostneutral.__all__) - 1
    assert not re.search(r"\bAny\b|: error:", said[0]), said[0]


@pytest.mark.thorough
def test_what_goes_between_the_layers_is_typed(said):
    assert not said[1], said[1]
