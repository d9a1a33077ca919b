"""The network of a case written down a second time, and solved in two ways, without anything of the program's solver.

The wiring is written from the definitions of the earthing systems. A load is the admittance that its own power and voltage
in the result file make: what is checked is that these voltages are what the network does with such loads. Methods:

- modified nodal analysis: unknowns are the node voltages and the currents of what has no impedance;
- loop currents: a spanning tree, one loop a chord; voltages follow from the tree.
"""

from cmath import rect
from math import inf, radians

import mpmath
from solved_long import solved


def phasor(entry, size="voltage", angle="angle"):
    """Return a phasor of the result file, or None where nothing determines it."""
    return None if entry[size] is None else rect(entry[size], radians(entry[angle] or 0.0))


def branches_of(case, solution, sound):
    """Return {name: (a, b, impedance, emf)} of the case with the loads as `solution` (of the result file) has them."""
    s, ohms = case.supply, {} if sound else _breaks(case)
    made = {("source", x): ("star", ("supply", x), s.line_impedance, e) for x, e in s.phasors.items()}
    made["source", "N"] = ("star", ("supply", "N"), s.neutral_impedance, 0)
    if s.earthing:
        made["electrode", "supply"] = ("star", "earth", s.electrode, 0)
        if s.earthing == "TN-S":
            made["source", "PE"] = ("star", ("supply", "PE"), 0, 0)
    for p in case.points:
        pen = s.earthing in ("TN-C", "TN-C-S") and (s.earthing == "TN-C" or p.kind != "board")
        own_pe = s.earthing == "TN-S" or (p.kind == "board" and s.earthing in ("TN-C-S", "TT"))
        for c in (*p.phases, "N", *(["PE"] if own_pe else [])):
            z = {"N": p.cable.neutral, "PE": p.cable.pe}.get(c, p.cable.line) + ohms.get((p.name, c), 0)
            if abs(z) < inf:
                made["run", p.name, c] = ((p.fed_from, c), (p.name, c), z, 0)
        terminal = s.earthing and (p.kind != "joint" or s.earthing == "TN-S")
        if terminal and pen:
            made["link", p.name] = ((p.name, "N"), (p.name, "PE"), 0, 0)
        if s.earthing and p.electrode is not None:
            made["electrode", p.name] = ((p.name, "PE" if terminal else "N"), "earth", p.electrode, 0)
    kinds = {p.name: p.kind for p in case.points}
    for n, path in enumerate(case.paths if s.earthing else ()):
        ends = ["earth" if end == "earth" else (end, "PE" if kinds[end] != "joint" or s.earthing == "TN-S" else "N")
                for end in (path.start, path.end)]
        made["path", n] = (*ends, path.resistance, 0)
    for load, seen in zip(case.loads, solution["loads"], strict=True):
        there = next((point["phases"] for point in solution.get("points", ()) if point["name"] == load.point), ())
        made |= _load(load, seen, {phase["name"]: phasor(phase) for phase in there})
    return made


def _breaks(case):
    found = {(b.feeding, b.conductor): b.resistance for b in case.breaks}
    for event in sorted(case.events, key=lambda e: e.time):
        if event.change is not None:
            found[event.change.feeding, event.change.conductor] = event.change.resistance
    return found


def _load(load, seen, volts):
    """Return the branches of a load that is on: one, three equal ones in delta, three in star, two for a machine on three lines.

    `volts` are the lines' voltages to the neutral at its point.
    """
    if not seen["on"] or not seen["power"] and not seen["current"]:
        return {}
    ends = seen["connect"].split("-")
    if len(ends) == 2:
        y = phasor(seen, "current", "current_angle") / phasor(seen)
        return {("load", load.name): ((load.point, ends[0]), (load.point, ends[1]), 1 / y, 0)}
    into = {end: phasor(i, "current") for end, i in seen["currents"].items()}
    if ends[3:] == ["star"]:
        return {("load", load.name, a): ((load.point, a), ("star", load.name), phasor(u) / into[a], 0)
                for a, u in zip(ends, seen["branches"])}
    if not seen.get("branches"):  # a machine: what flows into two of its lines comes back by the third
        a, b, back = ends
        return {("load", load.name, x): ((load.point, x), (load.point, back), (volts[x] - volts[back]) / into[x], 0) for x in (a, b)}
    squares = sum(b["voltage"] ** 2 for b in seen["branches"])
    y = complex(seen["power"], -seen["reactive_power"]) / squares
    return {("load", load.name, k): ((load.point, a), (load.point, b), 1 / y, 0)
            for k, (a, b) in enumerate(zip(ends, ends[1:] + ends[:1]))}


