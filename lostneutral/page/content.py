"""What the page holds of a case, as plain values for JSON: wiring, curves, limits, outcomes, cautions."""

from dataclasses import replace
from math import isinf

from lostneutral import data
from lostneutral.circuit.incident import TURNS
from lostneutral.circuit.wiring import EARTH, STAR, cross_words, earth_terminal, pen_run, terminal_names, wiring
from lostneutral.claims.items import BURNS
from lostneutral.claims.verdicts import ORDER
from lostneutral.consequences.cautions import cautions
from lostneutral.consequences.colours import conductor_colours
from lostneutral.consequences.limits import band
from lostneutral.consequences.pulses import trusted
from lostneutral.consequences.wear import wears
from lostneutral.errors import UsageError
from lostneutral.loads import load_model
from lostneutral.page.laws import REACH, curves
from lostneutral.page.lumped import as_impedances, fed_through, lumped, lumped_joint
from lostneutral.page.outcomes import outcomes_of, sentences, voltage_stretches
from lostneutral.report.base.rows import point_rows
from lostneutral.report.base.words import shown
from lostneutral.studies.electrode_range import with_electrodes
from lostneutral.words.conclusion import broken_words, fault_name
from lostneutral.words.items import BURNING, OUTCOMES
from lostneutral.words.terms import NO_VOLTAGE

OHMS = {"least": 0.01, "most": 1e4}  #: ends of the joint's slider between sound and open
FACTORS = {"least": 0.25, "most": 4.0}  #: of a load's power: so many times the load


def content(result, for_class=False, colours=None):
    """Return what the page of `result` holds, as plain values.

    `for_class`: begin with the neutral sound and the readings hidden. `colours`: a name from `palettes`.
    """
    case = result.case
    taken, machines = shown_as(case, trusted(result))
    made = {"title": case.title, "fault": fault_name(case), "turns": TURNS, "none": {str(k).lower(): v for k, v in NO_VOLTAGE.items()},
            "burning": {what: BURNING[kind, False] for what, kind in BURNS.items()}, "description": case.description, "class": for_class, "supply": _supply(case),
            "cautions": {"short": list(cautions(case, "short")), "full": list(cautions(case))},
            "palettes": palettes(), "palette": palette_of(colours), "outcomes": OUTCOMES, "days": data.load("harm")["outcome"]["days"], "order": list(ORDER),
            "report": {} if for_class else sentences(result)}
    if taken is None:
        return made | {"fixed": _fixed(result)}
    run, ohms = lumped_joint(taken)
    wired, number = _wiring(taken, run)
    return made | {"joint": _joint(taken, run, ohms), "wiring": wired, **_loads(taken, machines),
                   "points": _points(taken, run, number), "also": _also(taken, run, machines), "given": _given(result, case, taken),
                   "sliders": {"ohms": OHMS, "factors": FACTORS}}


def shown_as(case, by_waveforms):
    """Return (`case` as the page solves it in the browser, the machines that are impedances there); (None, ()) where it only shows waveforms.

    UsageError where no page can show `case`. Nothing is solved for that: `check_page` asks before anything is.
    """
    if case.generators:
        raise UsageError(f"{case.title}: the page has no second supply ({case.generators[0].name}): use analyse, follow or report")
    if by_waveforms:
        return None, ()
    taken, machines = as_impedances(lumped(with_electrodes(case.at_the_end())))
    beyond = [load.name for load in taken.loads if (m := load_model(load, case.supply)[0]).waits or len(m.ports) > 1]
    if beyond:
        raise UsageError(f"{case.title}: the page has no clock for loads that go off and come back after a delay, and no load with "
                         f"more than two ends ({', '.join(beyond[:3])}{' …' * (len(beyond) > 3)}): use analyse, follow or report")
    return taken, machines


def _supply(case):
    supply, limits, marks = case.supply, band(case.supply.limits), data.load("yardsticks")
    return {"lines": list(supply.lines), "phasors": {line: _pair(z) for line, z in supply.phasors.items()},
            "system": supply.system, "nominal": supply.nominal, "between": supply.nominal_line_to_line,
            "earthing": supply.earthing, "frequency": supply.frequency,
            "band": {"name": limits.name, "low": limits.low, "high": limits.high},
            "none": marks["dead"]["below"], "light": {k: marks["brightness"][k] for k in (
                "out", "unchanged_low", "unchanged_high", "glaring")},
            "touch": data.load("touch")["limit_normal"]["value"], "heat": marks["joint_sheds"]["value"]}


