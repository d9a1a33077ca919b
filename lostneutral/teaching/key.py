"""The tutor's key of a lesson: everything that the handout leaves blank, and how sure it is."""

from lostneutral import data
from lostneutral.consequences.pulses import trusted
from lostneutral.report.blocks import bullets, figure, heading, paragraph, strong, table
from lostneutral.report.given import assumed
from lostneutral.report.words import number, shown, significant, size
from lostneutral.teaching import diagrams, handout
from lostneutral.teaching.quiz import questions
from lostneutral.teaching.star import afterwards, broken_run, by_nameplate, star_loads

UNCHANGED = 0.01  #: of nominal; what moves less is called the same


def key(lesson):
    """Return the blocks of the tutor's key, all line names still L1 L2 L3."""
    result = lesson.result
    return [
        heading("For the tutor"),
        paragraph("This follows the handout; what stands there is not repeated."),
        *handout.left_out(lesson),
        *handout.bench(lesson, filled=True),
        *_prediction(lesson),
        *handout.readings(lesson, filled=True),
        *_diagrams(lesson),
        *diagrams.surprise(lesson, filled=True),
        *_settled(lesson),
        *_quiz(lesson),
        *_sure(result),
        *assumed(result),
        *_sources(),
        heading("Cautions"),
        bullets(result.cautions),
    ]


def _prediction(lesson):
    case = lesson.result.case
    befores, afters = shown(lesson.result.before)[:1], shown(lesson.result.after)
    rows = []
    for load in star_loads(case)[: handout.MOST]:
        was = [_across(s, load) for s in befores]
        now = [_across(s, load) for s in afters]
        rows.append(
            (
                load.name,
                load.connect[0],
                " or ".join(f"{number(v)} V" for v in was),
                _change(was, now, load.voltage),
                " or ".join(f"{number(v)} V" for v in now),
            )
        )
    out = afterwards(case)
    made = [
        heading("The prediction sheet, filled in"),
        table("Prediction", ("load", "line", "neutral in", out, f"{out}: V"), rows, "llrlr", {0: 1}),
        *handout.more(star_loads(case)),
    ]
    if afters:
        highest = {
            load.name: max((_across(s, load) or 0.0) / load.voltage for s in afters) for load in star_loads(case)
        }
        worst = max(highest, key=highest.get)
        made.append(
            paragraph(
                f"In the greatest danger: “{worst}”, at {number(highest[worst], 2)} times its rated voltage. "
                "If it fails and opens, the loads that are left divide the voltage between their lines anew."
            )
        )
    return made


def _across(solution, load):
    return size(next(x.voltage for x in solution.loads if x.name == load.name))


def _change(was, now, rated):
    if len(was) != 1 or None in (*was, *now):
        return "not decided"
    words = {"the same" if abs(v - was[0]) < UNCHANGED * rated else "more" if v > was[0] else "less" for v in now}
    return strong(" or ".join(sorted(words)))


def _diagrams(lesson):
    result, made = lesson.result, diagrams.with_neutral(lesson, filled=True)
    current = result.before.reached and result.before.reached.currents.get((broken_run(result.case), "N"))
    if current is not None:
        made.append(
            paragraph(
                f"Neutral current with the neutral in: {significant(abs(current), 'A')}. With the neutral open the "
                "line currents add up to nothing but what finds another way back."
            )
        )
    if lesson.nameplate:
        star = lesson.nameplate
        made += [
            heading("The star point from the nameplates", 2),
            paragraph(diagrams.weights_words(result.case, star)),
            table(
                "What the construction gives, and the solver with the same fixed resistors",
                ("length", "V"),
                [(f"N to {line}", number(abs(z - star.neutral))) for line, z in star.corners.items()]
                + [("N to the middle", number(abs(star.neutral)))],
                "lr",
            ),
        ]
    return made


def _settled(lesson):
    if "star-point-settled" not in lesson.drawn or by_nameplate(lesson.result.case) == lesson.result.case:
        return []
    case, star = lesson.result.case, lesson.settled
    words = ", ".join(f"{line} {number(g * case.supply.nominal**2)}" for line, g in star.weights.items())
    return [
        heading("The same construction with the loads as they settled", 2),
        paragraph(
            "Let the class work out each weight from its own readings, current by voltage, and draw again: now the "
            f"meets the readings. Weights, as W at {case.supply.nominal:g} V: {words}."
        ),
        figure(
            lesson.drawn["star-point-settled"],
            "The star point with the conductances of the loads as they are.",
            floats=False,
        ),
    ]


def _quiz(lesson):
    rows = [(str(n), says, strong("False."), answer) for n, (says, answer) in enumerate(questions(lesson.result), 1)]
    return [
        heading("True or false: the answers"),
        table(
            "Beliefs and answers: all of them have been met, and all of them are false",
            ("", "somebody says", "", "because"),
            rows,
            "rlll",
            {1: 1, 3: 1.7},
        ),
    ]


def _sure(result):
    rows = [(e["of"], e["words"], data.KNOWN[e["known"]]) for e in data.load("lesson")["sure"]]
    made = [
        heading("How sure the answers are"),
        table("How sure", ("figures", "how sure", "how known"), rows, "lll", {0: 0.8, 1: 2.4, 2: 1}),
    ]
    warnings = [f for f in result.findings if f.severity == "warning"]
    if warnings:
        made += [
            paragraph("Warnings that go with the figures of this case:"),
            bullets(f"{f.subject}: {f.message}" for f in warnings),
        ]
    if trusted(result):
        return made
    worst = max((s.residual for state in (result.before, result.after) for s in shown(state)), default=0.0)
    return [*made, paragraph(f"Largest current imbalance left by the solver: {worst:.1e} A.")]


def _sources():
    lesson = data.load("lesson")
    rows = [("demonstrations: " + d["who"], d) for d in lesson["demonstration"]]
    rows += [
        ("voltage of the bench version", lesson["bench"]),
        ("lamps of the bench version", lesson["bench"]["lamps"]),
        ("resistors of the bench version", lesson["bench"]["resistors"]),
        ("their ratings", lesson["bench"]["resistor_ratings"]),
        ("earth rod in the quiz", lesson["rod"]),
        ("leak in the quiz", lesson["leak"]),
        ("lines to take away", lesson["takeaway"]),
    ]
    rows += [(f"belief {n}", b) for n, b in enumerate(lesson["belief"], 1)]
    together = {}
    for what, e in rows:
        edition = f", edition {e['edition']}" if e.get("edition") else ""
        together.setdefault((e["source"] + edition, data.KNOWN[e["known"]]), []).append(what)
    return [
        heading("Sources"),
        table(
            "What the lesson's own texts rest on",
            ("of", "source", "how known"),
            [("; ".join(of), source, known) for (source, known), of in together.items()],
            "lll",
            {0: 1, 1: 1.6, 2: 1},
        ),
    ]
