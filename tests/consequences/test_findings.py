"""Claims on settled states written by hand.

Figures are worked out here from the shift of the star point, not taken from the program's output.
"""

import re
from dataclasses import replace
from math import sqrt

import pytest
from handmade_star import TURN, concluded, find, judge, of_kind, only, settled, star_case, state, three_phase
from hypothesis import given, settings
from hypothesis import strategies as st

from lostneutral.case.model import Break, Load
from lostneutral.claims.model import Kind, Rank
from lostneutral.data import KNOWN
from lostneutral.words.english import said
from lostneutral.words.findings import findings

LINES = (Kind.LINE_ABOVE, Kind.LINE_BELOW, Kind.LINE_NONE)
STRESS = (Kind.INSULATION, Kind.BEYOND_TRIANGLE, Kind.TEMPORARY_OVERVOLTAGE)


# Lines against the supply band

def test_a_line_above_the_band_is_damage():
    # arithmetic: star point at +100 V on L1's axis: L1 130 V, L2 and L3 |115 + 100, 199.19| = 293.1 V
    case = star_case()
    found = find(case, settled(case, 100 + 0j))
    over = only(found, Kind.LINE_ABOVE, about="L2")
    assert (over.rank, over.where) == (Rank.DAMAGE, ("intake",)) and over.value == pytest.approx(293.09, abs=0.01)
    assert over.facts["ratio"] == pytest.approx(293.09 / 230, abs=1e-4) and "27 % above nominal" in said(over, case).lead
    limit = over.yardstick
    assert (limit.value, limit.unit, limit.known, limit.edge) == (253.0, "V", KNOWN["2"], "high")
    assert "EN 50160" in limit.source
    under = only(found, Kind.LINE_BELOW, about="L1")
    # ruling 25: the edge of normal operation decides; the outer one, -15 %, is named where it is passed too
    assert (under.rank, under.value, under.yardstick.value, under.yardstick.edge) == (Rank.WARNING, 130.0, 207.0, "low")
    assert under.facts["outer"] == pytest.approx(195.5) and "below the outer limit of 196 V" in said(under, case).message


def test_the_outer_limit_is_only_named_where_it_is_passed():  # arithmetic: 230 - 30 V lies between 195.5 and 207 V
    case = star_case()
    under = only(find(case, settled(case, 30 + 0j)), Kind.LINE_BELOW, about="L1")
    assert (under.value, under.yardstick.value) == (200.0, 207.0) and "outer" not in said(under, case).message


def test_a_line_without_voltage_to_the_neutral_is_still_live_to_earth():
    case = star_case()
    none = only(find(case, settled(case, 225 + 0j)), Kind.LINE_NONE, about="L1")
    assert (none.rank, none.value, none.facts["to_earth"]) == (Rank.WARNING, 5.0, 230.0)
    assert "STILL LIVE to earth" in said(none, case).lead and "dead" not in said(none, case).message


def test_a_line_within_the_band_is_no_claim():
    case = star_case()
    assert not of_kind(find(case, settled(case, 10 + 0j)), *LINES, about="L1")


def test_memory_is_carried_into_every_yardstick_of_a_band_from_memory():
    case = star_case(limits="BS 7671", kind="heater")
    found = find(case, settled(case, 100 + 0j))
    limits = [c.yardstick for c in found if c.yardstick and "Appendix 2" in c.yardstick.source]
    assert len(limits) == 6  # three lines and their three heaters
    assert {limit.known for limit in limits} == {KNOWN["M"]}


def test_a_voltage_outside_the_band_before_the_break_is_a_note():
    case = star_case(phasors=three_phase(260.0), nominal=230.0)
    early = only(find(case, settled(case, 0j)), Kind.LINE_BEFORE, about="L1")
    assert (early.rank, early.condition.stage, early.yardstick.value) == (Rank.NOTE, "before", 253.0)
    assert early.value == pytest.approx(260.0) and "already before the fault" in said(early, case).lead


