"""Where it broke: what each place would do, and whether readings made at one lead back to it."""

import json
from dataclasses import replace
from math import erf, inf, sqrt
from pathlib import Path

import numpy as np
import pytest

from lostneutral import read_case
from lostneutral.case.checks_seen import uncertainty
from lostneutral.case.model import Break, Cable, Case, Cross, Load, Observation, Point, Prior, Supply
from lostneutral.circuit.states import before_and_after
from lostneutral.evidence.rivals import CAUSES
from lostneutral.evidence.where import COUPLINGS, _even_points, where
from lostneutral.report.evidence.where_text import where_json, where_text

LINES = {"L1": 230 + 0j, "L2": 230 * complex(-0.5, -(0.75**0.5)), "L3": 230 * complex(-0.5, 0.75**0.5)}


def block(earthing="TN-S", observations=()):
    """A riser with three flats, one on each line, and a hall board with all lines."""
    cable = Cable(0.02 + 0j, 0.02 + 0j, 0.02 + 0j)
    points = (Point("block", cable=cable), Point("hall", "board", "block", cable),
              *(Point(f"flat {k}", "board", "hall", cable, phases=(f"L{k}",)) for k in (1, 2, 3)))
    loads = tuple(Load(f"stove {k}", "resistive", (f"L{k}", "N"), f"flat {k}", 230.0, parameters={"power": p})
                  for k, p in ((1, 500.0), (2, 1500.0), (3, 3000.0)))
    return Case("block", Supply(LINES, earthing=earthing, electrode=1.0), points, loads, breaks=(),
                observations=observations)


def read(case, breaks=(), crosses=(), places=(("hall", ("L1", "N")), ("hall", ("L2", "N")), ("block", ("L2", "N")), ("block", ("L1", "PE")),
                                             ("flat 3", ("L3", "N")), ("flat 3", ("L3", "PE")))):
    """Return the readings that `breaks` would give at `places`, exact, as observations of 3 V uncertainty."""
    state = before_and_after(replace(case, breaks=breaks, crosses=crosses))[1].reached
    return tuple(Observation(point, pair, abs(state.voltage(point, *pair)), 3.0) for point, pair in places
                 if state.voltage(point, *pair) is not None)


FAULTS = [
    ("open neutral", "block", (Break("block", "N", inf),), ()),
    ("open neutral", "hall", (Break("hall", "N", inf),), ()),
    ("bad joint", "hall", (Break("hall", "N", 10.0),), ()),
    ("line lost", "hall", (Break("hall", "L2", inf),), ()),
    ("line lost as well", "hall", (Break("hall", "N", inf), Break("hall", "L1", inf)), ()),
    ("line crossed with neutral", "hall", (), (Cross("hall", ("L1", "N")),)),
]


@pytest.mark.parametrize("kind, run, breaks, crosses", FAULTS, ids=[f"{f[0]} at {f[1]}" for f in FAULTS])
def test_readings_lead_back_to_their_place(kind, run, breaks, crosses):  # invariant: the truth fits its own readings
    case = block()
    found = where(replace(case, observations=read(case, breaks, crosses)))
    first = found.outcomes[0]
    assert (first.place.kind, first.place.feeding) == (kind, run)
    assert first.misfit == pytest.approx(0.0, abs=1e-4)
    assert sum(o.support for o in found.outcomes) == pytest.approx(1.0)


def test_an_open_protective_conductor_alone_is_no_lost_neutral():
    """Negative control: normal readings line to neutral speak against every open neutral behind them."""
    case = block()
    found = where(replace(case, observations=read(case, (Break("flat 3", "PE", inf),))))
    support = {(o.place.kind, o.place.feeding): o.support for o in found.outcomes}
    assert support["open neutral", "block"] < 1e-9 and support["open neutral", "hall"] < 1e-9
    assert ("protective conductor open", "flat 3") in support


def test_what_each_place_would_do():  # practice: only what hangs on the broken run is moved
    found = where(block())
    points = {(o.place.kind, o.place.feeding): o.points for o in found.outcomes}
    assert points["open neutral", "hall"] == {"block": ("whole",), "hall": ("high", "low"), "flat 1": ("high",),
                                              "flat 2": ("high",), "flat 3": ("low",)}
    assert points["protective conductor open", "flat 2"]["flat 1"] == ("whole",)
    assert not found.observed and all(o.support == pytest.approx(o.prior / sum(x.prior for x in found.outcomes))
                                      for o in found.outcomes)


def test_broken_pen_makes_metalwork_live_and_tn_s_does_not():  # practice
    live = {e: [o for o in where(block(e)).outcomes if o.place.kind == "open neutral" and o.place.feeding == "block"]
            for e in ("TN-C-S", "TN-S")}
    assert "live" in live["TN-C-S"][0].points["flat 1"] and "live" not in live["TN-S"][0].points["flat 1"]


