"""One verdict an item: every outcome at a stated voltage, over several possible states, and over an incident that ended.

Voltages are set by hand: L1 gets 230 V less the shift of the star point along its axis.
"""

from dataclasses import replace

import pytest
from handmade_star import TURN, find, judge, only, settled, star_case

from lostneutral import analyse, parse_case
from lostneutral.case.model import Event, Load
from lostneutral.claims.model import Kind, Rank
from lostneutral.claims.verdicts import CANNOT, GOOD, ORDER, STRESSED
from lostneutral.words.items import OUTCOMES

HOUR = 3600.0


def lamp_life(volts):  # published: life goes with the voltage to the power -14, 1000 h at rated
    return 1000 * HOUR * (230.0 / volts) ** 14


AT = {  # outcome -> (kind, its keys, V, details put into the state, rank, what is known of it)
    "fails in seconds": ("varistor", {"rating": 275.0}, 350.0, {}, Rank.DAMAGE, "published: run-away from 300 to 350 V"),
    "fails in minutes": ("lamp", {}, 380.0, {}, Rank.DAMAGE, "published exponent: 53 minutes"),
    "fails in hours": ("lamp", {}, 330.0, {}, Rank.DAMAGE, "published exponent: 6.4 hours"),
    "fails in days": ("lamp", {}, 293.0, {}, Rank.DAMAGE, "published exponent: 1.4 days"),
    "shortened life": ("lamp", {}, 254.0, {}, Rank.WARNING, "published exponent: 10 days; above 253 V"),
    "stalls and overheats": ("motor", {"power": 120.0}, 115.0, {"stalled": True}, Rank.DAMAGE, "practice"),
    "stalls": ("motor", {"power": 120.0}, 20.0, {}, Rank.WARNING, "practice"),
    "runs hot": ("motor", {"power": 120.0}, 180.0, {}, Rank.WARNING, "practice: the same work from less voltage"),
    "not known": ("resistive", {}, 330.0, {}, Rank.WARNING, "no law of wear for a load that is only a resistance"),
    "runs in reverse": ("motor", {"power": 120.0}, 230.0, {"backward": True}, Rank.WARNING, "practice: two lines transposed"),
    "goes on and off": ("electronic", {"front_end": "corrected"}, 89.0, {"works": False}, Rank.WARNING, "ruling 26b"),
    "does not run": ("electronic", {"front_end": "corrected"}, 11.0, {}, Rank.NOTE, "practice: below 5 % of rated"),
    "gives no light": ("lamp", {}, 50.0, {}, Rank.NOTE, "arithmetic: (50/230)^3.4 is 0.6 % of the light"),
    "dim": ("lamp", {}, 130.0, {}, Rank.NOTE, "arithmetic: (130/230)^3.4 is 14 % of the light"),
    "works weakly": ("heater", {}, 130.0, {}, Rank.NOTE, "arithmetic: (130/230)² is 32 % of the power"),
    "unharmed": ("lamp", {}, 230.0, {}, Rank.NOTE, "its rated voltage"),
}


def with_one(kind, keys, volts, details=()):
    case = star_case(kind=kind, parameters={"power": 100.0} | keys if kind != "varistor" else keys)
    after = settled(case, 230.0 - volts + 0j)
    first, *others = after.loads
    return case, replace(after, loads=(replace(first, details=first.details | dict(details)), *others))


@pytest.mark.parametrize("outcome", AT)
def test_each_outcome_at_its_voltage(outcome):
    kind, keys, volts, details, rank, _ = AT[outcome]
    case, after = with_one(kind, keys, volts, details)
    verdict = judge(case, after)["on L1"]
    assert (verdict.outcome, verdict.rank) == (outcome, rank) and verdict.volts == pytest.approx(volts)
    assert verdict.lowest == verdict.highest == verdict.volts and verdict.ratio == pytest.approx(volts / 230)
    assert (verdict.above, verdict.below) == (volts > 253, volts < 207) and not verdict.worst
    claim = only(find(case, after), Kind.ITEM, about="on L1")
    assert (claim.rank, claim.value, claim.facts["verdict"]) == (rank, verdict.volts, verdict)
    assert claim.yardstick is None if 207 <= volts <= 253 else claim.yardstick.value == (253.0 if volts > 253 else 207.0)
    if kind == "lamp" and volts > 253:
        assert verdict.central == pytest.approx(lamp_life(volts), rel=1e-3)
        assert verdict.earliest < verdict.central < verdict.latest


def test_every_outcome_is_tested_and_has_its_words():
    assert set(AT) | {CANNOT, STRESSED, "was off"} == set(ORDER) == set(OUTCOMES)
    assert GOOD == ORDER[-2:]


def test_an_item_that_was_off_is_not_judged():
    case, after = with_one("lamp", {}, 330.0)
    case = replace(case, loads=(replace(case.loads[0], on=False), *case.loads[1:]))
    verdict = judge(case, after)["on L1"]
    assert (verdict.outcome, verdict.volts, verdict.rank) == ("was off", None, Rank.NOTE)


def test_of_several_possible_states_nothing_is_said_but_the_worst():
    # arithmetic: 80 V in one state, 331.5 V in the two others; published exponent: 6.0 hours
    case = star_case()
    verdict = judge(case, *[settled(case, 150 * TURN**n, reached=False) for n in range(3)])["on L1"]
    assert (verdict.outcome, verdict.worst, verdict.rank) == (CANNOT, "fails in hours", Rank.DAMAGE)
    assert verdict.volts == verdict.highest == pytest.approx(331.51, abs=0.01) and verdict.lowest == pytest.approx(80.0)
    assert verdict.central == pytest.approx(lamp_life(331.51), rel=1e-3)


