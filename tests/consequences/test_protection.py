"""Protective devices: every vertex of the published curves, and the rule between them."""

from dataclasses import replace
from math import inf, sqrt

import pytest
from handmade_star import about, find, settled, star_case, state, three_phase
from hypothesis import given, settings
from hypothesis import strategies as st

from lostneutral.consequences.harm import harms
from lostneutral.consequences.protection import iti_limits, iti_position, overvoltage_device, protections, surge_device
from lostneutral.data import KNOWN

# Overvoltage device. Published: EN 50550, the four points and 255 V (3 s at 275 V and 0.2 s at 400 V read in a
# secondary source, the rest from memory)

@pytest.mark.parametrize(("volts", "earliest", "latest"), [(275, 3, 15), (300, 1, 5), (350, 0.25, 0.75), (400, 0.07, 0.2)])
def test_overvoltage_device_at_every_vertex(volts, earliest, latest):
    acts = overvoltage_device(float(volts))
    assert (acts.earliest, acts.latest) == (earliest, latest)
    assert acts.known == KNOWN["M"]  # one of the two figures of every vertex is from memory


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

@pytest.mark.parametrize(("seconds", "upper"), [
    (0.0001667, 5.0), (0.001, 2.0), (0.003, 1.4), (0.0030001, 1.2), (0.5, 1.2), (0.50001, 1.1), (3600.0, 1.1), (inf, 1.1)])
def test_iti_upper_vertices(seconds, upper):
    assert iti_limits(seconds)[1] == pytest.approx(upper, rel=1e-9)


@pytest.mark.parametrize(("seconds", "lower"), [
    (0.01, 0.0), (0.02, 0.0), (0.020001, 0.7), (0.5, 0.7), (0.50001, 0.8), (10.0, 0.8), (10.001, 0.9), (inf, 0.9)])
def test_iti_lower_vertices(seconds, lower):
    assert iti_limits(seconds)[0] == lower


def test_iti_slopes_are_straight_on_logarithmic_axes():  # arithmetic: geometric middles of both axes
    assert iti_limits(sqrt(0.001 * 0.003))[1] == pytest.approx(sqrt(2.0 * 1.4))


def test_iti_edges_for_a_lasting_voltage():  # published derivation: 207 and 253 V on 230 V, 108 and 132 V on 120 V
    for nominal, low, high in ((230.0, 207.0, 253.0), (120.0, 108.0, 132.0)):
        assert [iti_position(v / nominal) for v in (low - 0.1, low, high, high + 0.1)] == ["below", "within", "within", "above"]
    assert iti_position(1.15, 0.4) == "within"  # 120 % for half a second


# Surge devices. Published: IEC 61643-11 Table B.1 (factors and seconds read in data sheets), Uref 255 and 132 V

@pytest.mark.parametrize(("nominal", "volts", "verdict", "seconds"), [
    (230.0, 275.0, "within its rating", inf), (230.0, 275.1, "above its rating", 5.0),
    (230.0, 336.6, "above its rating", 5.0), (230.0, 336.7, "above its rating", 7200.0),
    (230.0, 441.7, "above its rating", 7200.0), (230.0, 441.8, "above every test", 0.0),
    (120.0, 132.0, "within its rating", inf), (120.0, 174.2, "above its rating", 5.0),
    (120.0, 174.3, "above its rating", 7200.0), (120.0, 228.6, "above its rating", 7200.0),
    (120.0, 228.7, "above every test", 0.0)])
def test_surge_device_at_every_test(nominal, volts, verdict, seconds):
    found = surge_device(volts, nominal)
    assert (found.verdict, found.seconds) == (verdict, seconds)


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
    assert not about(find(case, settled(case, 60 + 0j)), "overvoltage device")


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


def test_findings_on_devices():
    case = star_case()
    found = find(case, settled(case, 100 + 0j))
    assert "would open 1 to 15 seconds after" in about(found, "overvoltage device")[0].message
    assert "It protects nothing here" in about(found, "surge protective devices", "damage")[0].message
    iti = about(found, "ITI curve")[0]
    assert "120 V 60 Hz" in iti.message and iti.sure == "indicative"
    quiet = find(case, settled(case, 5 + 0j))
    assert "would not act" in about(quiet, "overvoltage device")[0].message
    assert not about(quiet, "surge protective devices") and not about(quiet, "ITI curve")
