"""The tutor's key of a lesson: the plan, everything that the handout leaves blank, and how sure it is."""

from lostneutral import data
from lostneutral.consequences.pulses import trusted
from lostneutral.report.base.blocks import bullets, figure, heading, paragraph, strong, table, together
from lostneutral.report.base.words import number, shown, significant, size
from lostneutral.teaching import constructed, handout, questions, timetable
from lostneutral.teaching.bench import amp_words, ohm_words, resistor_rating
from lostneutral.teaching.demonstration import heat_of_joint
from lostneutral.teaching.quiz import statements
from lostneutral.teaching.star import main_point, star_loads
from lostneutral.words import items

UNCHANGED = 0.01  #: of rated; what moves less is called the same
OUTCOMES = items.OUTCOMES | {"does not run": "not working while it lasts", "not known": "cannot be said"}
POOR = ("poor", "none")  #: grades of confidence that the tutor is told of


def key(lesson):
    """Return the blocks of the tutor's key, all line names still L1 L2 L3."""
    made = [
        *timetable.plan(lesson),
        *if_at_mains(lesson),
        *what_the_bench_does(lesson),
        *_prediction(lesson),
        *_readings(lesson),
        *_draw(lesson),
        *_surprise(lesson),
        *_quiz(lesson),
        *_misconceptions(),
        *_take_away(lesson),
        *what_the_case_does(lesson),
        *_sure(lesson),
        *_sources(),
        heading("Cautions"),
        bullets(lesson.result.cautions),
    ]
    return [block for block in made if block]


def if_at_mains(lesson):
    """Return the decision on a mains demonstration, with what it rests on."""
    bounds = data.load("lesson")["bounds"]
    said = (
        f"Bounds: {bounds['line_to_line']['value']:g} V between lines, {bounds['over_rated']['value']:g} × rated "
        "voltage, "
        f"{bounds['power']['value']:g} W a load, {bounds['current']['value']:g} A a conductor, nothing that may "
        "fail within "
        f"{bounds['soonest_failure']['value'] / 60:g} minutes; lamps and resistors only, on a board with a "
        "protective conductor of its own."
    )
    head = heading("May it be shown at mains voltage?", 2)
    if lesson.mains.offered:
        return [
            head,
            paragraph(
                f"Only as the handout says. Largest current {significant(lesson.mains.current, 'A', 2)}. {said} "
                "That the figures are "
                "within these bounds does not mean that there is no danger."
            ),
        ]
    return [
        head,
        paragraph(f"No. {said} Against it:"),
        bullets(f"{why.figures[0].upper()}{why.figures[1:]}." for why in lesson.mains.why_not),
    ]


def what_the_bench_does(lesson):
    """Return what the bench version does: powers, heat, and what it loses."""
    b = lesson.bench
    rows = [
        (
            line,
            handout.part_name(b, line),
            ohm_words(b.ohms(line)),
            f"{resistor_rating(b.hottest[line]):g} W" if b.kind == "resistive" else "–",
            *(significant(b.load(line, s).power, "W") for s in b.states),
        )
        for line in b.lines
    ]
    made = [
        heading(handout.bench_name(lesson)),
        table(
            f"Loads at {b.volts:g} V to N",
            ("line", "load", "resistance", "minimum rating", "power, link in", f"power, {b.out}"),
            rows,
            "lllrrr",
        ),
    ]
    if b.joint_watts:
        made.append(
            paragraph(
                f"The resistor in the link's place ({ohm_words(b.joint)}) gives off "
                f"{significant(b.joint_watts, 'W', 2)}; minimum rating "
                f"{resistor_rating(b.joint_watts):g} W."
            )
        )
    if b.system == "three-phase":
        made.append(
            paragraph(

                    "Without a three-phase extra-low-voltage supply: the option --supply split-phase writes the "
                    "two-battery lesson."

            )
        )
    made.append(
        paragraph(
            f"Largest line current {amp_words(b.largest_current)}; fuse link {b.fuse:g} A. "
            + (
                "Lamps above their rated voltage burn out sooner: have spares."
                if b.kind == "lamp"
                else "Resistors get hot enough to burn."
            )
        )
    )
    return made