def _pair(z):
    return [float(f"{complex(z).real:.9g}"), float(f"{complex(z).imag:.9g}")]


def _joint(case, run, ohms):
    name = "PEN" if pen_run(case, case.point(run)) else "neutral"
    return {"words": f"{name} in the cable to {run}", "pen": name == "PEN", "given": None if isinf(ohms) else ohms}


def _wiring(case, run):
    """Return terminals by number, sources, elements after and before the faults, electrodes, branches of the loads; and the numbers."""
    everything = replace(case, loads=tuple(replace(load, on=True) for load in case.loads))
    others = tuple(b for b in case.breaks_after() if (b.feeding, b.conductor) != (run, "N"))
    after, before = wiring(everything, others, case.crosses), wiring(everything)
    number = {terminal: n for n, terminal in enumerate(dict.fromkeys((*after.terminals, *before.terminals)))}
    changing = {("run", run, "N"), *(("electrode", name) for name in _electrode_points(case, run))}

    def rows(elements):
        return [[number[e.a], number[e.b], *_pair(e.impedance)] for e in elements if e.key not in changing]

    made = {"terminals": len(number), "star": number[STAR], "earth": number.get(EARTH),
            "sources": [[number[t], *_pair(z)] for t, z in after.sources.items()], "after": rows(after.elements),
            "joint": next(([number[e.a], number[e.b], *_pair(e.impedance)] for e in after.elements
                           if e.key == ("run", run, "N")), None),
            "joint_before": next([number[e.a], number[e.b], *_pair(e.impedance)] for e in before.elements
                                 if e.key == ("run", run, "N")),
            "electrodes": [{"at": name, "a": number[earth_terminal(case, case.point(name))], "b": number[EARTH],
                            "given": case.point(name).electrode} for name in _electrode_points(case, run)],
            "branches": [[number[b.a], number[b.b], b.load] for b in after.branches]}
    sound = rows(before.elements)
    return made if sound == made["after"] else made | {"before": sound}, number


def _electrode_points(case, run):
    """Return the points whose electrode can be changed: where the joint leads, and others behind it that have one."""
    if not case.supply.earthing:
        return []
    alone = case.supply.earthing == "TN-S"  # there an electrode decides little: it is shown where the case has one
    behind = [p for p in case.points if run in fed_through(case, p.name)]
    return [p.name for p in behind if p.electrode is not None or p.name == run and not alone][:3]


def _points(case, run, terminals):
    with_loads = {load.point for load in case.loads}
    made = []
    for point in case.points:
        if point.name in with_loads or point.name == run:
            made.append({"name": point.name, "lines": {line: terminals[point.name, line] for line in point.phases},
                         "n": terminals[point.name, "N"], "behind": run in fed_through(case, point.name),
                         "pe": terminals[point.name, "PE"] if "PE" in terminal_names(case, point) else None})
    # The place that the page opens on: behind the joint, where loads stand; where that is sound, at another fault.
    sound = lumped_joint(case)[1] == 0.0
    faulty = {*(b.feeding for b in case.breaks_after()), *(c.point for c in case.crosses)} if sound else ()
    return sorted(made, key=lambda p: (not (p["behind"] and p["name"] in with_loads), p["name"] not in faulty, not p["behind"]))


def _loads(case, machines):
    limits, ends = band(case.supply.limits), wears(case)
    rows, sets, known, said = [], [], {}, {}
    for load in case.loads:
        model = load_model(load, case.supply)[0]
        key = load.kind, load.voltage, len(load.connect), tuple(sorted((k, str(v)) for k, v in load.parameters.items()))
        if key not in known:
            known[key] = len(sets)
            short, top = bool(model.short), REACH * max(case.supply.nominal, load.voltage)
            sets.append({"short": True} if short else {
                "modes": curves(load, model, case.supply.nominal), "rising": model.single_state,
                "outcomes": _shared(voltage_stretches(replace(load, on=True), model, limits, top), said)})
        rows.append({"name": load.name, "connect": list(load.connect), "point": load.point, "rated": load.voltage,
                     "count": load.count, "on": load.on, "set": known[key], "lamp": model.gives_light is True,
                     "machine": load.name in machines}
                    | _ending(ends.get(load.name)))
    return {"loads": rows, "sets": sets, "said": list(said)}


