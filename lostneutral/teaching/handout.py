"""The handout of a lesson: what the learners get. It holds no result; those stand in the key."""

from math import isinf

from lostneutral import data
from lostneutral.consequences.colours import conductor_colours
from lostneutral.loads.catalogue import resolve
from lostneutral.report.base.blocks import bullets, figure, form, heading, new_page, paragraph, table, together
from lostneutral.report.base.words import NOTHING, number
from lostneutral.report.documents.advice import both
from lostneutral.teaching import constructed, questions, safety
from lostneutral.teaching.bench import POINT, amp_words, light_words, ohm_words, resistor_rating
from lostneutral.teaching.blanks import BLANK, ask, mark_words
from lostneutral.teaching.figures import _joint_words
from lostneutral.teaching.look import country_of
from lostneutral.teaching.quiz import statements
from lostneutral.teaching.star import star_loads
from lostneutral.words.amounts import listed, plain
from lostneutral.words.language import tell

MOST = 12  #: loads of one sheet
READING_MARKS = 4


def handout(lesson):
    """Return the blocks of the handout, all line names still L1 L2 L3."""
    made = [
        paragraph(tell("Name: ______________________________     Class: ______________     Date: ______________")),
        *aims(lesson),
        *safety.first(lesson),
        *vocabulary(lesson),
        *parts(lesson),
        new_page(),
        *predict(lesson),
        *readings(lesson),
        *constructed.draw_neutral_current(lesson),
        *constructed.draw_star_point(lesson),
        *constructed.from_readings(lesson),
        *constructed.not_constructed(lesson),
        *constructed.surprising_lamps(lesson),
        *quiz(lesson),
        *the_case(lesson),
        *colours(lesson),
        *take_away(lesson),
        together([heading(tell("Cautions")), bullets(both(lesson.result.cautions))]),
    ]
    return [block for block in made if block]


def fitting(lesson, part):
    """Return the entries of a part of data file `lesson` that fit: of this kind of supply, and with a figure they need."""
    return [
        e
        for e in data.load("lesson")[part]["item"]
        if e.get("system", lesson.bench.system) == lesson.bench.system
        and (not e.get("needs") or set(e["needs"]) & set(lesson.drawn))
    ]


def bench_name(lesson):
    """Return what the bench version is called."""
    return tell("The two-battery split-phase lesson") if lesson.bench.system == "split-phase" else tell("The bench version")


def aims(lesson):
    """Return aims and what is needed beforehand."""
    return [
        heading(tell("Aims")),
        paragraph(tell("By the end of the lesson you will be able to:")),
        bullets(tell(e["words"]) for e in fitting(lesson, "aim")),
        paragraph(tell("You need:")),
        bullets(tell(e["words"]) for e in fitting(lesson, "prior")),
    ]


def vocabulary(lesson):
    """Return the vocabulary of the lesson."""
    lines = listed(lesson.bench.case.supply.lines) if lesson.bench.system == "split-phase" else tell("L1, L2 and L3")
    return [
        heading(tell("Words")),
        table(
            tell("Words of this lesson"),
            (tell("word"), tell("what it means")),
            [(tell(e["term"]), tell(e["words"], lines=lines)) for e in fitting(lesson, "vocabulary")],
            "ll",
            {1: 1},
        ),
    ]


