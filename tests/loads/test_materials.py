"""Tungsten's and the alloys' laws against the tables they come from, and against other sources."""

import numpy as np
import pytest
from scipy.constants import c, h, k
from scipy.integrate import quad
from scipy.interpolate import CubicSpline

from lostneutral import data
from lostneutral.loads import materials
from lostneutral.loads.heater import ALLOYS, factor_columns, temperature_factor

TUNGSTEN = data.load("tungsten")
ALLOY = data.load("alloys")


def slope_of(law, x, step):
    return (law(x + step)[0] - law(x - step)[0]) / (2 * step)


@pytest.mark.parametrize(("temperature", "value"), [
    # published: Verret and Ramanathan, J. Opt. Soc. Am. 68 (1978) 1167, abstract; a published fit, 6.89e-5 T^1.0748
    (1000, 0.0992), (1000, 0.116), (2000, 0.243), (3000, 0.376),
    # memory: the third column of the data file
    *zip(TUNGSTEN["total_emissivity_third"]["temperature"], TUNGSTEN["total_emissivity_third"]["value"], strict=True),
])
def test_emissivities_agree_within_the_stated_spread(temperature, value):
    ours = materials.tungsten_radiance(temperature)[0] / (5.670374419e-8 * temperature**4)
    assert abs(value / ours - 1) < 0.13 + 0.005


@pytest.mark.parametrize("law", [materials.tungsten_resistivity, materials.tungsten_radiance], ids=["ρ", "M"])
def test_tungsten_slopes_are_those_of_the_curves(law):
    # invariant: within, at the ends of and beyond the table
    x = np.array([293.15, 299, 301, 450, 1999, 2001, 2655, 3550, 3620, 5000])
    assert law(x)[1] == pytest.approx(slope_of(law, x, 1e-3), rel=1e-6)
    assert np.all(np.diff(law(np.linspace(280, 8000, 3000))[0]) > 0)


def test_luminous_exitance_by_quadrature():
    # independent: adaptive quadrature of Planck × emissivity × a spline through V(λ)
    table = data.load("photopic")["efficiency"]
    seen = CubicSpline(np.asarray(table["wavelength"]) * 1e-9, table["value"])
    emissivity = np.polynomial.Polynomial.fit([500e-9, 600e-9, 700e-9], [0.448, 0.434, 0.419], 2)  # De Vos at 2800 K

    def integrand(x):
        return 683 * seen(x) * emissivity(x) * 2 * np.pi * h * c**2 / x**5 / np.expm1(h * c / (x * k * 2800))

    expected = quad(integrand, 400e-9, 760e-9, limit=200)[0]
    assert materials.tungsten_luminous_exitance(2800.0) == pytest.approx(expected, rel=3e-3)


@pytest.mark.parametrize(("alloy", "column"), [(a, n) for a in ALLOYS for n in factor_columns(a)])
def test_alloy_tables_are_reproduced(alloy, column):
    # published (standard column) or memory (handbook column), as printed
    values = ALLOY["alloy"][alloy][column]
    at = np.asarray(ALLOY["temperature"][: len(values)], float)
    assert temperature_factor(alloy, at, column)[0] == pytest.approx(values, rel=1e-12)
    between = np.linspace(20, at[-1], 500)
    curve = temperature_factor(alloy, between, column)[0]
    # invariant: the curve between two points stays between their values
    piece = np.clip(np.searchsorted(at, between) - 1, 0, len(at) - 2)
    ends = np.sort([np.asarray(values)[piece], np.asarray(values)[piece + 1]], axis=0)
    assert np.all((ends[0] - 1e-12 <= curve) & (curve <= ends[1] + 1e-12))


@pytest.mark.parametrize("alloy", [a for a in ALLOYS if len(factor_columns(a)) == 2])
def test_sources_of_an_alloy_differ_by_less_than_five_percent(alloy):
    # published against memory
    at = np.linspace(20, 1100, 50)
    first, second = (temperature_factor(alloy, at, column)[0] for column in factor_columns(alloy))
    assert np.all(np.abs(first / second - 1) < 0.05)
    assert np.any(np.abs(first / second - 1) > 0.01)


@pytest.mark.filterwarnings("error")
def test_a_temperature_below_zero_has_no_value_and_no_warning():
    """Invariant, found by a case drawn at random: a course may try a step that leads there, and refuses it."""
    assert np.isnan(materials.tungsten_resistivity(np.array([-1.0]))[0]).all()
