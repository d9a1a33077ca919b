"""Cautions go with every output; nothing removes the fixed set."""

from itertools import product

import pytest
from handmade_star import star_case

from lostneutral.case.model import Break
from lostneutral.consequences import cautions, one_caution
from lostneutral.data import load

CORE = [entry["text"] for entry in load("cautions")["caution"] if entry["when"] == "always"]
CASES = [star_case(earthing=earthing, system=system, breaks=breaks) for earthing, system, breaks in product(
    (None, "TN-S", "TN-C-S", "TN-C", "TT"), ("three-phase", "split-phase"),
    ((), (Break("intake", "N"),), (Break("intake", "N", 2.0),)))]


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c.supply.earthing} {c.supply.system} {len(c.breaks)}")
def test_the_fixed_set_is_whole(case):  # invariant
    assert [text for text in cautions(case) if text in CORE] == CORE
    assert len(cautions(case)) == len(cautions(case, "short")) and one_caution() in cautions(case, "short")


def test_danger_to_life_comes_first():  # rule of the house: a disclaimer warns nobody
    first = " ".join(CORE[:3])
    assert all(words in first for words in ("Where life is at risk", "do not touch metal", "live conductor"))
    assert CORE.index(next(c for c in CORE if "This is a calculation" in c)) > CORE.index(next(c for c in CORE if "fire" in c))


@pytest.mark.parametrize("words", [  # practice: what a caution block on a lost neutral has to say
    "wiring regulations", "competent electrician", "live conductor", "line to line, line to neutral, line to earth and neutral to earth",
    "do not touch metal", "network operator's emergency number", "emergency services", "never proves it dead",
    "does not prove the condition", "solate and prove dead", "can start a fire", "not show that nothing is wrong"])
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


def test_no_caution_calls_anything_safe():  # rule of the house
    words = " ".join(entry["text"] for entry in load("cautions")["caution"]).lower().split()
    assert not {"safe", "safe,", "safe.", "safely"} & set(words)