def _shared(stretches, said):
    """Put the long texts of `stretches` into `said` once and numbers in their place."""
    for stretch in stretches:
        for key in ("sure", "basis", "part"):
            stretch[key] = said.setdefault(stretch[key], len(said))
    return stretches


def _ending(wear):
    """Return how a load that has used its life up ends, as the course in time takes it."""
    return {} if wear is None else {"ends": wear.ends, "part": wear.part, "short": wear.short_resistance,
                                    "opens": wear.opens_above}


def _also(case, run, machines):
    """Return what else is broken or exchanged, which the page does not change, in words."""
    said = [broken_words(case, b) for b in case.breaks_after() if (b.feeding, b.conductor) != (run, "N")]
    said += [f"{name}: taken on this page as a fixed impedance, which holds on balanced lines only" for name in machines]
    return said + list(map(cross_words, case.crosses))


def _given(result, case, taken):
    """Return what the whole calculation says of the case as it is given, to hold the page to it."""
    point = lumped_joint(case)[0]
    states = [{"volts": {line: None if (v := s.voltage(point, line)) is None else round(abs(v), 3)
                         for line in case.point(point).phases}} for s in shown(result.after)]
    return {"point": point, "states": states, "reached": result.after.reached is not None, "ends": result.after.ends,
            "lumped": len(taken.loads) != len(case.loads), "street": len(taken.points) != len(case.points),
            "loads": len(case.loads), "machines": any(len(load_model(load, case.supply)[0].ports) > 1 for load in case.loads)}


def _fixed(result):
    """Return the picture and the figures of a case that is answered by waveforms."""
    from lostneutral.report.waveform.figures import courses

    picture, words = courses(result.case, result.waveforms)
    state, verdicts = shown(result.after)[0], outcomes_of(result)
    rows = [[load.name, "-".join(load.connect), None if load.voltage is None else round(abs(load.voltage), 1),
             verdicts[load.name]] for load in state.loads if load.on]
    phases = [[f"{row.line} at {row.place}", None if row.after is None else round(row.after, 1), row.told]
              for row in point_rows(result.case, None, state)]
    return {"picture": picture, "words": words, "rows": rows, "phases": phases}


CSS = {"brown": "#8a4b20", "black": "#2b2b2b", "grey": "#7c8288", "red": "#c02a2a", "yellow": "#d9a400", "blue": "#2c62c4",
       "white": "#dfe3e6", "green": "#2c8a4a", "orange": "#d9731c", "violet": "#7d4fb3", "pink": "#d5679b"}
"""First word of a conductor's colour -> how a screen shows it."""


def palettes():
    """Return {name: {L1: [colour, word], …}} of every scheme of conductor colours that names all its lines."""
    table = data.load("conductor_colours")
    schemes = {f"IEC 60445, {table['harmonised']['period']}": table["harmonised"]}
    for country in table["country"]:
        for scheme in country["scheme"]:
            schemes[f"{country['name']}, {scheme['age']}: {scheme['period']}"] = scheme
    found = {}
    for name, scheme in schemes.items():
        words = {line: scheme[line].split()[0].strip(",;()") for line in ("L1", "L2", "L3") if scheme.get(line)}
        if len(words) == 3 and all(word in CSS for word in words.values()):
            found[name] = {line: [CSS[word], scheme[line]] for line, word in words.items()}
    return found


def palette_of(country):
    """Return the name of the palette in use in `country` ("" for None: the page's own colours).

    UsageError, with the names there are, if the country is not in the table.
    """
    if country is None:
        return ""
    conductor_colours(country)
    names = [name for name in palettes() if name.startswith(f"{country}, present")]
    return names[0] if names else next(iter(palettes()))
