"""Questions about published limits: supply bands, protective devices, touch, stress of insulation, words of support."""

from math import inf

from lostneutral import data
from lostneutral.verify.questions import NUMBER, at, question


@question("low|high|outer low|outer high", "supply band: {}, V", "low, high, outer low, outer high")
def supply_band(name: str):
    from lostneutral.consequences.limits import band

    found = band(name)
    edges = {"low": found.low, "high": found.high, "outer low": found.low_outer, "outer high": found.high_outer}
    return lambda what: edges[what] * found.nominal


@question(f"(earliest|latest) at {NUMBER} V", "overvoltage device: {}, s", '"earliest at 275 V" or "latest at 275 V" (s)')
def overvoltage_device():
    from lostneutral.consequences.protection import overvoltage_device as acting

    def answer(what):
        acts = acting(float(what.split()[2]))
        seconds = None if acts is None else getattr(acts, what.split()[0])
        return "never" if acts is None else "no limit" if seconds == inf else seconds
    return answer


@question(f"(lower|upper) at {NUMBER} s", "ITI curve: {}, share of nominal", '"lower at 0.5 s" or "upper at 0.5 s"')
def iti_curve():
    from lostneutral.consequences.protection import iti_limits

    return lambda what: iti_limits(float(what.split()[2]))[what.startswith("upper")]


@question(f"(verdict|seconds) at {NUMBER} V", "surge protective device: {}", '"verdict at 300 V" or "seconds at 300 V"')
def surge_device(nominal: float):
    from lostneutral.consequences.protection import surge_device as tested

    return lambda what: getattr(tested(float(what.split()[2]), nominal), what.split()[0])


@at("disconnection time of a final circuit at {} V to earth, s")
def disconnection(system: str):
    from lostneutral.consequences.shock import disconnection_time

    return lambda what: disconnection_time(float(what), system)


@at("longest time of a touch voltage of {} V, s")
def touch_time(table: str):
    from lostneutral.consequences.shock import longest_time

    return lambda what: longest_time(float(what), table)


@at("impedance of the body, hand to hand, at {} V, ohm")
def body_impedance(edition: str, percentile: int):
    from lostneutral.consequences.shock import body_impedance as impedance

    return lambda what: float(impedance(float(what), percentile, edition))


@question(f"zone at {NUMBER} mA", "{}", '"zone at 30 mA"')
def shock(seconds: float, edition: str = "2005", path: str = "left_hand_to_feet"):
    from lostneutral.consequences.shock import zone

    return lambda what: zone(float(what.split()[2]) / 1e3, seconds, edition=edition, heart_factor=path)


@question(".+", "{}, V", "an entry of the data file stress")
def insulation_stress(voltage: float = 230.0):
    entries = data.load("stress")

    def answer(what):
        entry = entries[what.replace(" ", "_")]
        return voltage * entry["factor"] + entry.get("added", 0.0) if "factor" in entry else entry["value"]
    return answer


@question(f"(time|rise) at {NUMBER} A", "heat of a conductor: {} (s to its final temperature; K)", '"time at 100 A" or "rise at 30 A"')
def conductor_heat(area: float):
    from lostneutral.consequences.diverted import heating_time, steady_warming

    return lambda what: (heating_time if what.startswith("time") else steady_warming)(float(what.split()[2]), area)


@at("words for a likelihood ratio of {}")
def support():
    from lostneutral.evidence.scale import support as words

    return lambda what: words(float(what))
