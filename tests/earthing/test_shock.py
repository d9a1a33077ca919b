"""Body impedance, zones and times against their tables; the kind of each value stands beside it."""

import pytest

from lostneutral import data
from lostneutral.consequences import diverted, shock
from lostneutral.errors import UsageError


def test_editions_differ_and_carry_their_mark():
    tables = {t["name"]: t["known"] for t in data.load("touch")["body_impedance"]}
    assert tables == {"dry, 2005 and 2018": "2", "dry, 1984 and 1994": "2", "water-wet, 2005": "M"}
    # the zones' middle points are from memory, and the water-wet table is
    assert data.KNOWN["2"] in shock.marks() and shock.marks().count(data.KNOWN["M"]) == 1
    assert shock.marks("water-wet, 2005").count(data.KNOWN["M"]) == 2


def test_more_volts_more_current_and_never_into_a_lower_zone():  # invariant
    names = ["AC-1", "AC-2", "AC-3", "AC-4"]
    for edition in shock.editions():
        currents = [shock.body_current(u, edition=edition) for u in range(1, 400, 5)]
        assert currents == sorted(currents)
        zones = [names.index(shock.zone(i)) for i in currents]
        assert zones == sorted(zones)


def test_heart_current_factor_and_edition_move_the_zone():  # secondary (hand to hand 0.4), memory (10 mA in 1994)
    assert shock.zone(0.080, heart_factor="hand_to_hand") == "AC-3" and shock.zone(0.080) == "AC-4"
    assert shock.zone(0.008, edition="1994") == "AC-2" and shock.zone(0.008) == "AC-3"


def test_longest_time_of_a_touch_voltage():
    # published: France, arrêté of 25 October 1991, article 2 (as IEC TR 61200-413), and of 15 December 1988, article 2
    assert [shock.longest_time(u) for u in (50, 75, 120, 500)] == pytest.approx([5.0, 0.60, 0.34, 0.04])
    assert shock.longest_time(49.0) == float("inf")
    older = [shock.longest_time(u, "dry or damp places, older law") for u in (110, 150, 220)]
    assert older == pytest.approx([0.2, 0.1, 0.05])
    assert shock.longest_time(40.0, "wet places, older law") == pytest.approx(1.0)


def test_both_laws_are_printed_the_stricter_beside_the_other():
    dry, wet = shock.allowed(150.0), shock.allowed(40.0)
    assert "0.27 s" in dry and "0.1 s" in dry and "1991" in dry and "1988" in dry and "dry places" in dry
    assert "wet places" in wet and "1 s" in wet
    assert shock.allowed(20.0) == ""


def test_what_is_not_tabulated_is_refused():
    assert shock.disconnection_time(50, "TN") is None  # secondary: IEC 60364-4-41, Table 41.1, begins above 50 V
    for wrong in ({"edition": "1900"}, {"percentile": 42}, {"path": "nose"}):
        with pytest.raises(UsageError):
            shock.body_impedance(100.0, **wrong)


def test_heat_of_a_small_conductor():
    # Independent hand calculation: (143 · 4 / 100)² s, 143 for a separate conductor (IEC 60364-5-54, Table A.54.2,
    # secondary); 4.61e-3 ohm/m · 900 A² / (10 · π · 3.8568 mm).
    assert diverted.heating_time(100.0, 4.0) == pytest.approx(32.7184)
    assert diverted.steady_warming(30.0, 4.0) == pytest.approx(34.24, abs=0.01)
    assert diverted.steady_warming(60.0, 4.0) == pytest.approx(4 * diverted.steady_warming(30.0, 4.0))
