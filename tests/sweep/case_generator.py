"""Valid cases drawn at random: `random_case(seed)` is the text of a case file, always the same for the same seed.

The draws follow the documented format of the case file, not the reader's code, so that a case that the reader refuses
is a find in one of the two. Cases are small (1 to 8 loads mostly), and odd on purpose: everything that the format allows
and a person might write down turns up sooner or later.
"""

import json
from dataclasses import dataclass, field
from math import log10
from random import Random

from lostneutral.loads.catalogue import appliances

THINGS = ("Lamp", "Kettle", "Till", "Jo's radio", 'Screen 27"', "Kühltheke", "Réfrigérateur", "電気ケトル", "Печь",
          "مصباح", "Ventilátor", "Heater ½ on", "Shed: light #2", "C:\\shop\\till", "Row 3, lamp 10", "7", "Bain-marie",
          "L1-N", "Boiler (old)", "50 % dimmer", "Ωmeter bench", "“Best” lamp", "Motor & fan", "<b>Sign</b>", "$pump_1*")
PLACES = ("intake", "main board", "flat 3", "Annexe “B”", "kitchen", "Scheune 2", "cellar's board", "2nd floor", "stall #9",
          "地下室", "house", "workshop \\ yard")
TITLES = ("A lost neutral", "Case 12: \"the shop\"", "Straße 7", "三相", "50 % of L2 & more <here>", "# not a comment")
SIZES = (1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95)
ALUMINIUM = (16, 25, 35, 50, 70, 95, 120, 150)
ALLOYS = ("NiCr 80/20", "NiCr 60/15", "NiCr 35/20", "FeCrAl 25-5", "FeCrAl 13-4", "FeCrAl 22-5.8")
EARTHINGS = (None, "TN-S", "TN-C-S", "TN-C-S", "TN-C", "TT")
SYSTEMS = (("three-phase", 230), ("three-phase", 230), ("three-phase", 120), ("split-phase", 120))
STEADY = {"resistive": 3, "impedance": 2, "lamp": 3, "heater": 3, "varistor": 1, "harmonic": 1}
"""Kind of load -> weight, of those that draw more current at a higher voltage: they have one settled state, soon found."""
ALL = STEADY | {"exponential": 3, "ptc_heater": 2, "electronic": 5, "motor": 3, "appliance": 6}
LINES = ("L1", "L2", "L3")


@dataclass
class Place:
    """A point of the case as the draws need it: what arrives there, and what may be read there."""

    name: str
    kind: str
    run: tuple  #: conductors of the cable that feeds it
    lines: tuple
    terminals: tuple  #: what a meter finds


@dataclass
class Drawn:
    """One case being drawn: `random` and what has been written so far."""

    random: Random
    kinds: dict  #: kind of load -> weight
    most: int  #: loads
    system: str
    nominal: float  #: V line to neutral
    earthing: str | None
    table: dict = field(default_factory=dict)
    places: list = field(default_factory=list)
    loads: list = field(default_factory=list)  #: names of all loads, those of groups too

    @property
    def lines(self):
        return LINES if self.system == "three-phase" else LINES[:2]

    def chance(self, share):
        return self.random.random() < share

    def pick(self, things):
        return self.random.choice(things)

    def number(self, low, high):
        """Return a number from `low` to `high`, both above 0, alike in the logarithm, to three digits."""
        return _rounded(10 ** self.random.uniform(log10(low), log10(high)))

    def flat(self, low, high):
        return _rounded(self.random.uniform(low, high))

    def name(self, words, taken):
        """Return one of `words`, with a number behind it if it is in `taken`, and take it."""
        word, name = self.pick(words), None
        while name is None or name in taken:
            name = word if name is None else f"{word} {len(taken) + self.random.randint(1, 90)}"
        taken.append(name)
        return name


def random_case(seed: int) -> str:
    """Return the TOML text of a valid case, drawn from `seed` alone."""
    random = Random(seed)
    # Where many states are possible, few loads take long.
    kinds, most = random.choice(((STEADY, 8), (ALL, 4)))
    drawn = Drawn(random, kinds, most, *random.choice(SYSTEMS), random.choice(EARTHINGS))
    drawn.table = {"title": drawn.pick(TITLES), "description": drawn.pick(("", "Drawn at random.", "Two\nlines, “quoted”."))}
    if drawn.chance(0.5):
        drawn.table["date"] = "2024-02-29"
    _supply(drawn)
    _points(drawn)
    _paths(drawn)
    _loads(drawn)
    _breaks(drawn)
    _crosses(drawn)
    _events(drawn)
    _unknowns(drawn)
    _observations(drawn)
    return _toml(drawn.table)


