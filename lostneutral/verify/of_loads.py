"""Questions about materials and loads."""

import numpy as np

from lostneutral import data
from lostneutral.verify.questions import NUMBER, at, question

_HOUR = 3600.0


@at("resistivity of tungsten at {} K, µΩ cm")
def tungsten_resistivity():
    from lostneutral.loads import materials

    return lambda what: 1e8 * float(materials.tungsten_resistivity(float(what))[0])


@at("resistance of tungsten at {} K ÷ that at 300 K")
def tungsten_resistance_ratio():
    from lostneutral.loads import materials

    return lambda what: float(materials.tungsten_resistivity(float(what))[0] / materials.tungsten_resistivity(300.0)[0])


@at("later resistivity of tungsten ÷ the one used, at {} K, difference in %")
def later_tungsten_resistivity():
    from lostneutral.loads import materials

    later = data.load("tungsten")["resistivity_later"]["coefficients"]
    return lambda what: float(100 * (np.polyval(later[::-1], float(what)) / (1e8 * materials.tungsten_resistivity(float(what))[0]) - 1))


@at("total emissivity of tungsten at {} K")
def tungsten_emissivity():
    from lostneutral.loads import materials

    return lambda what: float(materials.tungsten_radiance(float(what))[0] / (5.670374419e-8 * float(what) ** 4))


@at("heat capacity of tungsten at {} K, J/(kg K)")
def tungsten_heat_capacity():
    from lostneutral.loads import materials

    return lambda what: float(materials.tungsten_heat_capacity(float(what)))


@at("true temperature of tungsten of colour temperature {} K, K")
def tungsten_temperature():
    from lostneutral.loads import materials

    return lambda what: float(materials.tungsten_temperature(float(what)))


@at("luminous efficacy of bare tungsten at {} K, lm/W")
def tungsten_efficacy():
    from lostneutral.loads import materials

    return lambda what: float(materials.tungsten_luminous_exitance(float(what)) / materials.tungsten_radiance(float(what))[0])


@question("area", "{} under the photopic curve, nm", '"area"')
def photopic_curve():
    return lambda what: 10.0 * sum(data.load("photopic")["efficiency"]["value"])


@at("resistance at {} °C ÷ that at 20 °C")
def alloy(name: str, column: str = "standard"):
    from lostneutral.loads.heater import temperature_factor

    return lambda what: float(temperature_factor(name, float(what), column)[0])


_LAMP = "current exponent|power exponent|light exponent|hot to cold|inrush|wire length|wire diameter|warm-up"


@question(rf"{_LAMP}|current at {NUMBER} V", "filament lamp: {}",
          f'{_LAMP.replace("|", ", ")} (A at the crest, m, µm, s to 90 % light), or "current at 100 V"')
def lamp(power: float, voltage: float, technology: str = "incandescent"):
    from lostneutral.loads.lamp import Lamp, default_colour_temperature

    model = Lamp(power, voltage, float(default_colour_temperature(power, technology)))

    def current(volts):
        return abs(model.admittance(model.settled(volts))) * volts

    laws = {"current exponent": current, "power exponent": lambda v: current(v) * v,
            "light exponent": lambda v: model.light(model.settled(v))}
    plain = {"hot to cold": lambda: model.resistance(model.rated_temperature)[0] / model.resistance(293.15)[0],
             "inrush": lambda: 2**0.5 * voltage / model.resistance(293.15)[0], "wire length": lambda: model.length,
             "wire diameter": lambda: 1e6 * model.diameter, "warm-up": lambda: _warm_up(model)}

    def answer(what):
        if what in laws:
            return _exponent(laws[what], voltage)
        return float(plain[what]() if what in plain else current(float(what.split()[2])))
    return answer


def _exponent(law, rated, step=0.05):
    low, high = (float(law(rated * u)) for u in (1 - step, 1 + step))
    return float(np.log(high / low) / np.log((1 + step) / (1 - step)))


def _warm_up(model):
    """Return the time (s) from cold to 90 % of the rated light."""
    from scipy.integrate import solve_ivp

    def lit(_, temperature):
        return model.light(temperature[0]) - 0.9

    lit.terminal = True
    course = solve_ivp(lambda _, t: model.rate(t, model.voltage), (0, 2), [293.15], method="LSODA", rtol=1e-8, events=lit, atol=1e-6)
    return course.t_events[0][0]


@question("early|central|late|share", "life of the lamp: {} (h; share of 1000 h)", "early, central, late (h), share (of 1000 h)")
def lamp_life(ratio: float, voltage: float = 230.0):
    from lostneutral.case.model import Load, Supply
    from lostneutral.consequences.harm import harm_at
    from lostneutral.consequences.limits import band
    from lostneutral.loads import load_model

    load = Load("lamp", "lamp", ("L1", "N"), "intake", voltage, parameters={"power": 60.0})
    model = load_model(load, Supply({"L1": complex(voltage)}))[0]
    harm = harm_at(load, model, ratio * voltage, band("EN 50160"))[0]
    times = {"early": harm.earliest, "central": harm.central, "late": harm.latest, "share": harm.central / 1000}
    return lambda what: times[what] / _HOUR


