"""Material laws of filaments and heating elements, from the published tables in `lostneutral.data`.

Every law is a smooth curve through its table (no kinks, so that Newton's method on top converges) and goes on
straight beyond the table's ends: on log-log axes for tungsten, on plain axes for alloys.
"""

from functools import cache

import numpy as np

from lostneutral import data

c, h, k = 299792458.0, 6.62607015e-34, 1.380649e-23  # m/s, J s, J/K: exact, by the definition of the SI's units
sigma = 2 * np.pi**5 * k**4 / (15 * h**3 * c**2)  # W/(m² K⁴), the Stefan-Boltzmann constant
ROOM = 293.15  # K, 20 °C: the temperature to which cold resistances and the tables of alloys refer
KELVIN = 273.15  # K at 0 °C

_logarithm = np.errstate(invalid="ignore", divide="ignore")(np.log)  # a step that is tried may lead below zero: not a number, and not taken
_RED, _BLUE = 665e-9, 467e-9  # m, the two colours by which colour temperature is matched


class Curve:
    """A cubic through a table, called with x, gives (value, slope); straight beyond the ends.

    It keeps the table's rises and falls (slopes by Fritsch and Butland's harmonic mean); `twice` makes the second
    derivative continuous instead, over even the first and last knot but one; or the `slopes` at the knots are given.
    Importing an interpolation library takes longer than a case.
    """

    def __init__(self, x, y, log=False, twice=False, slopes=None):
        self.log = log
        x, y = np.asarray(x, float), np.asarray(y, float)
        x, y = (np.log(x), np.log(y)) if log else (x, y)
        if slopes is None:
            slopes = _twice_smooth(x, y) if twice else _monotone(x, y)
        length = np.diff(x)
        mean = np.diff(y) / length
        bend = (slopes[:-1] + slopes[1:] - 2 * mean) / length
        inside = np.array([bend / length, (mean - slopes[:-1]) / length - bend, slopes[:-1], y[:-1], x[:-1]])
        below, above = ([[0.0], [0.0], [slopes[end]], [y[end]], [x[end]]] for end in (0, -1))
        self._knots, self._pieces = x, np.hstack([below, inside, above])

    def __call__(self, x):
        x = np.asarray(x, float)
        at = _logarithm(x) if self.log else x
        a3, a2, a1, a0, begin = self._pieces[:, self._knots.searchsorted(at)]
        step = at - begin
        bent = a3 * step  # value and slope by Horner's rule
        turned = bent + a2
        risen = turned * step + a1
        value, slope = risen * step + a0, (bent + turned) * step + risen
        if not self.log:
            return value, slope
        value = np.exp(value)
        return value, slope * value / x


def _monotone(x, y):
    """Slopes at the knots of a cubic that rises and falls only where its table does."""
    length = np.diff(x)
    mean = np.diff(y) / length
    same = mean[:-1] * mean[1:] > 0
    safe = np.where(same, mean[:-1], 1.0), np.where(same, mean[1:], 1.0)
    first, second = 2 * length[1:] + length[:-1], length[1:] + 2 * length[:-1]
    inner = np.where(same, (first + second) / (first / safe[0] + second / safe[1]), 0.0)
    ends = [_end(length[0], length[1], mean[0], mean[1]), _end(length[-1], length[-2], mean[-1], mean[-2])]
    return np.concatenate([[ends[0]], inner, [ends[1]]])


def _end(near, far, mean, next_mean):
    """Slope at an end knot, by three points, without going against the table."""
    slope = ((2 * near + far) * mean - near * next_mean) / (near + far)
    if slope * mean <= 0:
        return 0.0
    return 3 * mean if mean * next_mean < 0 and abs(slope) > 3 * abs(mean) else slope


def _twice_smooth(x, y):
    """Slopes at the knots of the cubic spline that has one polynomial over its first two and last two pieces."""
    length, size = np.diff(x), len(x)
    mean = np.diff(y) / length
    left, right, inner = np.zeros((size, size)), np.zeros(size), np.arange(1, size - 1)
    left[inner, inner - 1], left[inner, inner + 1] = length[1:], length[:-1]
    left[inner, inner] = 2 * (length[1:] + length[:-1])
    right[inner] = 3 * (length[1:] * mean[:-1] + length[:-1] * mean[1:])
    for row, a, b, p, q, step in ((0, length[0], length[1], mean[0], mean[1], 1),
                                  (-1, length[-1], length[-2], mean[-1], mean[-2], -1)):
        left[row, row], left[row, row + step] = b, a + b
        right[row] = ((a + 2 * (a + b)) * b * p + a**2 * q) / (a + b)
    return np.linalg.solve(left, right)


@cache
def _tungsten_curve(name):
    table = data.load("tungsten")[name]
    return Curve(table["temperature"], table["value"], log=True)


def tungsten_resistivity(temperature):
    """Return (resistivity, its slope) of tungsten, Ω m and Ω m/K, at `temperature` (K).

    Range: table 300 to 3600 K; carried on below to room temperature and above past melting (3695 K), where the
    figure keeps a calculation going and describes no real wire.
    Source: Jones; Forsythe and Worthing (1925).
    """
    value, slope = _tungsten_curve("resistivity")(temperature)
    return value * 1e-8, slope * 1e-8