def _supply(d):
    system, nominal = d.system, d.nominal
    supply = {"system": system} if system == "split-phase" or d.chance(0.5) else {}
    if system == "three-phase" and nominal == 120:
        supply |= {"nominal": 120, "frequency": 60, "limits": "ANSI C84.1 Range A service"}
    if d.chance(0.25):
        supply["voltage"] = d.flat(0.94 * nominal, 1.06 * nominal)
    elif d.chance(0.15):
        angles = (0, -120, 120) if len(d.lines) == 3 else (0, 180)
        supply["phasors"] = {line: [d.flat(0.95 * nominal, 1.05 * nominal), angle + d.flat(-3, 3)]
                             for line, angle in zip(d.lines, angles)}
        supply["nominal"] = nominal
    if "phasors" not in supply and len(d.lines) == 3 and d.chance(0.2):
        supply["rotation"] = d.pick(("L1-L2-L3", "L1-L3-L2"))
    if d.chance(0.8):
        supply |= {key: [d.number(0.003, 0.3), d.number(0.001, 0.2)] for key in ("line_impedance", "neutral_impedance")}
    if d.earthing:
        supply["earthing"] = d.earthing
        if d.chance(0.8):
            supply["electrode"] = d.number(0.3, 30)
    d.table["supply"] = supply


def _points(d):
    """One of the shapes that installations have: a lone intake, boards, neighbours on a main, a group of like premises."""
    shape = d.pick(("none", "intake", "boards", "boards", "neighbours", "neighbours", "group"))
    d.table["point"] = []
    if shape == "none":
        d.places.append(_place(d, "intake", "intake", d.lines))
    elif shape == "intake":
        _point(d, "supply", "intake", d.lines)
    elif shape == "boards":
        intake = _point(d, "supply", "intake", d.lines)
        for _ in range(d.random.randint(1, 3)):
            feeder = d.pick([p for p in d.places if p.kind != "joint"])
            _point(d, feeder.name, "board", _some(d, feeder.lines) if feeder is not intake or d.chance(0.3) else d.lines)
    elif shape == "neighbours":
        joint = None
        for _ in range(d.random.randint(1, 3)):
            joint = _point(d, joint.name if joint else "supply", "joint", d.lines)
            for _ in range(d.random.randint(1, 2)):
                intake = _point(d, joint.name, "intake", _some(d, d.lines) if d.chance(0.4) else d.lines)
                if d.chance(0.2):
                    _point(d, intake.name, "board", intake.lines)
    else:
        joint = _point(d, "supply", "joint", d.lines) if d.chance(0.4) else None
        _group(d, joint)


def _some(d, lines):
    return tuple(sorted(d.random.sample(lines, d.random.randint(1, len(lines)))))


def _place(d, name, kind, lines):
    with_pe = d.earthing == "TN-S" or (d.earthing in ("TN-C-S", "TT") and kind == "board")
    touched = d.earthing and (kind != "joint" or d.earthing == "TN-S")
    terminals = (*lines, "N", *(("PE",) if touched else ()))
    return Place(name, kind, (*lines, "N", *(("PE",) if with_pe else ())), lines, terminals)


def _point(d, feeder, kind, lines):
    place = _place(d, d.name(PLACES, [p.name for p in d.places]), kind, lines)
    entry = {"name": place.name}
    if feeder != "supply" or d.chance(0.2):
        entry["fed_from"] = feeder
    if kind == "joint" or d.chance(0.5):
        entry["kind"] = kind
    arriving = next((p.lines for p in d.places if p.name == feeder), d.lines)
    if lines != arriving:
        entry["phases"] = list(lines)
    if d.chance(0.85):
        entry["cable"] = _cable(d, "PE" in place.run)
    if d.earthing and d.chance(0.9 if d.earthing == "TT" else 0.35):
        entry["electrode"] = d.number(1, 500)
    d.table["point"].append(entry)
    d.places.append(place)
    return place


def _cable(d, with_pe):
    if d.chance(0.3):
        cable = {"line": [d.number(0.002, 1.0), d.number(0.001, 0.2)]}
        for key in ("neutral", *(("pe",) if with_pe else ())):
            if d.chance(0.4):
                cable[key] = [d.number(0.002, 2.0), d.pick((0, d.number(0.001, 0.2)))]
        return cable
    material = d.pick(("copper", "copper", "aluminium"))
    sizes = SIZES if material == "copper" else ALUMINIUM
    cable = {"length": d.number(0.5, 400), "area": d.pick(sizes)}
    if material != "copper":
        cable["material"] = material
    for key in ("neutral_area", *(("pe_area",) if with_pe else ())):
        if d.chance(0.25):
            cable[key] = d.pick(sizes)
    if d.chance(0.2):
        cable["temperature"] = d.pick((-10, 30, 70))
    return cable


