"""Figures that decide a claim and were not checked against their source: told beside it, and what would follow within their spread.

Kind: arithmetic from the claim's own figure and the ends of the data file `unverified`; the figures themselves are memory.
"""

import json
from dataclasses import replace

import pytest
from handmade_star import find, only, settled, star_case

from lostneutral import data, result_json
from lostneutral.claims.model import About, Claim, Kind, Rank
from lostneutral.claims.unverified import with_unverified
from lostneutral.consequences.limits import band
from lostneutral.data import KNOWN
from lostneutral.report.base import rows
from lostneutral.words.english import said
from lostneutral.words.unverified import unverified


def told(claim, case=None):
    (made,) = with_unverified((claim,), case or star_case())
    return made


@pytest.mark.parametrize(("milliamperes", "answers", "decides"), [
    # 40 mA at 3 s and longer, 32 and 50 mA at the ends of 0.8 and 1.25
    (10.0, ("AC-3", "AC-3", "AC-3"), False), (35.0, ("AC-3", "AC-4", "AC-3"), True), (45.0, ("AC-4", "AC-4", "AC-3"), True),
    (60.0, ("AC-4", "AC-4", "AC-4"), False)])
def test_current_through_a_person(milliamperes, answers, decides):
    claim = Claim(Kind.PERSON, About("person"), Rank.DANGER, ("intake",), value=milliamperes, span=(milliamperes / 2, milliamperes),
                  unit="mA", facts={"volts": 60.0, "zone": answers[0]})
    made = told(claim)
    (found,) = made.unverified
    assert found.answers == answers and found.decides is decides and found.ends == pytest.approx((32.0, 50.0))
    # danger is told by its worse end, for every reader
    worst = {"AC-3": "release the grip", "AC-4": "ventricular fibrillation"}[max(answers)]
    assert worst in said(made, star_case()).lead
    (text,) = unverified(made)
    assert KNOWN["M"] in text and ("It decides" in text) is decides and ("would be the same" in text) is not decides


@pytest.mark.parametrize(("volts", "answers"), [
    # 255 V, ends 249.9 and 260.1 V
    (245.0, ("does not operate",) * 3), (252.0, ("does not operate", "operates", "does not operate")),
    (258.0, ("operates", "operates", "does not operate")), (300.0, ("operates",) * 3)])
def test_an_overvoltage_device(volts, answers):
    case = star_case()
    made = told(only(find(case, settled(case, 230.0 - volts)), Kind.OVERVOLTAGE_DEVICE), case)
    assert made.unverified[0].answers == answers
    # no figure that was not checked stands in the sentence, and its mood is the weaker one
    lead = said(made, case).lead
    assert "255" not in lead and "275 V" not in lead and "expected to" in lead


@pytest.mark.parametrize(("amperes", "answers"), [
    # 30 mA, ends 15 and 33 mA; none below half
    (0.005, ("would not operate",) * 3), (0.012, ("would not operate", "may operate", "would not operate")),
    (0.020, ("may operate", "would operate", "may operate")), (0.031, ("would operate", "would operate", "may operate")),
    (0.5, ("would operate",) * 3)])
def test_a_residual_current_device(amperes, answers):
    case = star_case(earthing="TN-S")
    claim = only(find(case, settled(case, -100 + 0j, neutral_current=-300 / 529 + amperes)), Kind.FAULT_DEVICES)
    assert told(claim, case).unverified[0].answers == answers


def test_a_band_that_was_not_checked_is_no_limit_in_print():
    assert band("BS 7671").known == KNOWN["M"]
    case = star_case()
    other = replace(case, supply=replace(case.supply, limits="BS 7671"))
    # 253 V, ends 247.9 and 258.1 V: 255 V on L1 is above the limit as taken, within it at the upper end
    claim = only(find(other, settled(other, -25 + 0j)), Kind.LINE_ABOVE, about="L1")
    assert told(claim, other).unverified[0].answers == ("above limits", "above limits", "within limits")
    assert "253" not in rows.band_words(other) and "253" in rows.band_words(case)
    assert told(only(find(case, settled(case, -25 + 0j)), Kind.LINE_ABOVE, about="L1"), case).unverified == ()


def test_figures_are_in_the_result_file_and_every_entry_is_asked_for():
    from casebook_results import result

    made = json.loads(result_json(result("farm-lane")))
    found = [u for claim in made["claims"] for u in claim["unverified"]]
    assert {u["figure"] for u in found} >= {"curve_c1", "residual_current", "overvoltage_never"}
    assert all(u["low"] < u["value"] < u["high"] and len(u["answers"]) == 3 for u in found)
    from lostneutral.claims.unverified import _MAKERS

    assert {key for makers in _MAKERS.values() for key, _ in makers} == {e["key"] for e in data.load("unverified")["figure"]}
