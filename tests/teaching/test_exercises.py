"""Exercises: every key against loop equations at 30 digits, no two alike, and what stands in the worked solution.

Kind: independent (loop equations in mpmath, written from the figures given, not from the solver) unless said otherwise.
"""

import csv
import re
from io import BytesIO
from itertools import pairwise
from math import sqrt

import mpmath
import pypdf
import pytest
from daily import daily
from read_back import page_texts, squeezed

from lostneutral.errors import UsageError
from lostneutral.report.base.blocks import BLANK, heading
from lostneutral.report.base.pdf import set_pdf
from lostneutral.teaching.exercises import KINDS, MOST, TOPICS, Answer, exercises, sheet, solutions, topic_of
from lostneutral.teaching.exercises.published import ITEMS, published_item
from lostneutral.teaching.exercises.task import held
from lostneutral.teaching.labels import LABEL_SETS
from lostneutral.teaching.sheets import answers_csv, key_of_sheets_pdf, sheets, sheets_pdf

mpmath.mp.dps = 30
A = mpmath.expjpi(mpmath.mpf(-2) / 3)  # the second line, 120° behind


@pytest.fixture(scope="module")
def many():
    return exercises(MOST, 20260101)


def loop_star(e, z, r=mpmath.inf):
    """Load voltages and currents of a star fed by `e`, its star point tied through `r`: two loops (three with `r`)."""
    if r == mpmath.inf:
        # loops 1-2 and 2-3: currents i1, i2 = the two loop currents, the third is what is left
        m = mpmath.matrix([[z[0] + z[1], -z[1]], [-z[1], z[1] + z[2]]])
        a, b = mpmath.lu_solve(m, mpmath.matrix([e[0] - e[1], e[1] - e[2]]))
        currents = (a, b - a, -b)
    else:
        m = mpmath.matrix([[z[0] + r, r, r], [r, z[1] + r, r], [r, r, z[2] + r]])
        currents = tuple(mpmath.lu_solve(m, mpmath.matrix(list(e))))
    return [i * x for i, x in zip(currents, z)], currents


def lines(u):
    return [u, u * A, u * A**2]


def figures(text):
    return [mpmath.mpf(x) for x in re.findall(r"(?<![\dL.])\d+(?:\.\d+)?", text)]


def ohms(text):
    """The resistance of a load given in Ω or in W at so many V (or, for a ratio only, in W)."""
    size, *rated = figures(text)
    return size if "Ω" in text else (rated[0] if rated else 1) ** 2 / size


def expected(e):
    """The figures of an exercise by loop equations from what its table gives; None for an answer in words."""
    given = dict(e.given)
    number = lambda what: figures(given[what])[0]
    if e.kind == "two loads in series across two lines":
        u = number("L1 to L2")
        if "each lamp" in given:
            r = [number("each lamp") / number("on L1"), number("each lamp") / number("on L2")]
        else:
            r = [ohms(value) for what, value in e.given if what.startswith("load")]
        i = u / sum(r)
        return [*([i] if e.answers[0].name == "current" else []), i * r[0], i * r[1]]
    if e.kind == "split-phase with the neutral lost":
        r, leg = [ohms(given[f"load {n}"]) for n in (1, 2)], number("L1 to L2") / 2
        i = 2 * leg / sum(r)
        return [abs(leg / r[0] - leg / r[1]), i * r[0], i * r[1]]
    if e.kind == "neutral current of unbalanced loads":
        total = 0
        for n in range(3):
            size, *factor = figures(given[f"L{n + 1}"])
            angle = mpmath.acos(factor[0] if factor else 1) * (1 if "lead" in given[f"L{n + 1}"] else -1)
            total += size * A**n * mpmath.expj(angle)
        return [abs(total)]
    if e.kind == "three unequal loads without neutral":
        u = number("supply")
        across, _ = loop_star(lines(u), [ohms(given[f"L{n}"]) for n in (1, 2, 3)])
        return [abs(u - across[0]), *map(abs, across)]
    if e.kind == "one line open":
        u, r = number("between lines"), number("each")
        across, _ = loop_star(lines(u / mpmath.sqrt(3)), [r] * 3)
        return [abs(across[0]), u / (2 * r) * r, u / (2 * r)]
    if e.kind == "one load shorted":
        u, r = number("between lines"), number("each")
        across, currents = loop_star(lines(u / mpmath.sqrt(3)), [mpmath.mpf(0), r, r])
        return [abs(across[1]), abs(currents[1]), abs(currents[0])]
    if e.kind == "effect of a high-resistance joint" and "load" in given:
        i = number("supply") / (number("load") + number("joint"))
        return [i, i * number("load"), i * number("joint"), i**2 * number("joint")]
    if e.kind == "effect of a high-resistance joint":
        z, joint = [number("L1"), number("L2 and L3"), number("L2 and L3")], number("joint")
        across, currents = loop_star(lines(number("supply")), z, joint)
        return [abs(sum(currents)) * joint, abs(across[0]), abs(across[1])]
    if e.kind == "phase sequence from two lamps and a capacitor":
        size = lamps(e, e.answers[2].value.split("-"))
        return [max(size.values()), min(size.values()), None]
    return [None]