def _group(d, joint):
    count, phases, name = d.random.randint(2, 5), d.pick(("single", "all")), d.pick(("cottage", "Haus", "unit 1"))
    group = {"name": name, "count": count, "phases": phases}
    if joint:
        group["fed_from"] = joint.name
    for key in ("spacing", "service"):
        if d.chance(0.8):
            group[key] = _cable(d, d.earthing == "TN-S")
    if d.earthing:
        for key in ("electrode", "main_electrode"):
            if d.chance(0.6):
                group[key] = d.number(2, 500)
        if "main_electrode" in group and d.chance(0.5):
            group["main_electrode_every"] = d.random.randint(1, 3)
    group["load"] = []
    for thing in d.random.sample(THINGS, d.random.randint(1, 2)):
        entry = {"name": thing} | _kind(d, d.nominal)
        if d.chance(0.6):
            entry["share"] = d.flat(0, 1)
        group["load"].append(entry)
    d.table["group"] = [group]
    for k in range(count):
        d.places.append(_place(d, f"{name} joint {k + 1}", "joint", d.lines))
        d.places.append(_place(d, f"{name} {k + 1}", "intake",
                               (d.lines[k % len(d.lines)],) if phases == "single" else d.lines))
        d.loads += [f"{entry['name']}, {name} {k + 1}" for entry in group["load"]]


def _paths(d):
    earthed = [p.name for p in d.places if "PE" in p.terminals]
    if not earthed or not d.chance(0.15):
        return
    start = d.pick(earthed)
    end = d.pick([name for name in earthed if name != start] + ["earth"])
    d.table["path"] = [{"from": start, "to": end, "resistance": d.number(0.1, 200)}]


def _loads(d):
    d.table["load"] = []
    for _ in range(d.pick((0, 1, 2)) if d.loads else min(d.most, d.pick((1, 2, 2, 3, 3, 3, 4, 4, 5, 6, 8)))):
        place = d.pick([p for p in d.places if p.kind != "joint" or d.chance(0.1)] or d.places)
        entry = {"name": d.name(THINGS, d.loads)}
        connect = _connect(d, place)
        ends = connect.split("-")
        rated = d.nominal if ends[-1] in ("N", "PE") else d.nominal * (3**0.5 if len(d.lines) == 3 else 2)
        entry |= _kind(d, rated) | {"connect": connect}
        if len(d.places) > 1 or d.chance(0.3):
            entry["point"] = place.name
        if d.chance(0.1):
            entry["voltage"] = _rounded(rated * d.pick((0.96, 1.04, 1.05)))
        if d.chance(0.2):
            entry["count"] = d.random.randint(2, 12)
        if d.chance(0.25):
            entry["on"] = d.chance(0.3)
        d.table["load"].append(entry)


def _connect(d, place):
    lines = place.lines
    options = [f"{d.pick(lines)}-N"] * 8
    if len(lines) > 1:
        options += ["-".join(d.random.sample(lines, 2))]
    if len(lines) == 3:
        options += ["L1-L2-L3"]
    if "PE" in place.terminals and d.chance(0.3):
        options += [f"{d.pick(lines)}-PE", "N-PE"]
    return d.pick(options)


def _kind(d, rated):
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
        keys["works_from"] = _rounded(rated * d.flat(0.35, 0.7))
        keys["works_to"] = _rounded(rated * d.flat(1.1, 1.4))
        if d.chance(0.5):
            keys["restarts_from"] = _rounded(keys["works_from"] * d.flat(1.02, 1.3))
    if d.chance(0.2):
        keys["protection"] = d.pick(("none", _rounded(rated * d.flat(1.1, 1.8))))
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


def _varistor(d, rated):
    return {"rating": _rounded(rated * d.flat(1.08, 1.8))} | ({"diameter": d.pick((7, 14, 20))} if d.chance(0.5) else {})


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
        keys["rating"] = _rounded(rated * d.flat(1.08, 1.3))
    return keys


_KEYS = {"resistive": _resistive, "impedance": _impedance, "exponential": _exponential, "lamp": _lamp, "heater": _heater,
         "ptc_heater": _ptc, "electronic": _electronic, "motor": _motor, "varistor": _varistor, "harmonic": _harmonic,
         "appliance": _appliance}


