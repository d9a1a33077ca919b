"""The handout of a lesson: what the learners get, with the results still to be found."""

from math import isinf

from lostneutral import data
from lostneutral.consequences.cautions import cautions
from lostneutral.consequences.colours import conductor_colours
from lostneutral.consequences.limits import published
from lostneutral.consequences.pulses import trusted
from lostneutral.loads.catalogue import resolve
from lostneutral.report.blocks import box, bullets, figure, heading, new_page, paragraph, table
from lostneutral.report.words import NOTHING, number, shown, significant, size
from lostneutral.teaching.bench import has_lamps_only, ohm_words, resistor_rating
from lostneutral.teaching.figures import lamp_rows
from lostneutral.teaching.quiz import questions
from lostneutral.teaching.star import afterwards, broken_neutral, star_loads

BLANK = "_" * 10
LINE = "_" * 100


def handout(lesson):
    """Return the blocks of the handout, all line names still L1 L2 L3."""
    case = lesson.result.case
    made = [heading("What this lesson is for"), paragraph(case.description) if case.description else None,
            paragraph("At the end you can:"), bullets(_texts("aim")), paragraph("You need:"), bullets(_texts("prior")),
            *first(lesson), *parts(lesson), *bench(lesson), new_page(), *predict(lesson), *readings(lesson), new_page(),
            *with_neutral(lesson), *without_neutral(lesson), *light(lesson), *surprise(lesson), *quiz(lesson),
            *colours(case), *take_away(), *left_out(lesson), heading("Cautions"), bullets(lesson.result.cautions)]
    return [block for block in made if block]


def _texts(part):
    return data.load("lesson")[part]["items"]


def first(lesson):
    """Return what may be shown, by whom, at which voltage: before anything else."""
    case, supply = lesson.result.case, lesson.result.case.supply
    bench_volts, factor = data.load("lesson")["bench"]["voltage"], supply.nominal_line_to_line / supply.nominal
    given = {"bench": bench_volts, "bench_lines": number(bench_volts * factor), "nominal": supply.nominal,
             "lines": number(supply.nominal_line_to_line, 0)}
    rows = [(d["who"], d["what"], d["voltage"].format_map(given), d["how"]) for d in data.load("lesson")["demonstration"]]
    limit = published(data.load("touch")["limit_normal"])
    return [heading("Before anything is switched on"),
            table("What may be shown, by whom, at which voltage", ("who", "what", "voltage", "how"), rows, "llll",
                  {0: 1, 1: 1.2, 2: 1.4, 3: 2.2}),
            paragraph(f"For comparison: the conventional touch voltage limit in dry places is {limit.value:g} V "
                      f"({limit.source}; {limit.known}). It is no licence to touch anything."),
            box("Where a neutral may be broken for real", cautions(case, "short"), heavy=True)]


def parts(lesson):
    """Return parts and wiring, with the neutral and without."""
    case = lesson.result.case
    lines = len(case.supply.lines)
    what = "lamp" if has_lamps_only(case) else "load"
    rows = [(f"supply with {lines} lines and neutral, current limited", "1"), ("fuse", str(lines)),
            ("ammeter", str(lines + 1)), ("voltmeter of high impedance, with two probes", "1"),
            (f"{what}s as in the prediction sheet", str(sum(load.count for load in star_loads(case)))),
            (_link(case), "1"), ("ruler, compass, squared paper", "1 each")]
    return [heading("Parts and wiring"), table("Parts", ("part", "number"), rows, "lr", {0: 1}),
            figure(lesson.drawn["wiring"], "The board with the neutral in and changed. Nothing else changes. Fuses, then ammeters (A), "
                   "then the loads, which meet in the star point.", floats=False)]


def _link(case):
    joint = broken_neutral(case).resistance
    words = "link, to open the neutral while everything is dead"
    return words if isinf(joint) else f"{words}; resistor of {joint:g} ohm, to take its place as the bad joint"


