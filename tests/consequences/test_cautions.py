"""Cautions go with every output; nothing removes the fixed set."""

from itertools import product

import pytest
from handmade_star import star_case

from lostneutral.case.model import Break
from lostneutral.consequences import cautions
from lostneutral.data import load

CORE = [entry["text"] for entry in load("cautions")["caution"] if entry["when"] == "always"]
CASES = [star_case(earthing=earthing, system=system, breaks=breaks) for earthing, system, breaks in product(
    (None, "TN-S", "TN-C-S", "TN-C", "TT"), ("three-phase", "split-phase"),
    ((), (Break("intake", "N"),), (Break("intake", "N", 2.0),)))]


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c.supply.earthing} {c.supply.system} {len(c.breaks)}")
def test_the_fixed_set_comes_first_and_whole(case):  # invariant
    assert list(cautions(case)[:len(CORE)]) == CORE


@pytest.mark.parametrize("words", [  # practice: what a caution block on a lost neutral has to say
    "Local codes", "licensed", "live conductor", "line to line, line to neutral, line to earth and neutral to earth",
    "do not touch metal", "fault line", "emergency services", "never proves it dead", "does not prove the condition",
    "yardstick, not a promise"])
def test_the_fixed_set_says(words):
    assert words in " ".join(CORE)


def test_what_fits_is_added():
    def text(**case):
        return " ".join(cautions(star_case(**case)))

    switch = "Opening the main switch does not take the voltage off the metalwork"
    assert switch in text(earthing="TN-C-S") and switch in text(earthing="TN-C") and switch in text(earthing=None)
    assert switch not in text(earthing="TT") and switch not in text(earthing="TN-S")
    assert "own earth electrode" in text(earthing="TT")
    assert "must be treated as live" in text(earthing=None)
    assert "two legs" in text(system="split-phase") and "two legs" not in text()
    assert "bad joint heats" in text(breaks=(Break("intake", "N", 1.0),)) and "bad joint heats" not in text()


def test_no_caution_calls_anything_safe():  # rule of the house
    words = " ".join(entry["text"] for entry in load("cautions")["caution"]).lower().split()
    assert not {"safe", "safe,", "safe.", "safely"} & set(words)