# Stress of the whole installation

def test_stress_of_a_lost_neutral_is_held_against_root_three_times_nominal():
    case = star_case()
    stress = only(find(case, settled(case, 100 + 0j)), Kind.INSULATION)
    # within it, it decides nothing: a note
    assert (stress.rank, stress.facts["passed"], stress.yardstick.edge) == (Rank.NOTE, False, "reference")
    assert stress.value == pytest.approx(293.09, abs=0.01) and stress.yardstick.value == pytest.approx(sqrt(3) * 230)
    # the clause read in a secondary source, the factor arithmetic
    assert "442.3" in stress.yardstick.source and KNOWN["2"] in stress.yardstick.source and stress.yardstick.known == KNOWN["D"]
    split = star_case(phasors={"L1": 120 + 0j, "L2": -120 + 0j}, system="split-phase", nominal=120.0,
                      limits="ANSI C84.1 Range A service")
    stress = only(find(split, settled(split, 40 + 0j)), Kind.INSULATION, about="L2")
    assert (stress.value, stress.yardstick.value, stress.yardstick.known) == (160.0, 240.0, KNOWN["D"])


def test_outside_the_triangle_is_said_and_not_clamped():
    # memory: C. K. Alexander, M. N. O. Sadiku, Fundamentals of Electric Circuits, Example 12.10, neutral open:
    # 120 V, j5, 10 and −j10 ohm; I_a = 56.78 A and I_c = 42.75 A put 427.5 V on the capacitor (printed to 0.01 A: 0.1 V)
    case = star_case(phasors={"L1": 120 + 0j, "L2": 120 * TURN**2, "L3": 120 * TURN}, nominal=120.0)
    found = find(case, settled(case, 120 - 5j * 56.78))
    beyond = only(found, Kind.BEYOND_TRIANGLE)
    assert (beyond.rank, beyond.about.name, beyond.where) == (Rank.DAMAGE, "L3", ("intake",))
    assert beyond.value == pytest.approx(427.5, abs=0.1)
    assert beyond.yardstick.value == pytest.approx(207.846, abs=0.001) and beyond.yardstick.edge == "high"
    stress = only(found, Kind.INSULATION, about="L3")
    assert (stress.rank, stress.facts["passed"], stress.value) == (Rank.DAMAGE, True, beyond.value)


def test_on_the_corner_of_the_triangle_is_not_outside():  # invariant: line-to-line is the bound for resistances
    case = star_case()
    found = find(case, settled(case, 230 + 0j))
    assert not of_kind(found, Kind.BEYOND_TRIANGLE)
    assert only(found, Kind.INSULATION).rank is Rank.NOTE


def test_more_than_440_v_is_more_than_is_foreseen():  # secondary: EN 50160, 440 V; arithmetic: 230 + 215 and 230 + 205 V
    case = star_case()
    beyond = only(find(case, settled(case, -215 + 0j)), Kind.TEMPORARY_OVERVOLTAGE)
    assert (beyond.rank, beyond.about.name, beyond.value, beyond.yardstick.value) == (Rank.DAMAGE, "L1", 445.0, 440.0)
    assert not of_kind(find(case, settled(case, -205 + 0j)), Kind.TEMPORARY_OVERVOLTAGE)


# Items

def test_an_item_is_held_against_its_own_rating():
    case = star_case()
    case = replace(case, loads=(case.loads[0], replace(case.loads[1], voltage=400.0), case.loads[2]))
    found = find(case, settled(case, 100 + 0j))
    weak, hot = only(found, Kind.ITEM, about="on L2"), only(found, Kind.ITEM, about="on L3")
    assert weak.yardstick.value == pytest.approx(360.0) and weak.yardstick.edge == "low"  # arithmetic: 0.9 · 400 V
    assert weak.facts["below"] and not weak.facts["above"] and weak.rank is Rank.NOTE
    assert (hot.yardstick.value, hot.yardstick.edge, hot.rank) == (253.0, "high", Rank.DAMAGE) and hot.facts["above"]