def bench(lesson, filled=False):
    """Return the bench version: what to buy, and (`filled`) what the solver says it will do."""
    made = [heading("The bench version", 2)] if lesson.benches else []
    for b in lesson.benches:
        volts, lamp = b.result.case.supply.nominal, b.kind == "lamp"
        before, after = (shown(state)[0].loads for state in (b.result.before, b.result.after))
        rows = [(line, f"{b.rated[line]:g} W" if lamp else ohm_words(b.ohms[line]),
                 ohm_words(b.ohms[line]) if lamp else f"{resistor_rating(max(was.power, now.power)):g} W",
                 significant(size(was.current), "A"),
                 *((f"{number(size(now.voltage))} V", significant(size(now.current), "A"),
                    significant(now.power, "W")) if filled else (BLANK, BLANK)))
                for line, was, now in zip(b.rated, before, after)]
        head = ["line", f"lamp for {volts:g} V" if lamp else "resistor", "hot resistance" if lamp else "rated at least",
                "current, neutral in", "voltage, neutral out", "current, neutral out"]
        head += ["power, neutral out"] if filled else []
        made.append(table(f"The same demonstration at {volts:g} V to neutral, with "
                          f"{'lamps' if lamp else 'resistors'} that can be bought", head, rows, "lrrrrr" + "r" * filled))
        if filled:
            shift = shown(b.result.after)[0].nodes["bench", "N"]
            made.append(paragraph(f"Star point: {number(abs(shift))} V from the middle."))
    return made


def predict(lesson):
    """Return the prediction sheet."""
    rows = [(load.name, load.connect[0], _rated(load), BLANK, BLANK, BLANK) for load in star_loads(lesson.result.case)]
    out = afterwards(lesson.result.case)
    return [heading("Predict first"),
            paragraph("Fill this in before anything is switched on. Do not turn the page. A wrong guess with a reason is worth "
                      "more than a right one without."),
            table("Your prediction", ("load", "line", "marked", "neutral in: V", f"{out}: more, less, same?",
                                      f"{out}: V"), rows, "lllrrr", {0: 1}),
            *_ask("Which load is in the greatest danger, and why?"),
            *_ask("What will the ammeter in the neutral show, with the neutral in?"),
            *_ask("If the load with the highest voltage fails, what happens to the others?")]


def _ask(question):
    return [paragraph(question), paragraph(LINE)]


def _rated(load):
    watts = resolve(load).parameters.get("power")
    count = f"{load.count} × " if load.count > 1 else ""
    return f"{load.voltage:g} V" + (f", {count}{watts:g} W" if watts else "")


def readings(lesson, filled=False):
    """Return the table of readings, with blanks or `filled` with what the solver says."""
    result, point = lesson.result, lesson.point
    befores, afters = shown(result.before)[:1], shown(result.after)
    states = [("neutral in", s) for s in befores] + [
        (afterwards(result.case) + (f", {chr(ord('A') + n)}" if len(afters) > 1 else ""), s) for n, s in enumerate(afters)]
    rows = [(name, *(read(s) if filled else BLANK for _, s in states)) for name, read in _instruments(result, point)]
    return [heading("Readings" if not filled else "Readings, filled in"),
            paragraph("Neutral in, loads on: read. Everything dead, change the neutral, on again: read. Light in words: out, dimmer, "
                      "unchanged, brighter, glaring." if not filled else
                      "What the solver gives for this case, with the loads as they settle"
                      + (", in true r.m.s. values." if trusted(result) else ".")),
            table("Readings", ("between, or in", *(name for name, _ in states)), rows, "l" + "r" * len(states))]


def _instruments(result, point):
    """Yield (what is read, how to read it from a solution, in words)."""
    from lostneutral.consequences.equipment import brightness

    lines = result.case.point(point).phases
    for line in lines:
        yield f"{line} and N", lambda s, line=line: f"{number(size(s.voltage(point, line)))} V"
    for a, b in zip(lines, (*lines[1:], lines[0])[:len(lines) if len(lines) > 2 else 1]):
        yield f"{a} and {b}", lambda s, a=a, b=b: f"{number(size(s.voltage(point, a, b)))} V"
    yield "N and the supply's star point", lambda s: f"{number(size(s.nodes.get((point, 'N'))))} V"
    wanted = star_loads(result.case)
    for load in wanted:
        yield f"current of “{load.name}”", lambda s, load=load: significant(
            size(next(x.current for x in s.loads if x.name == load.name)), "A")
    yield "current in the neutral", lambda s: significant(size(s.currents.get((point, "N"))), "A")
    for load in (x for x in wanted if resolve(x).kind == "lamp"):
        yield f"light of “{load.name}”", lambda s, load=load: brightness(
            next(x.details.get("light") for x in s.loads if x.name == load.name)) or NOTHING


