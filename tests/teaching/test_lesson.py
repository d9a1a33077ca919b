"""Handout and key: no answers on a pupil's page, every question answered in the key, figures that hold and can be read."""

import io
import re
from functools import cache
from itertools import combinations

import pypdf
import pytest
from drawn import drawn
from lessons_of_casebook import FOLDER, NAMES, flat, made, own_words, result, sheets, texts
from read_back import alternatives, check_fonts, check_marks, page_texts, squeezed

from lostneutral import analyse, data, read_case
from lostneutral.case.reader import parse_case
from lostneutral.consequences.pulses import trusted
from lostneutral.errors import UsageError
from lostneutral.report.base.blocks import BLANK
from lostneutral.report.base.drawing import INK
from lostneutral.teaching import handout, key, pack, questions, timetable
from lostneutral.teaching.bench import bench
from lostneutral.teaching.constructions import _apart, best_construction
from lostneutral.teaching.figures import bench_wiring, lamp_curve, measured_lamp
from lostneutral.teaching.lesson import FIGURES, lesson
from lostneutral.teaching.look import Look, colour_sets
from lostneutral.teaching.quiz import statements
from lostneutral.teaching.star import star_loads

MAIN = "evening-class"
PRINTED = (MAIN, "split-phase-house")
ON_A_PUPILS_PAGE = {"wiring", "blank", "blank-currents", "lamp-curve", "case-blank"}


@pytest.fixture(autouse=True)
def no_epoch(monkeypatch):
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)


# A pupil's page

@pytest.mark.parametrize("name", NAMES)
def test_no_answer_on_a_pupils_page(name):
    blocks, built = sheets(name)[0], made(name).bench
    shown = {b["alternative"] for b in flat(blocks) if b["kind"] == "figure"}
    drawn = {drawing[1]: figure for figure, drawing in made(name).drawn.items()}
    assert {drawn[words] for words in shown} <= ON_A_PUPILS_PAGE
    text = own_words(name, blocks, drawn=True)
    story = result(name).case.description
    assert not story or story not in texts(blocks) and story in texts(sheets(name)[1])
    for line in built.lines:  # what the change gives, as the key prints it
        volts = f"{built.volt(line, built.after):.1f} V"
        assert volts in texts(sheets(name)[1]) and (built.volt(line, built.after) == pytest.approx(built.volts, abs=0.05) or volts not in text)
    for statement in statements(built):
        assert statement.says in text and statement.because not in text
    for load in star_loads(made(name).result.case):  # nor what becomes of the case's own loads
        volts = {f"{abs(x.voltage):.0f} V" for s in made(name).result.after.solutions for x in s.loads if x.name == load.name and x.voltage}
        given = "case-readings" in made(name).drawn  # there the voltages are the question
        assert given or not any(re.search(rf"(?<![.\d]){v}", text) for v in volts - {f"{load.voltage:g} V", "0 V", "24 V", "12 V"})


@pytest.mark.parametrize("name", NAMES)
def test_no_source_and_nothing_from_memory_on_a_pupils_page(name):
    text = own_words(name, sheets(name)[0])
    assert not [words for words in data.KNOWN.values() if words in text] and "source" not in text.lower().replace("separated extra-low voltage: from a source", "")


@pytest.mark.parametrize("name", NAMES)
def test_every_question_has_its_answer_in_the_key(name):
    asked, told = texts(sheets(name)[0]), texts(sheets(name)[1])
    lesson_ = made(name)
    all_asked = [*questions.predicting(lesson_), *questions.surprise(lesson_)]
    for question in all_asked:
        assert question.text in asked and question.text in told and f"Answer: {question.answer}" in told
    assert all(s.says in asked and s.says in told and s.because in told for s in statements(lesson_.bench))
    assert [b for b in flat(sheets(name)[0]) if b["kind"] == "ruled"] and not [b for b in flat(sheets(name)[1]) if b["kind"] in ("ruled", "form")]


