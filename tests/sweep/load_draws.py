"""Kinds of load with keys drawn at random: any that the format has, of any size that is met."""

from draws import rounded

from lostneutral.loads.catalogue import appliances

ALLOYS = ("NiCr 80/20", "NiCr 60/15", "NiCr 35/20", "FeCrAl 25-5", "FeCrAl 13-4", "FeCrAl 22-5.8")
STEADY = {"resistive": 3, "impedance": 2, "lamp": 3, "heater": 3, "varistor": 1, "harmonic": 1}
"""Kind of load -> weight, of those that draw more current at a higher voltage: they have one settled state, soon found."""
ALL = STEADY | {"exponential": 3, "ptc_heater": 2, "electronic": 5, "motor": 3, "appliance": 6, "charger": 2, "source": 2, "discharge": 2, "transformer": 1}


def drawn_kind(d, rated):
    """Return kind and keys of a load that is made for about `rated` V."""
    kind = d.random.choices(list(d.kinds), d.kinds.values())[0]
    return {"kind": kind} | _KEYS[kind](d, rated)


def _resistive(d, rated):
    return {"power": d.number(5, 6000)}


def _impedance(d, rated):
    ohms = {"resistance": d.number(8, 3000)} if d.chance(0.9) else {}
    if not ohms or d.chance(0.6):
        ohms["reactance"] = d.number(5, 3000) * d.pick((1, 1, -1))
    return ohms


def _exponential(d, rated):
    keys = {"power": d.number(5, 3000), "power_exponent": d.flat(0, 2.6)}
    if d.chance(0.5):
        keys |= {"reactive_power": d.number(2, 1500) * d.pick((1, 1, -1)), "reactive_exponent": d.flat(0, 4)}
    if d.chance(0.4):
        keys |= {"valid_from": d.flat(0.7, 0.95), "valid_to": d.flat(1.05, 1.3)}
    return keys


def _lamp(d, rated):
    keys = {"power": d.pick((15, 25, 40, 60, 75, 100, 150, 200, 500))}
    return keys | ({"technology": "halogen"} if d.chance(0.3) else {}) \
        | ({"colour_temperature": d.flat(2500, 3000)} if d.chance(0.1) else {})


def _heater(d, rated):
    keys = {"power": d.number(100, 9000)}
    if d.chance(0.6):
        keys["cooling"] = d.pick(("air", "radiant", "water"))
    if d.chance(0.3):
        keys["alloy"] = d.pick(ALLOYS)
    if d.chance(0.2):
        keys["element_temperature"] = d.flat(180, 900)
    return keys


def _ptc(d, rated):
    return {"power": d.number(50, 2000)} | ({"switch_temperature": d.flat(80, 250)} if d.chance(0.3) else {})


def _electronic(d, rated):
    keys = {"power": d.number(3, 1500)}
    front = d.pick((None, None, "rectifier", "corrected"))
    if front:
        keys["front_end"] = front
    if d.chance(0.2):
        keys["works_from"] = rounded(rated * d.flat(0.35, 0.7))
        keys["works_to"] = rounded(rated * d.flat(1.1, 1.4))
        if d.chance(0.5):
            keys["restarts_from"] = rounded(keys["works_from"] * d.flat(1.02, 1.3))
        if d.chance(0.4):
            keys["cuts_out_above"] = rounded(rated * d.flat(1.15, 1.4))
        if d.chance(0.4):
            keys |= {"restart_delay": d.number(0.5, 200), "drop_out_delay": d.number(0.02, 2)}
        if d.chance(0.2):
            keys |= {"start_current": d.flat(1.5, 6), "start_time": d.number(0.1, 3)}
    if d.chance(0.2):
        keys["protection"] = d.pick(("none", rounded(rated * d.flat(1.1, 1.8))))
    if d.chance(0.15):
        keys["capacitance"] = d.number(0.5e-6, 5e-6) * keys["power"]
    if front == "rectifier":
        for key, low, high in (("inlet_resistance", 0.5, 20), ("bridge_drop", 0.7, 2), ("leakage", 1e5, 1e7),
                               ("suppressor", 1e-8, 1e-6)):
            if d.chance(0.15):
                keys[key] = d.number(low, high)
    if d.chance(0.1):
        keys["power_factor"] = d.flat(0.5, 1)
    return keys


def _motor(d, rated):
    keys = {"power": d.number(30, 2500)}
    return keys | ({"power_factor": d.flat(0.5, 0.95)} if d.chance(0.3) else {}) \
        | ({"stalls_below": d.flat(0.4, 0.8)} if d.chance(0.3) else {})


def _charger(d, rated):
    keys = {"power": d.number(1400, 8000)}
    return keys | ({"current": d.number(6, 32)} if d.chance(0.4) else {}) \
        | ({"restart_delay": d.number(5, 300)} if d.chance(0.3) else {})


def _source(d, rated):
    keys = {"power": d.number(200, 6000)}
    return keys | ({"standard": d.pick(("EN 50549-1", "VDE-AR-N 4105", "G98/G99", "RD 1699", "IEC 61727"))} if d.chance(0.6) else {}) \
        | ({"power_factor": d.flat(0.9, 1)} if d.chance(0.3) else {})


def _discharge(d, rated):
    keys = {"power": d.number(18, 2000)}
    return keys | ({"lamp": d.pick(("fluorescent", "metal halide", "high-pressure sodium"))} if d.chance(0.7) else {})


def _transformer(d, rated):
    return {"power": d.number(2, 300)} | ({"reactive_power": d.number(1, 200)} if d.chance(0.3) else {})


def _varistor(d, rated):
    return {"rating": rounded(rated * d.flat(1.08, 1.8))} | ({"diameter": d.pick((7, 14, 20))} if d.chance(0.5) else {})


def _harmonic(d, rated):
    keys = {"power": d.number(10, 1500)}
    if d.chance(0.7):
        orders = sorted(d.random.sample((2, 3, 5, 7, 9, 11, 13), d.random.randint(1, 4)))
        keys |= {"orders": orders, "shares": [d.flat(0.05, 0.8) for _ in orders]}
        if d.chance(0.5):
            keys["angles"] = [d.flat(-180, 180) for _ in orders]
    return keys


def _appliance(d, rated):
    model = d.pick(appliances())
    keys = {"model": model.name}
    if model.power_range and "power" in model.parameters and d.chance(0.2):
        keys["power"] = d.flat(*model.power_range)
    if model.kind == "varistor":
        keys["rating"] = rounded(rated * d.flat(1.08, 1.3))
    return keys


_KEYS = {"resistive": _resistive, "impedance": _impedance, "exponential": _exponential, "lamp": _lamp, "heater": _heater,
         "ptc_heater": _ptc, "electronic": _electronic, "motor": _motor, "varistor": _varistor, "harmonic": _harmonic,
         "appliance": _appliance, "charger": _charger, "source": _source, "discharge": _discharge, "transformer": _transformer}