def parts(lesson):
    """Return parts and wiring of the bench version, and what it loses against the case."""
    bench = lesson.bench
    entry, fuses = data.load("lesson")["bench"], data.load("lesson")["bench"]["fuses"]
    rows = [
        (f"{tell(entry[bench.system]['supply'])}: {safety.voltage_words(bench)}", "1"),
        (tell("fuse link of {fuse} A ({kind}), in its holder", fuse=plain(bench.fuse), kind=tell(fuses['kind'])), tell("{number} and spares", number=len(bench.lines))),
        (tell("ammeter"), str(len(bench.lines) + 1)),
        (tell("voltmeter with two insulated probes"), "1"),
    ]
    for line in bench.lines:
        what = (
            tell("lamp for {volts} V, {rated} W ({ohm_words} when hot)", volts=plain(bench.volts), rated=plain(bench.rated[line]), ohm_words=ohm_words(bench.ohms(line)))
            if bench.kind == "lamp"
            else tell("resistor of {ohm_words}, minimum rating {resistor_rating} W", ohm_words=ohm_words(bench.ohms(line)), resistor_rating=plain(resistor_rating(bench.hottest[line])))
        )
        stands = tell(", for “{stands_for}”", stands_for=bench.stands_for[line]) if bench.stands_for[line] else ""
        rows.append((tell("on {line}: {what}{stands}", line=line, what=what, stands=stands), "1" if bench.kind == "resistive" else tell("1 and a spare")))
    rows.append((tell("link in the neutral, to be removed with the supply switched off"), "1"))
    if not isinf(bench.joint):
        rows.append(
            (
                (
                    tell("resistor for the high-resistance joint: {ohm_words}, minimum rating {resistor_rating} W", ohm_words=ohm_words(bench.joint), resistor_rating=plain(resistor_rating(bench.joint_watts)))
                ),
                "1",
            )
        )
    three = bench.system == "three-phase"
    rows.append((tell("ruler, pair of compasses, set square") if three else tell("ruler, set square"), tell("1 each")))
    made = [heading(bench_name(lesson)), paragraph(tell("You build this at extra-low voltage: {voltage_words}.", voltage_words=safety.voltage_words(bench)))]
    if bench.why_not_own:
        made.append(
            paragraph(
                tell("The case of this lesson cannot be built so: {why_not_own}. You build the nearest star that shows the same effect, {star}, and take the case itself on paper.", why_not_own=bench.why_not_own, star=tell(entry['nearest']['title']))
            )
        )
    made += [table(tell("Parts"), (tell("part"), tell("number")), rows, "ll", {0: 1})]
    if bench.lost:
        made += [paragraph(tell("What the bench version loses against the case:")), bullets(bench.lost)]
    common = tell(lesson.terms.common)
    change = tell("link out") if isinf(bench.joint) else tell("a resistor of {joint_words} in the link's place", joint_words=_joint_words(bench))
    return [
        *made,
        figure(
            lesson.drawn["wiring"],
            tell("The bench version with the link in, and with {change}. Nothing else changes. Fuses, then ammeters (A), then the loads, which meet in the {common}.", change=change, common=common),
        ),
        *(
            [
                paragraph(
                    tell("No three-phase extra-low-voltage supply at your school? The two-battery lesson shows the same with two loads; your tutor has it.")
                )
            ]
            if three
            else []
        ),
    ]


def part_name(bench, line):
    """Return what a class calls the load of a line: "lamp, 10 W" or "180 Ω (2.3 W)"."""
    return (
        tell("lamp, {rated} W", rated=plain(bench.rated[line]))
        if bench.kind == "lamp"
        else f"{ohm_words(bench.ohms(line))} ({bench.rated[line]:.2g} W)"
    )


def predict(lesson):
    """Return the prediction sheet."""
    bench = lesson.bench
    rows = [(line, part_name(bench, line), BLANK, BLANK, BLANK) for line in bench.lines]
    return [
        heading(tell("Predict first")),
        paragraph(

                tell("Fill this in before anything is switched on. A wrong guess with a reason is worth more than a right one without.")

        ),
        form(
            "",
            (
                tell("line"),
                tell("load, rating at {volts} V", volts=plain(bench.volts)),
                tell("link in: V"),
                tell("{out}: higher, lower, same?", out=tell(bench.out)),
                tell("{out}: V", out=tell(bench.out)),
            ),
            rows,
            {1: 1},
        ),
        *map(ask, questions.predicting(lesson)),
    ]


def instruments(bench):
    """Yield (what is read, how to read it from a solution, in words)."""
    lines = bench.case.supply.lines
    for line in bench.lines:
        yield tell("{line} and N", line=line), lambda s, line=line: f"{number(bench.volt(line, s))} V"
    for a, b in zip(lines, (*lines[1:], lines[0])[: len(lines) if len(lines) > 2 else 1]):
        yield tell("{a} and {b}", a=a, b=b), lambda s, a=a, b=b: f"{number(abs(s.voltage(POINT, a, b)))} V"
    yield tell("N of the loads and N of the supply"), lambda s: f"{number(abs(s.nodes[POINT, 'N']))} V"
    for conductor in (*bench.lines, "N"):
        yield tell("current in {conductor}", conductor=tell("the neutral") if conductor == "N" else conductor), lambda s, c=conductor: amps_in_words(bench, c, s)
    if bench.kind == "lamp":
        for line in bench.lines:
            yield (
                tell("brightness on {line}", line=line),
                lambda s, line=line: light_words(
                    bench.load(line, s).details["light"] / bench.load(line, bench.before).details["light"]
                ),
            )


def amps_in_words(bench, conductor, solution):
    """Return a current of the bench version in words; what rounding left is zero."""
    value = bench.amps(conductor, solution)
    return amp_words(value if value > 1e-3 * bench.largest_current else 0.0)


