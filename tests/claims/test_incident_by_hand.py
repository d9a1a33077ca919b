"""The stages of an incident and what they come to: which moments count, what is followed, what is joined; states are written by hand."""

from dataclasses import replace
from math import inf
from types import SimpleNamespace

import numpy as np
import pytest
from handmade_star import TURN, concluded, find, of_kind, only, settled, star_case, state

from lostneutral.case.model import Break, Cross, Event, Installed, Observation, Point
from lostneutral.circuit.record import Held
from lostneutral.claims import conductors, installed, items, lines, live, protective, settling
from lostneutral.claims import waves as of_waves
from lostneutral.claims.gather import at_premises, gathered
from lostneutral.claims.hanging import hangs_on
from lostneutral.claims.incident import Incident, incident, period, to_follow, too_large
from lostneutral.claims.model import AS_GIVEN, About, Claim, Condition, Kind, Moment, Rank
from lostneutral.claims.observed import observations
from lostneutral.claims.unverified import with_unverified
from lostneutral.claims.verdicts import CANNOT, STRESSED, Verdict, verdicts
from lostneutral.consequences.devices import Threshold
from lostneutral.consequences.harm import IN_A_CYCLE, Harm
from lostneutral.consequences.meters import Reading
from lostneutral.studies.hinges import Hinge, Hinges

HOUR = 3600.0


def lamp_life(volts):  # published: life goes with the voltage to the power -14, 1000 h at rated
    return 1000 * HOUR * (230.0 / volts) ** 14


def at(case, volts, **more):  # L1 gets so many volts
    return settled(case, 230.0 - volts + 0j, **more)


# What is followed, and how far

def test_how_far_a_course_goes():  # documented: an hour after the last event, or as the case says
    case = star_case()
    events = (Event(5.0, load="on L1", on=False), Event(2.0, load="on L2", on=False))
    assert (period(case), period(replace(case, events=events)), period(replace(case, course_end=90.0))) == (3600.0, 3605.0, 90.0)


def test_when_an_incident_is_followed():
    case, reached = star_case(), state(settled(star_case()))
    soon, late = [Harm("on L1", "fails in minutes", earliest=3599.0)], [Harm("on L1", "fails in hours", earliest=3600.0), Harm("on L2", "unharmed")]
    assert to_follow(case, reached, soon) and not to_follow(case, reached, late)
    assert not to_follow(case, state(settled(case, reached=False)), soon)  # it would decide by rounding
    assert not to_follow(star_case(breaks=()), reached, soon)
    assert to_follow(replace(case, events=(Event(1.0, load="on L1", on=False),)), reached, [])


def test_how_many_loads_are_followed_unasked():  # documented: sixty branches from line to neutral that are on
    lamp = star_case().loads[0]
    loads = lambda count, on=True: tuple(replace(lamp, name=f"{on} {n}", on=on) for n in range(count))
    case = star_case()
    assert not too_large(replace(case, loads=loads(60) + loads(9, False))) and too_large(replace(case, loads=loads(61)))
    switched = (Event(1.0, load="False 3", on=True),)
    assert too_large(replace(case, loads=loads(60) + loads(9, False), events=switched))


def test_of_a_course_that_does_not_decide_every_state_stands_for_the_end():
    case = replace(star_case(), events=(Event(0.0, Break("intake", "N")), Event(7.0, load="on L2", on=False)))
    sound = replace(case, breaks=(), events=())
    parts = (Held(0.0, 0.0, sound, (settled(case),)), Held(0.0, 1.0, sound, (settled(case),)), Held(1.0, 7.0, case, (at(case, 300.0), at(case, 290.0))),
             Held(7.0, 20.0, sound, (settled(case),)), Held(20.0, 99.0, case, (at(case, 310.0),)))
    courses = SimpleNamespace(central=SimpleNamespace(parts=parts, times=np.array([0.0, 99.0])))
    made = incident(case, state(settled(case), name="before"), state(at(case, 310.0)), courses)
    told = [(m.condition.stage, m.condition.start, m.condition.end, abs(m.solution.loads[0].voltage)) for m in made.moments]
    # what was sound before the first fault is no stage; what was mended between is one
    assert told == [("stage", 1.0, 7.0, 300.0), ("stage", 1.0, 7.0, 290.0), ("stage", 7.0, 20.0, 230.0), ("after", 20.0, inf, 310.0)]
    assert (made.begins, made.ends, made.decided, made.settles) == (1.0, 99.0, True, True) and all(not m.case.events for m in made.moments)
    open_ = incident(case, state(settled(case), name="before"), state(*(at(case, v, reached=False) for v in (310.0, 200.0))), courses)
    assert [(m.condition.stage, m.condition.start, abs(m.solution.loads[0].voltage)) for m in open_.moments[3:]] == [("after", 7.0, 310.0), ("after", 7.0, 200.0)]
    assert not open_.decided and [m.condition.possible for m in open_.final] == [2, 2]
    none = incident(case, state(settled(case), name="before"), state(at(case, 310.0, reached=False, attracting=False)))
    assert not none.settles and not none.decided


def test_moments_of_a_cycle_have_their_time():
    case = star_case()
    passing, way = (at(case, 300.0), at(case, 100.0)), ((at(case, 350.0), 2.0, 5.0),)
    cycle = {"restarts": ({"load": "on L1", "met": {}}, {"load": "on L1", "met": {}}, {"load": "on L3", "met": {}}), "period": 4.0}
    made = incident(case, state(settled(case), name="before"), state(passing=passing, dwells=(0.5, 3.5), on_the_way=way, cycle=cycle, ends="cycle"))
    assert [(m.condition.stage, m.condition.start, m.condition.lasts, m.condition.possible) for m in made.moments] == [
        ("stage", 2.0, 5.0, 1), ("after", 0.0, 0.5, 1), ("after", 0.0, 3.5, 1)]
    assert made.restarting == ("on L1", "on L3") and not made.settles