def lamps(e, order):
    """{line: voltage of its lamp} of the lamps and capacitor given, the lines following in `order`."""
    given = dict(e.given)
    (at, farads), = ((what[-2:], figures(value)[0]) for what, value in e.given if what.startswith("capacitor"))
    r = figures(given["each lamp"])[0]
    across, _ = loop_star(lines(figures(given["supply"])[0]), [mpmath.mpc(0, -farads) if x == at else r for x in order])
    return {x: abs(v) for x, v in zip(order, across) if x != at}


@pytest.mark.thorough
def test_every_key_agrees_with_loop_equations(many):
    compared = 0
    for e in many:
        for answer, value in zip(e.answers, expected(e), strict=True):
            if value is None:
                assert isinstance(answer.value, str)
            else:
                assert abs(answer.value - value) <= mpmath.mpf(10) ** -answer.decimals / 2 + mpmath.mpf("1e-9"), e
                compared += 1
    assert compared > 900


def test_the_fault_behind_the_readings_is_the_only_one_that_gives_them(many):
    """Independent: all faults of the question worked out by loop equations; the readings fit the named one only."""
    tried = [x for x in many if x.kind == "find the fault from readings"]
    assert {len(e.given) for e in tried} == {5, 9}  # split-phase and three-phase
    for e in tried:
        u = figures(re.search(r"The supply is (\d+) V", e.text)[1])[0]
        r = [ohms(value) for what, value in e.given if what.startswith("load")]
        read = [float(figures(value)[0]) for what, value in e.given if what.endswith("reads")]
        faults = ["the neutral is open", "nothing is broken", *(f"L{n + 1} {what}" for n in range(len(r)) for what in (
            "is open, the neutral sound", "and neutral are transposed"))]
        assert [x for x in faults if readings(x, u, r) == pytest.approx(read, abs=0.51)] == [e.answers[0].value], e


def readings(fault, u, r):
    """Line to neutral, then line to line, with the loads `r` on."""
    e = lines(u) if len(r) == 3 else [u, -u]
    volts = [*e, mpmath.mpf(0)]
    at = int(fault[1]) - 1 if fault[0] == "L" else None
    if fault == "the neutral is open":
        volts[:-1] = loop_star(e, r)[0] if len(r) == 3 else [2 * u * r[0] / sum(r), -2 * u * r[1] / sum(r)]
    elif "is open" in fault:
        volts[at] = volts[-1]  # its load carries nothing, so the conductor stands at N
    elif "transposed" in fault:
        volts[at], volts[-1] = volts[-1], volts[at]
    between = [(0, 1), (1, 2), (2, 0)] if len(r) == 3 else [(0, 1)]
    return [float(abs(volts[a] - volts[b])) for a, b in [(n, -1) for n in range(len(r))] + between]


def test_the_sequence_is_the_only_one_that_has_that_lamp_bright(many):
    tried = [x for x in many if x.kind.startswith("phase sequence")]
    for e in tried:
        bright = re.search(r"The lamp on (L\d) is bright", e.text)[1]
        first, second, third = e.answers[2].value.split("-")
        for order, fits in (((first, second, third), True), ((first, third, second), False)):
            size = lamps(e, order)
            assert (max(size, key=size.get) == bright) is fits, e
    assert len({e.answers[2].value for e in tried}) == 6


NUMBER = r"\d+(?:\.\d+)?"
SUM = re.compile(r"[\d.\s×+−/()²√|j∠°=]+")


def sums(step):
    """[(what is to be worked out, the figure said)] of each sum that a step prints, as Python and as text."""
    for part in re.split(r"\.(?!\d)|[;:,]", re.sub(r"(?<=[\d)]) (?:V|A|Ω|W)\b", "", step.replace("Ω", "Ω "))):
        for run in SUM.findall(part):
            pieces = [x.strip() for x in run.split("=")]
            for left, right in pairwise(pieces):
                if re.search(r"\d", left) and re.search(r"\d", right):
                    yield left, right