@pytest.mark.parametrize("name", NAMES)
def test_marks_of_the_plan_are_those_on_the_sheet(name):  # invariant: two ways of counting
    printed = sum(int(n) for n in re.findall(r"\[(\d+) marks?\]", texts(sheets(name)[0])))
    assert printed == sum(timetable.marks_of_parts(made(name)).values())
    table = next(b for b in sheets(name)[1] if b["kind"] == "table")
    minutes, marks = map(int, re.fullmatch(r"(\d+) minutes, (\d+) marks", table["caption"]).groups())
    assert marks == printed and table["rows"][-2][0].endswith(f"to {minutes} min")


@pytest.mark.parametrize("name", NAMES)
def test_weights_are_the_rated_powers(name):
    if "star-point" in made(name).drawn:
        built = made(name).bench
        text = texts(sheets(name)[0])
        for line, watts in built.rated.items():
            assert f"{line} {watts:.3g}" in text
            assert built.kind == "lamp" or f"{built.ohms(line):.3g}" in text or f"{built.ohms(line) / 1000:.3g} k" in text


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_said_of_lamps_without_lamps_and_of_risk_without_difference(name):
    built, text = made(name).bench, texts(sheets(name)[0])
    lamps = built.kind == "lamp"
    assert ("wiring" in made(name).drawn) and lamps is ("lamp-curve" in made(name).drawn)
    assert lamps or "Why a lamp is not" not in text and "brightness" not in text.lower()
    unequal = max(built.rated.values()) > 1.01 * min(built.rated.values())
    assert ("most at risk" in text) is unequal
    assert "Left out" not in text


@pytest.mark.parametrize("name", NAMES)
def test_room_to_write(name):
    cells = [cell for b in flat(sheets(name)[0]) if b["kind"] == "form" for row in b["rows"] for cell in row]
    assert BLANK in cells and "___" not in " ".join(c for c in cells if isinstance(c, str))
    readings = next(b for b in flat(sheets(name)[0]) if b["kind"] == "form" and b["head"][0] == "quantity")
    answers = next(b for b in sheets(name)[1] if b["kind"] == "table" and b["head"][0] == "quantity")
    assert [row[0] for row in readings["rows"]] == [row[0] for row in answers["rows"]]


def test_a_sheet_and_its_key_have_their_parts_in_order():  # behaviour laid down
    sheet, answers = ([b["text"].split(" [")[0] for b in blocks if b["kind"] == "heading"] for blocks in sheets(MAIN))
    assert sheet == ["Aims", "Safety", "Words", "The bench version", "Predict first", "Readings", "The neutral current, with the link in",
                     "N from the rated powers, link out", "N from three readings, link out"]
    assert answers == ["Lesson plan", "May it be shown at mains voltage?", "The bench version", "The prediction sheet, filled in", "Readings, filled in",
                       "Constructions", "Why a lamp is not a fixed resistor", "True or false: the answers", "Common misconceptions, for discussion",
                       "To take away: the answers", "The case on paper: the answers", "How sure the answers are", "Sources", "Cautions"]
    assert "Lamps above their rated voltage burn out sooner: have spares." in texts(sheets(MAIN)[1])


@pytest.mark.parametrize("name", NAMES)
def test_what_is_to_be_taken_away_is_asked_on_the_sheet_and_told_in_the_key(name):
    # a pupil who turns the page before answering the quiz finds nothing that answers it
    asked, told = (texts(blocks) for blocks in sheets(name))
    rows = handout.fitting(made(name), "takeaway")
    assert len(rows) == 5 and all(e["asks"] in asked and e["words"] not in asked and e["words"] in told for e in rows)


# The quiz