def with_neutral(lesson, filled=False):
    """Return the phasor diagrams and the neutral current by parallelograms."""
    if "phasors" not in lesson.drawn:
        return []
    made = [heading("Draw it"), figure(lesson.drawn["phasors-values" if filled else "phasors"],
                                       "The phasor diagram twice, true to scale: arrows from N to the lines. Measure them with "
                                       "the bar. The cross is the supply's star point.", floats=False)]
    if "neutral-current" in lesson.drawn and not filled:
        steps = ["Draw the line currents from one point, each in the direction of its voltage (behind it if inductive, ahead if capacitive).",
                 "Complete the parallelogram of the first two. Its diagonal is their sum."]
        steps += ["Complete the parallelogram of that sum and the third. Its diagonal is what the neutral carries back."]
        made += [heading("The neutral current, with the neutral in", 2), _numbered(steps),
                 figure(lesson.drawn["neutral-current"], "The neutral current by parallelograms, true to scale.", floats=False)]
    return made


def without_neutral(lesson):
    """Return the star point by ruler and compass: from the nameplates, and from readings."""
    made, drawn = [], lesson.drawn
    if "star-point" in drawn:
        made += [heading(f"The star point from the nameplates, {afterwards(lesson.result.case)}", 2),
                 paragraph(weights_words(lesson.result.case, lesson.nameplate)), _numbered(_steps(lesson.nameplate)),
                 figure(drawn["star-point"], "The star point as the centre of gravity of the corners, true to scale.", floats=False),
                 paragraph("Measure from N to each corner: those are the voltages. Write them beside your readings.")]
    if "star-point-readings" in drawn:
        made += [heading("The star point from three readings", 2),
                 paragraph("Take the compass. About each corner draw an arc with the voltage that you read between that line and "
                           "N as radius. Two arcs cross in two points; the third says which of them is N. If the three miss one "
                           "another by more than a few volts, one reading is wrong. This holds for loads of every kind."),
                 figure(drawn["star-point-readings"], "The star point from three readings, true to scale.", floats=False)]
    if "blank" in drawn:
        made.append(figure(drawn["blank"], "For your own readings.", floats=False))
    return made


def weights_words(case, star):
    """Return the weights of the corners in words: W at the nominal voltage of the supply."""
    volts = case.supply.nominal
    words = ", ".join(f"{line} {_weight(g * volts**2)}" for line, g in star.weights.items())
    back = (f" The way back of the bad neutral counts like a load of {significant(star.way_back * volts**2)} W that pulls towards "
            "the middle.") if star.way_back else ""
    return (f"Take each load as a fixed resistor. What it would take at {volts:g} V is its weight, in W: {words}. N lies where "
            f"the {'triangle' if len(star.corners) > 2 else 'line'} would balance on a needle with these weights at its {'corners' if len(star.corners) > 2 else 'ends'}.{back}")


def _weight(watts):
    return f"{float(significant(watts)):g}"


def _numbered(steps):
    return bullets(f"Step {n}: {text}" for n, text in enumerate(steps, 1))


def _steps(star):
    lines = [line for line, weight in star.weights.items() if weight > 0]
    shape = "triangle" if len(star.corners) > 2 else "line"
    steps = [f"Draw the {shape}: open the compass to the voltage between lines" +
             (", and draw an arc about each of two corners; they cross in the third." if len(star.corners) > 2 else
              ", and mark the middle.")]
    one, two = lines[:2]
    steps.append(f"Divide the side {one}–{two}: draw any helping line from {one}. Step off on it first the weight of {two}, then "
                 f"that of {one}. Join the end with {two}; the parallel through the first mark meets the side in P.")
    if len(lines) > 2:
        steps.append(f"Divide the side {two}–{lines[2]} in the same way: Q.")
        steps.append(f"Join P with {lines[2]} and Q with {one}. They cross in N.")
    else:
        steps.append("P is the star point N: two loads left are in series.")
    if star.way_back:
        steps.append("Join N with the middle, and divide that line too: all loads together weigh at N, the way back in the middle.")
    return steps


