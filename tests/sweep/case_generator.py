"""Valid cases drawn at random: `random_case(seed)` is the text of a case file, always the same for the same seed.

The draws follow the documented format of the case file, not the reader's code, so that a case that the reader refuses
is a find in one of the two. Cases are small (1 to 8 loads mostly), and odd on purpose: everything that the format allows
and a person might write down turns up sooner or later.
"""

import json
from random import Random

from draws import Drawn, Place, rounded
from load_draws import ALL, STEADY, drawn_kind
from source_draws import draw_sources

THINGS = ("Lamp", "Kettle", "Till", "Jo's radio", 'Screen 27"', "Kühltheke", "Réfrigérateur", "電気ケトル", "Печь",
          "مصباح", "Ventilátor", "Heater ½ on", "Shed: light #2", "C:\\shop\\till", "Row 3, lamp 10", "7", "Bain-marie",
          "L1-N", "Boiler (old)", "50 % dimmer", "Ωmeter bench", "“Best” lamp", "Motor & fan", "<b>Sign</b>", "$pump_1*")
PLACES = ("intake", "main board", "flat 3", "Annexe “B”", "kitchen", "Scheune 2", "cellar's board", "2nd floor", "stall #9",
          "地下室", "house", "workshop \\ yard")
TITLES = ("A lost neutral", "Case 12: \"the shop\"", "Straße 7", "三相", "50 % of L2 & more <here>", "# not a comment")
SIZES = (1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95)
ALUMINIUM = (16, 25, 35, 50, 70, 95, 120, 150)
EARTHINGS = (None, "TN-S", "TN-C-S", "TN-C-S", "TN-C", "TT")
SYSTEMS = (("three-phase", 230), ("three-phase", 230), ("three-phase", 120), ("split-phase", 120))


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
    draw_sources(drawn)
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
        entry = {"name": thing} | drawn_kind(d, d.nominal)
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
        entry |= drawn_kind(d, rated) | {"connect": connect}
        if connect == "L1-L2-L3":
            entry = _three_phase(d, entry)
        if len(d.places) > 1 or d.chance(0.3):
            entry["point"] = place.name
        if d.chance(0.1):
            entry["voltage"] = rounded(rated * d.pick((0.96, 1.04, 1.05)))
        if d.chance(0.2):
            entry["count"] = d.random.randint(2, 12)
        if d.chance(0.25):
            entry["on"] = d.chance(0.3)
        d.table["load"].append(entry)


def _three_phase(d, entry):
    """A load on three lines: a motor, or in star, on the neutral or with a star point of its own."""
    if d.kinds is not STEADY and d.chance(0.5):
        entry = {key: entry[key] for key in ("name", "connect")} | {"kind": "motor", "power": d.number(300, 15000)}
        if d.chance(0.6):
            entry["torque"] = d.flat(0.05, 1.3)
        if d.chance(0.4):
            entry["torque_exponent"] = d.pick((1, 2))
        return entry | ({"connect": "L1-L2-L3-N"} if d.chance(0.1) else {})
    if d.chance(0.3):
        return entry | {"connect": "L1-L2-L3-N"}
    passive = entry["kind"] not in ("charger", "source", "appliance")
    return entry | ({"star": True} if passive and d.chance(0.4) else {})


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
            soon = rounded(d.pick((time, time + 0.6)))
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
        d.table["course"] = {"end": rounded(max(e["time"] for e in events) * 1.01 + d.pick((0.5, 30, 2000)))}


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
