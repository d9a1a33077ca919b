"""Cable resistances as printed, and both temperature formulas."""

import doctest
from math import isclose

import pytest

from lostneutral.case import cables

# Published: IEC 60228:2004, Tables 1 to 3, ohm/km at 20 °C, typed in column by column apart from the data file;
# area: copper class 1, class 2, class 5, aluminium.
PRINTED = {
    1: (18.1, 18.1, 19.5, None), 1.5: (12.1, 12.1, 13.3, None), 2.5: (7.41, 7.41, 7.98, None),
    4: (4.61, 4.61, 4.95, None), 6: (3.08, 3.08, 3.30, None), 10: (1.83, 1.83, 1.91, 3.08),
    16: (1.15, 1.15, 1.21, 1.91), 25: (0.727, 0.727, 0.780, 1.20), 35: (0.524, 0.524, 0.554, 0.868),
    50: (0.387, 0.387, 0.386, 0.641), 70: (0.268, 0.268, 0.272, 0.443), 95: (0.193, 0.193, 0.206, 0.320),
    120: (0.153, 0.153, 0.161, 0.253), 150: (0.124, 0.124, 0.129, 0.206), 185: (0.101, 0.0991, 0.106, 0.164),
    240: (0.0775, 0.0754, 0.0801, 0.125), 300: (0.0620, 0.0601, 0.0641, 0.100),
}


@pytest.mark.parametrize("area", PRINTED)
def test_table_as_printed(area):
    columns = (("copper", 1), ("copper", 2), ("copper", 5), ("aluminium", 2))
    for (material, conductor_class), value in zip(columns, PRINTED[area], strict=True):
        if value is None:
            with pytest.raises(ValueError, match="is not a size"):
                cables.resistance(1000.0, area, material, 20.0, conductor_class)
        else:
            assert isclose(cables.resistance(1000.0, area, material, 20.0, conductor_class), value)


def test_shared_columns():
    assert cables.resistance(10, 16, conductor_class=6) == cables.resistance(10, 16, conductor_class=5)
    assert cables.resistance(10, 16, "aluminium", conductor_class=1) == cables.resistance(10, 16, "aluminium")
    assert cables.sizes() == tuple(PRINTED) and len(cables.sizes("aluminium")) == 12
    with pytest.raises(ValueError, match="no column for class 5 aluminium"):
        cables.resistance(10, 16, "aluminium", conductor_class=5)
    with pytest.raises(ValueError, match="no column for class 2 silver"):
        cables.resistance(10, 16, "silver")


# Memory: factors that bring a measured copper resistance to 20 °C by the exact formula of IEC 60228, Annex B.
@pytest.mark.parametrize(("temperature", "factor"), [(5, 1.0626), (20, 1.0), (70, 0.8358), (90, 0.7843)])
def test_exact_formula_copper(temperature, factor):
    ratio = cables.resistance(1000, 16, temperature=20) / cables.resistance(1000, 16, temperature=temperature)
    assert abs(ratio - factor) <= 0.5e-4


# Published (secondary source): the approximate list of factors k_t of IEC 60228, Annex B, three decimals.
@pytest.mark.parametrize(("temperature", "factor"), [(5, 1.064), (20, 1.0), (30, 0.962), (70, 0.833), (90, 0.781)])
@pytest.mark.parametrize("material", ["copper", "aluminium"])
def test_approximate_formula(temperature, factor, material):
    hot = cables.resistance(1000, 16, material, temperature, formula="approximate")
    assert abs(cables.resistance(1000, 16, material) / hot - factor) <= 0.5e-3


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


def test_examples_in_the_docstrings():
    assert doctest.testmod(cables) == (0, 4)