def test_whether_anything_was_broken_at_any_time():
    case = star_case(breaks=())
    of = lambda **more: Incident(replace(case, **more), ())
    assert not of().ever and not of().lasts and not of(breaks=(Break("intake", "N", 0.0),)).ever
    assert of(crosses=(Cross("intake", ("L1", "L2")),)).ever and of(breaks=(Break("intake", "N", 1.0),)).ever
    mended = of(events=(Event(0.0, Break("intake", "N")), Event(9.0, Break("intake", "N", 0.0))))
    assert mended.ever and not mended.lasts


# What is told

def test_what_a_broken_conductor_is():
    of = lambda earthing, conductor, kind="intake": conductors.reference(replace(star_case(earthing=earthing), points=(Point("intake", kind),)), Break("intake", conductor))
    found = [(a.what, a.name) for a in (of("TN-C-S", "N"), of("TN-S", "N"), of("TN-S", "PE"), of("TN-S", "L2"), of("TN-C-S", "N", "board"))]
    assert found == [("pen", "N"), ("neutral", "N"), ("pe", "PE"), ("line", "L2"), ("neutral", "N")]


def test_heat_of_a_joint_beside_what_it_was_at_first():
    case = star_case(breaks=(Break("intake", "N", 2.0),))
    of = lambda now, before: list(conductors.joint_heat(Moment(case, settled(case, neutral_current=now), before, Condition())))
    (one,) = of(3.0, settled(case, neutral_current=-2j))
    assert (one.value, one.facts["at_first"], one.facts["amps"], one.facts["ohms"]) == (18.0, 8.0, 3.0, 2.0)
    assert of(3.0, None)[0].facts["at_first"] is None and of(None, settled(case)) == []  # nothing determines its current


def test_ways_back_are_told_the_largest_first():
    case = replace(star_case(earthing="TN-C-S"), points=(Point("intake", electrode=10.0), Point("next", electrode=20.0)))
    amps = {("electrode", "intake"): 1.5 + 0j, ("electrode", "next"): -4j, ("electrode", "supply"): 9 + 0j}
    now = replace(settled(case), earth_currents=amps)
    (told,) = [c for c in conductors.diverted(Moment(case, now, settled(case), Condition())) if c.kind is Kind.DIVERTED]
    assert told.value == 4.0 and [(name, amps) for name, amps, _ in told.facts["paths"]] == [("electrode at next", 4.0), ("electrode at intake", 1.5)]


@pytest.mark.parametrize(("amps", "answer", "edge", "where"), [
    (0.0, "would not operate", "reference", ()), (0.02, "may operate", "reference", ("intake",)), (0.04, "would operate", "high", ("intake",))])
def test_what_a_residual_current_device_does(amps, answer, edge, where):  # published: 30 mA, half of it never
    case = star_case(earthing="TN-S")
    now = settled(case, neutral_current=amps + 0j)
    now = replace(now, currents=now.currents | {("intake", "L1"): 5 + 0j, ("intake", "L2"): -3 + 0j, ("intake", "L3"): -2 + 0j, ("gone", "L1"): None,
                                                ("intake", "PE"): 50 + 0j})
    before = replace(settled(case), currents={("intake", "L1"): 7j, ("intake", "N"): 70 + 0j})
    (told,) = conductors.fault_devices(Moment(case, now, before, Condition()))
    assert (told.facts["answer"], told.yardstick.edge, told.where, told.facts["judged"]) == (answer, edge, where, 1)
    assert (told.facts["line_before"], told.facts["line_after"], told.value) == (7.0, 5.0, pytest.approx(amps))
    joint = replace(case, points=(*case.points, Point("joint", "joint")))
    assert next(conductors.fault_devices(Moment(joint, now, before, Condition()))).facts["judged"] == 1  # no device at a joint
    assert list(conductors.fault_devices(Moment(star_case(breaks=(Break("intake", "L1"),)), now, before, Condition()))) == []


def test_a_quantity_of_a_joint_is_not_of_an_item():
    of = lambda key, what: next(hangs_on(Hinges((Hinge(key, "x", "ohm", 3.0, (1.5, 6.0), (SimpleNamespace(what=what),)),), 1, 0)))
    joint, item = of("resistance", "metalwork"), of("works_from", "item")
    assert (joint.about.what, item.about.what) == ("joint", "item") and (joint.facts["danger"], item.facts["danger"]) == (True, False)


def test_where_no_state_is_found_what_stood_before_is_told():
    case = star_case(phasors={"L1": 260 + 0j, "L2": 230 * TURN**2, "L3": 230 * TURN}, nominal=230.0)
    before = settled(case)
    before = replace(before, nodes=before.nodes | {("intake", "L2"): 224 * TURN**2})
    found = concluded(case, state(before, name="before"), state(reason="none"))[0]
    assert only(found, Kind.DROP_BEFORE).value == pytest.approx(6.0) and only(found, Kind.LINE_BEFORE).value == pytest.approx(260.0)
    sound = concluded(replace(case, breaks=()), state(before, name="before"), state(before))[0]
    assert not of_kind(sound, Kind.LINE_BEFORE) and of_kind(sound, Kind.DROP_BEFORE)  # nothing broke: it is told as it is


def two_boards(*shifts):
    """Two boards on L1 whose neutrals stand at each of (shift, shift) in each of so many states."""
    case = replace(star_case(earthing="TN-S"), points=(Point("intake"), Point("one", "board", "intake", phases=("L1",)), Point("two", "board", "intake", phases=("L1",))))
    states = []
    for own in shifts:
        made = settled(case, 0j, reached=False)
        nodes = dict(made.nodes)
        for name, n in zip(("one", "two"), own):
            nodes |= {(name, "L1"): 230 + 0j, (name, "N"): n + 0j, (name, "PE"): 0j}
        states.append(replace(made, nodes=nodes))
    return case, states