@pytest.mark.parametrize("name", NAMES)
def test_true_and_false_are_mixed(name):
    asked = statements(made(name).bench)
    true = sum(s.true for s in asked)
    assert len(asked) >= 7 and 3 <= true <= len(asked) - 3
    order = [s.true for s in asked]
    assert order != sorted(order) and order != sorted(order, reverse=True)


def test_statements_of_the_evening_class():
    # practice: unequal loads; equal ones carry on
    found = {s.says: s.true for s in statements(bench(result(MAIN)))}
    assert found["With the link out, all loads have the same voltage."] is False
    assert found["With the link out, the load of the smallest rated power has the highest voltage."] is True
    assert found["With the link in, the ammeter in the neutral shows the sum of the readings of the line ammeters."] is False
    equal = {s.says: s.true for s in statements(bench(result("three-equal-lamps")))}
    assert equal["With the link out, all loads have the same voltage."] is True
    assert equal["With the link in, the neutral carries no current."] is True
    assert equal["The voltages to N show whether the link is in."] is False
    two = {s.says: s.true for s in statements(bench(result("split-phase-house")))}
    assert two["With the link out, the voltages of the loads on L1 and L2 add up to the voltage between these two lines."] is True


@pytest.mark.parametrize("name", NAMES)
def test_a_statement_on_two_voltages_is_answered_by_readings_that_are_taken(name):
    rows = [what for what, _ in handout.instruments(made(name).bench)]
    said = " ".join(s.says for s in statements(made(name).bench))
    for a, b in set(re.findall(r"between (L\d) and (L\d)", said)):
        assert f"{a} and {b}" in rows or f"{b} and {a}" in rows


# Constructions and figures

@pytest.mark.parametrize("name", NAMES)
def test_points_that_lie_too_close_are_not_drawn_and_the_sheet_says_so(name):
    lesson_, least = made(name), data.load("lesson")["drawable"]["value"]
    if "star-point" in lesson_.drawn:
        assert _apart(lesson_.nameplate, best_construction(lesson_.nameplate)) >= least
    for part, why in lesson_.left_out.items():
        assert all(part in texts(blocks) and why in texts(blocks) for blocks in sheets(name))


@cache
def set_width(text, weight):
    """The width of a line of text, by the font's own advances, as a share of its size."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    return text_to_path.get_text_width_height_descent(text, FontProperties(family="DejaVu Sans", weight=weight, size=1.0), False)[0]


def boxes(svg):
    """(text, left, top, right, bottom) of every text in a figure, by the widths of the font's own glyphs."""
    found = []
    for style, x, y, text in re.findall(r'<text style="([^"]*)" x="([-\d.]+)" y="([-\d.]+)"(?! transform="rotate\(-90)[^>]*>([^<]+)</text>', svg):
        size = float(re.search(r"([\d.]+)px", style)[1])
        width = size * set_width(text, "bold" if "bold" in style or "700" in style else "normal")
        left = float(x) - {"middle": 0.5, "end": 1.0}.get((re.search(r"text-anchor: (\w+)", style) or ["", "start"])[1], 0.0) * width
        found.append((text, left, float(y) - 0.75 * size, left + width, float(y)))
    return found


@pytest.mark.parametrize("name", NAMES)
def test_no_label_lies_over_another_and_none_is_cut(name):
    for figure, (svg, _) in made(name).drawn.items():
        width, height = map(float, re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg).groups())
        labels = boxes(svg)
        assert labels or figure == "blank"
        for a, b in combinations(labels, 2):
            across, down = min(a[3], b[3]) - max(a[1], b[1]), min(a[4], b[4]) - max(a[2], b[2])
            assert across < 1.0 or down < 1.0, (figure, a, b)
        for label in labels:
            assert -1 <= label[1] and label[3] <= width + 1 and -1 <= label[2] and label[4] <= height + 1, (figure, label)