def _prediction(lesson):
    b = lesson.bench
    rows = []
    for line in b.lines:
        was, now = (b.volt(line, s) for s in b.states)
        rows.append(
            (line, handout.part_name(b, line), f"{number(was)} V", _change((was,), (now,), b.volts), f"{number(now)} V")
        )
    return [
        heading("The prediction sheet, filled in"),
        table("Prediction", ("line", "load", "link in", b.out, f"{b.out}: V"), rows, "llrlr", {1: 1}),
        *_answers(questions.predicting(lesson)),
    ]


def _answers(asked):
    return [together([paragraph(strongly(q)), paragraph(f"Answer: {q.answer}")]) for q in asked]


def strongly(question):
    """Return a question with its marks."""
    return f"{question.text} {handout.mark_words(question.marks)}"


def _change(was, now, rated):
    if len(was) != 1 or None in (*was, *now) or not now:
        return "cannot be said"
    words = {"same" if abs(v - was[0]) < UNCHANGED * rated else "higher" if v > was[0] else "lower" for v in now}
    return strong(words.pop()) if len(words) == 1 else "cannot be said"


def _readings(lesson):
    b = lesson.bench
    rows = [(name, *(read(s) for s in b.states)) for name, read in handout.instruments(b)]
    return [
        heading("Readings, filled in"),
        paragraph("By calculation, with the loads as they settle."),
        table("Readings", ("quantity", "link in", b.out), rows, "lrr"),
    ]


def _draw(lesson):
    drawn, made = lesson.drawn, [heading("Constructions")]
    captions = {
        "phasors": (
            "The phasor diagram with the link in and changed, true to scale: arrows from N to the lines. "
            "The cross is the supply's N."
        ),
        "neutral-current": "The neutral current by parallelograms, true to scale.",
        "star-point": "N from the rated powers, true to scale.",
        "star-point-readings": "N from three readings, true to scale.",
    }
    for name, words in captions.items():
        if name in drawn:
            made.append(figure(drawn[name], words))
        if name == "star-point" and name in drawn:
            made += [paragraph(constructed.weights_words(lesson)), *_answers(questions.drawing(lesson))]
    if "neutral-current" not in drawn and lesson.bench.system == "split-phase":
        made.append(
            paragraph(
                f"The neutral current is the difference of the two line currents: "
                f"{handout.amps_in_words(lesson.bench, 'N', lesson.bench.before)}."
            )
        )
    return [*made, *constructed.not_constructed(lesson)]


def _surprise(lesson):
    asked, b = questions.surprise(lesson), lesson.bench
    if not asked:
        return []
    rows = [
        (
            line,
            f"{number(abs(lesson.nameplate.corners[line] - lesson.nameplate.neutral))} V",
            f"{number(b.volt(line, b.after))} V",
        )
        for line in b.lines
    ]
    volts = b.volts**2
    weights = ", ".join(
        f"{line} {b.load(line, b.after).power / abs(b.load(line, b.after).voltage) ** 2 * volts:.3g}"
        for line in b.lines
    )
    made = [
        heading("Why a lamp is not a fixed resistor"),
        table(f"Line to N, {b.out}", ("line", "as fixed resistors", "as lamps"), rows, "lrr"),
        *_answers(asked),
    ]
    if "light" in lesson.drawn:
        made.append(
            figure(
                lesson.drawn["light"],
                "Brightness: the area of the disc is the light afterwards, the broken circle the light before.",
            )
        )
    if "star-point-settled" in lesson.drawn:
        made += [
            paragraph(
                "Let the class calculate each weight from its own readings (current divided by voltage, × "
                f"({b.volts:g} V)²) and draw again: "
                f"the construction now agrees with the readings. Weights in W: {weights}."
            ),
            figure(lesson.drawn["star-point-settled"], "N with the lamps' own weights."),
        ]
    return made


def _quiz(lesson):
    rows = [
        (str(n), s.says, strong("true" if s.true else "false"), s.because)
        for n, s in enumerate(statements(lesson.bench), 1)
    ]
    return [
        heading("True or false: the answers"),
        table(
            "Statements and answers", ("", "statement", "", "the figure that shows it"), rows, "rlll", {1: 1, 3: 1.2}
        ),
    ]


def _misconceptions():
    rows = [(e["says"], e["answer"]) for e in data.load("lesson")["misconception"]]
    return [
        heading("Common misconceptions, for discussion"),
        paragraph("All of these are wrong. Nothing on the sheet answers them."),
        table("Misconceptions", ("somebody says", "what to say"), rows, "ll", {0: 1, 1: 2}),
    ]


