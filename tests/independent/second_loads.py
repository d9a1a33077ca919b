"""Loads worked out a second time: by quadrature, brackets and library interpolation from the published tables, without `lostneutral.loads`.

Each function gives what one unit takes at a voltage (V r.m.s.), as the complex power W + j var, and what else is asked.
"""

import tomllib
from functools import cache
from importlib.resources import files
from math import acos, exp, log, pi, sin, sqrt, tan

import numpy as np
from scipy.integrate import quad
from scipy.interpolate import PchipInterpolator, RegularGridInterpolator
from scipy.optimize import brentq

U = 230.0
HOUR = 3600.0


@cache
def table(name):
    return tomllib.loads((files("lostneutral") / "data" / f"{name}.toml").read_text(encoding="utf-8"))


def by_points(at, points, times):
    """A time (s) between the points of a published or assumed band, straight on logarithmic axes, carried on at its end."""
    slope = np.polyfit(np.log(points[-2:]), np.log(times[-2:]), 1)
    return exp(np.polyval(slope, log(at))) if at > points[-1] else exp(np.interp(log(at), np.log(points), np.log(times)))


# Filament lamps: Stefan-Boltzmann with tungsten's emissivity, resistivity; Planck's law through the eye's curve

PLANCK, LIGHT, BOLTZMANN, STEFAN = 6.62607015e-34, 299792458.0, 1.380649e-23, 5.670374419e-8


def _logs(x, y):
    """Through a table on logarithmic axes, straight on beyond its last two points."""
    curve, (a, b) = PchipInterpolator(np.log(x), np.log(y)), (np.log(x[-1]), np.log(y[-1]))
    end = float(curve.derivative()(a))
    return lambda at: exp(float(curve(log(at)))) if log(at) <= a else exp(b + end * (log(at) - a))


@cache
def tungsten():
    resistivity, emissivity = table("tungsten")["resistivity"], table("tungsten")["total_emissivity"]
    return _logs(resistivity["temperature"], resistivity["value"]), _logs(emissivity["temperature"], emissivity["value"])


@cache
def _spectral():
    of = table("tungsten")["spectral_emissivity"]
    return RegularGridInterpolator((of["temperature"], of["wavelength"]), np.array(of["value"]), bounds_error=False, fill_value=None)


def luminous(kelvin):
    """Light of bare tungsten, in any unit."""
    eye = table("photopic")["efficiency"]
    nm = np.array(eye["wavelength"], float)
    emitted = _spectral()(np.column_stack([np.full(len(nm), kelvin), nm]))
    black = nm**-5 / np.expm1(PLANCK * LIGHT / (nm * 1e-9 * BOLTZMANN * kelvin))
    return float(np.sum(emitted * black * np.array(eye["value"])))


def true_temperature(colour):
    """Of tungsten (K) that matches a black body of `colour` (K) at 467 and 665 nm."""
    def off(kelvin):
        red, blue = _spectral()([[kelvin, 665.0], [kelvin, 467.0]])
        ratio = blue / red * exp(-PLANCK * LIGHT / BOLTZMANN * (1 / kelvin - 1 / colour) * (1 / 467e-9 - 1 / 665e-9))
        return float(ratio) - 1
    return brentq(off, 0.8 * colour, colour)


def lamp(watts, colour, volts):
    """Return (power, filament in K, light of rated)."""
    rho, emissivity = tungsten()
    hot, cold, conducted = true_temperature(colour), 293.15, 0.06

    def radiance(kelvin):
        return emissivity(max(kelvin, 300.0)) * STEFAN * kelvin**4

    def loss(kelvin):
        return watts * ((1 - conducted) * (radiance(kelvin) - radiance(cold)) / (radiance(hot) - radiance(cold))
                        + conducted * (kelvin - cold) / (hot - cold))

    def ohms(kelvin):
        return U**2 / watts * rho(max(kelvin, 300.0)) / rho(hot)

    at = brentq(lambda kelvin: volts**2 - loss(kelvin) * ohms(kelvin), cold, 9000.0)
    return volts**2 / ohms(at), at, luminous(at) / luminous(hot)