def light(lesson):
    """Return the picture of the lamps' light."""
    if "light" not in lesson.drawn:
        return []
    return [heading("The light of the lamps"), figure(lesson.drawn["light"], "The area of the disc is the light "
                                                      "afterwards, the broken circle the light before.", floats=False)]


def surprise(lesson, filled=False):
    """Return what sets real lamps apart from fixed resistors."""
    named = [heading("The surprise: a lamp is no fixed resistor")]
    made, after = [] if filled else [*named, *_lamp(lesson)], lesson.result.after.reached
    if not lesson.nameplate or after is None:
        return made
    made, fixed = made or named, {line: abs(z - lesson.nameplate.neutral) for line, z in lesson.nameplate.corners.items()}
    rows = [(line, f"{number(volts)} V", *((f"{number(size(after.voltage(lesson.point, line)))} V",) if filled else (BLANK, BLANK)))
            for line, volts in fixed.items()]
    head = ("line", "as fixed resistors", "as the loads are", *(() if filled else ("your reading",)))
    made.append(table(f"Line to neutral, {afterwards(lesson.result.case)}", head, rows, "lrrr"[:len(head)]))
    if not filled:
        made += _ask("Which lines are further from the nominal voltage than the fixed resistors say? Why?")
    return made


def _lamp(lesson):
    measured = data.load("lamps")["measured_220_volt"]
    return [paragraph("A cold filament has a small resistance, a hot one a large one. A lamp that gets less than its voltage cools "
                      "and draws more than a resistor would; one that gets more heats up and draws less. So unequal lamps part "
                      "further than the nameplates say."),
            figure(lesson.drawn["lamp-curve"], f"A lamp for 220 V: {measured['source']}; {data.KNOWN[measured['known']]}. "
                   "The model is given the reading at 220 V only.", floats=False),
            table("Current of that lamp, A", ("voltage", "measured", "model", "fixed resistor"),
                  [(f"{v:g} V", *(number(i, 2) for i in currents)) for v, *currents in lamp_rows()], "rrrr")]


def quiz(lesson):
    """Return the beliefs to be called true or false."""
    return [heading("True or false?"),
            table("Beliefs that are met in the trade. Say why, with a figure from your readings", ("", "somebody says", "true or false, because"),
                  [(str(n), says, "_" * 40) for n, (says, _) in enumerate(questions(lesson.result), 1)], "rll", {1: 1.3, 2: 1})]


def colours(case):
    """Return conductor colours old and new: of the case's country, else of a few."""
    countries = [case.supply.old_colours] if case.supply.old_colours else data.load("lesson")["colours"]["countries"]
    rows = [(country, f"{s['age']}: {s['period']}", *(s[c] or NOTHING for c in ("L1", "L2", "L3", "N", "PE")),
             f"{s['source']} ({s['known']})") for country in countries for s in conductor_colours(country)]
    return [heading("Conductor colours old and new"),
            table("Conductor colours", ("where", "period", "L1", "L2", "L3", "N", "PE", "source"), rows, "l" * 8,
                  {0: 0.9, 1: 1.3, 2: 0.7, 3: 0.7, 4: 0.7, 5: 0.7, 6: 1.1, 7: 1.9}),
            paragraph("A colour proves neither what a conductor is nor that it is dead: test. Where old and new meet, what was the "
                      "colour of a line may now be that of the neutral.")]


def take_away():
    """Return the five lines to take away."""
    return [box("Five lines to take away", _texts("takeaway"))]


def left_out(lesson):
    """Return which parts of the lesson this case does not allow, and why."""
    if not lesson.left_out:
        return []
    together = {}
    for part, why in lesson.left_out.items():
        together.setdefault(why, []).append(part)
    return [heading("Left out of this lesson", 2),
            bullets(f"{_sentence('; '.join(parts))}: {why}." for why, parts in together.items())]


def _sentence(text):
    return text[0].upper() + text[1:]