def by_nodes(branches):
    """Return (currents, voltages) by modified nodal analysis; voltages to "star", of what is tied to it."""
    tied = _tied(branches)
    nodes = {n: i for i, n in enumerate(sorted((n for n in tied if n != "star"), key=str))}
    kept = {n: b for n, b in branches.items() if b[0] in tied}
    extra = {n: len(nodes) + i for i, n in enumerate(n for n, b in kept.items() if b[2] == 0)}
    size = len(nodes) + len(extra)
    rows, right = [{} for _ in range(size)], [0] * size

    def add(row, column, value):
        rows[row][column] = rows[row].get(column, 0) + value

    for name, (a, b, z, e) in kept.items():
        y = 0 if z == 0 else 1 / mpmath.mpc(z)
        for near, far, sign in ((a, b, 1), (b, a, -1)):
            if near == "star":
                continue
            if name in extra:
                add(nodes[near], extra[name], sign)
                add(extra[name], nodes[near], sign)
            else:
                add(nodes[near], nodes[near], y)
                if far != "star":
                    add(nodes[near], nodes[far], -y)
                right[nodes[near]] -= sign * y * mpmath.mpc(e)
        if name in extra:
            right[extra[name]] = -mpmath.mpc(e)
    x = solved(rows, right)
    volts = {"star": mpmath.mpc(0), **{n: x[i] for n, i in nodes.items()}}
    currents = {n: x[extra[n]] if n in extra else (volts[a] - volts[b] + mpmath.mpc(e)) / mpmath.mpc(z) for n, (a, b, z, e) in kept.items()}
    return {n: complex(i) for n, i in currents.items()}, {n: complex(v) for n, v in volts.items()}


def by_loops(branches):
    """Return (currents, voltages) by loop currents, as `by_nodes` does."""
    tied = _tied(branches)
    kept = {n: b for n, b in branches.items() if b[0] in tied}
    # a tree of what has the least impedance first, so that loops are short
    order, up, depth = sorted(kept, key=lambda n: abs(kept[n][2])), {}, {"star": 0}
    grown = True
    while grown:
        grown = False
        for n in order:
            a, b = kept[n][:2]
            if (a in depth) != (b in depth):
                above, below = (a, b) if a in depth else (b, a)
                up[below], depth[below], grown = (above, n), depth[above] + 1, True
    chords = [n for n in order if n not in {n for _, n in up.values()}]
    loops = [_round(kept, up, depth, n) for n in chords]
    touched = {}
    for i, loop in enumerate(loops):
        for n in loop:
            touched.setdefault(n, []).append(i)
    rows, right = [{} for _ in loops], [sum(s * mpmath.mpc(kept[n][3]) for n, s in loop.items()) for loop in loops]
    for n, those in touched.items():
        z = mpmath.mpc(kept[n][2])
        for i in those:
            for k in those:
                rows[i][k] = rows[i].get(k, 0) + loops[i][n] * loops[k][n] * z
    x = solved(rows, right)
    currents = {n: sum((loops[i][n] * x[i] for i in touched.get(n, ())), mpmath.mpc(0)) for n in kept}
    volts = {"star": mpmath.mpc(0)}
    for node in sorted(up, key=depth.get):
        above, n = up[node]
        a, _, z, e = kept[n]
        drop = mpmath.mpc(e) - mpmath.mpc(z) * currents[n]
        volts[node] = volts[above] + (drop if a == above else -drop)
    return {n: complex(i) for n, i in currents.items()}, {n: complex(v) for n, v in volts.items()}


def _round(kept, up, depth, chord):
    """Return {branch: ±1} of the loop that `chord` closes, in its direction."""
    a, b = kept[chord][:2]
    loop, ends = {chord: 1}, [b, a]
    while ends[0] != ends[1]:
        side = 0 if depth[ends[0]] >= depth[ends[1]] else 1
        above, n = up[ends[side]]
        rising = 1 if kept[n][0] == ends[side] else -1  # +1: the branch leads up
        loop[n] = loop.get(n, 0) + (rising if side == 0 else -rising)
        ends[side] = above
    return {n: s for n, s in loop.items() if s}


def _tied(branches):
    """Return the nodes that something joins to the star point of the supply."""
    near, tied, todo = {}, {"star"}, ["star"]
    for a, b, _, _ in branches.values():
        near.setdefault(a, []).append(b)
        near.setdefault(b, []).append(a)
    while todo:
        for other in near.get(todo.pop(), ()):
            if other not in tied:
                tied.add(other)
                todo.append(other)
    return tied