def test_an_item_that_is_off_is_no_claim():
    case = star_case()
    case = replace(case, loads=(replace(case.loads[0], on=False), *case.loads[1:]))
    assert not of_kind(find(case, settled(case, 100 + 0j)), Kind.ITEM, about="on L1")
    assert judge(case, settled(case, 100 + 0j))["on L1"].outcome == "was off"


def test_items_within_limits_are_named():
    case = star_case()
    found = find(case, settled(case, 5 + 0j))
    assert {c.about.name for c in of_kind(found, Kind.ITEM)} == {"on L1", "on L2", "on L3"}
    told = [f for f in findings(found, case) if f.claims[0].kind is Kind.ITEM]
    assert sorted(c.about.name for f in told for c in f.claims) == ["on L1", "on L2", "on L3"]
    (fine,) = [f for f in told if f.claims[0].facts["verdict"].outcome == "unharmed"]
    assert "on L1" in fine.lead and "not expected to damage" in fine.lead


@pytest.mark.parametrize(("shift", "outcome"), [(-100 + 0j, "fails in hours"), (-20 + 0j, "shortened life"), (50 + 0j, "dim"),
                                                (229 + 0j, "does not run")])
def test_a_lamp_s_light_goes_with_its_verdict(shift, outcome):  # arithmetic: light by the power 3.4 put into the state by hand
    case = star_case()
    lamp = only(find(case, settled(case, shift)), Kind.ITEM, about="on L1")
    volts = abs(230 - shift)
    assert lamp.value == pytest.approx(volts) and lamp.facts["light"] == pytest.approx((volts / 230) ** 3.4, rel=1e-6)
    assert lamp.facts["verdict"].outcome == outcome
    assert f"{100 * (volts / 230) ** 3.4:.0f} % of that before" in said(lamp, case).message


def test_the_light_of_an_unchanged_lamp_is_not_told():
    case = star_case()
    lamp = only(find(case, settled(case, 1 + 0j)), Kind.ITEM, about="on L1")
    assert lamp.facts["light"] == pytest.approx((229 / 230) ** 3.4) and "light" not in said(lamp, case).message


def test_the_power_of_a_heater():
    case = star_case(kind="heater")
    hot = only(find(case, settled(case, -100 + 0j)), Kind.ITEM, about="on L1")
    assert hot.facts["power"] == pytest.approx(205.86, abs=0.01)  # arithmetic: 100 W · (330/230)²
    assert hot.facts["rated_power"] == 100.0 and "adjacent parts may overheat" in said(hot, case).message
    cold = only(find(case, settled(case, 100 + 0j)), Kind.ITEM, about="on L1")
    assert cold.facts["power"] == pytest.approx(31.95, abs=0.01)  # (130/230)²
    assert cold.rank is Rank.NOTE and "about 32 W instead of 100 W" in said(cold, case).message


@pytest.mark.parametrize(("shift", "rank"), [(-20 + 0j, None), (-60 + 0j, Rank.NOTE), (-130 + 0j, Rank.WARNING),
                                             (60 + 0j, Rank.NOTE), (130 + 0j, Rank.WARNING)])
def test_power_law_outside_its_measured_range(shift, rank):  # 0.85–1.15 measured; below 0.5, above 1.5 unreliable
    case = star_case(kind="exponential")
    found = of_kind(find(case, settled(case, shift)), Kind.EXTRAPOLATED, about="on L1")
    assert [c.rank for c in found] == ([] if rank is None else [rank])
    for c in found:
        assert c.value == pytest.approx(abs(230 - shift) / 230) and c.facts["far"] is (rank is Rank.WARNING)
        assert (c.yardstick.value, c.yardstick.edge) == ((1.15, "high") if c.value > 1 else (0.85, "low"))
        assert ("not to be relied on" in said(c, case).message) is c.facts["far"]