def _breaks(d):
    if d.chance(0.2):
        return  # the default: N open in the cable to the first point
    if d.chance(0.06):
        d.table["break"] = []
        return
    runs = {}
    for _ in range(d.pick((1, 1, 1, 2, 3))):
        place = d.pick(d.places)
        conductor = d.pick(("N", "N", "N", *place.run))
        entry = {"feeding": place.name} if place is not d.places[0] or d.chance(0.6) else {}
        if conductor != "N" or d.chance(0.5):
            entry["conductor"] = conductor
        if d.chance(0.4 if d.kinds is STEADY else 0.1):
            entry["resistance"] = d.pick((d.number(0.05, 1000), d.number(0.05, 10), "open"))
        runs[place.name, conductor] = entry
    d.table["break"] = list(runs.values())


def _crosses(d):
    if d.chance(0.07):
        place = d.pick(d.places)
        d.table["cross"] = [{"point": place.name, "conductors": d.random.sample(place.run, 2)}]


def _events(d):
    if not d.chance(0.35):
        return
    times = sorted(d.number(0.05, 2e4) for _ in range(d.random.randint(1, 4)))
    events, open_now, done = [], {}, set()
    for time in times:
        place = d.pick(d.places)
        conductor = d.pick(("N", "N", *place.run))
        if open_now and d.chance(0.5):  # mended within the incident, perhaps at once
            (name, conductor), _ = open_now.popitem()
            soon = _rounded(d.pick((time, time + 0.6)))
            entry = {"time": soon, "break": name, "conductor": conductor, "resistance": 0}
        elif d.loads and d.chance(0.5):
            entry = {"time": time, "load": d.pick(d.loads), "on": d.chance(0.6)}
        else:
            entry = {"time": time, "break": place.name, "conductor": conductor}
            if d.chance(0.3 if d.kinds is STEADY else 0.08):
                entry["resistance"] = d.number(0.05, 300)
            open_now[place.name, conductor] = True
        mark = (entry["time"], entry.get("load"), entry.get("break"), entry.get("conductor"))
        if mark not in done:
            done.add(mark)
            events.append(entry)
    d.table["event"] = events
    if d.chance(0.3):
        d.table["course"] = {"end": _rounded(max(e["time"] for e in events) * 1.01 + d.pick((0.5, 30, 2000)))}


def _unknowns(d):
    if d.table["load"] and d.chance(0.08):
        entry = d.pick(d.table["load"])
        d.table["unknown"] = [{"load": entry["name"], "on": d.flat(0.05, 0.95)}]


def _observations(d):
    if not d.chance(0.3):
        return
    seen = {}
    for _ in range(d.random.randint(1, 4)):
        if d.loads and d.chance(0.4):
            name = d.pick(d.loads)
            seen[name] = {"load": name, "seen": d.pick(("failed", "survived", "brighter", "dimmer", "unchanged", "off"))}
            if d.chance(0.3):
                seen[name]["within"] = d.number(1, 1e5)
        else:
            place = d.pick(d.places)
            between = d.random.sample((*place.terminals, *(("earth",) if d.earthing else ())), 2)
            entry = {"point": place.name, "between": "-".join(between), "voltage": d.flat(0, 1.8 * d.nominal)}
            if d.chance(0.6):
                entry["uncertainty"] = d.number(0.5, 10)
            if d.chance(0.3):
                entry["impedance"] = d.pick((1e7, 3e5, 5000))
            seen[place.name, frozenset(between)] = entry
    d.table["observation"] = list(seen.values())


def _rounded(value):
    return float(f"{value:.3g}")


def _toml(table):
    """Return `table` as TOML: plain keys first, then tables and lists of tables; deeper ones inline."""
    plain, tables = [], []
    for key, value in table.items():
        if isinstance(value, dict):
            tables.append(_entry(f"[{key}]", value))
        elif isinstance(value, list) and value and isinstance(value[0], dict):
            tables += [_entry(f"[[{key}]]", entry) for entry in value]
        elif value != [] or key == "break":
            plain.append(f"{key} = {_value(value)}")
    return "\n".join([*plain, *tables]) + "\n"


def _entry(head, table):
    return "\n".join(["", head, *(f"{key} = {_value(value)}" for key, value in table.items())])


def _value(value):
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_value(v)}" for key, v in value.items()) + " }"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(map(_value, value)) + "]"
    return json.dumps(value, ensure_ascii=False)