def test_a_claim_is_held_in_so_many_states_at_its_worst_place():
    case, states = two_boards((-90, -40), (0, -50))
    above = only(find(case, *states, before=settled(case)), Kind.LINE_ABOVE, about="L1")
    # above at `one` in the first state alone, at `two` in both
    assert (above.where, above.value, above.span) == (("one", "two"), 320.0, (270.0, 320.0)) and (above.condition.held, above.condition.possible) == (1, 2)


def test_claims_of_one_of_several_premises():
    case, (shown,) = two_boards((-90, -40))
    case = replace(case, loads=(replace(case.loads[0], point="one"), replace(case.loads[1], point="two", connect=("L1", "N"))))
    shown = replace(shown, loads=shown.loads[:2], reached=True)
    before = settled(replace(case, points=case.points[:1], loads=case.loads[:2]))
    met = incident(case, state(before, name="before"), state(shown))
    whole = gathered(met, state(before, name="before"), state(shown), verdicts(met), opened=(
        SimpleNamespace(point="one", left=20.0, volts=99.0, others=(), solved=True), SimpleNamespace(point="two", left=20.0, volts=99.0, others=(), solved=True)))
    made = at_premises(whole, met, ("two",))
    above = only(made, Kind.LINE_ABOVE, about="L1")
    assert (above.where, above.value, only(whole, Kind.LINE_ABOVE, about="L1").value) == (("two",), 270.0, 320.0)
    assert [c.about.name for c in of_kind(made, Kind.ITEM)] == ["on L2"] and [c.where for c in of_kind(made, Kind.MAIN_SWITCH)] == [("two",)]
    assert only(made, Kind.NEUTRAL_LIVE).where == ("two",) and only(made, Kind.INSULATION) == only(whole, Kind.INSULATION)
    assert [c.rank for c in made] == sorted(c.rank for c in made)


def test_the_device_of_a_case_is_told_of_apart_from_the_readings():
    case = replace(star_case(), observations=(Observation(device="RCD", operated=True, point="intake"), Observation("intake", ("L1", "N"), 230.0, 5.0)))
    made = list(observations(Incident(case, (Moment(case, settled(case), settled(case), Condition()),)), (), (), settled(case)))
    assert [c.facts["number"] for c in made] == [1]


# Times of verdicts

def course(used, failures=()):
    return SimpleNamespace(used={"on L1": np.array([0.0, used])}, failures=dict(failures))


def over_time(stages, end, lasts=True, begins=0.0, early=(0.0, ()), central=(0.0, ()), late=(0.0, ())):
    """The verdict on the lamp on L1 that met (volts, start, end) one after the other, then `end` V; `lasts`: the fault is not mended."""
    case = star_case()
    now = star_case() if lasts else star_case(breaks=())
    moments = [Moment(case, at(case, v), settled(case), Condition("stage", a, b)) for v, a, b in stages]
    moments.append(Moment(now, at(now, end), settled(now), Condition("after", stages[-1][2] if stages else begins, inf)))
    named = {name: course(*given) for name, given in (("central", central), ("early", early), ("late", late))}
    events = () if lasts else (Event(9.0, Break("intake", "N", 0.0)),)
    met = Incident(replace(case, events=events), tuple(moments), begins, begins + HOUR, SimpleNamespace(named=named, central=named["central"]))
    return verdicts(met)[0]


def test_a_failure_within_the_incident_counts_from_the_first_fault():
    failed = over_time([(330.0, 10.0, 700.0)], 230.0, begins=10.0, early=(1.0, {"on L1": (110.0, "filament")}), central=(1.0, {"on L1": (610.0, "filament")}),
                       late=(0.8, ()), lasts=False)
    assert (failed.outcome, failed.earliest, failed.central, failed.latest, failed.part, failed.used) == ("fails in minutes", 100.0, 600.0, None, "filament", 1.0)
    assert failed.volts == failed.highest == pytest.approx(330.0) and failed.lowest == pytest.approx(230.0)


def test_what_is_left_of_a_life_is_used_up_by_the_end_that_lasts():
    # closed form: half of its life used in the hour that was followed, the rest at 300 V at the rate there
    made = over_time([], 300.0, central=(0.5, ()), early=(0.9, ()), late=(0.25, ()))
    assert made.central == pytest.approx(HOUR + 0.5 * lamp_life(300.0)) and made.used == 0.5
    assert made.outcome == "fails in hours"  # 12.2 h at the rate of 300 V
    assert made.earliest < made.central < made.latest


def test_a_lamp_stressed_and_mended_and_one_that_still_would_fail():
    # arithmetic: 380 V for 100 s, a life of 53 minutes there, then 230 V
    mended = over_time([(380.0, 10.0, 110.0)], 230.0, begins=10.0, lasts=False, central=(0.03, ()), early=(0.2, {"on L1": (100.0, "")}))
    assert (mended.outcome, mended.worst, mended.earliest, mended.central, mended.rank) == (STRESSED, "fails in minutes", 90.0, None, Rank.WARNING)
    # and where 330 V last for ever behind it: it fails in hours, whatever it met before
    going_on = over_time([(380.0, 0.0, 100.0)], 330.0, central=(0.03, ()))
    assert (going_on.outcome, going_on.rank) == ("fails in hours", Rank.DAMAGE)
    assert going_on.central == pytest.approx(HOUR + 0.97 * lamp_life(330.0))


