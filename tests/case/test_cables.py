"""Cable resistances: what is refused, both temperature formulas; the printed tables are checks of the data files."""

from math import isclose

import pytest

from lostneutral.case import cables


def test_shared_columns():
    assert cables.resistance(10, 16, conductor_class=6) == cables.resistance(10, 16, conductor_class=5)
    assert cables.resistance(10, 16, "aluminium", conductor_class=1) == cables.resistance(10, 16, "aluminium")
    assert len(cables.sizes()) == 17 and len(cables.sizes("aluminium")) == 12
    with pytest.raises(ValueError, match="no column for class 5 aluminium"):
        cables.resistance(10, 16, "aluminium", conductor_class=5)
    with pytest.raises(ValueError, match="no column for class 2 silver"):
        cables.resistance(10, 16, "silver")


def test_the_two_formulas_are_not_the_same():
    """Published beside the list: up to 0.4 % apart between 5 and 90 °C; derived here for both ends."""
    for temperature in (5, 90):
        exact, rough = (cables.resistance(1, 16, temperature=temperature, formula=f) for f in ("exact", "approximate"))
        assert 1e-3 < abs(rough / exact - 1) < 5e-3


def test_longer_and_hotter_never_lowers_a_resistance():
    """Invariant."""
    assert cables.resistance(20, 16) > cables.resistance(10, 16)
    for formula in ("exact", "approximate"):
        values = [cables.resistance(10, 16, "aluminium", t, formula=formula) for t in range(-40, 251, 10)]
        assert values == sorted(values)


def test_reactance_follows_length_and_frequency():
    """Practice: about 0.08 ohm/km at 50 Hz."""
    assert isclose(cables.reactance(500, 50), 0.04) and isclose(cables.reactance(500, 60), 0.048)