def test_where_every_possible_state_has_one_bad_outcome_it_is_said():
    # arithmetic: |230 + 100, 0| and |230 + 99, 14| V: hours in both
    case = star_case()
    verdict = judge(case, settled(case, -100 + 0j, reached=False), settled(case, -99 + 14j, reached=False))["on L1"]
    assert (verdict.outcome, verdict.worst) == ("fails in hours", "") and verdict.volts == pytest.approx(330.0)


def test_good_in_every_possible_state_is_not_given_as_good():
    case = star_case()
    verdict = judge(case, settled(case, 1 + 0j, reached=False), settled(case, -1 + 0j, reached=False))["on L1"]
    assert (verdict.outcome, verdict.worst, verdict.rank) == (CANNOT, "unharmed", Rank.WARNING)


def test_a_state_that_does_not_hold_gives_no_verdict():
    case = star_case()
    told = judge(case, settled(case, 1 + 0j, reached=False, attracting=False))
    assert {v.outcome for v in told.values()} == {CANNOT}


def test_what_is_off_all_the_time_was_off_where_nothing_settles_and_what_is_switched_cannot_be_said():
    case = star_case()
    off = tuple(replace(load, on=load.name == "on L1") for load in case.loads)
    case = replace(case, loads=off, events=(Event(1.0, load="on L2", on=True),))
    told = judge(case, settled(case, 1 + 0j, reached=False, attracting=False))
    assert {name: v.outcome for name, v in told.items()} == {"on L1": CANNOT, "on L2": CANNOT, "on L3": "was off"}


def test_an_item_that_floats_is_not_known():
    case = star_case()
    verdict = judge(case, settled(case, None))["on L1"]
    assert (verdict.outcome, verdict.volts, verdict.lowest, verdict.highest) == ("not known", None, None, None)
    assert only(find(case, settled(case, None)), Kind.ITEM, about="on L1").value is None


def test_an_item_of_several_units_is_told_as_one():
    # arithmetic: three heaters of 100 W together take 300 W at 230 V, (330/230)² times that at 330 V
    case = star_case(kind="heater")
    case = replace(case, loads=(replace(case.loads[0], count=3), *case.loads[1:]))
    after = settled(case, -100 + 0j)
    after = replace(after, loads=(replace(after.loads[0], power=3 * after.loads[0].power), *after.loads[1:]))
    claim = only(find(case, after), Kind.ITEM, about="on L1")
    assert claim.facts["rated_power"] == 300.0 and claim.facts["power"] == pytest.approx(300 * (330 / 230) ** 2)


MENDED = """
title = "Mended"
[supply]
earthing = "TN-S"
[[point]]
name = "house"
[[break]]
conductor = "N"
feeding = "house"
[[event]]
time = 0.6
break = "house"
resistance = 0
[[load]]
name = "Lamp"
kind = "lamp"
connect = "L1-N"
power = 1
""" + "".join(f'[[load]]\nname = "Big {n}"\nkind = "resistive"\nconnect = "L{n}-N"\npower = {w}\n'
              for n, w in ((1, 3000), (2, 10000), (3, 150000)))


def test_stressed_for_a_time_and_then_relieved():
    # closed form: a star of 3, 10 and 150 kW, beside which a lamp of 1 W is nothing, puts 379.4 V on L1 for 0.6 s
    volts = abs(230 - 230 * (30 + 100 * TURN**2 + 1500 * TURN) / 1630)
    result = analyse(parse_case(MENDED))
    verdict = {v.item: v for v in result.verdicts}["Lamp"]
    assert (verdict.outcome, verdict.worst, verdict.rank) == (STRESSED, "fails in minutes", Rank.WARNING)
    assert verdict.volts == verdict.highest == pytest.approx(volts, rel=1e-3) and verdict.central is None
    # published exponent: the share of its life that 0.6 s at that voltage use up
    assert verdict.used == pytest.approx(0.6 / lamp_life(volts) + 3600 / (1000 * HOUR), rel=0.05)
    (mended,) = [c for c in result.claims if c.kind is Kind.MENDED]
    assert mended.value == pytest.approx(0.6) and mended.facts["spans"] == ((0.0, 0.6),)


def test_two_lines_that_share_a_load_are_not_its_verdict():  # practice: line-to-line loads do not see the lost neutral
    case = star_case()
    oven = Load("oven", "resistive", ("L1", "L2"), "intake", 398.37, parameters={"power": 100.0})
    case = replace(case, loads=(*case.loads, oven))
    after = settled(replace(case, loads=case.loads[:3]), 100 + 0j)
    volts = case.supply.phasors["L1"] - case.supply.phasors["L2"]
    seen = replace(after.loads[0], name="oven", connect=oven.connect, voltage=volts, ratio=abs(volts) / 398.37)
    before = settled(replace(case, loads=case.loads[:3]))
    told = judge(case, replace(after, loads=(*after.loads, seen)), before=replace(before, loads=(*before.loads, seen)))
    assert told["oven"].outcome == "unharmed" and told["on L2"].outcome == "fails in days"