def test_what_did_no_harm_is_told_by_the_worst_of_it():
    for lasts in (True, False):
        dim = over_time([(120.0, 0.0, 100.0)], 230.0, lasts=lasts, central=(0.001, ()))
        assert (dim.outcome, dim.volts, dim.used, dim.central) == ("dim", pytest.approx(120.0), 0.001, None)
    # a little above rated for minutes does nothing to what bears it for a week, for days it does; neither is stress that it would not bear for long
    brief = over_time([(258.0, 0.0, 100.0)], 230.0, lasts=False, central=(0.001, ()))
    assert (brief.outcome, brief.volts, brief.rank) == ("unharmed", pytest.approx(258.0), Rank.NOTE)
    days = over_time([(258.0, 0.0, 2 * 86400.0)], 230.0, lasts=False, central=(0.2, ()))
    assert (days.outcome, days.rank) == ("shortened life", Rank.WARNING)
    assert over_time([(120.0, 0.0, 100.0)], 258.0, central=(0.001, ())).outcome == "shortened life"


def test_a_motor_that_stalls_and_overheats_within_the_incident_is_told_so():
    case = star_case(kind="motor", parameters={"power": 120.0})
    now = at(case, 115.0)
    now = replace(now, loads=(replace(now.loads[0], details={"stalled": True}), *now.loads[1:]))
    named = {"central": course(1.0, {"on L1": (90.0, "winding")})}
    met = Incident(case, (Moment(case, now, None, Condition("after")),), 0.0, HOUR, SimpleNamespace(named=named, central=named["central"]))
    made = verdicts(met)[0]
    assert (made.outcome, made.central, made.part) == ("stalls and overheats", 90.0, "winding")


def test_a_short_stage_on_the_way_to_the_end():
    case = star_case()
    def of(volts, lasts, end):
        met = Incident(case, (Moment(case, at(case, volts), None, Condition("stage", 0.0, lasts=lasts)), Moment(case, at(case, end), None, Condition("after"))))
        return verdicts(met)[0]
    life = lamp_life(380.0)
    assert (of(380.0, 0.9 * life, 230.0).outcome, of(380.0, 1.1 * life, 230.0).outcome) == (STRESSED, "fails in minutes")
    assert of(380.0, 0.9 * life, 230.0).earliest == pytest.approx(life * (230 / 380) ** 2, rel=0.01)  # with the 16th power it fails in that time …
    assert of(380.0, 0.3 * life, 230.0).earliest is None  # … and not in this
    assert of(380.0, 0.9 * life, 330.0).outcome == "fails in hours"  # the end is worse than a stress that ended
    assert of(240.0, 10.0, 380.0).outcome == "fails in minutes" and of(120.0, 10.0, 230.0).outcome == "unharmed"
    assert (of(380.0, 1.0, 230.0).worst, of(380.0, 1.0, 230.0).central, of(380.0, 1.0, 230.0).volts) == ("fails in minutes", None, pytest.approx(380.0))


@pytest.mark.parametrize(("outcome", "above", "worst", "rank"), [
    ("shortened life", True, "", Rank.WARNING), ("shortened life", False, "", Rank.NOTE), (CANNOT, False, "fails in days", Rank.DAMAGE),
    (CANNOT, False, "stalls and overheats", Rank.DAMAGE), (CANNOT, False, "dim", Rank.WARNING), (STRESSED, True, "fails in days", Rank.WARNING),
    ("stalls and overheats", False, "", Rank.DAMAGE), ("dim", False, "", Rank.NOTE)])
def test_how_grave_a_verdict_is(outcome, above, worst, rank):
    assert Verdict("x", outcome, above=above, worst=worst).rank is rank


def test_a_cycle_is_judged_by_the_worse_of_its_ends():
    case = star_case()
    case = replace(case, loads=(*case.loads[:2], replace(case.loads[2], on=False)))
    met = Incident(case, (), restarting=("on L1",))
    harms = (Harm("on L1", "unharmed", solution=IN_A_CYCLE, volts=240.0), Harm("on L2", "fails in hours", 1.0, 2.0, 3.0, solution=IN_A_CYCLE, volts=345.0),
             Harm("on L3", "fails in hours", solution=IN_A_CYCLE, volts=345.0))
    one, two, off = verdicts(met, harms)
    assert (one.outcome, one.ratio, two.outcome, two.ratio) == ("goes on and off", pytest.approx(240 / 230), "fails in hours", pytest.approx(1.5))
    assert (two.earliest, two.central, two.latest, off.outcome) == (1.0, 2.0, 3.0, "was off")
    plain = verdicts(replace(met, restarting=("on L2",)), harms)
    assert (plain[0].outcome, plain[1].outcome) == ("unharmed", "fails in hours")
    assert verdicts(met, ())[0].outcome == CANNOT


# Several things at once

def test_metalwork_with_no_electrode_and_one_that_is_assumed():
    case = star_case(earthing="TN-C-S")
    of = lambda case, pe: next(live.metalwork(Moment(case, settled(case, pe=pe), None, Condition())))
    assert of(case, 60 + 0j).facts["assumed_electrode"] and not of(replace(case, points=(Point("intake", electrode=9.0),)), 60 + 0j).facts["assumed_electrode"]
    assert not of(star_case(earthing="TN-S"), 60 + 0j).facts["assumed_electrode"]
    sound = star_case(earthing="TT", breaks=())
    assert not [*live.metalwork(Moment(sound, settled(sound, pe=None), None, Condition()))]  # an intake has an electrode, whatever that has
    found = of(replace(sound, points=(Point("intake", "board"),)), None)
    assert (found.rank, found.value, found.yardstick.edge, found.facts["cause"], found.facts["floats"]) == (Rank.DANGER, None, "reference", "no electrode", True)
    crossed = replace(sound, crosses=(Cross("intake", ("N", "PE")),))
    assert (of(crossed, 1 + 0j).rank, of(crossed, 1 + 0j).facts["cause"], of(crossed, 1 + 0j).facts["ref"]) == (Rank.DANGER, "transposed", ("intake", "N", "PE"))