def test_the_next_reading_tells_the_first_places_apart():
    """Invariant: made at the truth, the reading that is proposed raises the truth's support."""
    case, truth = block(), (Break("hall", "N", inf),)
    one = read(case, truth, places=(("flat 1", ("L1", "N")),))
    found = where(replace(case, observations=one))
    ask = found.next_reading
    assert ask is not None and ask.strength > 0.2
    more = read(case, truth, places=((ask.point, ask.between),)) if "earth" not in ask.between else ()
    after = where(replace(case, observations=one + more))

    def support(w):
        return next(o.support for o in w.outcomes if o.place.breaks == truth)

    assert support(after) > support(found)


def test_what_was_seen_counts_by_the_law_of_deduce():
    # independent: P(brighter) = 1 and, where nothing changes, a normal law of the word's threshold over its blur; and
    # nine statements in ten are right, else any of four words alike
    seen = (Observation(load="stove 1", seen="brighter"), Observation(load="stove 3", seen="dimmer"))
    by = {(o.place.kind, o.place.feeding): o for o in where(block(observations=seen)).outcomes}
    right, chance = 0.9 + 0.1 / 4, 0.9 * (1 - erf(1 / sqrt(2))) / 2 + 0.1 / 4
    assert by["protective conductor open", "hall"].ratio == pytest.approx((right / chance) ** 2, rel=2e-3)


def test_a_reading_before_the_break_tells_no_places_apart():
    seen = (Observation("hall", ("L1", "N"), 230.0, 1.0, details={"state": "before"}),)
    by = {(o.place.kind, o.place.feeding): o for o in where(block(observations=seen)).outcomes if o.place.feeding}
    assert max(o.ratio for o in by.values()) == pytest.approx(1.0)


def test_nothing_fits_is_said():
    found = where(block(observations=(Observation("hall", ("L1", "N"), 700.0, 1.0),)))
    assert found.outcomes[0].place.kind == "not listed"
    assert any("Not explained by any cause considered" in note for note in found.notes)
    # closed form: between two lines of 230 V there are 398.4 V
    assert found.ceilings[0].resistive == pytest.approx(230 * sqrt(3)) and found.ceilings[0].computed < 700


def test_uncertainty_of_a_reading():
    assert uncertainty(Observation("hall", ("L1", "N"), 300.0, 4.0)) == 4.0
    assert uncertainty(Observation("hall", ("L1", "N"), 300.0)) == pytest.approx((36 + 4) ** 0.5)


def test_text_and_file_say_the_same():
    case = block(observations=(Observation("hall", ("L1", "N"), 280.0, 5.0),))
    found = where(case)
    told, text = json.loads(where_json(case, found)), where_text(case, found)
    assert told["format"] == "lostneutral-where/1" and len(told["places"]) == len(found.outcomes)
    assert told["places"][0]["words"] in " ".join(text.split()) and "best distinguish the first two" in " ".join(text.split())
    assert all(len(line) <= 80 for line in text.splitlines())


def test_a_state_that_the_search_finds_is_found_by_where_as_well():
    # independent: `before_and_after` searches everywhere; with L1 lost as well the back room settles, the whole shop cycles
    case = read_case(Path(__file__).parents[2] / "casebook" / "corner-shop.toml")
    only = tuple(Prior(cause, float(cause == "line lost as well")) for cause in CAUSES)
    found = where(replace(case, observations=(), priors=only))
    lost = [o.place for o in found.outcomes if o.place.breaks and o.solution is None]
    assert [place.words for place in lost] == ["open PEN and line conductor L1 or its fuse in the cable to intake"]
    assert any("Not weighed" in note and lost[0].words in note for note in found.notes)
    assert before_and_after(replace(case, breaks=lost[0].breaks))[1].ends == "cycle"
    place = next(o for o in found.outcomes if o.place.words == "open neutral and line conductor L1 or its fuse in the cable to back room board")
    there = before_and_after(replace(case, breaks=place.place.breaks))[1].reached
    assert place.solution.nodes["back room board", "N"] == pytest.approx(there.nodes["back room board", "N"], abs=0.5)


@pytest.mark.parametrize("columns", [1, 2, 5, 12])
def test_couplings_are_drawn_evenly(columns):
    """Closed form: over the unit cube the mean of x is 1/2, of x² 1/3, of x y 1/4.

    Of random points one sigma is 0.036, 0.037 and 0.028; of these the last alone has one, of 0.0105, and four are allowed.
    """
    points = _even_points(COUPLINGS, columns)
    both = points.T @ points / COUPLINGS
    assert points.mean(axis=0) == pytest.approx(1 / 2, abs=1e-12)
    assert np.diagonal(both) == pytest.approx(1 / 3, abs=1e-4)
    assert both[~np.eye(columns, dtype=bool)] == pytest.approx(1 / 4, abs=0.042)
