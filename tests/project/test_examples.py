"""The examples in the docstrings of every module print what they say; those of public names run in `test_front_door.py`.

Kind: independent where an example says so, else behaviour laid down.
"""

import doctest
from importlib import import_module
from pathlib import Path

import pytest

import lostneutral

ROOT = Path(__file__).parents[2]
MODULES = [".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
           for path in sorted((ROOT / "lostneutral").rglob("*.py")) if ">>> " in path.read_text(encoding="utf-8")]
PUBLIC = {f"{thing.__module__}.{thing.__qualname__}" for thing in (getattr(lostneutral, name) for name in lostneutral.__all__)}


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_hold(name, monkeypatch):
    monkeypatch.chdir(ROOT)
    runner = doctest.DocTestRunner()
    for test in doctest.DocTestFinder().find(import_module(name)):
        if test.examples and test.name not in PUBLIC and name != "lostneutral":
            runner.run(test)
    assert runner.summarize(verbose=False).failed == 0