def test_a_core_above_its_knee_beside_a_capacitor():
    case = star_case(kind="transformer")
    now = at(case, 300.0)
    beside = replace(now, loads=(*now.loads[:2], replace(now.loads[2], reactive_power=-1.1)))
    of = lambda now: next(items.saturating(Moment(case, now, None, Condition()))).facts["capacitive"]
    assert (of(now), of(beside)) == (False, True)


def test_mended_in_between_is_told_as_two_spans():
    case, sound = star_case(), star_case(breaks=())
    part = lambda c, a, b: Moment(c, settled(c), settled(c), Condition("stage" if b < inf else "after", a, b))
    met = Incident(replace(sound, events=(Event(0.0, Break("intake", "N")), Event(9.0, Break("intake", "N", 0.0)))),
                   (part(case, 1.0, 3.0), part(case, 1.0, 3.0), part(case, 3.0, 4.0), part(sound, 4.0, 6.0), part(case, 6.0, 9.0), part(sound, 9.0, inf)))
    (told,) = settling.what_happened(met)
    assert told.facts["spans"] == ((1.0, 4.0), (6.0, 9.0)) and told.value == 6.0 and (told.condition.start, told.condition.end) == (1.0, 9.0)


# Devices, motors, fuses

@pytest.mark.parametrize(("operated", "answer", "agrees"), [
    (True, "would operate", True), (True, "may operate", None), (True, "would not operate", False), (True, "not known", None),
    (False, "would operate", False), (False, "may operate", None), (False, "would not operate", True), (False, "not known", None)])
def test_what_was_seen_of_a_device_beside_what_is_expected_of_it(monkeypatch, operated, answer, agrees):
    case = replace(star_case(), operated=(), observations=(Observation("intake", device="relay", operated=operated),))
    given = Installed("relay", "voltage relay", "intake", high=260.0)
    judged = SimpleNamespace(answer=answer, value=270.0, device=SimpleNamespace(kind="voltage to neutral", threshold=Threshold(260.0, 260.0, "V", 0.5)))
    expected = SimpleNamespace(installed=given, judged=judged, start=3.0, lasts=4.0, supply=None, overvoltage=None)
    monkeypatch.setattr(installed, "expected_of_devices", lambda case, moments: (expected,))
    monkeypatch.setattr(installed, "all_observations", lambda case: case.observations)
    device, seen = installed.devices(Incident(case, (None,)))
    assert (device.condition.stage, device.condition.start, device.condition.end) == ("stage", 3.0, 7.0) and device.facts["within"] == 0.5
    assert device.rank is (Rank.WARNING if answer == "would operate" else Rank.NOTE)
    assert device.yardstick.edge == ("reference" if answer in ("would not operate", "not known") else "high") and device.yardstick.value == 260.0
    assert (seen.facts["agrees"], seen.rank) == (agrees, Rank.WARNING if agrees is False else Rank.NOTE)
    (alone,) = installed.devices(Incident(case, ()))
    assert alone.facts["agrees"] is None  # of what never stood nothing is expected


@pytest.mark.parametrize(("change", "warn", "edge"), [
    ({}, False, "low"), ({"supply": 40.0}, True, "low"), ({"overvoltage": 300.0}, True, "low"), ({"lasts": inf}, False, "low")])
def test_what_a_device_that_watches_for_a_fall_is_told_by(monkeypatch, change, warn, edge):
    judged = SimpleNamespace(answer="may operate", value=190.0, device=SimpleNamespace(kind="x", threshold=Threshold(200.0, 180.0, "V", 0.0)))
    keys = {"installed": Installed("relay", "voltage relay", "intake"), "judged": judged, "start": 1.0, "lasts": 2.0, "supply": None, "overvoltage": None}
    monkeypatch.setattr(installed, "expected_of_devices", lambda case, moments: (SimpleNamespace(**keys | change),))
    (told,) = installed.devices(Incident(star_case(), (None,)))
    assert (told.rank is Rank.WARNING, told.yardstick.edge, told.yardstick.source) == (warn, edge, "as the case gives it")
    assert told.facts["within"] is None and told.condition.stage == ("after" if "lasts" in change else "stage")


def test_a_lost_high_voltage_fuse_needs_two_lines_to_be_told_by():
    case = replace(star_case(phasors={"L1": 230 + 0j}, breaks=(Break("supply", "L1", inf, "fuse"),)))
    assert list(installed.high_voltage_fuse(Moment(case, settled(case), None, Condition()))) == []
    case = star_case(breaks=(Break("supply", "L2", inf, "fuse"),))
    now = settled(case)
    now = replace(now, nodes=now.nodes | {("intake", "L1"): 100 + 0j, ("intake", "L2"): 40 + 0j, ("intake", "L3"): -90 + 0j})
    (told,) = installed.high_voltage_fuse(Moment(case, now, None, Condition()))
    assert (told.value, told.about.name, told.facts["highest"], told.facts["lines"]) == (60.0, "L1-L2", 100.0, ("L2",))


