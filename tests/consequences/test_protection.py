"""Protective devices: every vertex of the published curves, and the rule between them."""

from dataclasses import replace
from math import inf, sqrt

import pytest
from handmade_star import find, of_kind, only, settled, star_case, state, three_phase
from hypothesis import given, settings
from hypothesis import strategies as st

from lostneutral.claims.model import Kind, Rank
from lostneutral.consequences.harm import harms
from lostneutral.consequences.protection import iti_limits, iti_position, overvoltage_device, protections, surge_device
from lostneutral.data import KNOWN
from lostneutral.words.english import said

# Overvoltage device. Published: EN 50550, the four points and 255 V (3 s at 275 V and 0.2 s at 400 V read in a
# secondary source, the rest from memory)


@pytest.mark.parametrize("volts", [0.0, 230.0, 253.0, 255.0])
def test_overvoltage_device_never_acts_up_to_255_v(volts):
    assert overvoltage_device(volts) is None


@pytest.mark.parametrize(("volts", "earliest", "latest"), [
    # chosen rule between vertices a < u < b: non-actuation time at b, break time at a
    (256.0, 3, inf), (274.0, 3, inf), (290.0, 1, 15), (320.0, 0.25, 5), (399.0, 0.07, 0.75), (450.0, 0.0, 0.2)])
def test_overvoltage_device_between_the_vertices(volts, earliest, latest):
    acts = overvoltage_device(volts)
    assert (acts.earliest, acts.latest) == (earliest, latest)


@given(volts=st.floats(256.0, 500.0), more=st.floats(0.0, 100.0))
@settings(max_examples=60, derandomize=True)
def test_overvoltage_device_is_never_slower_at_a_higher_voltage(volts, more):  # invariant
    first, second = overvoltage_device(volts), overvoltage_device(volts + more)
    assert second.earliest <= first.earliest and second.latest <= first.latest and first.earliest < first.latest


# ITI curve. Published: every vertex (read in a secondary source; the slope from 1 to 3 ms from memory)


def test_iti_slopes_are_straight_on_logarithmic_axes():  # arithmetic: geometric middles of both axes
    assert iti_limits(sqrt(0.001 * 0.003))[1] == pytest.approx(sqrt(2.0 * 1.4))


def test_iti_edges_for_a_lasting_voltage():  # published derivation: 207 and 253 V on 230 V, 108 and 132 V on 120 V
    for nominal, low, high in ((230.0, 207.0, 253.0), (120.0, 108.0, 132.0)):
        assert [iti_position(v / nominal) for v in (low - 0.1, low, high, high + 0.1)] == ["below", "within", "within", "above"]
    assert iti_position(1.15, 0.4) == "within"  # 120 % for half a second


# Surge devices. Published: IEC 61643-11 Table B.1 (factors and seconds read in data sheets), Uref 255 and 132 V


def test_surge_device_says_nothing_of_other_systems():
    assert surge_device(300.0, 277.0) is None


def test_surge_device_carries_that_its_factors_were_read_in_a_secondary_source():
    assert surge_device(300.0, 230.0).known == KNOWN["2"]


# The whole installation

def test_protections_of_every_line():
    case = star_case()
    one, two, three = protections(case, settled(case, 100 + 0j))  # 130, 293.1, 293.1 V
    assert (one.device, one.iti, one.surge.verdict) == (None, "below", "within its rating")
    assert (two.device.earliest, two.device.latest, two.iti) == (1.0, 15.0, "above")
    assert two.voltage == pytest.approx(three.voltage) and two.line == "L2"


def test_a_floating_line_has_no_protection_to_judge():
    case = star_case()
    assert protections(case, settled(case, None)) == ()


def test_the_device_is_for_230_v_only():
    case = star_case(phasors=three_phase(120.0), nominal=120.0)
    found = protections(case, settled(case, 60 + 0j))
    assert all(p.device is None for p in found)
    assert not of_kind(find(case, settled(case, 60 + 0j)), Kind.OVERVOLTAGE_DEVICE)


def acted(shift, **keys):
    case = star_case(**keys)
    return {h.load: h for h in harms(case, state(settled(case), name="before"), state(settled(case, shift)))}


def test_whether_a_device_acts_before_a_load_fails():
    lamps = acted(100 + 0j)  # 293 V: opens within 15 s; the lamps last days
    assert lamps["on L2"].protected == "yes" and lamps["on L1"].protected == ""
    discs = acted(-170 + 0j, kind="varistor", parameters={"rating": 275.0})  # 400 V: 0.07 to 0.2 s
    assert discs["on L1"].protected in ("perhaps", "no") and discs["on L1"].central < 2
    slow = acted(-33 + 0j, parameters={"power": 100.0, "technology": "incandescent"})  # 263 V: no latest time
    assert slow["on L1"].fails and slow["on L1"].protected == "perhaps"


def test_a_load_between_lines_is_not_the_device_s_business():
    case = star_case(kind="lamp")
    loads = (replace(case.loads[0], connect=("L1", "L2"), voltage=100.0), *case.loads[1:])
    found = harms(replace(case, loads=loads), state(settled(case)), state(settled(replace(case, loads=loads), 100 + 0j)))
    assert found[0].protected == ""


# Each device as a claim, with every answer it has. Arithmetic: L1 gets 230 V less the shift along its axis

