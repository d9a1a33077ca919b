"""What the cases to deduce teach, with few samples and the causes that matter to each story.

Expected values are practice: what each story was written to show. How sure the shares are is held elsewhere.
"""

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from lostneutral import read_case
from lostneutral.case.model import Prior
from lostneutral.evidence.deduce import deduce
from lostneutral.evidence.rivals import CAUSES
from lostneutral.report.evidence.rows import fit_words
from lostneutral.report.evidence.verdict import verdict_on_cause

pytestmark = pytest.mark.thorough
CASEBOOK = Path(__file__).parents[2] / "casebook"
KEPT = {"sound", "open neutral", "bad joint", "supply overvoltage"}


@cache
def weighed(name):
    case = read_case(CASEBOOK / f"{name}.toml")
    others = tuple(Prior(cause, 0.0) for cause in CAUSES if cause not in KEPT)
    return deduce(replace(case, priors=(*(p for p in case.priors if p.cause in KEPT), *others)), samples=128)


def said(name):
    return " ".join(verdict_on_cause(weighed(name)))


def test_village_hall_points_to_one_joint():
    found = weighed("village-hall")
    assert (found.rivals[0].kind, found.rivals[0].at) == ("open neutral", "hall board")
    assert found.rivals[0].posterior > 0.95 and not found.unexplained
    assert "do not show where" not in said("village-hall") and "do not distinguish" not in said("village-hall")
    assert all(row.first == "open neutral" for row in found.left_out)  # no one item carries it alone


def test_village_hall_says_what_was_on():
    stage = next(k for k in weighed("village-hall").unknowns if k.name == "Stage lamps")
    assert stage.before == (0.3,) and stage.after[0] < 0.05  # with 800 W more on it, L1 would not have stood at 338 V


def test_mill_cottage_stays_open_between_two_joints():
    found = weighed("mill-cottage")
    first, second = found.rivals[:2]
    assert {first.at, second.at} == {"kitchen board", "service head"} and first.kind == second.kind == "bad joint"
    # invariant: every reading is behind both joints, so that neither can be told from the other
    assert first.posterior == pytest.approx(second.posterior, abs=4 * first.posterior_error + 0.02)
    assert "The observations do not show where it was" in said("mill-cottage")


def test_mill_cottage_says_which_reading_would_decide():
    best = weighed("mill-cottage").next_readings[0]
    assert best.point == "service head" and "N" in best.between  # between the two joints
    assert 0 < best.bits <= best.of


def test_boat_shed_has_a_reading_that_fits_nothing():
    found = weighed("boat-shed")
    assert len(found.unexplained) == 1 and "640 V" in found.unexplained[0]
    assert "Not explained by any cause considered: " + found.unexplained[0] in said("boat-shed")
    # the rest still counts: the slip costs every cause alike, and does not carry the answer
    without = next(row for row in found.left_out if row.words == found.unexplained[0])
    assert without.first == found.kinds[0].kind
    assert without.posterior == pytest.approx(without.was, abs=0.05)


def test_hatchery_says_where_the_second_lead_was_and_which_room_was_higher():
    found = weighed("hatchery")
    assert (found.rivals[0].kind, found.rivals[0].at) == ("open neutral", "hatchery") and not found.unexplained
    fit = found.rivals[0].fits[1]
    assert fit.second == "PE" and fit.low < 231 < fit.high and "to PE: fits" in fit_words(fit)  # "231 V, in order" clears nobody
    heater = {k.name: k.after[0] for k in found.unknowns}
    assert heater["Heater in the nursery"] > 0.9  # the brooder's lamps failed first, so theirs was the higher voltage
    case = read_case(CASEBOOK / "hatchery.toml")
    first = case.observations[2]
    turned = replace(case, observations=(*case.observations[:2], replace(first, load="Nursery lamps", details={"sooner_than": "Brooder lamps"}),
                                         replace(case.observations[3], load="Brooder lamps")))
    heater = {k.name: k.after[0] for k in deduce(replace(turned, observations=turned.observations[1:]), samples=128).unknowns}
    assert heater["Heater in the brooder"] > 0.6  # one in three before: the other memory would have said the other room