def test_what_a_motor_takes_from_each_line_is_measured_to_their_middle():
    # independent: three wattmeters with a common point give the whole power, of each its own to the middle of the three lines
    load = replace(star_case().loads[0], connect=("L1", "L2", "L3"))
    volts, amps = {"L1": 250 + 0j, "L2": -80 - 170j, "L3": -70 + 230j}, {"L1": 5 - 2j, "L2": -4 - 3j}
    amps["L3"] = -sum(amps.values())
    solution = SimpleNamespace(nodes={("intake", line): v for line, v in volts.items()})
    found = items._fed_by(solution, load, SimpleNamespace(currents=amps))
    middle = sum(volts.values()) / 3
    assert found == pytest.approx({line: ((volts[line] - middle) * amps[line].conjugate()).real for line in volts})
    assert sum(found.values()) == pytest.approx(sum((volts[line] * amps[line].conjugate()).real for line in volts))


def test_light_and_power_are_those_at_the_voltage_that_decides():
    case = star_case(kind="heater")
    early, late = (Moment(case, at(case, v), settled(case), Condition("stage" if v > 300 else "after")) for v in (330.0, 200.0))
    met = Incident(case, (early, late))
    ratio = {v: next(items.items(met, (Verdict("on L1", "dim", v, v / 230),))).facts["power"] for v in (330.0, 200.0)}
    assert ratio == pytest.approx({330.0: 330**2 / 529, 200.0: 200**2 / 529})
    (told,) = items.items(met, (Verdict("on L1", "dim", 250.0, 250 / 230),))
    assert "power" not in told.facts  # at no moment


def motor_on(amps, power=3000.0, ratio=1.0, negative=6.9):
    """A motor on lines of 230 V that takes `amps` from L1, L2 and L3; 3 % negative sequence."""
    case = star_case(kind="motor", parameters={"power": 4000.0})
    load = replace(case.loads[0], connect=("L1", "L2", "L3"), voltage=230.0 * 3**0.5)
    case = replace(case, loads=(load,))
    now = settled(star_case())
    told = {"positive_sequence": 230.0, "negative_sequence": negative, "stalled": False, "current_ratio": ratio}
    unit = {line: u / abs(u) for line, u in case.supply.phasors.items()}
    seen = replace(now.loads[0], connect=load.connect, power=power, voltage=230 * 3**0.5 + 0j, details=told,
                   currents={line: a * unit[line] for (line, _), a in zip(unit.items(), amps)})
    return list(items.unequal_lines(Moment(case, replace(now, loads=(seen,)), None, Condition())))


def test_a_line_that_feeds_a_motor_no_longer_is_lost():
    # 2 % of 3000 W are 60 W, 0.261 A at 230 V; the lines stand at 230 V to the neutral
    assert [motor_on((a, 6.5, 6.5))[0].facts["lost"] for a in (0.25, 0.27)] == ["L1", None]
    assert motor_on((6.5, -1.0, 6.5))[0].facts["lost"] == "L2"  # it gives some back
    assert (motor_on((0.1, 6.5, 6.5))[0].facts["held"], motor_on((4.0, 4.0, 4.0))[0].facts["held"]) == (pytest.approx(230.0), None)


def test_a_relay_of_a_motor_is_told_with_its_time_if_it_acts():
    # published (data file `machine`): a relay operates from 1.2 of its rated current on, at 1.5 within 240 s, at 7.2 within 10 s
    told = {r: motor_on((4.0, 4.0, 4.0), ratio=r, negative=80.0)[0].facts for r in (1.0, 1.19, 1.21)}
    assert told[1.0]["relay"] is told[1.19]["relay"] is None and 10 <= told[1.21]["relay"] <= 240 and told[1.21]["current"] == 1.21
    assert motor_on((4.0, 4.0, 4.0), ratio=1.21)[0].facts["relay"] is None  # it would not be by the sequences that are told


def test_sources_beyond_the_triangle_are_named():
    case = star_case()
    now = at(case, 420.0)
    now = replace(now, loads=(now.loads[0], replace(now.loads[1], power=-5.0), replace(now.loads[2], power=None)))
    (told,) = lines.beyond_triangle(Moment(case, now, None, Condition()))
    assert told.facts["sources"] == ("on L2",)


def test_what_stands_beside_a_line_outside_its_band():
    of = lambda volts, **more: next(c for c in lines.outside_band(Moment(star_case(**more), at(star_case(**more), volts), None, Condition())) if c.about.name == "L1")
    high, low = of(300.0), of(100.0)
    assert (high.facts["to_earth"], high.facts["ratio"], high.facts["outer"]) == (pytest.approx(230.0), pytest.approx(300 / 230), None)
    assert low.facts["outer"] == pytest.approx(195.5) and of(100.0, limits="IEC 60038").facts["outer"] is None  # published: −15 % for all values


@pytest.mark.parametrize(("volts", "acts"), [(100.0, False), (250.0, False), (256.0, True), (300.0, True)])
def test_an_overvoltage_device_of_any_installation(volts, acts):  # memory: EN 50550, never at 255 V, from 275 V on within 15 s
    case = star_case()
    found = list(protective.overvoltage_device_acts(Moment(case, at(case, volts) if volts > 230 else settled(case), None, Condition())))
    assert [(c.facts["acts"], c.yardstick.edge) for c in found] == [(acts, "high" if acts else "reference")]
    assert not list(protective.overvoltage_device_acts(Moment(star_case(breaks=()), at(case, volts), None, Condition())))


def test_light_is_told_beside_what_it_was_before():
    case = star_case()
    before = settled(case)
    before = replace(before, loads=(replace(before.loads[0], details={"light": 0.8}), replace(before.loads[1], details={"light": 0.5}), before.loads[2]))
    now = at(case, 250.0)
    for b, usual in ((before, 0.8), (None, 1.0), (replace(before, loads=(replace(before.loads[0], details={}), *before.loads[1:])), 1.0)):
        told = next(items.items(Incident(case, (Moment(case, now, b, Condition()),)), (Verdict("on L1", "unharmed", 250.0, 250 / 230),)))
        assert told.facts["light"] == pytest.approx((250 / 230) ** 3.4 / usual) and told.facts["lit_before"] == (usual == 0.8)
    dark = replace(before, loads=(replace(before.loads[0], details={"light": 1e-29}), *before.loads[1:]))  # at a thousandth of its voltage
    told = next(items.items(Incident(case, (Moment(case, now, dark, Condition()),)), (Verdict("on L1", "unharmed", 250.0, 250 / 230),)))
    assert told.facts["light"] == pytest.approx((250 / 230) ** 3.4) and not told.facts["lit_before"]