# Heaters: the alloy's table, radiation and convection, or water at the boil

def heater(watts, volts, alloy="NiCr 80/20", cooling="air"):
    """Return (power, element in °C)."""
    of, defaults = table("alloys"), table("load_defaults")["heater"]
    own = of["alloy"][alloy]
    inside = PchipInterpolator(of["temperature"][:len(own["standard"])], own["standard"])
    end = of["temperature"][len(own["standard"]) - 1]
    hot = {"air": 400.0, "radiant": 900.0, "water": 250.0}[cooling]

    def factor(celsius):  # straight beyond the table
        return inside(min(celsius, end)) + inside.derivative()(end) * max(celsius - end, 0.0)

    def flux(celsius):
        if cooling == "water":
            return celsius - 100.0
        still, above, span = defaults["convection"][cooling]["value"], celsius - 20.0, hot - 20.0
        return own["emissivity"] * STEFAN * ((celsius + 273.15) ** 4 - 293.15**4) + still * span * (above / span) ** 1.25

    def ohms(celsius):
        return U**2 / watts * float(factor(celsius) / factor(hot))

    cold = 100.0 if cooling == "water" else 20.0
    at = brentq(lambda c: volts**2 / ohms(c) - watts * flux(c) / flux(hot), cold, 1400.0)
    return volts**2 / ohms(at), at


def element_life(celsius, alloy="NiCr 80/20"):
    """1000 h at the largest temperature of use, halved for every 40 K: the assumed law, central."""
    return 1000 * HOUR / 2 ** ((celsius - table("harm")["element"]["largest_temperature"][alloy]) / 40)


def overload_life(power_ratio):
    of = table("harm")["heater_overload"]
    return by_points(power_ratio, of["load"], of["central"])


# Ceramic heaters: ln R rises by 0.14 per kelvin above a bend of 8 K; least resistance a 6.25th of that at rated voltage

def ceramic(watts, volts, switch=220.0):
    """Return (power, ceramic in °C). The bend lies where the resistance is twice its least at the switch temperature."""
    least, rise, soft = U**2 / watts / 6.25, 0.14, 8.0

    def parallel(factor):  # the law runs into 1e5 times the least
        return 1 / (1 / factor + 1e-5)

    def factor(celsius, bend):
        return parallel(exp(rise * soft * float(np.logaddexp(0, (celsius - bend) / soft))))

    bend = brentq(lambda b: factor(switch, b) - 2, switch - 60, switch + 60)
    hot = brentq(lambda c: factor(c, bend) - 6.25, switch, switch + 100)
    at = brentq(lambda c: volts**2 / (least * factor(c, bend)) - watts * (c - 20) / (hot - 20), 20, 400)
    return volts**2 / (least * factor(at, bend)), at


# Electronics: constant power, current levelled off from 1.1 times the lock-out, fading in 2 % below it

def electronic(watts, volts, low=90.0):
    if volts >= 1.1 * low:
        return watts
    divisor = low + 0.05 * low * (1 + max((volts - low) / (0.1 * low), 0.0) ** 2)
    amps = watts / divisor
    share = min(max((volts - 0.98 * low) / (0.02 * low), 0.0), 1.0)
    share = share**2 * (3 - 2 * share)
    rest = 1e-4 * watts / U**2
    return volts**2 * (share * amps / max(volts, 0.98 * low) + (1 - share) * rest)


def capacitor_life(stress):
    of = table("harm")["capacitor"]
    return by_points(stress, of["stress"], of["central"])


# Varistors: i = 1 mA (v / V_1mA)^30 at every instant; a disc that sheds 1 W at a rise of 60 K until it is at 180 °C

VOLTS_AT_1_MA = {275.0: 430.0, 320.0: 510.0}