@pytest.mark.parametrize("name", NAMES)
def test_a_copier_keeps_every_line(name):
    for figure, (svg, _) in made(name).drawn.items():
        assert "<path d=" in svg, figure
        for d, style in re.findall(r'<path d="([^"]*)"[^>]*style="([^"]*)"', svg):
            stroke = re.search(r"stroke: #([0-9a-f]{6})", style)
            if stroke and "fill: none" in style:
                light = sum(int(stroke[1][n:n + 2], 16) / 255 for n in (0, 2, 4)) / 3
                wide = float((re.search(r"stroke-width: ([\d.]+)", style) or ["", "1"])[1])
                assert wide >= 0.79 or "axis" in figure or figure == "lamp-curve", (figure, style)
                if light > 0.7:  # pale: a dark edge lies below
                    assert re.search(re.escape(d) + rf'"[^>]*stroke: {INK}', svg), (figure, style)


@pytest.mark.parametrize("colours", colour_sets())
def test_every_conductor_has_the_colour_of_the_country(colours):  # how they are written, the test of a whole lesson below has
    look = Look(colours=colours)
    inks = {line.get_color() for axes in drawn(bench_wiring, made(MAIN).bench, look) for line in axes.lines}
    assert {look.ink(conductor) for conductor in ("L1", "L2", "L3", "N")} <= inks


def test_colours_as_the_countries_have_them():  # published, secondary: conductor_colours.toml
    words = lambda colours: [Look(colours=colours).word(c) for c in ("L1", "L2", "L3", "N")]
    assert words("IEC 60445") == ["brown", "black", "grey", "blue"]
    assert words("UK") == words("IEC 60445") and words("UK old") == ["red", "yellow", "blue", "black"]
    assert words("US") == ["black", "red", "blue", "white"]
    assert words("Australia and New Zealand") == ["red", "white", "dark blue", "black"]
    assert made("split-phase-house").look.colours == "US"  # practice: 120/240 V
    assert Look(colours="US").pale("N") and Look(colours="UK old").pale("L2") and not Look().pale("L3")


def test_colours_and_names_go_into_every_figure_of_a_lesson():
    odd = lesson(result(MAIN), "U/V/W", "UK old")
    for figure in ("wiring", "phasors", "star-point", "star-point-readings", "neutral-current"):
        svg, words = odd.drawn[figure]
        assert "#c00000" in svg and "#1f6fc4" in svg and "#7a3f10" not in svg  # red L1 and blue L3, nothing brown
        assert ">U</text>" in svg and ">L1<" not in svg and not re.search(r"\bL[123]\b", words)
    assert odd.look.word("N") == "black"


def test_unknown_colours_name_those_there_are():
    with pytest.raises(UsageError, match="IEC 60445, UK, UK old, US"):
        lesson(result(MAIN), colours="Utopia")


def test_the_lamp_curve_is_measured_and_modelled():
    # published: measured 12-point table of a 220 V lamp; the model knows its last point only (5 % from 60 V upwards)
    table, model, told = data.load("lamps")["measured_220_volt"], measured_lamp(), lamp_curve()[1]
    for volts, amps in zip(table["voltage"], table["value"]):
        modelled = abs(model.admittance(model.settled(float(volts)))) * volts
        assert volts < 60 or modelled == pytest.approx(amps, rel=0.05)
        assert f"{volts:g} V {amps:g} A" in told


# The case on paper

@pytest.mark.parametrize("name", NAMES)
def test_the_key_tells_the_case_by_its_own_figures(name):
    told, shown = texts(sheets(name)[1]), made(name).result
    for load in star_loads(shown.case)[: handout.MOST]:
        assert load.name in told
        if shown.after.reached:
            volts = next(x.voltage for x in shown.after.reached.loads if x.name == load.name)
            assert volts is None or f"{abs(volts):.0f} V" in told


