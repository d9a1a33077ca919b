"""Faulty case files: name -> text, with a mark (▸) at every place that must be named, and the words for each place.

The mark stands before the faulty value or key and is taken out before the text is read; where something is missing
the table it belongs to is marked. In the words, * stands for any text. Every text is a whole file: HEAD, what is wrong, and LAMP unless loads matter.
"""

from lostneutral.case.load_schema import KINDS as NAMES

HEAD = 'title = "t"\n[supply]\n'
LAMP = '[[load]]\nname = "lamp"\nkind = "lamp"\nconnect = "L1-N"\npower = 60\n'
TWO = '[[point]]\nname = "a"\n[[point]]\nname = "b"\nfed_from = "a"\n'
LINES = "[[load]]\nname = \"x\"\nkind = \"resistive\"\npower = 60\n"
CONNECT = ('one of "L1-N", "L2-N", "L3-N", "L1-L2", "L2-L3", "L3-L1", "L2-L1", "L3-L2", "L1-L3", "L1-L2-L3", "L1-L2-L3-N", "L1-PE", '
           '"L2-PE", "L3-PE", "N-PE"')
NAME = "text of 1 to 200 characters on one line, with no space at either end"
KINDS = "one of " + ", ".join(NAMES)
WATT = "a number from 0.001 to 10000000, in W"
COPPER = ("in mm²: 1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95, 120, 150, 185, 240, 300; for another, line = [R, X] "
          "in ohm")
PAIR = "[resistance, reactance], in ohm, resistance 0 or more"
JOINT = '"open", or a number from 0 (sound) to 1e+09, in ohm'