@question("power exponent|surface load", "heating element: {} (W/cm²)", "power exponent, surface load (W/cm²)")
def heater(power: float, alloy: str, temperature: float, cooling: str, column: str = "standard"):
    from lostneutral.loads.heater import Heater

    model = Heater(power, 230.0, alloy, temperature, cooling, column)

    def answer(what):
        if what == "surface load":
            return model.surface_load / 1e4
        y, slope = model.response(model.voltage)
        return float(2 + slope.real / y.real * model.voltage)
    return answer


@question(f"(crest|power) at {NUMBER} V", "varistor: {} (A; mean W)", '"crest at 300 V" (A) or "power at 300 V" (mean W)')
def varistor(rating: float, offset: float = 0.0):
    from lostneutral.loads.varistor import Varistor

    disc = Varistor(rating, offset=offset)
    return lambda what: float((disc.peak_current if what.startswith("crest") else disc.power)(float(what.split()[2])))


@at("varistor rated {} V a.c.: voltage at 1 mA, V")
def varistor_reference():
    from lostneutral.loads.varistor import reference_voltage

    return lambda what: float(reference_voltage(float(what)))


_MOTOR = "power exponent|reactive exponent|stalls below|restarts from|stalled impedance|highest power factor"


@question(_MOTOR, "motor: {} (voltages as multiples of rated, impedance of rated)", _MOTOR.replace("|", ", "))
def motor(power: float, power_factor: float = 0.0, machine: str = ""):
    from lostneutral.case.model import Load, Supply
    from lostneutral.loads import load_model

    keys = {"power": power} | ({"power_factor": power_factor} if power_factor else {}) | ({"machine": machine} if machine else {})
    model = load_model(Load("x", "motor", ("L1", "N"), "intake", 230.0, parameters=keys), Supply({"L1": 230 + 0j}))[0]

    def answer(what):
        y = lambda v: model.admittance(model.settled(v))
        if what == "power exponent":
            return _exponent(lambda v: v**2 * y(v).real, 230.0)
        if what == "reactive exponent":
            return _exponent(lambda v: -(v**2) * y(v).imag, 230.0)
        if what == "stalled impedance":
            return complex(1 / model.in_mode("stalled").locked_admittance / (230.0**2 * power_factor / power))
        return float({"stalls below": model.stalls_below, "restarts from": model.restarts_from}[what])
    return answer


@question("power exponent", "appliance: {} at 230 V ± 5 %", "power exponent")
def appliance(name: str):
    from lostneutral.case.model import Load, Supply
    from lostneutral.loads import load_model

    load = Load("x", "appliance", ("L1", "N"), "intake", 230.0, parameters={"model": name})
    model = load_model(load, Supply({"L1": 230 + 0j}))[0]
    return lambda what: _exponent(lambda v: v**2 * model.admittance(model.settled(v)).real, 230.0)


@question("resistance at switch temperature", "ceramic heater: {} ÷ least resistance", "resistance at switch temperature")
def ceramic_heater(power: float = 1500.0):
    from lostneutral.loads.ptc import PtcHeater

    heater = PtcHeater(power, 230.0)
    return lambda what: float(heater.resistance(220.0)[0] / heater.resistance(20.0)[0])


@question("rated|surge", "bulk capacitor: {} voltage, V r.m.s. of the supply", "rated, surge")
def capacitor(rating: float):
    from lostneutral.loads.electronic import Electronic

    found = dict(zip(("rated", "surge"), Electronic(60.0, 230.0, capacitor_rating=rating).capacitor_limits()))
    return lambda what: float(found[what])


@at("copper or aluminium conductor of {} mm², ohm/km at 20 °C")
def cable(material: str = "copper", conductor_class: int = 2):
    from lostneutral.case.cables import resistance

    return lambda what: resistance(1000.0, float(what), material, 20.0, conductor_class)


@at("factor from a resistance measured at {} °C to 20 °C")
def cable_temperature(material: str = "copper", formula: str = "exact"):
    from lostneutral.case.cables import resistance

    return lambda what: resistance(1, 16, material, 20.0, formula=formula) / resistance(1, 16, material, float(what), formula=formula)


@question(f"(outside range|extrapolated) at {NUMBER} V", "{}: what the program says", '"outside range at 300 V"')
def load_beyond(kind: str, power: float = 0.0, rating: float = 0.0):
    """What a load's own description says where it leaves the range that its law was measured in: "yes" or "no"."""
    from lostneutral.case.model import Load, Supply
    from lostneutral.loads import load_model

    keys = {"power": power} if power else {"rating": rating}
    model = load_model(Load("x", kind, ("L1", "N"), "intake", 230.0, parameters=keys), Supply({"L1": 230 + 0j}))[0]

    def answer(what):
        volts = float(what.split()[3 if what.startswith("outside") else 2])
        told = model.describe(model.settled(volts), volts)
        flags = ("outside_range", "over_melting", "law_exceeded", "above_window", "beyond_range")
        return "yes" if any(bool(np.asarray(told.get(flag, False))) for flag in flags) else "no"
    return answer