@pytest.mark.thorough
def test_several_settled_states_leave_the_case_open():
    loads = "".join(f'[[load]]\nname = "Server {n}"\nkind = "electronic"\nconnect = "L{n}-N"\npower = 100\nfront_end = "corrected"\n' for n in (1, 2, 3))
    several = lesson(analyse(parse_case(f'title = "Three equal servers"\n[supply]\n{loads}')))
    assert several.result.after.reached is None and several.bench.why_not_own
    assert "cannot be said" in texts(key.what_the_case_does(several)) and not several.mains.offered
    check_marks(read(pack.key_pdf(several)), "Tutor's key: Three equal servers")


@pytest.mark.parametrize("name", ["fan-heater"])  # named, so that it runs where the case has been worked out
def test_pulses_are_told_by_their_waveforms(name):
    assert trusted(result(name))
    seen = result(name).after.solutions[0]
    load = star_loads(made(name).result.case)[0]
    volts = abs(next(x.voltage for x in seen.loads if x.name == load.name))
    assert f"{volts:.0f} V" in texts(key.what_the_case_does(made(name))) and "pulses" in texts(sheets(name)[0])


def test_a_sound_neutral_gives_no_lesson():
    case = parse_case('title = "Sound"\nbreak = []\n[supply]\n[[load]]\nname = "Lamp"\nkind = "lamp"\nconnect = "L1-N"\npower = 60\n')
    with pytest.raises(UsageError, match="broken or has"):
        lesson(analyse(case))


def test_nothing_on_the_neutral_gives_no_lesson():
    text = 'title = "Oven"\n[supply]\n[[load]]\nname = "Oven"\nkind = "resistive"\nconnect = "L1-L2"\npower = 2000\n'
    with pytest.raises(UsageError, match="between a line and the neutral"):
        lesson(analyse(parse_case(text)))


# Documents

def read(content):
    return pypdf.PdfReader(io.BytesIO(content))


@cache
def made_again(name):
    return lesson(analyse(read_case(FOLDER / f"{name}.toml")))


@pytest.mark.parametrize("what", ["Handout", "Tutor's key"])
@pytest.mark.parametrize("name", PRINTED)
def test_the_checks_of_a_report_hold(name, what):  # invariant
    content = (pack.handout_pdf if what == "Handout" else pack.key_pdf)(made(name))
    pdf = read(content)
    check_marks(pdf, f"{what}: {result(name).case.title}")
    check_fonts(pdf)
    assert alternatives(pdf) <= {squeezed(text) for _, text in made(name).drawn.values()}
    text = squeezed(" ".join(page_texts(content)))
    assert all(squeezed(caution) in text for caution in result(name).cautions)
    assert len(pdf.pages) <= 10 and [round(float(x)) for x in pdf.pages[0].mediabox[2:]] == [595, 842]
    if name == MAIN:
        assert (pack.handout_pdf if what == "Handout" else pack.key_pdf)(made_again(name)) == content  # the same case, the same bytes


def test_every_figure_comes_alone_with_text_as_text_and_says_what_it_shows():
    files = pack.figure_pictures(made(MAIN))
    assert set(files) <= set(pack.figure_files())
    assert all(content.startswith(b"\x89PNG") for name, content in files.items() if name.endswith(".png"))
    assert all(b"<text" in content for name, content in files.items() if name.endswith(".svg"))
    said = files[pack.ALTERNATIVES].decode()
    assert all(text in said for _, text in made(MAIN).drawn.values()) and "as live" in said
    assert set(made(MAIN).drawn) <= set(FIGURES)


def test_facts_carry_source_and_how_known():
    def entries(value):
        if isinstance(value, dict):
            if "source" in value:
                yield value
            for inner in value.values():
                yield from entries(inner)
        elif isinstance(value, list):
            for inner in value:
                yield from entries(inner)

    found = list(entries(data.load("lesson")))
    assert len(found) > 25 and all(e["known"] in data.KNOWN for e in found)
    told = texts(sheets(MAIN)[1])
    assert all(b["source"] in told for b in data.load("lesson")["misconception"])
