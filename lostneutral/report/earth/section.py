"""What became live, where the current goes instead, and what a meter would show: report section and terminal text."""

from lostneutral import data
from lostneutral.circuit.wiring import terminal_names
from lostneutral.consequences.diverted import ways
from lostneutral.consequences.touch import touch_voltages
from lostneutral.evidence.effects import point_words
from lostneutral.evidence.places import Place
from lostneutral.report.base.blocks import figure, heading, paragraph, table
from lostneutral.report.base.words import NOTHING, after_names, number, shown, significant
from lostneutral.report.earth import figures as earth_figures
from lostneutral.words.amounts import about, amount

MOST_PARTS = 40  #: points up to which the wiring is drawn
_METERS = ("Instruments: a {high} of {high_ohms} and a {low} of {low_ohms} (both assumed). Conductors with no other connection are "
           "assumed capacitively coupled. “Loads off” is with every load at the point and beyond it off.")


def earth(result):
    """Return the section on the wiring, earth terminals, diverted current and readings."""
    case, afters = result.case, shown(result.after)
    made = [heading("Extent of the fault and live parts")]
    if afters and len(case.points) <= MOST_PARTS:
        words = {p.name: point_words(case, p, afters[0]) for p in case.points}
        place = Place("", "", "the fault", case.breaks_after(), case.crosses)
        made.append(figure(earth_figures.wiring_tree(case, words, place),
                           "The wiring from the supply; the cross is the fault. Hatching and text show the condition of each part by "
                           "calculation: voltage above or below limits, none to neutral, live metalwork, or unaffected."))
    return [*made, *_touch(result), *_diverted(result), *readings(result)]


def _touch(result):
    case = result.case
    earthed = any("PE" in terminal_names(case, p) for p in case.points)
    made = []
    states = [*shown(result.before)[:1], *shown(result.after)]
    volts = [v for s in states for v in touch_voltages(case, s).values()]
    if not (case.supply.earthing and earthed and shown(result.after)):
        pass
    elif all(v is not None and v < 0.5 for v in volts):
        made.append(paragraph("Every earth terminal is at 0 V to remote earth by calculation, before and after."))
    elif len(shown(result.after)) == 1 and _alike(touch_voltages(case, shown(result.after)[0]).values()):
        after = max(touch_voltages(case, shown(result.after)[0]).values())
        before = max((v for s in shown(result.before)[:1] for v in touch_voltages(case, s).values()), default=0.0)
        made.append(paragraph(f"By calculation every earth terminal would be at {about(after, 'V')} to remote earth after the fault, "
                              f"and at no more than {amount(before, 'V')} before."))
    else:
        made.append(figure(earth_figures.earth_potentials(result), "Earth terminals to remote earth, in the order of the "
                           "wiring: prospective voltages, with nobody touching."))
    found = result.electrode
    if found is not None and found.volts.max() > 0.5:  # a flat line at nothing is told in the findings
        as_if = "The earthing is not given; shown as if TN-C-S. " if found.as_if else "No electrode is given there. "
        made.append(figure(earth_figures.touch_against_electrode(found), f"{as_if}Touch voltage at {found.point} against "
                           "the resistance of an electrode of its own."))
    return made


def _alike(volts):
    """Return whether a figure of `volts` would be a flat line."""
    volts = list(volts)
    known = [v for v in volts if v is not None]
    return bool(known) and len(known) == len(volts) and max(known) - min(known) < 0.03 * max(known)


def _diverted(result):
    afters = shown(result.after)
    before = next(iter(shown(result.before)), None)
    rows = {}
    for solution, index in zip((before, *afters), range(len(afters) + 1)):
        for way in ways(result.case, before, solution) if solution else ():
            rows.setdefault(way.name, [NOTHING] * (len(afters) + 1))[index] = (
                "not determined" if way.current is None else significant(abs(way.current), "A"))
    if not rows:
        return []
    return [heading("Alternative return paths", 2),
            table("Currents through electrodes and metallic paths", ("path", "before", *after_names(afters)),
                  [(name, *values) for name, values in rows.items()], "l" + "r" * (len(afters) + 1), {0: 1})]


def readings(result):
    """Return what instruments would show at each point after the break."""
    if not result.readings:
        return []
    rows = {}
    for r in result.readings:
        row = rows.setdefault((r.point, "-".join(r.between)), {})
        row[r.loads_on] = r
    body = [(point, between, *(number(value) for on in (True, False) for value in
                               ((row[on].high, row[on].low) if on in row else (None, None))))
            for (point, between), row in rows.items()]
    return [heading("What a meter would show", 2), paragraph(_meters()),
            *map(paragraph, deceiving(result)),
            table("Readings after the break, V", ("point", "between", "high-impedance", "low-impedance",
                                                  "high-impedance, loads off", "low-impedance, loads off"), body, "llrrrr", {0: 1})]


def _meters():
    both = {key: data.load("meters")[key] for key in ("high", "low")}
    return _METERS.format(**{key: e["name"] for key, e in both.items()},
                          **{f"{key}_ohms": amount(e["impedance"], "ohm") for key, e in both.items()})


def deceiving(result):
    """Return one sentence for each way in which readings deceive, with where."""
    said = {}
    for r in result.readings:
        if r.warning:
            said.setdefault((r.between, r.loads_on), r)
    return tuple(f"{'-'.join(r.between)} at {r.point}{'' if r.loads_on else ', loads off'}: {r.warning}"
                 for r in said.values())