def varistor(volts, rating=275.0, celsius=25.0, offset=0.0):
    knee = VOLTS_AT_1_MA[rating] * (1 + offset) * (1 - 0.0005 * (celsius - 25.0))
    return quad(lambda a: sqrt(2) * volts * sin(a) * 1e-3 * (sqrt(2) * volts * sin(a) / knee) ** 30, 0, pi, epsabs=0)[0] / pi


def varistor_life(volts, rating=275.0, millimetres=20.0, sheds=1.0):
    """From cold to 180 °C; None where it settles below."""
    joule_per_kelvin = 5600 * 500 * pi / 4 * (millimetres / 1e3) ** 2 * VOLTS_AT_1_MA[rating] / 180e3

    def rate(celsius):
        return (varistor(volts, rating, celsius) - sheds * (celsius - 25) / 60) / joule_per_kelvin

    if min(rate(c) for c in np.linspace(25, 180, 63)) <= 0:
        return None
    return quad(lambda c: 1 / rate(c), 25, 180, limit=200)[0]


# Motors

def single_phase_motor(watts, volts):
    """By exponents 0.77 and 2.5, power factor 0.80."""
    u = volts / U
    return watts * u**0.77 + 1j * watts * tan(acos(0.8)) * u**2.5


def locked(watts, volts):
    """Five times the rated current at rated voltage, power factor 0.6."""
    return (volts / U) ** 2 * 5 * watts / 0.8 * (0.6 + 0.8j)


def overvoltage_life(u):
    of = table("harm")["motor_overvoltage"]
    return by_points(u, of["ratio"], of["central"])


@cache
def machine(watts=4000.0):
    """Return functions of volts: (input at a line-to-line voltage and slip, slip for rated torque), by the circuit per phase."""
    r1, r2, x1, x2, xm = 1.405, 1.395, 1.834, 1.834, 54.1
    base = 400.0**2 / 3700.0

    def circuit(slip, scale=1.0):
        rotor = r2 / slip + 1j * x2
        return scale * (r1 + 1j * x1 + 1j * xm * rotor / (rotor + 1j * xm)) / base

    def torque(slip):  # at full voltage: power across the gap over synchronous speed
        return (1 / circuit(slip)).real - abs(1 / circuit(slip)) ** 2 * r1 / base

    rated = brentq(lambda s: torque(s) * (1 - s) - 1.0, 1e-3, 0.15)
    ohms = 1 / (watts / (sqrt(3) * U) ** 2) * (1 / circuit(rated)).real
    top = max(np.linspace(0.05, 0.9, 8501), key=torque)

    def slip(u):
        """At rated torque and `u` times rated voltage; 1 where it has not got it."""
        return brentq(lambda s: u**2 * torque(s) - torque(rated), 1e-3, top) if u**2 * torque(top) > torque(rated) else 1.0

    def taken(u):
        return (sqrt(3) * U * u) ** 2 / (ohms * circuit(slip(u))).conjugate()

    def heat(u):
        return abs(u / circuit(slip(u))) ** 2 / abs(1 / circuit(rated)) ** 2

    return taken, slip, heat


def winding_life(heat):
    """40 °C and 80 K at rated load; 20 000 h at 155 °C, half for every 10 K; and the time in which it gets there from rated heat."""
    lag = 0.0
    if heat > 1:
        steps = log(2) / 10 * 80 * (heat - 1)
        lag = 600 * max(np.euler_gamma + log(steps), 0.0)
    return max(20000 * HOUR / 2 ** ((40 + 80 * heat - 155) / 10), 60.0) + lag


# Converters and lamps on ballasts

def charger(watts, volts, amps, farads=15e-6):
    """Constant current up to where it takes its power (joined within 2 %), constant power above; a filter across it."""
    knee = watts / amps
    low, span = knee * 0.98, knee * 0.02
    into = min(max((volts - low) / span, 0.0), 1.0)
    current = watts / max(volts, low + span / 2 * (1 + into**2))
    return volts * current - 1j * volts**2 * 2 * pi * 50 * farads


def ballast(watts, volts, pf=0.90, p=0.96, q=7.4):
    u = volts / U
    return watts * u**p + 1j * watts * tan(acos(pf)) * u**q
