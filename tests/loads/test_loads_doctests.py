"""The examples in the docstrings of the load layer print what they say."""

import doctest
from importlib import import_module

import pytest

NAMES = ("base", "build", "catalogue", "electronic", "heater", "lamp", "materials", "motor", "ptc", "rectifier", "simple", "thermal",
         "varistor")


@pytest.mark.parametrize("name", NAMES)
def test_docstring_examples(name):
    failed, _ = doctest.testmod(import_module(f"lostneutral.loads.{name}"))
    assert failed == 0