def test_power_law_range_given_in_the_case():
    case = star_case(kind="exponential", parameters={"power": 100.0, "valid_from": 0.7, "valid_to": 1.4})
    assert not of_kind(find(case, settled(case, -60 + 0j)), Kind.EXTRAPOLATED, about="on L1")


# Conductors

def test_heat_in_a_high_resistance_joint():
    case = star_case(breaks=(Break("intake", "N", 2.0),))
    hot = only(find(case, settled(case, 0j, neutral_current=5 + 0j), before=settled(case, neutral_current=6 + 0j)),
               Kind.JOINT_HEAT, about="N", where="intake")
    assert (hot.rank, hot.value, hot.unit) == (Rank.FIRE, 50.0, "W")  # arithmetic: 2 ohm · (5 A)²
    assert (hot.facts["ohms"], hot.facts["amps"], hot.facts["at_first"]) == (2.0, 5.0, 72.0)  # 2 ohm · (6 A)²
    assert (hot.yardstick.value, hot.yardstick.unit, hot.yardstick.edge) == (10.0, "W", "high")
    assert said(hot, case).lead.startswith("Fire risk: the high-resistance joint")
    warm = only(find(case, settled(case, 0j, neutral_current=1 + 0j), before=settled(case, neutral_current=1 + 0j)), Kind.JOINT_HEAT)
    assert (warm.rank, warm.value, warm.yardstick.edge) == (Rank.WARNING, 2.0, "reference")
    cool = only(find(case, settled(case, 0j, neutral_current=0.5 + 0j)), Kind.JOINT_HEAT)
    assert (cool.rank, cool.value) == (Rank.NOTE, 0.5)


def test_what_the_neutral_carried_before():
    case = star_case()
    carried = only(find(case, settled(case), before=settled(case, neutral_current=3 - 4j)), Kind.CARRIED, about="N", where="intake")
    assert (carried.rank, carried.value, carried.unit, carried.condition.stage) == (Rank.NOTE, 5.0, "A", "before")
    assert carried.facts["open"] and "interrupts this path" in said(carried, case).message


def test_devices_for_fault_currents_need_not_operate():
    case = star_case()
    # arithmetic: what three of 529 ohm take from a star point at -100 V comes back, 3 · 100 V / 529 ohm
    note = only(find(case, settled(case, -100 + 0j, neutral_current=-300 / 529)), Kind.FAULT_DEVICES)
    assert note.rank is Rank.NOTE and note.value == pytest.approx(0.0, abs=1e-12)
    assert (note.facts["answer"], note.where) == ("would not operate", ())
    assert note.facts["line_after"] == pytest.approx(330 / 529)  # arithmetic: 330 V / 529 ohm
    assert note.facts["line_before"] == pytest.approx(230 / 529)
    assert not of_kind(find(star_case(breaks=()), settled(case)), Kind.FAULT_DEVICES)


def test_voltage_drop_before():
    case = star_case()
    before = settled(case)
    before = replace(before, nodes=before.nodes | {("intake", "L2"): 224 * TURN**2})
    drop = only(find(case, settled(case), before=before), Kind.DROP_BEFORE, about="L2", where="intake")
    assert drop.rank is Rank.NOTE and drop.value == pytest.approx(6.0) and drop.facts["share"] == pytest.approx(6 / 230)
    assert "6.0 V (2.6 %" in said(drop, case).lead


def test_nothing_broken_is_said():
    case = star_case(breaks=())
    found = find(case, settled(case))
    assert only(found, Kind.NOTHING_BROKEN).rank is Rank.NOTE
    assert {c.rank for c in found} == {Rank.NOTE}


# Several settled states, and states that are missing

def mirrored(case, **more):
    return [settled(case, shift, reached=False, **more) for shift in (150 + 0j, 150 * TURN, 150 * TURN**2)]


