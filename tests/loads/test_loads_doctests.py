"""The examples in the docstrings of the load layer print what they say."""

import doctest
from importlib import import_module

import pytest


@pytest.mark.parametrize("name", ["base", "build", "heater", "lamp", "materials", "simple", "thermal"])
def test_docstring_examples(name):
    failed, _ = doctest.testmod(import_module(f"lostneutral.loads.{name}"))
    assert failed == 0
