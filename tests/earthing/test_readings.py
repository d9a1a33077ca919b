"""What instruments show: against circuits worked out by hand, and the traps of the trade."""

from math import pi

import pytest
from earth_cases import resistor, single, supply

from lostneutral import data
from lostneutral.case.model import Break, Case, Point
from lostneutral.studies.readings import readings

METERS = data.load("meters")


def table(case, loads_on=True):
    return {r.between: r for r in readings(case) if r.loads_on is loads_on}


def test_a_sound_supply_reads_the_same_on_both_instruments():  # practice
    found = table(single("TN-S", breaks=()))
    assert found["L1", "N"].high == pytest.approx(230.0, rel=1e-5) and found["L1", "N"].low == pytest.approx(230.0)
    assert found["L1", "L2"].high == pytest.approx(230 * 3**0.5, rel=1e-5)
    assert not any(r.warning for r in found.values())


def test_an_unconnected_neutral_at_no_load_reads_normal():
    """Negative control, practice; independent: three lines and PE couple alike, so that N stands at their middle."""
    case = Case("no load", supply("TN-S"), (Point("intake"),), (resistor("load", 23.0, on=False),),
                breaks=(Break("intake", "N"),))
    found = table(case)["L1", "N"]
    stray = 1 / (2 * pi * 50 * METERS["stray"]["value"] * METERS["stray"]["length"]) / 4
    def meter(ohms):
        return 230 * ohms / abs(ohms - 1j * stray)
    assert found.high == pytest.approx(meter(METERS["high"]["impedance"]), rel=1e-6)
    assert found.low == pytest.approx(meter(METERS["low"]["impedance"]), rel=1e-6)
    assert abs(found.high / 230 - 1) < 0.02 and found.low < 10
    assert "although the neutral is open" in found.warning


def test_single_phase_reads_half():  # practice: one line and PE couple alike
    case = Case("one line", supply("TN-S"), (Point("intake", phases=("L1",)),), (resistor("load", 23.0, on=False),),
                breaks=(Break("intake", "N"),))
    assert table(case)["L1", "N"].high == pytest.approx(115.0, rel=0.02)


def test_neutral_to_earth_terminal_deceives_behind_a_broken_pen():
    """Practice: both are one piece of metal there, and both stand at U0 RA / (RA + RB + Zload)."""
    found = table(single(own=20.0, source=2.0, ohms=23.0))
    assert found["N", "PE"].high == pytest.approx(0.0, abs=1e-9) and "ground" in found["N", "PE"].warning
    assert found["PE", "earth"].high == pytest.approx(230 * 20 / 45, rel=1e-4)
    off = table(single(own=20.0, source=2.0, ohms=23.0), loads_on=False)
    assert off["PE", "earth"].high == pytest.approx(0.0, abs=0.1)  # own load off: nothing drives it


def test_the_tester_loads_what_it_reads():  # independent: voltage divider of load and tester
    case = single("TN-S", ohms=5000.0)
    found = table(case)["L1", "N"]
    assert found.low < 2.0  # the load ties N to the line but for what the coupling draws
    assert table(case)["N", "PE"].high == pytest.approx(230 * 1e7 / (1e7 + 5e3), rel=2e-3)
    assert table(case)["N", "PE"].low == pytest.approx(115.0, rel=2e-3)
