"""Devices for an open PEN at charging points: would they have opened? Kinds beside each test."""

import pytest

from lostneutral import analyse, parse_case
from lostneutral.claims.model import Kind, Rank

HOUSE = ('title = "House"\n[supply]\nearthing = "TN-C-S"\nelectrode = 1\n[[point]]\nname = "house"\nelectrode = {electrode}\n[[break]]\n'
         'conductor = "N"\nfeeding = "house"\n')
CAR = '[[load]]\nname = "Car"\nkind = "charger"\nconnect = "{connect}"\npower = {power}\ncapacitance = 0\n'


def told(electrode, loads, connect="L1-N", power=1):
    text = HOUSE.format(electrode=electrode) + CAR.format(connect=connect, power=power)
    text += "".join(f'[[load]]\nname = "{line} {watts}"\nkind = "resistive"\nconnect = "{line}-N"\npower = {watts}\n' for line, watts in loads)
    result = analyse(parse_case(text))
    return next(c for c in result.claims if c.kind is Kind.OPEN_PEN_DEVICE), result


def test_the_window_of_one_line_misses_what_a_touch_voltage_shows():
    """Published (a known limit of such devices): line to neutral stays within 207 to 253 V while the earth rises past 70 V.

    Closed form: 733 W on L1 and 1000 W on L2 put L1 at 398 × 1000 / 1733 = 230 V and the star point 119 V away.
    """
    claim, result = told(1e5, (("L1", 733), ("L2", 1000)))
    assert abs(result.after.reached.voltage("house", "L1")) == pytest.approx(229.9, abs=1.5)
    assert claim.value == pytest.approx(119.0, abs=2.0)
    assert claim.facts["touch"] == "would operate" and claim.facts["window"] == "would not operate"
    said = " ".join(f.message for f in result.findings)
    assert "would not open, at 229 V: it does not see the PEN" in said or "would not open, at 230 V: it does not see the PEN" in said


def test_a_low_electrode_keeps_the_touch_voltage_below_its_limit_and_the_window_sees_the_line():
    """Closed form: 3 kW on L1 alone, behind 17.6 ohm, on an electrode of 2 ohm: 230 × 2 / (17.6 + 2 + 1) = 22 V."""
    claim, result = told(2, (("L1", 3000),))
    assert claim.value == pytest.approx(230 * 2 / (230**2 / 3000 + 3), rel=0.01)
    assert claim.facts["touch"] == "would not operate"
    assert claim.facts["window"] == ("would operate" if abs(result.after.reached.voltage("house", "L1")) < 207 else "would not operate")


def test_where_neither_acts_on_a_dangerous_voltage_it_is_a_warning():
    """Closed form: 1000, 1400 and 500 W move the star point by 62 V, and L1 to 234 V: neither device has to act."""
    claim, _ = told(1e5, (("L1", 1000), ("L2", 1400), ("L3", 500)))
    assert claim.value == pytest.approx(62.0, abs=1.0) and claim.facts["lines"] == pytest.approx([234.0], abs=1.0)
    assert claim.facts["touch"] == claim.facts["window"] == "would not operate"
    assert claim.rank is Rank.WARNING and claim.facts["unseen"]


def test_of_a_three_phase_charger_the_worst_line_counts():
    """Invariant: one line out of the window is enough."""
    claim, result = told(1e5, (("L1", 1000), ("L2", 1600), ("L3", 1000)), "L1-L2-L3-N", 3)
    lines = [abs(result.after.reached.voltage("house", line)) for line in ("L1", "L2", "L3")]
    assert claim.facts["lines"] == pytest.approx(lines, rel=1e-6)
    assert (claim.facts["window"] == "would operate") == (min(lines) < 207 or max(lines) > 253)


def test_without_an_open_pen_nothing_is_said_of_it():
    """Invariant: in TN-S the neutral is no protective conductor."""
    text = HOUSE.format(electrode=10).replace("TN-C-S", "TN-S") + CAR.format(connect="L1-N", power=3680)
    assert not [c for c in analyse(parse_case(text)).claims if c.kind is Kind.OPEN_PEN_DEVICE]