# Readings of what floats, and of one time

def read_of(floats, volts, impedance=None, state_=None, readings=()):
    """The claim on a reading of L1-N in a case whose neutral floats in the first of two possible states (`floats`), or in both or none."""
    details = {k: v for k, v in {"impedance": impedance, "state": state_}.items() if v is not None}
    case = replace(star_case(), observations=(Observation("intake", ("L1", "N"), volts, 5.0, details=details),))
    found = [settled(case, None if floating else 0j) for floating in floats]
    moments = tuple(Moment(case, s, settled(case), Condition("after", possible=len(found))) for s in found)
    (claim,) = observations(Incident(case, moments), (), readings, found[0] if state_ else settled(case))
    return claim.facts["agrees"], claim.span, claim.value, claim.facts["floats"], claim.facts["loaded"]


SHOWN = (Reading("intake", ("N", "L1"), True, 200.0, 40.0, ""), Reading("intake", ("L1", "N"), False, 999.0, 999.0, ""),
         Reading("intake", ("L1", "PE"), True, 888.0, 888.0, ""), Reading("next", ("L1", "N"), True, 777.0, 777.0, ""))


def test_a_reading_on_what_floats_is_held_against_what_its_meter_would_show():
    # documented: up to 1 MΩ an instrument loads what it reads; by one that does not anything may be read that lies between the potentials around
    # what floats, whichever it couples to, and not only what even capacitances would give: the neutral may be at another line, √3 × 230 V from L1
    assert read_of([True], 40.0, 9e5, readings=SHOWN) == (True, (40.0, 40.0), 40.0, True, True)
    assert read_of([True], 100.0, 9e5, readings=SHOWN)[0] is False
    agrees, (low, high), value, *rest = read_of([True], 100.0, 1e6, readings=SHOWN)
    assert (agrees, low, rest) == (True, 0.0, [True, False]) and high == value == pytest.approx(3**0.5 * 230, abs=0.1)
    assert read_of([True], 409.0, None, readings=SHOWN)[0] is False and read_of([True], 408.0, None, readings=SHOWN)[0] is True
    assert read_of([True], 300.0, None, "before")[0] is True  # before the fault as well
    assert read_of([True, False], 230.0, 9e5, readings=SHOWN) == (True, (40.0, 230.0), 230.0, True, True)
    assert read_of([False], 230.0, 9e5, readings=SHOWN) == (True, (230.0, 230.0), 230.0, False, True)
    assert read_of([True], 230.0, 9e5) == (None, None, None, True, True)  # nothing says what it would show
    assert read_of([True], 40.0, 9e5, "before", SHOWN) == (None, None, None, True, True)  # those are of the fault


def test_an_observation_of_a_time_is_of_its_stage_where_the_course_was_followed():
    case = replace(star_case(), observations=(Observation("intake", ("L1", "N"), 300.0, 2.0, details={"time": 5.0}),))
    moments = (Moment(case, at(case, 300.0), settled(case), Condition("stage", 0.0, 5.0)), Moment(case, at(case, 290.0), settled(case), Condition("stage", 5.0, 9.0)),
               Moment(case, at(case, 280.0), settled(case), Condition("after", 9.0, inf)))
    of = lambda courses, case=case: next(observations(Incident(case, moments, courses=courses), (), (), settled(case))).value
    assert of(object()) == pytest.approx(290.0) and of(None) == pytest.approx(280.0)
    late = replace(case, observations=(replace(case.observations[0], details={}),))
    assert of(object(), late) == pytest.approx(280.0)
    early = replace(case, observations=(replace(case.observations[0], details={"time": -1.0}),))
    assert of(object(), early) == pytest.approx(280.0)  # of no stage: the end


@pytest.mark.parametrize(("word", "volts", "on", "agrees"), [  # words of the data file `where`: 1.02, 0.98, within 0.03, 0.3
    ("brighter", 236.0, True, True), ("brighter", 233.0, True, False), ("dimmer", 224.0, True, True), ("dimmer", 227.0, True, False), ("unchanged", 236.0, True, True),
    ("unchanged", 224.0, True, True), ("unchanged", 238.0, True, False), ("off", 68.0, True, True), ("off", 70.0, True, False), ("off", 230.0, False, True),
    ("brighter", 300.0, False, False)])
def test_light_that_was_seen_beside_what_is_calculated(word, volts, on, agrees):
    case = replace(star_case(), observations=(Observation(load="on L1", seen=word),))
    case = replace(case, loads=(replace(case.loads[0], on=on), *case.loads[1:]))
    told = Verdict("on L1", "dim", volts, volts / 230)
    now = Moment(case, at(case, volts), settled(case), Condition())
    (claim,) = observations(Incident(case, (now,)), (told,), (), settled(case))
    assert claim.facts["agrees"] is agrees and claim.value == pytest.approx(volts)
    two = (now, Moment(case, at(case, 230.0 if word != "unchanged" else 300.0), settled(case), Condition()))
    if agrees and on:
        assert next(observations(Incident(case, two), (told,), (), settled(case))).facts["agrees"] is None  # the possible states differ
    assert next(observations(Incident(case, (now,)), (told,), (), None)).facts["agrees"] is None


# Whether it settles, and what stands in for pulses