def worked(text):
    text = re.sub(r"\|([^|]*)\|", r"abs(\1)", text.replace("×", "*").replace("−", "-").replace("²", "**2"))
    text = re.sub(rf"({NUMBER})∠(-?{NUMBER})°", r"(\1*expj(\2))", text)
    text = re.sub(rf"√({NUMBER})", r"sqrt(\1)", text).replace("√(", "sqrt(")
    text = re.sub(r"(?<![\dp])j\b", "1j", text)
    return eval(text, {"abs": abs, "sqrt": sqrt, "expj": lambda degrees: complex(mpmath.expj(mpmath.radians(degrees)))})


def test_every_sum_in_the_steps_holds_with_the_figures_printed(many):
    """Independent: Python works out each sum as a reader would, from the figures as printed."""
    found = 0
    for e in many:
        for step in e.steps:
            for left, right in sums(step):
                places = len(right.partition(".")[2]) if re.fullmatch(rf"−?{NUMBER}", right) else 2
                assert abs(worked(left) - worked(right)) <= 0.5 * 10**-places + 1e-9, (e.kind, step, left, right)
                found += 1
    assert found > 1500


# What must hold

def test_no_two_are_alike_and_all_kinds_are_there(many):
    assert len({(e.kind, e.given) for e in many}) == len(many) == MOST
    assert len({e.kind for e in many}) == 9
    assert {e.grade for e in many} == {1, 2, 3}
    assert [e.grade for e in many] == sorted(e.grade for e in many)
    assert len(KINDS) == 15


def test_answers_are_plain_figures(many):
    for e in many:
        for a in (a for a in e.answers if not isinstance(a.value, str)):
            assert a.value > 0
            assert len(re.sub(r"\D", "", a.words.lstrip("0."))) <= 4
            assert a.decimals <= 2


def test_the_steps_end_in_the_answers(many):
    for e in many:
        said = " ".join(e.steps)
        for a in e.answers:
            assert a.words in said or f"{a.words}." in said, (e.kind, a, e.steps)


def test_the_first_grade_needs_no_phasors(many):
    for e in (x for x in many if x.grade == 1):
        assert not re.search(r"√|∠|cos|sin|j\b", " ".join(e.steps))


def test_the_same_seed_gives_the_same_sheet():
    assert exercises(25, 7) == exercises(25, 7)
    assert exercises(25, 7) != exercises(25, 8)


@pytest.mark.parametrize("labels", daily(x for x in LABEL_SETS if x != "L1/L2/L3"))
def test_labels_leave_no_other_name(labels):
    made = exercises(60, 4, labels)
    assert not re.search(r"\bL[123]\b", str([sheet(made), solutions(made)]))
    assert [[a.value for a in e.answers if not isinstance(a.value, str)] for e in made] == [
        [a.value for a in e.answers if not isinstance(a.value, str)] for e in exercises(60, 4)]


@pytest.mark.parametrize(("number", "seed", "said"), [(0, 1, "from 1 to"), (-3, 1, "from 1 to"), (MOST + 1, 1, "from 1 to"), (3, -1, "seed")])
def test_a_number_that_cannot_be(number, seed, said):
    with pytest.raises(UsageError, match=said):
        exercises(number, seed)


def test_a_key_that_the_solver_does_not_bear_out_is_never_given():
    with pytest.raises(ArithmeticError, match="the solver has 231"):
        held((Answer("voltage", 230, "V"),), (231.0,))


def test_sheet_has_no_answers_and_both_are_safe_to_hand_out():
    made = exercises(12, 2)
    asked, told = str(sheet(made)), str(solutions(made))
    assert "switch off, lock off, prove dead" in asked and "switch off, lock off, prove dead" in told
    assert "Check" in told and "Check" not in asked
    kept = [block["blocks"] for block in sheet(made) if block["kind"] == "together"]
    assert len(kept) == 12
    for e, blocks in zip(made, kept):
        assert blocks[-1]["kind"] == "form" and blocks[-2]["kind"] == "ruled"
        assert [row[0] for row in blocks[-1]["rows"]] == [a.name for a in e.answers] and all(row[1] == BLANK for row in blocks[-1]["rows"])