def test_several_settled_states_are_said_and_counted():
    # arithmetic: |230 + 75, 75√3| = 331.5 V on the two other lines, 80 V on the line it moves towards
    case = star_case()
    found = find(case, *mirrored(case))
    states = only(found, Kind.SETTLING)
    assert (states.rank, states.facts["found"], states.value) == (Rank.WARNING, "several", 3.0)
    assert "the loads alone do not decide" in said(states, case).lead
    over, under = (only(found, kind, about="L1") for kind in (Kind.LINE_ABOVE, Kind.LINE_BELOW))
    assert over.value == pytest.approx(331.5, abs=0.05) and (over.condition.held, over.condition.possible) == (2, 3)
    assert "in 2 of 3 possible settled states" in said(over, case).lead
    assert under.value == pytest.approx(80.0) and (under.condition.held, under.condition.possible) == (1, 3)
    assert "loads alone do not decide" in over.because


def test_the_settled_state_arrived_at_is_the_one_that_counts():
    case = star_case()
    first, *others = mirrored(case)
    found = find(case, replace(first, reached=True), *others)
    assert not of_kind(found, Kind.LINE_ABOVE, about="L1")
    under = only(found, Kind.LINE_BELOW, about="L1")
    assert (under.condition.held, under.condition.possible) == (1, 1)
    states = only(found, Kind.SETTLING)
    assert (states.rank, states.facts["found"], states.value) == (Rank.NOTE, "one of several", 3.0)


def test_settled_states_that_do_not_attract_do_not_count_beside_those_that_do():
    case = star_case()
    found = find(case, settled(case, 0j, reached=False, attracting=False), *mirrored(case)[:1])
    under = only(found, Kind.LINE_BELOW, about="L1")
    assert under.value == pytest.approx(80.0) and under.condition.possible == 1
    assert "settled states" not in said(under, case).message
    # one that attracts, and not known to be arrived at: nothing is claimed of items but what the state is
    assert only(found, Kind.SETTLING).facts["found"] == "not tested"


@pytest.mark.parametrize(("more", "what", "words"), [
    ({"ends": "cycle", "reason": "restart"}, "keeps changing", "has no steady state"),
    ({"ends": "undecided"}, "none holds", "None of the settled states is stable")])
def test_a_circuit_that_does_not_settle_is_said(more, what, words):
    case = star_case()
    found = only(find(case, settled(case, 50 + 0j, reached=False, attracting=False), **more), Kind.SETTLING)
    assert (found.rank, found.facts["found"]) == (Rank.WARNING, what) and words in said(found, case).lead


def test_missing_states_are_said_and_break_nothing():
    case = star_case(earthing="TN-C-S", breaks=(Break("intake", "N", 2.0),))
    found, verdicts = concluded(case, state(name="before", reason="a dead short"), state(reason="nothing found"))
    states = of_kind(found, Kind.SETTLING)
    assert [(c.facts["found"], c.facts["reason"]) for c in states] == [("none", "nothing found"), ("none before", "a dead short")]
    assert all(c.rank is Rank.WARNING and c.facts["reason"] in said(c, case).message for c in states)
    assert {v.outcome for v in verdicts} == {"cannot be said"}


# Order and form

def test_claims_stand_from_danger_to_note_and_within_that_in_the_order_of_kinds():
    case = star_case(earthing="TN-C-S", kind="heater")
    case = replace(case, warnings=("electrode ignored",), breaks=(Break("intake", "N", 2.0),))
    found = find(case, settled(case, 100 + 0j, pe=90 + 0j, neutral_current=5 + 0j))
    order = list(Kind)
    assert [(c.rank, order.index(c.kind)) for c in found] == sorted((c.rank, order.index(c.kind)) for c in found)
    assert {c.rank for c in found} == set(Rank)
    assert only(found, Kind.READER).facts["text"] == "electrode ignored"
    assert [f.rank for f in findings(found, case)] == sorted(f.rank for f in findings(found, case))