def _take_away(lesson):
    rows = [(e["asks"], e["words"]) for e in handout.fitting(lesson, "takeaway")]
    return [heading("To take away: the answers"), table("To take away", ("question", "what to say"), rows, "ll", {0: 1, 1: 2})]


def what_the_case_does(lesson):
    """Return what happens in the case itself, by calculation."""
    result, case = lesson.result, lesson.result.case
    befores, afters = shown(result.before)[:1], shown(result.after)
    rows = []
    for load in star_loads(case)[: handout.MOST]:
        was, now = ([_across(s, load) for s in states] for states in (befores, afters))
        rows.append(
            (
                load.name,
                load.connect[0],
                _volts(was),
                _volts(now),
                _change(was, now, load.voltage),
                _outcome(result, load),
            )
        )
    made = [
        heading("The case on paper: the answers"),
        *([paragraph(f"The story, to be told afterwards: {case.description}")] if case.description else []),
        paragraph(
            "By calculation, for the case as its file gives it"
            + (", with the waveforms of loads that draw pulses; true r.m.s. values." if trusted(result) else ".")
        ),
        table(
            "Loads between a line and the neutral",
            ("load", "line", "before", "with the fault", "", "if it lasts"),
            rows,
            "llrrll",
            {0: 1, 5: 1},
        ),
        *handout.more(star_loads(case)),
    ]
    if not afters:
        made.append(paragraph("No settled state is known after the break, so no voltage can be given."))
    made += [paragraph(f"Fire risk: {why.figures}.") for why in heat_of_joint(result)]
    if "case-readings" in lesson.drawn:
        solution = result.after.reached
        shift = size(solution.nodes.get((main_point(case), "N")))
        made.append(
            figure(
                lesson.drawn["case-readings"],
                f"N of the case from its three voltages, true to scale: {number(shift, 0)} V from the middle.",
            )
        )
    return made


def _across(solution, load):
    return size(next(x.voltage for x in solution.loads if x.name == load.name))


def _volts(values):
    return " or ".join(dict.fromkeys(f"{number(v, 0)} V" for v in values)) or "–"


def _outcome(result, load):
    """Return the verdict on a load over the whole incident, in words."""
    word = next(v.outcome for v in result.verdicts if v.item == load.name)
    return OUTCOMES[word]


def _sure(lesson):
    rows = [
        (e["of"], e["words"], data.KNOWN[e["known"]])
        for e in data.load("lesson")["sure"]
        if lesson.bench.kind == "lamp" or not e.get("lamps")
    ]
    poor = [v.item for v in lesson.result.verdicts if v.confidence in POOR and v.outcome != "was off"]
    return [
        heading("How sure the answers are"),
        table("How sure", ("figures", "how sure", "how known"), rows, "lll", {0: 0.8, 1: 2.4, 2: 1}),
        paragraph(
            "In the case on paper, what becomes of these is little more than a guess: "
            + ", ".join(dict.fromkeys(poor))
            + "."
        )
        if poor
        else None,
    ]


def _sources():
    lesson = data.load("lesson")
    table_ = lesson["bench"]
    rows = [("demonstrations: " + d["who"], d) for d in lesson["demonstration"]]
    rows += [(f"bound of a mains demonstration: {name.replace('_', ' ')}", e) for name, e in lesson["bounds"].items()]
    rows += [(f"bench version: {name.replace('_', ' ')}", e) for name, e in table_.items()]
    rows += [
        ("words", lesson["vocabulary"]),
        ("lines to take away", lesson["takeaway"]),
        ("shortest distance to draw", lesson["drawable"]),
    ]
    rows += [(f"misconception {n}", b) for n, b in enumerate(lesson["misconception"], 1)]
    rows += [("lamp measured at 20 to 220 V", data.load("lamps")["measured_220_volt"])]
    together_ = {}
    for what, e in rows:
        edition = f", edition {e['edition']}" if e.get("edition") else ""
        together_.setdefault((e["source"] + edition, data.KNOWN[e["known"]]), []).append(what)
    return [
        heading("Sources"),
        table(
            "What the lesson's own texts rest on",
            ("of", "source", "how known"),
            [("; ".join(of), source, known) for (source, known), of in together_.items()],
            "lll",
            {0: 1, 1: 1.6, 2: 1},
        ),
    ]
