"""What a stranger's type checker sees, and the types between the layers. Kind: invariant."""

import re
import subprocess
import sys
from pathlib import Path

import lostneutral

ROOT = Path(__file__).parents[2]
BETWEEN_LAYERS = ("__init__", "errors", "case.model", "circuit.solution", "claims.model", "data")
"""Modules whose objects go from layer to layer: checked strictly."""


def checked(*what):
    return subprocess.run([sys.executable, "-m", "mypy", "--strict", "--follow-imports=silent", "--no-error-summary", *what],
                          cwd=ROOT, capture_output=True, text=True).stdout


def test_the_front_door_has_types_without_any(tmp_path):
    program = tmp_path / "stranger.py"
    program.write_text("import lostneutral\n" + "".join(
        f"reveal_type(lostneutral.{name})\n" for name in lostneutral.__all__ if name != "Result"))
    said = checked(program)
    assert said.count("Revealed type") == len(lostneutral.__all__) - 1
    assert not re.search(r"\bAny\b|: error:", said), said


def test_what_goes_between_the_layers_is_typed():
    said = checked(*(part for name in BETWEEN_LAYERS for part in ("-m", f"lostneutral.{name}".removesuffix(".__init__"))))
    assert not said, said
