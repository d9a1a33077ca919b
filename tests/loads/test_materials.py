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


def test_resistivity_table_is_reproduced():
    # published: Jones; Forsythe and Worthing (1925), main table, four figures
    table = TUNGSTEN["resistivity"]
    assert materials.tungsten_resistivity(table["temperature"])[0] * 1e8 == pytest.approx(table["value"], rel=1e-12)


def test_second_column_agrees_with_the_first():
    # published: the same table's column R/R(300 K), printed to 0.01
    table = TUNGSTEN["resistance_ratio"]
    ratio = materials.tungsten_resistivity(table["temperature"])[0] / materials.tungsten_resistivity(300)[0]
    assert ratio == pytest.approx(table["value"], abs=0.011)


def test_room_temperature_resistivity():
    # published: 5.485 µΩ cm at 293.2 K, from another laboratory's fit to Jones (1926); outside the table by 7 K
    assert materials.tungsten_resistivity(293.2)[0] * 1e8 == pytest.approx(5.485, rel=2e-3)


def test_later_resistivity_differs_as_stated():
    # published (secondary): White and Minges (1997): −3.2 % at 300 K to +2.9 % at 3600 K from the table used
    later = TUNGSTEN["resistivity_later"]["coefficients"]
    for temperature, percent in ((300, -3.2), (900, -2.0), (2100, 1.4), (3000, 2.3), (3600, 2.9)):
        ratio = np.polyval(later[::-1], temperature) / (materials.tungsten_resistivity(temperature)[0] * 1e8)
        assert 100 * (ratio - 1) == pytest.approx(percent, abs=0.15)


@pytest.mark.parametrize(("temperature", "value"), [
    # published: Verret and Ramanathan, J. Opt. Soc. Am. 68 (1978) 1167, abstract; a published fit, 6.89e-5 T^1.0748
    (1000, 0.0992), (1000, 0.116), (2000, 0.243), (3000, 0.376),
    # memory: the third column of the data file
    *zip(TUNGSTEN["total_emissivity_third"]["temperature"], TUNGSTEN["total_emissivity_third"]["value"], strict=True),
])
def test_emissivities_agree_within_the_stated_spread(temperature, value):
    ours = materials.tungsten_radiance(temperature)[0] / (5.670374419e-8 * temperature**4)
    assert abs(value / ours - 1) < 0.13 + 0.005


def test_heat_capacity():
    # derived from the Shomate constants of M. W. Chase's tables (1998) by another hand, printed to 1 J/(kg K)
    temperatures = [300, 1000, 1500, 2000, 2500, 2800, 3000, 3400]
    assert materials.tungsten_heat_capacity(temperatures) == pytest.approx(
        [132, 150, 163, 176, 189, 205, 223, 286], abs=0.6
    )


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


def test_photopic_function_has_its_area():
    # published: CIE, area under V(λ) 106.857 nm
    assert 10 * sum(data.load("photopic")["efficiency"]["value"]) == pytest.approx(106.857, abs=0.001)


@pytest.mark.parametrize(("temperature", "efficacy"), [(3000.0, 27.25), (3655.0, 53.1)])
def test_efficacy_of_bare_tungsten(temperature, efficacy):
    # memory: Forsythe and Worthing (1925), luminous efficacy of tungsten, the second at its melting point
    ours = materials.tungsten_luminous_exitance(temperature) / materials.tungsten_radiance(temperature)[0]
    assert ours == pytest.approx(efficacy, rel=0.03)


@pytest.mark.parametrize(("true", "colour"), [(2000, 2033), (2500, 2557), (3000, 3094)])
def test_colour_temperature_of_tungsten(true, colour):
    # memory: Forsythe and Worthing (1925), colour temperature over true temperature
    assert materials.tungsten_temperature(colour) == pytest.approx(true, rel=0.01)


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