@pytest.mark.parametrize(("volts", "acts", "earliest", "latest"), [
    (250.0, False, None, None), (255.0, False, None, None), (256.0, True, 3, inf), (275.0, True, 3, 15), (300.0, True, 1, 5),
    (350.0, True, 0.25, 0.75), (399.0, True, 0.07, 0.75), (400.0, True, 0.07, 0.2)])
def test_overvoltage_device_as_a_claim(volts, acts, earliest, latest):
    case = star_case()
    told = only(find(case, settled(case, 230.0 - volts)), Kind.OVERVOLTAGE_DEVICE)
    assert (told.rank, told.about.name, told.where) == (Rank.NOTE, "L1", ("intake",)) and told.value == pytest.approx(volts)
    assert (told.facts["acts"], told.facts["earliest"], told.facts["latest"]) == (acts, earliest, latest)
    # memory: EN 50550 acts at nothing up to 255 V
    assert (told.yardstick.value, told.yardstick.edge, told.yardstick.known) == (255.0, "high" if acts else "reference", KNOWN["M"])
    assert ("would not be expected to operate" in said(told, case).lead) is not acts
    assert ("need not at all" in said(told, case).lead) is (latest == inf)


@pytest.mark.parametrize(("nominal", "volts", "common", "seconds"), [
    (230.0, 275.0, None, None), (230.0, 276.0, 275.0, 5.0), (230.0, 336.0, 275.0, 5.0), (230.0, 337.0, 275.0, 7200.0),
    (230.0, 442.0, 275.0, 0.0), (120.0, 131.0, None, None), (120.0, 133.0, 132.0, 5.0), (120.0, 175.0, 132.0, 7200.0),
    (120.0, 230.0, 132.0, 0.0)])
def test_surge_device_as_a_claim(nominal, volts, common, seconds):  # published tests as above; 1.1 · 120 V
    case = star_case(phasors=three_phase(nominal), nominal=nominal)
    found = of_kind(find(case, settled(case, nominal - volts)), Kind.SURGE_DEVICES)
    if common is None:
        assert not found
        return
    (told,) = found
    assert (told.rank, told.about.name, told.facts["seconds"]) == (Rank.WARNING, "L1", seconds)
    assert told.value == pytest.approx(volts) and told.yardstick.value == pytest.approx(common) and told.yardstick.edge == "high"
    assert "It protects nothing here" in said(told, case).message


@pytest.mark.parametrize(("shift", "above", "below"), [(100 + 0j, ("L2", "L3"), ("L1",)), (-100 + 0j, ("L1",), ("L2", "L3")),
                                                       (5 + 0j, (), ())])
def test_iti_curve_as_a_claim(shift, above, below):
    # arithmetic: +100 V: 130 and twice 293.1 V; -100 V: 330 and twice 199.7 V, under 0.9 · 230 V
    case = star_case()
    found = {c.facts["side"]: c for c in of_kind(find(case, settled(case, shift)), Kind.ITI)}
    assert {side: c.facts["lines"] for side, c in found.items()} == {
        side: lines for side, lines in (("above", above), ("below", below)) if lines}
    for side, c in found.items():
        worst = {(100, "above"): 293.087, (100, "below"): 130.0, (-100, "above"): 330.0, (-100, "below"): 199.75}
        assert c.value == pytest.approx(worst[int(shift.real), side] / 230, abs=1e-4)
        assert (c.yardstick.value, c.yardstick.edge) == ((1.1, "high") if side == "above" else (0.9, "low"))
        assert c.confidence == "indicative" and c.rank is Rank.NOTE and "120 V 60 Hz" in said(c, case).message


@pytest.mark.parametrize(("milliamperes", "answer", "rank"), [
    (0.0, "would not operate", Rank.NOTE), (14.9, "would not operate", Rank.NOTE), (15.0, "would not operate", Rank.NOTE),
    (15.1, "may operate", Rank.NOTE), (29.9, "may operate", Rank.NOTE), (30.0, "would operate", Rank.WARNING),
    (400.0, "would operate", Rank.WARNING)])
def test_residual_current_device_as_a_claim(milliamperes, answer, rank):
    # memory: IEC 61008-1: operates from its rated residual current, 30 mA, on, not up to half of it
    case = star_case(earthing="TN-S")
    found = find(case, settled(case, -100 + 0j, neutral_current=-300 / 529 + 1e-3 * milliamperes))
    told = only(found, Kind.FAULT_DEVICES)
    assert (told.facts["answer"], told.rank) == (answer, rank) and told.value == pytest.approx(1e-3 * milliamperes, abs=1e-9)
    assert told.where == (() if answer == "would not operate" else ("intake",))
    assert (told.yardstick.value, told.yardstick.unit, told.yardstick.known) == (0.03, "A", KNOWN["M"])
    assert ("that is evidence" in said(told, case).message) is (answer == "would operate")


def test_a_residual_current_that_nothing_determines_is_not_judged():
    case = star_case(earthing="TN-S")
    told = only(find(case, settled(case, None)), Kind.FAULT_DEVICES)
    assert (told.value, told.facts["answer"], told.rank) == (None, "", Rank.NOTE)
    assert "cannot be said" in said(told, case).lead


def test_a_combined_conductor_has_no_residual_current_device():  # practice: none is fitted where N and PE are one
    case = star_case(earthing="TN-C")
    told = only(find(case, settled(case, -100 + 0j, neutral_current=1 + 0j)), Kind.FAULT_DEVICES)
    assert (told.value, told.where, told.rank, told.facts["judged"]) == (None, (), Rank.NOTE, 0)
    assert "No residual-current device is judged" in said(told, case).lead