def settling_of(*solutions, before=True, **more):
    case = star_case()
    sound = state(*([settled(case)] if before else []), name="before", reason="" if before else "a dead short")
    return [(c.facts["found"], c.rank, c.value, c.condition.stage) for c in settling.settled_states(case, sound, state(*solutions, **more))]


def test_what_is_known_of_the_settled_states():
    case = star_case()
    some = lambda *flags: [settled(case, 10.0 * n + 0j, reached=reached, attracting=attracting) for n, (reached, attracting) in enumerate(flags)]
    assert settling_of(*some((True, True))) == [] and settling_of(*some((True, True), (False, False))) == []
    assert settling_of() == [("none", Rank.WARNING, 0.0, "after")]
    assert settling_of(*some((False, False), (False, False))) == [("none holds", Rank.WARNING, 0.0, "after")]
    assert settling_of(*some((False, True))) == [("not tested", Rank.WARNING, 1.0, "after")]
    assert settling_of(*some((False, True), (False, True))) == [("several", Rank.WARNING, 2.0, "after")]
    assert settling_of(*some((True, True), (False, True))) == [("one of several", Rank.NOTE, 2.0, "after")]
    assert settling_of(*some((False, True)), ends="cycle") == [("keeps changing", Rank.WARNING, 1.0, "after")]
    assert settling_of(*some((True, True)), before=False) == [("none before", Rank.WARNING, None, "before")]
    cycle = {"period": 7.0, "restarts": ({"load": "b", "met": {"a": 250.0, "b": 300.0}}, {"load": "a", "met": {"a": 310.0}}, {"load": "b", "met": {}})}
    (told,) = settling.settled_states(case, state(settled(case), name="before"), state(cycle=cycle, ends="cycle"))
    assert (told.value, told.unit, told.facts["loads"], told.facts["met"]) == (7.0, "s", ("b", "a"), 310.0)
    (never,) = settling.settled_states(case, state(settled(case), name="before"), state(cycle={"period": 7.0, "restarts": ()}, ends="cycle"))
    assert never.facts["met"] is None


def test_rectifiers_that_share_the_broken_neutral():
    case = star_case(kind="electronic", parameters={"power": 60.0, "front_end": "rectifier"})
    a, b, c = case.loads
    of = lambda *loads: [claim.facts["items"] for claim in settling.rectifiers(replace(case, loads=loads))]
    assert of(a, replace(b, on=False), replace(c, connect=("L1", "L2"))) == [("on L1",)] and of(replace(b, on=False), replace(c, connect=("L1", "L2"))) == []
    assert list(settling.rectifiers(replace(case, breaks=(Break("intake", "L1"),)))) == []
    assert list(settling.not_followed(Incident(case, ()), "")) == [] and next(settling.not_followed(Incident(case, ()), "x")).facts["why"] == "x"


def test_supplies_of_which_something_is_assumed():
    case = star_case(kind="electronic", parameters={"power": 60.0, "front_end": "rectifier"})
    load = case.loads[0]
    given = lambda **more: replace(load, parameters=load.parameters | more)
    told = of_waves._assumed
    assert told([given(capacitance=1e-4), load]).startswith("capacitance and inlet resistance assumed")
    assert told([given(capacitance=1e-4)]).startswith("inlet resistance assumed") and told([given(capacitance=1e-4, inlet_resistance=3.0)]) == "as good as the values given"
    phases = {("intake", "L1"): None}
    undecided, fine = (list(of_waves.waves(star_case(breaks=()), SimpleNamespace(before=None, after=SimpleNamespace(phases=phases, loads=(), ends=ends))))
                       for ends in ("undecided", "settled"))
    assert [c.facts["why"] for c in undecided] == ["waveforms undecided"] and fine == []


@pytest.mark.parametrize(("ratio", "given", "answers"), [
    # 0.6 of rated, ends 0.498 and 0.648
    (0.55, False, ("stalls", "runs", "stalls")), (0.64, False, ("runs", "runs", "stalls")), (0.7, False, ("runs",) * 3), (0.45, False, ("stalls",) * 3), (1.0, False, None), (None, False, None), (0.55, True, None)])
def test_a_motor_that_stalls_by_a_figure_that_was_not_checked(ratio, given, answers):
    case = star_case(kind="motor", parameters={"power": 400.0} | ({"stalls_below": 0.6} if given else {}))
    claim = Claim(Kind.ITEM, About("item", "on L1"), Rank.NOTE, facts={"verdict": Verdict("on L1", "dim", ratio=ratio)})
    (made,) = with_unverified((claim,), case)
    assert [u.answers for u in made.unverified] == ([answers] if answers else [])
    if answers:
        (figure,) = made.unverified
        assert figure.value == 0.6 and figure.ends == pytest.approx((0.498, 0.648)) and figure.decides is (0.498 < ratio < 0.648)


def test_an_item_rests_on_its_law_and_only_chargers_have_a_device_for_an_open_pen():
    case = star_case(earthing="TN-C-S")
    met = Incident(case, (Moment(case, at(case, 300.0, pe=80 + 0j), settled(case), Condition()),))
    because = lambda basis: next(items.items(met, (Verdict("on L1", "dim", 300.0, 300 / 230, basis=basis),))).because
    assert because("a law") == "a law" and because("") == AS_GIVEN
    assert list(protective.open_pen_devices(met)) == []


@pytest.mark.parametrize(("volts", "told"), [(0.99, 0), (1.05, 1)])
def test_what_meters_show_is_told_from_a_volt_on(volts, told):
    wave = SimpleNamespace(rms=volts, average_reading=1.5 * volts, crest=2.0 * volts)
    assert len(list(of_waves._meters(SimpleNamespace(phases={("intake", "L1"): wave, ("intake", "L2"): None})))) == told
