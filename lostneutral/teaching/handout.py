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
from lostneutral.teaching import diagrams
from lostneutral.teaching.bench import has_lamps_only, ohm_words, resistor_rating
from lostneutral.teaching.blanks import BLANK, ask
from lostneutral.teaching.quiz import questions
from lostneutral.teaching.star import afterwards, broken_neutral, star_loads

MOST = 12  #: loads of one sheet


def handout(lesson):
    """Return the blocks of the handout, all line names still L1 L2 L3."""
    case = lesson.result.case
    made = [
        heading("What this lesson is for"),
        paragraph(case.description) if case.description else None,
        paragraph("At the end you can:"),
        bullets(_texts("aim")),
        paragraph("You need:"),
        bullets(_texts("prior")),
        *first(lesson),
        *parts(lesson),
        *bench(lesson),
        new_page(),
        *predict(lesson),
        *readings(lesson),
        new_page(),
        *diagrams.with_neutral(lesson),
        *diagrams.without_neutral(lesson),
        *diagrams.light(lesson),
        *diagrams.surprise(lesson),
        *quiz(lesson),
        *colours(case),
        *take_away(),
        *left_out(lesson),
        heading("Cautions"),
        bullets(lesson.result.cautions),
    ]
    return [block for block in made if block]


def _texts(part):
    return data.load("lesson")[part]["items"]


def first(lesson):
    """Return what may be shown, by whom, at which voltage: before anything else."""
    case, supply = lesson.result.case, lesson.result.case.supply
    bench_volts, factor = data.load("lesson")["bench"]["voltage"], supply.nominal_line_to_line / supply.nominal
    given = {
        "bench": bench_volts,
        "bench_lines": number(bench_volts * factor),
        "nominal": supply.nominal,
        "lines": number(supply.nominal_line_to_line, 0),
    }
    rows = [
        (d["who"], d["what"], d["voltage"].format_map(given), d["how"]) for d in data.load("lesson")["demonstration"]
    ]
    limit = published(data.load("touch")["limit_normal"])
    return [
        heading("Before anything is switched on"),
        table(
            "What may be shown, by whom, at which voltage",
            ("who", "what", "voltage", "how"),
            rows,
            "llll",
            {0: 1, 1: 1.2, 2: 1.4, 3: 2.2},
        ),
        paragraph(
            f"For comparison: the conventional touch voltage limit in dry places is {limit.value:g} V "
            f"({limit.source}; {limit.known}). It is no licence to touch anything."
        ),
        box("Where a neutral may be broken for real", cautions(case, "short"), heavy=True),
    ]


def parts(lesson):
    """Return parts and wiring, with the neutral and without."""
    case = lesson.result.case
    lines = len(case.supply.lines)
    what = "lamp" if has_lamps_only(case) else "load"
    rows = [
        (f"supply with {lines} lines and neutral, current limited", "1"),
        ("fuse", str(lines)),
        ("ammeter", str(lines + 1)),
        ("voltmeter of high impedance, with two probes", "1"),
        (f"{what}s as in the prediction sheet", str(sum(load.count for load in star_loads(case)))),
        (_link(case), "1"),
        ("ruler, compass, squared paper", "1 each"),
    ]
    return [
        heading("Parts and wiring"),
        table("Parts", ("part", "number"), rows, "lr", {0: 1}),
        figure(
            lesson.drawn["wiring"],
            "The board with the neutral in and changed. Nothing else changes. Fuses, then ammeters (A), "
            "then the loads, which meet in the star point.",
            floats=False,
        ),
    ]


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
        rows = [
            (
                line,
                f"{b.rated[line]:g} W" if lamp else ohm_words(b.ohms[line]),
                ohm_words(b.ohms[line]) if lamp else f"{resistor_rating(max(was.power, now.power)):g} W",
                significant(size(was.current), "A"),
                *(
                    (f"{number(size(now.voltage))} V", significant(size(now.current), "A"), significant(now.power, "W"))
                    if filled
                    else (BLANK, BLANK)
                ),
            )
            for line, was, now in zip(b.rated, before, after)
        ]
        head = [
            "line",
            f"lamp for {volts:g} V" if lamp else "resistor",
            "hot resistance" if lamp else "rated at least",
            "current, neutral in",
            "voltage, neutral out",
            "current, neutral out",
        ]
        head += ["power, neutral out"] if filled else []
        made.append(
            table(
                f"The same demonstration at {volts:g} V to neutral, with "
                f"{'lamps' if lamp else 'resistors'} that can be bought",
                head,
                rows,
                "lrrrrr" + "r" * filled,
            )
        )
        if filled:
            shift = shown(b.result.after)[0].nodes["bench", "N"]
            made.append(paragraph(f"Star point: {number(abs(shift))} V from the middle."))
    return made