def readings(lesson):
    """Return the table of readings, empty."""
    bench = lesson.bench
    change = tell("remove the link") if isinf(bench.joint) else tell("put the resistor in the link's place")
    light = tell(" Brightness in words: out, dimmer, unchanged, brighter, too bright.") if bench.kind == "lamp" else ""
    return [
        heading(tell("Readings {mark_words}", mark_words=mark_words(READING_MARKS))),
        paragraph(

                tell("Take readings with the link in and the loads on. Switch off and isolate, {change}, switch on and read again.{light}", change=change, light=light)

        ),
        form("", (tell("quantity"), tell("link in"), tell(bench.out)), [(name, BLANK, BLANK) for name, _ in instruments(bench)], {0: 1}),
    ]


def quiz(lesson):
    """Return the statements to be called true or false."""
    asked = statements(lesson.bench)
    return [
        together(
            [
                heading(tell("True or false? {mark_words}", mark_words=mark_words(2 * len(asked)))),
                paragraph(

                        tell("Each statement is answered by your readings. One mark for true or false, one for the figure that shows it.")

                ),
                form(
                    "",
                    ("", tell("statement"), tell("true or false"), tell("the figure that shows it")),
                    [(str(n), s.says, BLANK, BLANK) for n, s in enumerate(asked, 1)],
                    {1: 1.6, 3: 1},
                ),
            ]
        )
    ]


def rated(load):
    """Return the rating of a load as its plate has it."""
    watts = resolve(load).parameters.get("power")
    count = f"{load.count} × " if load.count > 1 else ""
    return f"{load.voltage:g} V" + (f", {count}{watts:g} W" if watts else "")


def the_case(lesson):
    """Return the case on paper: its loads, and what would happen to them."""
    case = lesson.result.case
    loads = star_loads(case)
    rows = [(load.name, load.connect[0], rated(load)) for load in loads[:MOST]]
    # The case's story tells how it went: the key has it.
    made = [heading(tell("The case on paper")), paragraph(f"{case.title}.")]
    if "case-readings" in lesson.drawn:
        after = lesson.result.after.reached
        given = [
            (tell("{line} and N", line=line), f"{number(abs(v), 0)} V")
            for line in case.point(lesson.point).phases
            if (v := after.voltage(lesson.point, line)) is not None
        ]
        made += [
            table(tell("Loads between a line and the neutral"), (tell("load"), tell("line"), tell("rating")), rows, "lll", {0: 1}),
            *more(loads),
            table(tell("Voltages by calculation, with the fault"), (tell("between"), tell("voltage")), given, "ll"),
            paragraph(tell("Find N from these voltages, as before. {mark_words}", mark_words=mark_words(constructed.DRAWING_MARKS))),
            figure(lesson.drawn["case-blank"], tell("Draw here.")),
        ]
    else:
        made += [
            paragraph(
                tell("Nobody builds this. For each load, say whether its voltage would be higher, lower or the same as before. {mark_words}", mark_words=mark_words(len(rows)))
            ),
            form(
                tell("Loads between a line and the neutral"),
                (tell("load"), tell("line"), tell("rating"), tell("higher, lower, same?")),
                [(*row, BLANK) for row in rows],
                {0: 1},
            ),
            *more(loads),
        ]
    return [together([block for block in made if block])]


def more(loads):
    """Return what says that a sheet has room for the first loads only, if it has."""
    left = len(loads) - MOST
    return (
        [paragraph(tell("1 more load of the case, for which the sheet has no room.") if left == 1 else
                   tell("{number} more loads of the case, for which the sheet has no room.", number=left))]
        if left > 0
        else []
    )


def colours(lesson):
    """Return conductor colours old and new: of the class's country, else of a few."""
    country = country_of(lesson.look.colours) or lesson.result.case.supply.old_colours
    countries = [country] if country else data.load("lesson")["colours"]["countries"]
    rows = [
        (name, f"{s['age']}: {s['period']}", *(s[c] or NOTHING for c in ("L1", "L2", "L3", "N", "PE")))
        for name in countries
        for s in conductor_colours(name)
    ]
    return [
        together(
            [
                heading(tell("Conductor colours old and new")),
                table(
                    tell("Conductor colours"),
                    (tell("where"), tell("period"), "L1", "L2", "L3", "N", "PE"),
                    rows,
                    "l" * 7,
                    {0: 0.9, 1: 1.4, 2: 0.8, 3: 0.8, 4: 0.8, 5: 0.8, 6: 1.1},
                ),
                paragraph(
                    tell("A colour proves neither what a conductor is nor that it is isolated: test. Where old and new meet, what was the colour of a line may now be that of the neutral.")
                ),
            ]
        )
    ]


def take_away(lesson):
    """Return what is to be taken away, for the class to write: its answers are those of the questions before."""
    rows = [(tell(e["asks"]), BLANK) for e in fitting(lesson, "takeaway")]
    return [together([heading(tell("To take away")), form("", (tell("question"), tell("in your own words")), rows, {0: 1, 1: 2})])]
