"""Further faulty case files, of keys that do not fit each other: as in `faulty_cases`, where the marks are explained."""

from faulty_cases import HEAD, LAMP, LINES, TWO

SPLIT = 'title = "t"\n[supply]\nsystem = "split-phase"\n'
SET = '[[generator]]\nname = "set"\nrated_power = 5000\n'
OVER = '[[changeover]]\ngenerator = "set"\n'
APPLIANCE = '[[load]]\nname = "tv"\nkind = "appliance"\nmodel = "television"\nconnect = "L1-N"\n'
POLES = 'of "L1", "L2", "L3", "N"'
SEEN = '[[observation]]\nload = "lamp"\nseen = "failed"\n'
READ = '[[observation]]\nbetween = "L1-N"\nvoltage = 230\n'


def load(kind, keys, connect="L1-N"):
    return f'[[load]]\nname = "x"\nkind = "{kind}"\nconnect = "{connect}"\n{keys}\n'


BETWEEN = {
    # Points, once more.
    "a line twice": (HEAD + '[[point]]\nname = "a"\nphases = ["L1", ▸"L1"]\n' + LAMP, "point[1].phases[2]: L1 is named twice — each line only once"),
    "intake behind a board": (
        HEAD + 'earthing = "TN-C-S"\n[[point]]\nname = "a"\n[[point]]\nname = "b"\nfed_from = "a"\n[[point]]\nname = "c"\nfed_from = "b"\n'
        'kind = ▸"intake"\n' + LAMP + 'point = "a"\n',
        'point[3].kind: an intake cannot be fed from "b", a board: in TN-C-S its cable would be a PEN again — N and PE stay separate beyond '
        'a board — did you mean "board"?'),
    "board at the supply in TT": (
        HEAD + 'earthing = "TT"\n[[point]]\nname = "a"\nkind = ▸"board"\n' + LAMP,
        'point[1].kind: a board cannot be fed from "supply": in TT PE begins at the intake — an intake comes first — did you mean "intake"?'),
    "load on the PE of a joint": (
        HEAD + 'earthing = "TN-C-S"\n[[point]]\nname = "a"\nkind = "joint"\n' + LINES + 'connect = ▸"L1-PE"\n',
        'load[1].connect: "L1-PE": a joint has no PE in TN-C-S — ' + POLES),
    "PE of an earthing that is not known": (HEAD + LAMP + '[[break]]\nconductor = ▸"PE"\n',
                                            'break[1].conductor: PE needs supply.earthing, which is not given — one of ' + POLES[3:]),
    "PEN of an earthing that is not known": (
        HEAD + LAMP + '[[break]]\nconductor = ▸"PEN"\n',
        'break[1].conductor: a PEN needs supply.earthing, "TN-C-S" (also called PME or MEN) or "TN-C", which is not given — one of '
        + POLES[3:] + ' — did you mean "N"?'),
    "PEN where they are separate": (
        HEAD + 'earthing = "TN-S"\n' + LAMP + '[[break]]\nconductor = ▸"PEN"\n',
        'break[1].conductor: the cable to "intake" has no PEN: neutral and earth are separate in it — one of "L1", "L2", "L3", "N", "PE" '
        '— did you mean "N"?'),
    "a name that comes again on its own way": (
        HEAD + TWO.replace('fed_from = "a"', 'fed_from = ▸"a"') + '[[point]]\nname = ▸"a"\nfed_from = "b"\n' + LAMP + 'point = "b"\n',
        'point[2].fed_from: a loop: "a" from "b" from "a" — every point must lead back to "supply"',
        'point[3].name: "a" is already used by point[1] — every point needs a unique name'),
    # Loads by kind.
    "star of a load on one line": (HEAD + LAMP + "star = ▸true\n", 'load[1].star: does not apply to "L1-N" — connect = "L1-L2-L3"'),
    "star of what needs its conductors": (
        HEAD + load("charger", "power = 3000\nstar = ▸true", "L1-L2-L3"),
        'load[1].star: does not apply to kind charger, whose control needs its conductors — leave it out, or connect = "L1-L2-L3-N"'),
    "leaves no room to come back": (
        HEAD + load("electronic", "power = 50\nworks_from = 90\nrestarts_from = 200\ncuts_out_above = ▸200"),
        "load[1].cuts_out_above: 200 is not above the voltage from which it restarts, 200 — above 200, in V"),
    "comes back above where it goes off": (
        HEAD + load("electronic", "power = 50\nworks_from = 90\ncuts_out_above = 280\nrestarts_below = ▸281"),
        "load[1].restarts_below: 281 is above cuts_out_above, 280 — cuts_out_above or less, in V"),
    "comes back below where it works": (
        HEAD + load("charger", "power = 3000\nworks_from = 150\nrestarts_below = ▸150"),
        "load[1].restarts_below: 150 is not above the voltage from which it restarts, 150 — above 150, in V"),
    "a start without its time": (HEAD + "▸" + load("electronic", "power = 50\nstart_current = 3"),
                                 "load[1].start_time: is missing where start_current is given — both or neither"),
    "a start without its current": (HEAD + "▸" + load("electronic", "power = 50\nstart_time = 3"),
                                    "load[1].start_current: is missing where start_time is given — both or neither"),
    "a bridge that is corrected": (
        HEAD + load("electronic", 'power = 50\nfront_end = "corrected"\n▸leakage = 1e6'),
        'load[1].leakage: does not apply to front_end "corrected" — leave it out, or front_end = "rectifier"'),
    "a bridge that is corrected by its power": (
        HEAD + load("electronic", "power = 75\n▸bridge_drop = 2"),
        'load[1].bridge_drop: does not apply to front_end "corrected", the default from 75 W — leave it out, or front_end = "rectifier"'),
    "an arc that strikes below where it goes out": (
        HEAD + load("discharge", "power = 100\nextinguishes_below = 0.9\nrestrikes_from = ▸0.8"),
        "load[1].restrikes_from: the arc would strike again from 0.8 and go out below 0.9 — restrikes_from at least extinguishes_below, in "
        "multiples of the rated voltage"),
    "shares of no orders": (HEAD + load("harmonic", "power = 100\n▸shares = [0.5]\n▸angles = [0]"),
                            "load[1].shares: is given without orders — orders, shares and angles of equal number",
                            "load[1].angles: is given without orders — orders, shares and angles of equal number"),
    "orders without shares": (HEAD + "▸" + load("harmonic", "power = 100\norders = [3, ▸3]"),
                              "load[1].shares: is missing — one share for each order",
                              "load[1].orders[2]: 3 is already given — every order only once"),
    "angles of another number": (HEAD + load("harmonic", "power = 100\norders = [3, 5]\nshares = [0.5, 0.2]\nangles = ▸[0]"),
                                 "load[1].angles: has 1 values for 2 orders — as many as there are orders"),
    "torque of a motor on one line": (HEAD + load("motor", "power = 100\n▸torque = 1"),
                                      'load[1].torque: does not apply to a motor on L1-N — connect = "L1-L2-L3"'),
    # Generators, changeovers, devices.
    "transformer of two lines": (SPLIT + "▸transformer = { rated_power = 1e5 }\n" + LAMP,
                                 "supply.transformer: is of three phases, the supply is split-phase — line_impedance instead"),
    "generator without impedance": (
        HEAD + LAMP + '[[generator]]\nname = "set"\nline_impedance = ▸[0, 0]\n' + OVER,
        "generator[1].line_impedance: [0, 0] is no impedance — above 0, or rated_power instead"),
    "changeover to nothing": (HEAD + LAMP + "▸[[changeover]]\n", "changeover[1]: leads to no generator — [[generator]] with name and power"),
    "two changeovers of one generator, and of one point": (
        HEAD + TWO + LAMP + 'point = "a"\n' + SET + OVER + 'point = "a"\n▸' + OVER.replace('"set"', '▸"set"') + 'point = "a"\n',
        'changeover[2]: a second changeover at "a" — one at each point',
        'changeover[2].generator: "set" already has a changeover — one changeover for each'),
    "poles that are not there": (
        HEAD + '[[point]]\nname = "a"\nphases = ["L1"]\n' + LAMP + SET + OVER + 'poles = ["L1", ▸"L1", ▸"L2"]\n',
        'changeover[1].poles[2]: L1 is named twice — of "L1", "N"', 'changeover[1].poles[3]: L2 is not connected at "a" — of "L1", "N"'),
    "contacts of no pole": (
        HEAD + LAMP + SET + OVER + 'poles = ["L1", "L2", "L3"]\nopens_first = { ▸N = 1 }\nnever_makes = ["L1", ▸"N"]\n',
        'changeover[1].opens_first.N: N is not a pole of the changeover — of "L1", "L2", "L3"',
        'changeover[1].never_makes[2]: N is not a pole of the changeover — of "L1", "L2", "L3"'),
    "residual current of a PEN": (
        HEAD + 'earthing = "TN-C"\n' + LAMP + '▸[[device]]\nname = "d"\nkind = "residual-current device"\n',
        "device[1]: in TN-C neutral and earth are one conductor (PEN) in its cable, where no residual-current device can stand — a point "
        "behind which they are separate"),
    "pole of a device that is not there": (
        SPLIT + LAMP + '[[device]]\nname = "d"\nkind = "fuse"\nrated_current = 16\npoles = ["L1", ▸"L3"]\n',
        'device[1].poles[2]: L3 is not connected there — of "L1", "L2", "N", "PE"'),
    # Unknowns.
    "power of what has none": (HEAD + load("impedance", "resistance = 50") + '[[unknown]]\nload = "x"\n▸power = { low = 1, high = 2 }\n',
                               'unknown[1].power: load "x" is of kind "impedance", which has no power — only on'),
    "deviation of nought": (HEAD + LAMP + '[[unknown]]\nbreak = "intake"\nresistance = { mean = 1, deviation = ▸0 }\n',
                            "unknown[1].resistance.deviation: 0 means that nothing is unknown — above 0"),
    "scale of a normal distribution": (
        HEAD + LAMP + '[[unknown]]\nload = "lamp"\npower = { mean = 60, deviation = 5, ▸scale = "log" }\n',
        "unknown[1].power.scale: does not apply here — it belongs to a range (low, high)"),
    "household at no point": (HEAD + TWO + APPLIANCE + 'point = "a"\n[[unknown]]\nhousehold = "evening"\npoint = ▸"c"\n',
                              'unknown[1].point: there is no point "c" — one of "a", "b"'),
    "household twice": (
        HEAD + APPLIANCE + '[[unknown]]\nhousehold = "evening"\n▸[[unknown]]\nhousehold = "evening"\n',
        'unknown[2]: the household at "intake" is given twice — only once'),
    "electrode without earthing": (HEAD + LAMP + '[[unknown]]\n▸electrode = { low = 5, high = 50 }\n',
                                   "unknown[1].electrode: is of no use without supply.earthing — supply.earthing as well"),
    "electrode twice": (HEAD + 'earthing = "TT"\n[[point]]\nname = "intake"\nelectrode = 9\n' + LAMP + '[[unknown]]\npoint = "supply"\nelectrode = { low = 5, high = 50 }\n'
                        '[[unknown]]\nelectrode = { low = 5, high = 50 }\n[[unknown]]\npoint = "intake"\nelectrode = ▸{ low = 5, high = 50 }\n',
                        "unknown[3].electrode: is given twice — one range for each value"),
    "lines of a point with three": (HEAD + LAMP + '[[unknown]]\n▸phases = ["L1", "L2"]\n',
                                    'unknown[1].phases: point "intake" has 3 lines — a point with one line, such as phases = ["L1"]'),
    "lines that the supply has not": (
        SPLIT + '[[point]]\nname = "a"\nphases = ["L1"]\n' + LAMP + '[[unknown]]\nphases = ["L1", ▸"L3"]\n▸[[unknown]]\nphases = ["L1", "L2"]\n',
        "unknown[1].phases[2]: L3 is no line of the supply — lines of the supply", 'unknown[2]: the lines of "a" are given twice — only once'),
    # Observations.
    "an observation of no effect": (
        HEAD + LAMP + '▸[[observation]]\nload = "lamp"\n',
        'observation[1].seen: is missing — one of "failed", "survived", "brighter", "dimmer", "unchanged", "off"'),
    "a reading of a device": (
        HEAD + LAMP + '[[device]]\nname = "d"\nkind = "fuse"\nrated_current = 16\n[[observation]]\ndevice = "d"\noperated = true\n▸voltage = 3\n▸within = 1\n',
        "observation[1].voltage: does not apply here — it belongs to a meter reading (between) or an observation of a load",
        "observation[1].within: does not apply here — it belongs to a meter reading (between) or an observation of a load"),
    "a reading that operated, and within a time": (
        HEAD + LAMP + READ + "▸operated = true\n▸within = 3\n",
        "observation[1].operated: does not apply here — it belongs to an observation of a device",
        "observation[1].within: does not apply here — it belongs to an observation of a load"),
    "a second lead that is known": (HEAD + LAMP + READ + '▸reference = ["N"]\n',
                                    'observation[1].reference: is of no use where the second terminal is known — between = "L1-?"'),
    "a second lead on the first": (
        HEAD + 'earthing = "TN-S"\n' + LAMP + READ.replace("L1-N", "L1-?") + 'reference = ["N", ▸"L1"]\n',
        'observation[1].reference[2]: "L1" is no other terminal of point "intake" — of "L2", "L3", "N", "PE", "earth"*'),
    "on and off": (HEAD + LAMP + READ + 'with_on = ["lamp"]\n▸with_off = ["lamp"]\n',
                   'observation[1].with_off: "lamp" is given as on and as off — one of the two'),
    "with what is not there": (HEAD + LAMP + READ + 'with_on = [▸"a"]\nwith_off = ["lamp", ▸"b"]\n',
                               'observation[1].with_on[1]: there is no load "a" — one of "lamp"*',
                               'observation[1].with_off[2]: there is no load "b" — one of "lamp"*'),
    "sooner than itself": (HEAD + LAMP + SEEN + 'sooner_than = ▸"lamp"\n', 'observation[1].sooner_than: "lamp" cannot come before itself — another load'),
    "survived sooner": (
        HEAD + LAMP + APPLIANCE + SEEN.replace("failed", "survived") + '▸sooner_than = "tv"\n',
        "observation[1].sooner_than: is of something that happened, and 'survived' is none — "
        'seen = "failed", "brighter", "dimmer" or "off"'),
    "seen twice": (HEAD + LAMP + SEEN + "▸" + SEEN, "observation[2]: is given twice — each observation only once; equal readings need different times"),
    "failed and survived": (HEAD + LAMP + SEEN + SEEN.replace('"failed"', '▸"survived"'),
                            'observation[2].seen: "lamp" cannot be survived and failed at the same time — time, in s, on each of them'),
    "brighter and dimmer": (HEAD + LAMP + SEEN.replace("failed", "brighter") + SEEN.replace('"failed"', '▸"dimmer"'),
                            'observation[2].seen: "lamp" cannot be dimmer and brighter at the same time — time, in s, on each of them'),
    "two readings of one thing": (
        # six deviations of √(4² + 3²) = 5 V are 30 V
        HEAD + LAMP + READ + "uncertainty = 4\n" + READ.replace("230", "▸260.1") + "uncertainty = 3\n",
        "observation[2].voltage: L1-N cannot be 260.1 V and 230 V at the same time by the same type of instrument — time, in s, on each of them"),
    "a weight twice": (HEAD + LAMP + '[[prior]]\ncause = "sound"\nweight = 1\n[[prior]]\ncause = ▸"sound"\nweight = 2\n',
                       'prior[2].cause: "sound" already has a weight — one for each cause'),
    "premises that are not there": (HEAD + LAMP + '[document]\npremises = ▸"intak"\n',
                                    'document.premises: there is no point "intak" — one of "intake" — did you mean "intake"?'),
    # Fuses.
    "a fuse twice": (
        HEAD + "transformer = { rated_power = 1e5 }\n" + LAMP + '[[break]]\nfuse = "L1"\n▸[[break]]\nfuse = "L1"\n',
        "break[2]: a second break of the fuse of L1 — one for each line"),
    "a fuse twice at once": (
        HEAD + "transformer = { rated_power = 1e5 }\n" + LAMP + '[[event]]\ntime = 1\nfuse = "L1"\n▸[[event]]\ntime = 1\nfuse = "L1"\nresistance = 5\n',
        "event[2]: a second change of the fuse of L1 at 1 s — one change at an instant"),
    "a fuse mended while whole": (
        HEAD + "transformer = { rated_power = 1e5 }\n" + LAMP + '[[event]]\ntime = 1\nfuse = "L1"\nresistance = ▸0\n',
        "event[1].resistance: 0 restores the fuse of L1, which is intact at 1 s — a break or an earlier event before it is restored"),
    "another conductor mended than broke": (
        HEAD + LAMP + '[[event]]\ntime = 1\nbreak = "intake"\n[[event]]\ntime = 2\nbreak = "intake"\nconductor = "L1"\nresistance = ▸0\n',
        'event[2].resistance: 0 restores L1 in the cable to "intake", which is intact at 2 s — a break or an earlier event before it is restored'),
    "a load switched twice at once": (
        HEAD + LAMP + '[[event]]\ntime = 1\nload = "lamp"\non = false\n▸[[event]]\ntime = 1\nload = "lamp"\non = true\n',
        'event[2]: load "lamp" is switched twice at 1 s — one change to a load at an instant'),
    "a conductor of a load": (HEAD + LAMP + '[[event]]\ntime = 1\nload = "lamp"\non = false\n▸conductor = "N"\n▸dead_time = 1\n',
                              "event[1].conductor: does not apply here — it belongs to an event of a cable (break)",
                              "event[1].dead_time: does not apply here — it belongs to an event of a changeover"),
}
