"""Transformers with a lost fuse, generators behind changeovers, protective devices; drawn last, so that what came before stays as it was."""

GROUPS = ("Dyn1", "Dyn5", "Dyn7", "Dyn11", "Dyn11", "Yyn0", "Yyn6", "YNyn0", "Yzn5", "Yzn11")


def draw_sources(d):
    """Add a transformer, a generator, or neither."""
    if len(d.lines) == 3 and "phasors" not in d.table["supply"] and d.chance(0.12):
        _transformer(d)
    free = [p for p in d.places if p.kind != "joint" and p.name in {e["name"] for e in d.table["point"]}
            and "N" not in d.table.get("cross", [{}])[0].get("conductors", ())]
    if free and d.chance(0.15):
        _generator(d, d.pick(free))
    if d.chance(0.2):
        _devices(d)


def _devices(d):
    made = []
    for number in range(d.random.randint(1, 3)):
        place = d.pick(d.places)
        pen = d.earthing == "TN-C" or (d.earthing == "TN-C-S" and place.kind != "board")
        kinds = ["circuit-breaker", "fuse", "voltage relay", "open-PEN device", "isolation monitor"] + ["residual-current device"] * (not pen)
        kind = d.pick(kinds)
        entry = {"name": f"Q{number + 1}", "kind": kind, "point": place.name}
        if kind in ("circuit-breaker", "fuse"):
            entry["rated_current"] = d.pick((6, 16, 32, 63))
            if kind == "circuit-breaker":
                entry["type"] = d.pick(("B", "C", "D"))
        if kind == "residual-current device":
            entry |= {"rated_residual": d.pick((0.01, 0.03, 0.3)), "type": d.pick(("AC", "A", "B", "S")),
                      "supply": d.pick(("none", "line to neutral", "functional earth"))}
        if kind == "voltage relay":
            entry |= {"high": d.flat(1.05 * d.nominal, 1.3 * d.nominal), "within": d.pick((0, 0.1, 5))}
        if kind == "open-PEN device" and d.nominal != 230:  # a usual window is known for 230 V only
            entry |= {"low": 0.9 * d.nominal, "high": 1.1 * d.nominal}
        made.append(entry)
    d.table["device"] = made
    if d.chance(0.5):
        d.table["observation"] = [*d.table.get("observation", []), {"device": "Q1", "operated": d.chance(0.5)}]


def _transformer(d):
    made = {"rated_power": d.number(3e4, 1e6), "group": d.pick(GROUPS)}
    if d.chance(0.3):
        made["short_circuit_voltage"] = d.flat(3, 7)
    if d.chance(0.2):
        made["limbs"] = "bank"
    d.table["supply"]["transformer"] = made
    if d.chance(0.6):
        d.table.setdefault("break", [])
        d.table["break"] = [*d.table["break"], {"fuse": d.pick(d.lines)}]
    elif d.chance(0.5):
        time = max((e["time"] for e in d.table.get("event", [])), default=0.0) + 1.0
        d.table["event"] = [*d.table.get("event", []), {"time": time, "fuse": d.pick(d.lines)}]
        d.table.pop("course", None)


def _generator(d, place):
    generator = {"name": "set no. 2", "kind": d.pick(("generator", "generator", "inverter")), "rated_power": d.number(3000, 6e4)}
    if d.earthing and d.chance(0.7):
        generator["earthing"] = d.pick(("bonded", "bonded", "floating"))
    if d.earthing and d.chance(0.3):
        generator["electrode"] = d.number(5, 300)
    changeover = {"point": place.name, "generator": "set no. 2"}
    pen = d.earthing == "TN-C" or (d.earthing == "TN-C-S" and place.kind != "board")
    poles = list(place.lines) if pen or d.chance(0.3) else [*place.lines, "N"]
    if poles[-1] != "N" or d.chance(0.5):
        changeover["poles"] = poles
    fault = d.pick(("opens_first", "closes_late", "never_makes", "")) if "N" in poles else ""
    if fault:
        changeover[fault] = ["N"] if fault == "never_makes" else {"N": d.pick((0.005, 0.02, 0.3, 5))}
    if d.chance(0.3):
        changeover["position"] = "generator"
    d.table["generator"], d.table["changeover"] = [generator], [changeover]
    if d.chance(0.7):
        time = max((e["time"] for e in d.table.get("event", [])), default=0.0) + 1.0
        to = "supply" if changeover.get("position") == "generator" else "generator"
        d.table["event"] = [*d.table.get("event", []), {"time": time, "changeover": f"changeover at {place.name}", "to": to}]
        d.table.pop("course", None)