def tungsten_radiance(temperature):
    """Return (M, dM/dT): power radiated by a tungsten surface, ε(T) σ T⁴, in W/m² and W/(m² K), at `temperature` (K).

    Range: table 300 to 3500 K, carried on beyond as for resistivity. Published emissivities differ by up to 13 %
    either way; a filament's area is set from its rated power, so that only the shape matters.
    """
    temperature = np.asarray(temperature, float)
    emissivity, slope = _tungsten_curve("total_emissivity")(temperature)
    cubed = sigma * (temperature * temperature * temperature)
    return emissivity * cubed * temperature, (slope * temperature + 4 * emissivity) * cubed


def tungsten_heat_capacity(temperature):
    """Return the specific heat of solid tungsten, J/(kg K), at `temperature` (K).

    Range: 298 to 3680 K; the end values are held beyond.
    Source: M. W. Chase, Thermochemical Tables, 4th edition (1998), Shomate form.

    >>> print(tungsten_heat_capacity([300, 1000, 2000, 3000]).round(0))
    [132. 150. 176. 223.]
    """
    table = data.load("tungsten")["heat_capacity"]
    t = np.clip(np.asarray(temperature, float), ROOM, table["valid_to"]) / 1000
    low, high = (
        a + b * t + c2 * t**2 + d * t**3 + e / t**2 for a, b, c2, d, e in (table["below"], table["above"])
    )
    return np.where(t * 1000 < table["joins_at"], low, high) / table["molar_mass"]


def _spectral_emissivity(temperature, wavelength):
    """Straight between the table's points and beyond them, in temperature (K) and wavelength (m)."""
    table = data.load("tungsten")["spectral_emissivity"]
    values, at = np.asarray(table["value"], float), []
    for axis, x in ((np.asarray(table["temperature"], float), temperature),
                    (np.asarray(table["wavelength"], float) * 1e-9, wavelength)):
        piece = np.clip(np.searchsorted(axis, x) - 1, 0, len(axis) - 2)
        at.append((piece, (x - axis[piece]) / (axis[piece + 1] - axis[piece])))
    (i, s), (j, t) = at
    return ((1 - s) * ((1 - t) * values[i, j] + t * values[i, j + 1])
            + s * ((1 - t) * values[i + 1, j] + t * values[i + 1, j + 1]))


def tungsten_spectral_radiance(wavelength, temperature):
    """Return the power a tungsten surface radiates per wavelength, W/m³, at `wavelength` (m) and `temperature` (K).

    Planck's law times the spectral emissivity (De Vos 1954; table 1600 to 2800 K, straight beyond).
    """
    wavelength, temperature = np.asarray(wavelength, float), np.asarray(temperature, float)
    emissivity = _spectral_emissivity(temperature, wavelength)
    black = 2 * np.pi * h * c**2 / wavelength**5 / np.expm1(h * c / (wavelength * k * temperature))
    return emissivity * black


@cache
def _luminous_curve():
    """ln(luminous exitance) over 1/T: nearly a straight line, exact to 2e-4: the emissivity has the corners of its table."""
    table = data.load("photopic")["efficiency"]
    wavelength = np.asarray(table["wavelength"], float) * 1e-9
    temperature = np.geomspace(250.0, 8000.0, 160)
    seen = tungsten_spectral_radiance(wavelength, temperature[:, None]) * np.asarray(table["value"])
    exitance = data.load("photopic")["maximum_efficacy"]["value"] * np.trapezoid(seen, wavelength, axis=1)
    return Curve(1 / temperature[::-1], np.log(exitance[::-1]), twice=True)


def tungsten_luminous_exitance(temperature):
    """Return the light given by a tungsten surface, lm/m², at `temperature` (K, 250 to 8000).

    Planck's law and tungsten's spectral emissivity, seen through the CIE 1924 photopic function.

    >>> print(f"{tungsten_luminous_exitance(2800) / tungsten_radiance(2800)[0]:.1f} lm/W")  # efficacy of bare wire
    20.2 lm/W
    """
    return np.exp(_luminous_curve()(1 / np.asarray(temperature, float))[0])


@cache
def _true_temperature():
    true = np.linspace(1400.0, 4000.0, 131)
    red, blue = _spectral_emissivity(true, _RED), _spectral_emissivity(true, _BLUE)
    colour = 1 / (1 / true - np.log(blue / red) / (h * c / k * (1 / _BLUE - 1 / _RED)))
    return Curve(colour, true, twice=True)


def tungsten_temperature(colour_temperature):
    """Return the true temperature (K) of tungsten that looks like a black body of `colour_temperature` (K).

    Tungsten is a better radiator in blue than in red, so it looks hotter than it is: the colour is matched at 467
    and 665 nm. Range: colour temperatures 1420 to 4150 K.

    >>> print(tungsten_temperature([2500.0, 2800.0, 3000.0]).round(-1))
    [2460. 2750. 2940.]
    """
    return _true_temperature()(colour_temperature)[0]