FAULTY = {
    # The file as text and as TOML: reported alone.
    "empty": ("▸", "the file is empty — `lostneutral new` writes an example case file to adapt"),
    "only blanks": ("▸ \n\n", "the file is empty — `lostneutral new` writes an example case file to adapt"),
    "no TOML at all": ("dear ▸sir, the lights went bright\n",
                       "this is not TOML: Expected '=' after a key in a key/value pair"),
    "key twice": ('title = "t"\ntitle = "u"▸\n', "this is not TOML: Cannot overwrite a value — this key stands twice in one table; *"),
    "string not closed": ('title = "t▸\n[supply]\n', "this is not TOML: Illegal character '\\n' — a quote is missing: title = \"t\""),
    "ends early": ("title =▸", "this is not TOML: Invalid value — the value of title is missing; *"),
    "NUL": ('title = "a▸\0b"\n', "a NUL byte: this is not a text file — a case file is TOML in UTF-8"),
    "nested too deep": ("x = " + "[" * 999 + "▸[",
                        "lists or tables are nested too deeply — a case needs no more than three levels"),
    "number of 5000 digits": ("x = ▸" + "9" * 5000 + "\n",
                              "this is not TOML: a whole number of more than 4300 digits"),
    # Top level.
    "nothing but a title": ('▸▸title = "t"\n', "supply: is missing — a table, written [supply]",
                            "load: is missing — a table, written [[load]]"),
    "title missing": ("▸[supply]\n" + LAMP, "title: is missing — text of 1 to 500 characters between quotes"),
    "title a number": ("title = ▸7\n[supply]\n" + LAMP,
                       "title: 7 is a whole number — text of 1 to 500 characters between quotes"),
    "title blank": ('title = ▸"  "\n[supply]\n' + LAMP,
                    'title: "  " cannot be used — text of 1 to 500 characters between quotes'),
    "table unknown": (HEAD + LAMP + "[[▸brake]]\nfeeding = 1\n",
                      ("brake: unknown key — known here: title, description, date, supply, point, group, path, break, cross, "
                      'load, generator, changeover, device, event, course, unknown, observation, record, prior, document, photo, test — did you mean "break"?')),
    "date as text": ('title = "t"\ndate = ▸"last May"\n[supply]\n' + LAMP,
                     'date: "last May" cannot be used — a date such as 2024-05-31'),
    "supply a list": ('title = "t"\n[[▸supply]]\n' + LAMP,
                      "supply: is a list — a table, written [supply]"),
    "point a table": (HEAD + '▸[point]\nname = "a"\n' + LAMP, "point: is a table — a table, written [[point]]"),
    "no loads": ('title = "t"\nload = ▸[]\n[supply]\n', "load: is empty — at least one [[load]]"),
    # Supply.
    "voltage inf": (HEAD + "voltage = ▸inf\n" + LAMP,
                    "supply.voltage: inf is not a finite number — a number from 0.1 to 1000, in V"),
    "voltage text": (HEAD + 'voltage = ▸"230 V"\n' + LAMP,
                     'supply.voltage: "230 V" is text — a number from 0.1 to 1000, in V — did you mean 230?'),
    "voltage negative": (HEAD + "voltage = ▸-230\n" + LAMP,
                         "supply.voltage: -230 is too small — a number from 0.1 to 1000, in V"),
    "frequency absurd": (HEAD + "frequency = ▸50000\n" + LAMP,
                         "supply.frequency: 50000 is too large — a number from 10 to 1000, in Hz"),
    "system unknown": (HEAD + 'system = ▸"three phase"\n' + LAMP,
                       ('supply.system: "three phase" is not known — one of "three-phase", "split-phase" — did you mean '
                       '"three-phase"?')),
    "earthing unknown": (HEAD + 'earthing = ▸"TN-C-X"\n' + LAMP,
                         ('supply.earthing: "TN-C-X" is not known — one of "TN-S", "TN-C-S", "TN-C", "TT" — did you mean '
                         '"TN-C-S"?')),
    "electrode negative": (HEAD + "electrode = ▸-1\n" + LAMP,
                           "supply.electrode: -1 is too small — a number from 0 to 1000000000, in ohm"),
    "limits unknown": (HEAD + 'limits = ▸"EN50160"\n' + LAMP,
                       'supply.limits: "EN50160" is not in the table — one of "EN 50160", * — did you mean "EN 50160"?'),
    "country unknown": (HEAD + 'old_colours = ▸"Germania"\n' + LAMP,
                        'supply.old_colours: "Germania" is not in the table — one of "UK", * — did you mean "Germany"?'),
    "impedance not a pair": (HEAD + "line_impedance = ▸0.1\n" + LAMP,
                             f"supply.line_impedance: 0.1 cannot be used — {PAIR}"),
    "impedance half text": (HEAD + 'line_impedance = [0.1, ▸"j0.2"]\n' + LAMP,
                            f'supply.line_impedance[2]: "j0.2" is text — {PAIR}'),
    "phasor missing": (HEAD + "phasors = ▸{ L1 = [230, 0], L2 = [230, -120] }\n" + LAMP,
                       "supply.phasors.L3: is missing — [magnitude in V, angle in degrees] of each of L1, L2, L3"),
    "phasor zero": (HEAD + "phasors = { L1 = [230, 0], L2 = [▸0, -120], L3 = [230, 120] }\n" + LAMP,
                    "supply.phasors.L2[1]: 0 is too small — [magnitude in V, above 0; angle in degrees, −360 to 360]"),
    "phasor of a line that is not there": (
        HEAD + 'system = "split-phase"\nphasors = { L1 = [120, 0], L2 = [120, 180], ▸L3 = [120, 90] }\n' + LAMP,
        "supply.phasors.L3: a split-phase supply has no L3 — L1 and L2"),
    # Points.
    "point without a name": (HEAD + '▸[[point]]\nkind = "intake"\n' + LAMP, f"point[1].name: is missing — {NAME}"),
    "point twice": (HEAD + '[[point]]\nname = "a"\n[[point]]\nname = ▸"a"\n' + LAMP.replace("power", 'point = "a"\npower'),
                    'point[2].name: "a" is already used by point[1] — every point needs a unique name'),
    "point with a taken name": (HEAD + '[[point]]\nname = ▸"earth"\n' + LAMP,
                                'point[1].name: "earth" is a reserved name — another name'),
    "fed from nowhere": (HEAD + '[[point]]\nname = "board"\nfed_from = ▸"bord"\n' + LAMP,
                         'point[1].fed_from: there is no point "bord" — one of "supply", "board" — did you mean "board"?'),
    "fed from itself": (HEAD + '[[point]]\nname = "a"\nfed_from = ▸"a"\n' + LAMP,
                        'point[1].fed_from: a loop: "a" from "a" — every point must lead back to "supply"'),
    "loop of three": (
        HEAD + '[[point]]\nname = "a"\nfed_from = ▸"c"\n[[point]]\nname = "b"\nfed_from = "a"\n'
        '[[point]]\nname = "c"\nfed_from = "b"\n[[point]]\nname = "d"\nfed_from = "c"\n' + LAMP.replace(
            "power", 'point = "d"\npower'),
        'point[1].fed_from: a loop: "a" from "c" from "b" from "a" — every point must lead back to "supply"'),
    "joint behind an intake": (HEAD + TWO + 'kind = ▸"joint"\n' + LAMP.replace("power", 'point = "a"\npower'),
                               ('point[2].kind: a joint cannot be fed from "a", which is an intake — a joint is on the '
                               'distributor\'s main: fed from "supply" or another joint — did you mean "board"?')),
    "board on a joint": (
        'title = "t"\n[supply]\nearthing = "TN-C-S"\n[[point]]\nname = "a"\nkind = "joint"\n[[point]]\nname = "b"\n'
        'fed_from = "a"\nkind = ▸"board"\n' + LAMP.replace("power", 'point = "a"\npower'),
        ('point[2].kind: a board cannot be fed from "a": in TN-C-S PE begins at the intake — an intake comes first — did '
        'you mean "intake"?')),
    "a line that does not arrive": (
        HEAD + '[[point]]\nname = "a"\nphases = ["L1"]\n[[point]]\nname = "b"\nfed_from = "a"\nphases = ["L1", ▸"L2"]\n'
        + LAMP.replace("power", 'point = "a"\npower'), 'point[2].phases[2]: L2 is not connected at "a" — of "L1"'),
    "phases empty": (HEAD + '[[point]]\nname = "a"\nphases = ▸[]\n' + LAMP,
                     'point[1].phases: [] has 0 entries — a list such as ["L1"] or ["L1", "L2"]'),
    # Cables.
    "size not standard": (HEAD + '[[point]]\nname = "a"\ncable = { length = 5, area = ▸14 }\n' + LAMP,
                          f"point[1].cable.area: 14 is not a size of copper in IEC 60228 — {COPPER} — did you mean 16?"),
    "aluminium too thin": (
        HEAD + '[[point]]\nname = "a"\ncable = { length = 5, area = ▸6, material = "aluminium" }\n' + LAMP,
        "point[1].cable.area: 6 is not a size of aluminium in IEC 60228 — in mm²: 10, 16, * — did you mean 10?"),
    "length without area": (HEAD + '[[point]]\nname = "a"\ncable = ▸{ length = 5 }\n' + LAMP,
                            "point[1].cable.area: is missing — length in m and area in mm², or line = [R, X] in ohm"),
    "ohms and length": (HEAD + '[[point]]\nname = "a"\ncable = { line = [1, 0], ▸length = 5 }\n' + LAMP,
                        ("point[1].cable.length: does not apply here — it belongs to a cable by length and area; this one "
                        "is in ohms")),
    "an older key": (HEAD + '[[point]]\nname = "a"\ncable = { line = [1, 0], ▸earth = [1, 0] }\n' + LAMP,
                     ("point[1].cable.earth: unknown key — known here: length, area, material, neutral_area, pe_area, "
                     'temperature, line, neutral, pe — did you mean "pe"?')),
    "length nan": (HEAD + '[[point]]\nname = "a"\n[point.cable]\narea = 10\nlength = ▸nan\n' + LAMP,
                   "point[1].cable.length: nan is not a finite number — a number from 0 to 100000, in m"),
    # Loads.
    "load without a kind": (HEAD + '▸[[load]]\nname = "x"\nconnect = "L1-N"\n', f"load[1].kind: is missing — {KINDS}"),
    "kind misspelt": (HEAD + LAMP + '[[load]]\nname = "x"\nkind = ▸"resistance"\nconnect = "L1-N"\n',
                      f'load[2].kind: "resistance" is not a kind of load — {KINDS} — did you mean "resistive"?'),
    "kind misspelt and a bad common key": (
        HEAD + LAMP + '[[load]]\nname = "x"\nkind = ▸"resistance"\nconnect = ▸"L4-N"\n',
        f'load[2].kind: "resistance" is not a kind of load — {KINDS} — did you mean "resistive"?',
        f'load[2].connect: "L4-N" is not known — {CONNECT} — did you mean "L3-N"?'),
    "kind a number": (HEAD + LAMP + '[[load]]\nname = "x"\nkind = ▸3\nconnect = "L1-N"\n',
                      f"load[2].kind: 3 is not a kind of load — {KINDS}"),
    "load not a table": ('title = "t"\nload = [▸3]\n[supply]\n', "load[1]: 3 is a whole number — a table, written [[load]]"),
    "cable a number": (HEAD + '[[point]]\nname = "a"\ncable = ▸3\n' + LAMP,
                       "point[1].cable: 3 is a whole number — a table, written cable = { … }, with keys of: length, area, material, neutral_area, pe_area, "
                       "temperature, line, neutral, pe"),
    "spread a list": (HEAD + LAMP + '[[unknown]]\nload = "lamp"\npower = ▸[0, 2000]\n',
                      "unknown[1].power: is a list — a table, written power = { … }, with keys of: scale, low, high, mean, deviation — did you mean "
                      "{ low = 0, high = 2000 }?"),
    "load without all it needs": (HEAD + '▸▸▸[[load]]\nkind = "lamp"\n', f"load[1].name: is missing — {NAME}",
                                  f"load[1].connect: is missing — {CONNECT}", f"load[1].power: is missing — {WATT}"),
    "key of another kind": (HEAD + LINES + 'connect = "L1-N"\n▸colour_temperature = 2700\n',
                            ("load[1].colour_temperature: unknown key — known here: name, connect, star, point, voltage, count, "
                            "on, kind, power — it is a key of the kind lamp")),
    "key of a table in it": (HEAD + '[[point]]\nname = "a"\n▸length = 20\n' + LAMP,
                             "point[1].length: unknown key — known here: name, kind, fed_from, cable, electrode, phases — it stands in cable = { length = … }"),
    "key of another table": ('title = "t"\n▸country = "DE"\n[supply]\n' + LAMP, "country: unknown key — known here: * — it is a key of [document]"),
    "kind by its everyday name": (HEAD + LINES.replace('"resistive"', '▸"Fridge"') + 'connect = "L1-N"\n',
                                  f'load[1].kind: "Fridge" is not a kind of load — kind = "appliance" and model = "fridge", or {KINDS}'),
    "model by another name": (HEAD + '[[load]]\nname = "x"\nkind = "appliance"\nmodel = ▸"telly"\nconnect = "L1-N"\n',
                              'load[1].model: "telly" is not in the catalogue — * — did you mean "television"?'),
    "load twice": (HEAD + LAMP + LAMP.replace('"lamp"\nkind', '▸"lamp"\nkind'),
                   'load[2].name: "lamp" is already used by load[1] — every load needs a unique name'),
    "name blank": (HEAD + LAMP.replace('"lamp"\nkind', '▸""\nkind'), f'load[1].name: "" cannot be used — {NAME}'),
    "power nought": (HEAD + LAMP.replace("60", "▸0"), f"load[1].power: 0 is too small — {WATT}"),
    "power beyond all numbers": (HEAD + LAMP.replace("60", "▸1" + "0" * 400),
                                 f"load[1].power: a number of more than thirty digits is out of range — {WATT}"),
    "power a yes": (HEAD + LAMP.replace("60", "▸true"), f"load[1].power: true is a yes-or-no value — {WATT}"),
    "power a date": (HEAD + LAMP.replace("60", "▸2024-01-01"), f"load[1].power: 2024-01-01 is a date or time — {WATT}"),
    "count nought": (HEAD + LAMP + "count = ▸0\n", "load[1].count: 0 is too small — a whole number from 1 to 100000"),
    "count with decimals": (HEAD + LAMP + "count = ▸2.0\n",
                            "load[1].count: 2 is a number with decimals — a whole number from 1 to 100000"),
    "on in words": (HEAD + LAMP + 'on = ▸"yes"\n', 'load[1].on: "yes" is text — true or false — did you mean true?'),
    "connect turned round": (HEAD + LINES + 'connect = ▸"N-L1"\n',
                             f'load[1].connect: "N-L1" is not known — {CONNECT} — did you mean "L1-N"?'),
    "connect to a line that is not there": (
        HEAD + 'system = "split-phase"\n' + LINES + 'connect = ▸"L1-L2-L3"\n',
        'load[1].connect: "L1-L2-L3": L3 is not connected at point "intake" — of "L1", "L2", "N"'),
    "connect to earth unknown": (HEAD + LINES + 'connect = ▸"L1-PE"\n',
                                 ('load[1].connect: "L1-PE" needs supply.earthing, which is not given — one of "TN-S", '
                                 '"TN-C-S", "TN-C", "TT" in [supply]')),
    "point of a load unknown": (HEAD + TWO + LAMP + 'point = ▸"c"\n', 'load[1].point: there is no point "c" — one of "a", "b"'),
    "point of a load missing": (HEAD + TWO + LAMP.replace("[[load]]", "▸[[load]]"),
                                'load[1].point: is missing — with several points, one of "a", "b"'),
    "colour of no lamp": (HEAD + LAMP + "colour_temperature = ▸6500\n",
                          "load[1].colour_temperature: 6500 is too large — a number from 1800 to 3400, in K"),
    "alloy unknown": (HEAD + LINES.replace("resistive", "heater") + 'connect = "L1-N"\nalloy = ▸"NiCr 8020"\n',
                      ('load[1].alloy: "NiCr 8020" is not in the table — one of "NiCr 80/20", * — did you mean '
                      '"NiCr 80/20"?')),
    "element colder than the water": (
        HEAD + LINES.replace("resistive", "heater") + 'connect = "L1-N"\ncooling = "water"\nelement_temperature = ▸90\n',
        "load[1].element_temperature: 90 is not hotter than the water — above 100, in °C"),
    "impedance of nothing": (HEAD + '▸[[load]]\nname = "x"\nkind = "impedance"\nconnect = "L1-N"\n',
                             "load[1]: neither resistance nor reactance is given — at least one of them, in ohm"),
    "range upside down": (
        HEAD + LINES.replace("resistive", "exponential") + 'connect = "L1-N"\nvalid_from = 1.2\nvalid_to = ▸0.8\n',
        "load[1].valid_to: 0.8 is not above valid_from, 1.2 — a range, in multiples of the rated voltage"),
    # Paths, breaks and crossed conductors.
    "path to nowhere": (HEAD + LAMP + '[[path]]\nfrom = "intake"\nto = ▸"Earth"\nresistance = 1\n',
                        'path[1].to: there is no point "Earth" — one of "earth", "intake" — did you mean "earth"?'),
    "path begins in earth": (HEAD + LAMP + '[[path]]\nfrom = ▸"earth"\nto = "intake"\nresistance = 1\n',
                             'path[1].from: a path starts at a point — write "earth" under to'),
    "path in a circle": (HEAD + LAMP + '[[path]]\nfrom = "intake"\nto = ▸"intake"\nresistance = 1\n',
                         'path[1].to: "intake" is the start of the path — another point, or "earth"'),
    "break at no point": (HEAD + LAMP + '[[break]]\nfeeding = ▸"intakes"\n',
                          'break[1].feeding: there is no point "intakes" — one of "intake" — did you mean "intake"?'),
    "break neither open nor ohms": (HEAD + LAMP + '[[break]]\nresistance = ▸"opne"\n',
                                    f'break[1].resistance: "opne" cannot be used — {JOINT}'),
    "break negative": (HEAD + LAMP + "[[break]]\nresistance = ▸-0.5\n",
                       f"break[1].resistance: -0.5 cannot be used — {JOINT}"),
    "break of PE in a PEN": (HEAD + 'earthing = "TN-C-S"\n' + LAMP + '[[break]]\nconductor = ▸"PE"\n',
                             ('break[1].conductor: in TN-C-S, N and PE are one conductor in the cable to "intake": the PEN — '
                             'one of "L1", "L2", "L3", "N" — did you mean "N"?')),
    "break of PE in TT": (HEAD + 'earthing = "TT"\n' + LAMP + '[[break]]\nconductor = ▸"PE"\n',
                          'break[1].conductor: in TT the cable to "intake" has no PE — one of "L1", "L2", "L3", "N"'),
    "break of L3 in a split phase": (
        HEAD + 'system = "split-phase"\n' + LAMP + '[[break]]\nconductor = ▸"L3"\n',
        'break[1].conductor: L3 is not connected at "intake" — one of "L1", "L2", "N"'),
    "break twice": (HEAD + LAMP + '[[break]]\nresistance = 3\n▸[[break]]\nfeeding = "intake"\n',
                    ('break[2]: a second break of N in the cable to "intake" — one [[break]] for each conductor of a cable; '
                    "add the resistances")),
    "crossed with itself": (HEAD + LAMP + '[[cross]]\nconductors = ▸["N", "N"]\n',
                            "cross[1].conductors: N is named twice — two different conductors"),
    "three crossed": (HEAD + LAMP + '[[cross]]\nconductors = ▸["N", "L1", "L2"]\n',
                      ('cross[1].conductors: ["N", "L1", "L2"] has 3 entries — two different conductors, such as '
                      '["L1", "N"]')),
    # Events.
    "event before time": (HEAD + LAMP + '[[event]]\ntime = ▸-1\nbreak = "intake"\n',
                          "event[1].time: -1 is too small — a number from 0 to 1000000000, in s"),
    "event of nothing": (HEAD + LAMP + "▸[[event]]\ntime = 1\n",
                         "event[1]: neither break, load, fuse nor changeover is given — "
                         "break = a point and resistance, load and on, fuse, or changeover and to"),
    "event of two": (HEAD + LAMP + '▸[[event]]\ntime = 1\nbreak = "intake"\nload = "lamp"\non = true\n',
                     "event[1]: break and load are both given — "
                     "break = a point and resistance, load and on, fuse, or changeover and to"),
    "event of an unknown load": (HEAD + LAMP + '[[event]]\ntime = 1\nload = ▸"Lampe"\non = true\n',
                                 'event[1].load: there is no load "Lampe" — one of "lamp" — did you mean "lamp"?'),
    "switched neither way": (HEAD + LAMP + '▸[[event]]\ntime = 1\nload = "lamp"\n',
                             "event[1].on: is missing — true or false"),
    "mended while whole": (
        HEAD + LAMP + '[[event]]\ntime = 1\nbreak = "intake"\nresistance = ▸0\n',
        ('event[1].resistance: 0 restores N in the cable to "intake", which is intact at 1 s — a break or an earlier event before '
        "it is restored")),
    "two changes at once": (
        HEAD + LAMP + '[[event]]\ntime = 1\nbreak = "intake"\n▸[[event]]\ntime = 1.0\nbreak = "intake"\nresistance = 5\n',
        'event[2]: a second change of N in the cable to "intake" at 1 s — one change to a conductor at an instant'),
    "course without length": (HEAD + LAMP + "[course]\nend = ▸0\n",
                              "course.end: 0 is too small — a number from 0.001 to 1000000000, in s"),
    "course with another key": (HEAD + LAMP + "[course]\n▸until = 60\n",
                                "course.until: unknown key — known here: end"),
    "event after the course": (
        HEAD + LAMP + '[course]\nend = 60\n[[event]]\ntime = ▸61\nbreak = "intake"\n',
        ("event[1].time: 61 s is after the end of the simulation at 60 s — an event no later than course.end, or a "
         "later end")),
    # Unknowns and observations.
    "probability above one": (HEAD + LAMP + '[[unknown]]\nload = "lamp"\non = ▸30\n',
                              "unknown[1].on: 30 is too large — a number from 0 to 1"),
    "range without an end": (HEAD + LAMP + '[[unknown]]\nload = "lamp"\npower = ▸{ low = 40 }\n',
                             "unknown[1].power: has low — { low, high } or { mean, deviation }"),
    "low above high": (HEAD + LAMP + '[[unknown]]\nload = "lamp"\npower = { low = 100, high = ▸40 }\n',
                       "unknown[1].power.high: 40 is not above low, 100 — a range"),
    "logarithm of nought": (
        HEAD + LAMP + '[[unknown]]\nbreak = "intake"\nresistance = { low = ▸0, high = 10, scale = "log" }\n',
        'unknown[1].resistance.low: 0 has no logarithm — above 0 with scale = "log"'),
    "nothing unknown": (HEAD + LAMP + '▸[[unknown]]\nload = "lamp"\n',
                        "unknown[1]: does not say what is unknown — on or power"),
    "unknown twice": (HEAD + LAMP + '[[unknown]]\nload = "lamp"\non = 0.5\n[[unknown]]\nload = "lamp"\non = ▸0.6\n',
                      "unknown[2].on: is given twice — one range for each value"),
    "two unknowns in one": (
        HEAD + LAMP + '▸[[unknown]]\nload = "lamp"\non = 0.5\nbreak = "intake"\nresistance = { low = 1, high = 2 }\n',
        "unknown[1]: load and break are given together — load with on or power, *"),
    "key of another unknown": (HEAD + LAMP + '[[unknown]]\nload = "lamp"\non = 0.5\n▸weights = [1, 2]\n',
                               "unknown[1].weights: does not apply here — it belongs to one_of"),
    "one of what is not there": (
        HEAD + LAMP + '[[unknown]]\none_of = ["lamp", ▸"Lampe"]\nweights = ▸[1]\n',
        'unknown[1].one_of[2]: there is no load "Lampe" — one of "lamp"*',
        "unknown[1].weights: has 1 values for 2 loads — one number for each load of one_of"),
    "one of a load with a chance of its own": (
        HEAD + LAMP + LAMP.replace('"lamp"\nkind', '"other"\nkind')
        + '[[unknown]]\nload = "lamp"\non = 0.5\n[[unknown]]\none_of = [▸"lamp", "other"]\n',
        'unknown[2].one_of[1]: whether "lamp" was on is given twice — each load only once'),
    "supply's voltage out of order": (HEAD + LAMP + "[[unknown]]\nsupply_voltage = { low = 240, high = ▸220 }\n",
                                      "unknown[1].supply_voltage.high: 220 is not above low, 240 — a range"),
    "household of nothing usual": (
        HEAD + LAMP + '[[unknown]]\nhousehold = ▸"evening"\n',
        ('unknown[1].household: no load at "intake" is an appliance without `on` for which a typical evening is '
         'known — loads of kind "appliance" without on')),
    "reading between what is not there": (
        HEAD + LAMP + '[[observation]]\nbetween = ▸"L1N"\nvoltage = 300\n',
        ('observation[1].between: "L1N" is not a pair of terminals of point "intake" — two of "L1", "L2", "L3", "N", "PE", '
        '"earth", joined by - — did you mean "L1-N"?')),
    "reading without a value": (HEAD + LAMP + '▸[[observation]]\nbetween = "L1-N"\n',
                                "observation[1].voltage: is missing — the reading, in V"),
    "seen in other words": (HEAD + LAMP + '[[observation]]\nload = "lamp"\nseen = ▸"dead"\n',
                            ('observation[1].seen: "dead" is not known — one of "failed", "survived", "brighter", '
                            '"dimmer", "unchanged", "off"')),
    "seen and read": (HEAD + LAMP + '[[observation]]\nload = "lamp"\nseen = "off"\n▸voltage = 3\n',
                      "observation[1].voltage: does not apply here — it belongs to a meter reading (between)"),
    # Places: inline tables over brackets, text over several lines, wide characters, quoted and dotted keys.
    "after a text of several lines": (
        'title = """a\nb\n"""\ndescription = \'\'\'\n[load]\n\'\'\' # x\n[supply]\nvoltage = ▸true\n' + LAMP,
        "supply.voltage: true is a yes-or-no value — a number from 0.1 to 1000, in V"),
    "after wide characters": (
        'title = "t"\nsupply = { limits = "EN 50160", ▸"größe 💡" = "é", voltage = ▸"x" }\n' + LAMP,
        "supply.größe 💡: unknown key — known here: system, nominal, *",
        'supply.voltage: "x" is text — a number from 0.1 to 1000, in V'),
    "dotted key": ('title = "t"\nsupply.phasors.L1 = [230, 0]\nsupply.phasors.L2 = [230, ▸"x"]\nsupply.phasors.L3 = [230,'
                   ' # [\n  120]\n' + LAMP,
                   'supply.phasors.L2[2]: "x" is text — [magnitude in V, above 0; angle in degrees, −360 to 360]'),
    "array of inline tables": (
        ('title = "t"\nload = [\n  # { the first }\n  { name = "a", kind = "lamp", connect = "L1-N", power = 60 },\n'
        '  { name = "b", kind = "lamp", connect = "L1-N", power = ▸-60 },\n]\n[supply]\n'),
        f"load[2].power: -60 is too small — {WATT}"),
    "carriage returns": ((HEAD + "voltage = ▸true\n" + LAMP).replace("\n", "\r\n"),
                         "supply.voltage: true is a yes-or-no value — a number from 0.1 to 1000, in V"),
    "all at once, in file order": (
        HEAD + "voltage = ▸-1\n[[load]]\nname = \"a\"\nkind = \"lamp\"\nconnect = ▸\"L1-M\"\npower = 60\npoint = \"intake\"\n"
        '[[break]]\nfeeding = ▸"inteke"\n' + LAMP + 'point = ▸"nowhere"\n',
        "supply.voltage: -1 is too small — a number from 0.1 to 1000, in V",
        f'load[1].connect: "L1-M" is not known — {CONNECT} — did you mean "L1-N"?',
        'break[1].feeding: there is no point "inteke" — one of "intake" — did you mean "intake"?',
        'load[2].point: there is no point "nowhere" — one of "intake"'),
}