SHIFTS = st.one_of(st.none(), st.complex_numbers(max_magnitude=500, allow_nan=False, allow_infinity=False))
CASES = st.builds(star_case, earthing=st.sampled_from([None, "TN-S", "TN-C-S", "TN-C", "TT"]),
                  kind=st.sampled_from(["lamp", "heater", "exponential", "resistive"]),
                  breaks=st.sampled_from([(), (Break("intake", "N"),), (Break("intake", "N", 0.5),)]))


@given(CASES, SHIFTS, SHIFTS)
@settings(max_examples=60, derandomize=True, deadline=None)
def test_every_finding_can_stand_alone(case, shift, pe):  # invariant
    for finding in findings(find(case, settled(case, shift, pe=pe)), case):
        assert finding.subject and finding.sure and finding.claims
        assert finding.lead.endswith(".") and finding.message.startswith(finding.lead) and finding.message.endswith(".")
        assert not re.search(r"\b(None|nan|inf)\b", finding.message)
        assert finding.limit is None or (finding.limit.source and finding.limit.known in KNOWN.values())


@given(CASES, SHIFTS, SHIFTS)
@settings(max_examples=60, derandomize=True, deadline=None)
def test_every_figure_has_its_quantity_and_lies_in_its_span(case, shift, pe):  # invariant
    for claim in find(case, settled(case, shift, pe=pe)):
        if claim.value is not None:
            assert claim.quantity
        if claim.span is not None:
            assert claim.span[0] <= claim.value <= claim.span[1]
        if claim.yardstick is not None and claim.value is not None:
            assert claim.yardstick.unit == claim.unit and claim.yardstick.edge in ("high", "low", "reference")


@given(CASES.filter(lambda c: c.breaks), st.complex_numbers(min_magnitude=0.01, max_magnitude=200), st.floats(1, 3))
@settings(max_examples=60, derandomize=True, deadline=None)
def test_further_from_the_middle_is_never_less_grave(case, shift, more):  # invariant
    def worst(at):
        return min(c.rank for c in find(case, settled(case, at, pe=at)))

    assert worst(shift * more) <= worst(shift)


@pytest.mark.thorough
@given(st.complex_numbers(min_magnitude=0.01, max_magnitude=200), st.floats(1, 3))
@settings(max_examples=60, derandomize=True, deadline=None)
@pytest.mark.parametrize("kinds", [LINES, STRESS, (Kind.ITEM,)], ids=["lines", "stress", "items"])
def test_lines_and_items_are_never_less_grave_further_out(kinds, shift, more):  # invariant
    case = star_case(limits="New Zealand")

    def worst(at):
        return min((c.rank for c in of_kind(find(case, settled(case, at)), *kinds)), default=Rank.NOTE)

    assert worst(shift * more) <= worst(shift)


def test_an_item_between_lines_is_untouched():  # practice: line-to-line loads do not see the lost neutral
    case = star_case()
    oven = Load("oven", "resistive", ("L1", "L2"), "intake", sqrt(3) * 230, parameters={"power": 100.0})
    after = settled(case, 100 + 0j)
    volts = case.supply.phasors["L1"] - case.supply.phasors["L2"]
    across = replace(after.loads[0], name="oven", connect=oven.connect, voltage=volts, ratio=abs(volts) / oven.voltage)
    before = settled(case)
    found = find(replace(case, loads=(*case.loads, oven)), replace(after, loads=(*after.loads, across)),
                 before=replace(before, loads=(*before.loads, across)))
    untouched = only(found, Kind.ITEM, about="oven")
    assert untouched.value == pytest.approx(sqrt(3) * 230) and untouched.facts["verdict"].outcome == "unharmed"
    assert untouched.yardstick is None and untouched.rank is Rank.NOTE