@pytest.mark.thorough
def test_no_exercise_is_torn_over_two_pages():
    made = exercises(30, 5)
    for blocks in (sheet(made), solutions(made)):
        pages = page_texts(set_pdf("Exercises", [heading("Exercises"), *blocks]))
        asked, answered = ([re.findall(what, text) for text in pages] for what in (r"Exercise (\d+):", r"Answer:|Working:"))
        assert [n for page in asked for n in page] == [str(n) for n in range(1, 31)]
        assert list(map(len, asked)) == list(map(len, answered))


# Choice, sheets of their own, marks

def test_every_kind_belongs_to_one_topic(many):
    assert sorted(kind for kinds in TOPICS.values() for kind in kinds) == sorted({e.kind for e in many})
    assert {topic_of(e) for e in many} == set(TOPICS)


@pytest.mark.parametrize("choice", [{"grades": (2, 3)}, {"topics": ("joint", "sequence")},
                                    {"topics": ("series",), "grades": (2,), "system": "split-phase"}], ids=str)
def test_what_is_chosen_is_what_comes(choice):
    made = exercises(8, 3, **choice)
    assert len({(e.kind, e.given) for e in made}) == 8
    for e in made:
        assert not choice.get("grades") or e.grade in choice["grades"]
        assert not choice.get("topics") or topic_of(e) in choice["topics"]
        assert choice.get("system") in (None, e.system)
    assert made == exercises(8, 3, **choice)


@pytest.mark.parametrize(("choice", "said"), [
    ({"grades": (4,)}, "no grade '4' — one of: 1, 2, 3"), ({"topics": ("cooking",)}, "no topic 'cooking' — one of: series"),
    ({"system": "two-phase"}, "no supply 'two-phase'"), ({"topics": ("sequence",), "grades": (1,)}, "only 0 such exercises")])
def test_a_choice_that_nothing_fits_is_told(choice, said):
    with pytest.raises(UsageError, match=said):
        exercises(2, 1, **choice)


@pytest.mark.thorough
def test_numbered_sheets_differ_and_have_one_key_and_one_table():
    made = sheets(3, 4, 11, "U/V/W", grades=(1, 2))
    assert len({str([(e.kind, e.given) for e in tasks]) for tasks in made.sheets}) == 3 and made.sheets[1] == exercises(4, 12, "U/V/W", grades=(1, 2))
    rows = list(csv.DictReader(answers_csv(made).decode().splitlines()))
    assert [(int(r["sheet"]), int(r["exercise"]), r["answer"]) for r in rows] == [
        (k, n, a.name) for k, tasks in enumerate(made.sheets, 1) for n, e in enumerate(tasks, 1) for a in e.answers]
    assert sum(int(r["marks"] or 0) for r in rows) == sum(e.marks for tasks in made.sheets for e in tasks)
    for row in rows:
        assert not row["tolerance"] or float(row["tolerance"]) in (0.5, 0.05, 0.005)
    asked, told = (make(made) for make in (sheets_pdf, key_of_sheets_pdf))
    for document in (asked, told):
        assert [entry.title for entry in pypdf.PdfReader(BytesIO(document)).outline if not isinstance(entry, list)][:3] == ["Sheet 1", "Sheet 2", "Sheet 3"]
    text, answers = ("".join(page_texts(document)) for document in (asked, told))
    assert text.count("Name: ") == 3 and "Check" not in text and answers.count("Check: ") == 12
    assert squeezed("switch off, lock off, prove dead") in squeezed(text) and squeezed("prove dead") in squeezed(answers)


# Published items

@pytest.mark.parametrize("number", range(len(ITEMS)), ids=lambda n: f"{ITEMS[n].kind}-{n}")
def test_published_items_come_out_as_printed(number):
    """Published: to half of the last place printed, or as far as the source is known to be off.

    Where the source of an item says that its result is derived, only what is given is published.
    """
    row, made = ITEMS[number], published_item(number)
    assert made.source == row.source
    for answer, exact, printed in zip(made.answers, expected(made), row.printed, strict=True):
        if exact is None:
            assert answer.value == printed
            continue
        assert abs(answer.value - exact) <= 0.5 * 10**-answer.decimals
        if printed:
            assert abs(exact - float(printed)) <= (row.within or 0.5 * 10 ** -len(printed.partition(".")[2])), answer


def test_a_sheet_holds_published_items():
    assert sum(bool(e.source) for e in exercises(20, 3)) == 4
    assert {e.source for e in exercises(5 * len(ITEMS), 3) if e.source} == {row.source for row in ITEMS}
    assert 230 * sqrt(3) == pytest.approx(398.4, abs=0.05)  # the line-to-line voltage that the three-line kinds take