def predict(lesson):
    """Return the prediction sheet."""
    loads = star_loads(lesson.result.case)
    rows = [(load.name, load.connect[0], _rated(load), BLANK, BLANK, BLANK) for load in loads[:MOST]]
    out = afterwards(lesson.result.case)
    return [
        heading("Predict first"),
        paragraph(
            "Fill this in before anything is switched on. Do not turn the page. A wrong guess with a reason is worth "
            "more than a right one without."
        ),
        table(
            "Your prediction",
            ("load", "line", "marked", "neutral in: V", f"{out}: more, less, same?", f"{out}: V"),
            rows,
            "lllrrr",
            {0: 1},
        ),
        *more(loads),
        *ask("Which load is in the greatest danger, and why?"),
        *ask("What will the ammeter in the neutral show, with the neutral in?"),
        *ask("If the load with the highest voltage fails, what happens to the others?"),
    ]


def more(loads):
    """Return what says that a sheet has room for the first loads only, if it has."""
    left = len(loads) - MOST
    return (
        [paragraph(f"{left} more load{'s' * (left > 1)} of the case, for which the sheet has no room.")]
        if left > 0
        else []
    )


def _rated(load):
    watts = resolve(load).parameters.get("power")
    count = f"{load.count} × " if load.count > 1 else ""
    return f"{load.voltage:g} V" + (f", {count}{watts:g} W" if watts else "")


def readings(lesson, filled=False):
    """Return the table of readings, with blanks or `filled` with what the solver says."""
    result, point = lesson.result, lesson.point
    befores, afters = shown(result.before)[:1], shown(result.after)
    states = [("neutral in", s) for s in befores] + [
        (afterwards(result.case) + (f", {chr(ord('A') + n)}" if len(afters) > 1 else ""), s)
        for n, s in enumerate(afters)
    ]
    rows = [(name, *(read(s) if filled else BLANK for _, s in states)) for name, read in _instruments(result, point)]
    return [
        heading("Readings" if not filled else "Readings, filled in"),
        paragraph(
            "Neutral in, loads on: read. Everything dead, change the neutral, on again: read. Light in words: "
            "out, dimmer, unchanged, brighter, glaring."
            if not filled
            else "What the solver gives for this case, with the loads as they settle"
            + (", in true r.m.s. values." if trusted(result) else ".")
        ),
        table("Readings", ("between, or in", *(name for name, _ in states)), rows, "l" + "r" * len(states)),
    ]


def _instruments(result, point):
    """Yield (what is read, how to read it from a solution, in words)."""
    from lostneutral.consequences.equipment import brightness

    lines = result.case.point(point).phases
    for line in lines:
        yield f"{line} and N", lambda s, line=line: f"{number(size(s.voltage(point, line)))} V"
    for a, b in zip(lines, (*lines[1:], lines[0])[: len(lines) if len(lines) > 2 else 1]):
        yield f"{a} and {b}", lambda s, a=a, b=b: f"{number(size(s.voltage(point, a, b)))} V"
    yield "N and the supply's star point", lambda s: f"{number(size(s.nodes.get((point, 'N'))))} V"
    wanted = star_loads(result.case)[:MOST]
    for load in wanted:
        yield (
            f"current of “{load.name}”",
            lambda s, load=load: significant(size(next(x.current for x in s.loads if x.name == load.name)), "A"),
        )
    yield "current in the neutral", lambda s: significant(size(s.currents.get((point, "N"))), "A")
    for load in (x for x in wanted if resolve(x).kind == "lamp"):
        yield (
            f"light of “{load.name}”",
            lambda s, load=load: (
                brightness(next(x.details.get("light") for x in s.loads if x.name == load.name)) or NOTHING
            ),
        )


def quiz(lesson):
    """Return the beliefs to be called true or false."""
    return [
        heading("True or false?"),
        table(
            "Beliefs that are met in the trade. Say why, with a figure from your readings",
            ("", "somebody says", "true or false, because"),
            [(str(n), says, "_" * 40) for n, (says, _) in enumerate(questions(lesson.result), 1)],
            "rll",
            {1: 1.3, 2: 1},
        ),
    ]


def colours(case):
    """Return conductor colours old and new: of the case's country, else of a few."""
    countries = [case.supply.old_colours] if case.supply.old_colours else data.load("lesson")["colours"]["countries"]
    rows = [
        (
            country,
            f"{s['age']}: {s['period']}",
            *(s[c] or NOTHING for c in ("L1", "L2", "L3", "N", "PE")),
            f"{s['source']} ({s['known']})",
        )
        for country in countries
        for s in conductor_colours(country)
    ]
    return [
        heading("Conductor colours old and new"),
        table(
            "Conductor colours",
            ("where", "period", "L1", "L2", "L3", "N", "PE", "source"),
            rows,
            "l" * 8,
            {0: 0.9, 1: 1.3, 2: 0.7, 3: 0.7, 4: 0.7, 5: 0.7, 6: 1.1, 7: 1.9},
        ),
        paragraph(
            "A colour proves neither what a conductor is nor that it is dead: test. Where old and new meet, what was "
            "the colour of a line may now be that of the neutral."
        ),
    ]


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
    return [
        heading("Left out of this lesson", 2),
        bullets(f"{_sentence('; '.join(parts))}: {why}." for why, parts in together.items()),
    ]


def _sentence(text):
    return text[0].upper() + text[1:]
