"""Handout and key: the checks of a report hold, blanks are filled in the key only, figures are the solver's."""

import io
import re
from functools import cache
from pathlib import Path

import pypdf
import pytest
from read_back import alternatives, check_fonts, check_marks, squeezed

from lostneutral import analyse, data, read_case
from lostneutral.case.reader import parse_case
from lostneutral.consequences.pulses import as_waves, trusted
from lostneutral.errors import UsageError
from lostneutral.loads.catalogue import resolve
from lostneutral.teaching import pack
from lostneutral.teaching.bench import bench, line_powers, resistor_rating
from lostneutral.teaching.blanks import BLANK
from lostneutral.teaching.figures import lamp_curve, measured_lamp
from lostneutral.teaching.film import opening
from lostneutral.teaching.handout import handout
from lostneutral.teaching.key import key
from lostneutral.teaching.lesson import FIGURES, lesson
from lostneutral.teaching.quiz import questions
from lostneutral.teaching.star import NotAStar, star_loads

FOLDER = Path(__file__).parents[2] / "casebook"
MAIN = "evening-class"
#: lamps; a bad joint; split-phase; a coil and a capacitor; several points and earth; a single-phase house
CASES = (MAIN, "bad-joint", "split-phase-house", "leaves-the-triangle", "farm-lane", "shared-pipe")
PRINTED = (MAIN, "leaves-the-triangle")


@cache
def result(name):
    return analyse(read_case(FOLDER / f"{name}.toml"))


@cache
def made(name, labels="L1/L2/L3"):
    return lesson(result(name), labels)


@cache
def documents(name):
    return {"Handout": pack.handout_pdf(made(name)), "Tutor's key": pack.key_pdf(made(name))}


def read(content):
    return pypdf.PdfReader(io.BytesIO(content))


@pytest.fixture(autouse=True)
def no_epoch(monkeypatch):
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)


@pytest.mark.parametrize("what", ["Handout", "Tutor's key"])
@pytest.mark.parametrize("name", PRINTED)
def test_the_checks_of_a_report_hold(name, what):  # invariant
    pdf = read(documents(name)[what])
    check_marks(pdf, f"{what}: {result(name).case.title}")
    check_fonts(pdf)
    drawn = {squeezed(text) for _, text in made(name).drawn.values()}
    assert alternatives(pdf) <= drawn
    text = squeezed(" ".join(page.extract_text() for page in pdf.pages))
    assert all(squeezed(caution) in text for caution in result(name).cautions)
    assert len(pdf.pages) <= 10 and [round(float(x)) for x in pdf.pages[0].mediabox[2:]] == [595, 842]


def test_the_same_case_gives_the_same_bytes():  # invariant
    again = lesson(analyse(read_case(FOLDER / f"{MAIN}.toml")))
    assert {"Handout": pack.handout_pdf(again), "Tutor's key": pack.key_pdf(again)} == documents(MAIN)
    assert pack.figure_pictures(again) == pack.figure_pictures(made(MAIN))


PARTS = (
    "What this lesson is for",
    "Before anything is switched on",
    "Parts and wiring",
    "The bench version",
    "Predict first",
    "Readings",
    "Draw it",
    "The neutral current, with the neutral in",
    "The star point from the nameplates, neutral out",
    "The star point from three readings",
    "The light of the lamps",
    "The surprise: a lamp is no fixed resistor",
    "True or false?",
    "Conductor colours old and new",
    "Five lines to take away",
    "Cautions",
)


def headings(blocks):
    return [b.get("text", b.get("title")) for b in blocks if b["kind"] in ("heading", "box")]


def test_every_part_is_there_and_the_guess_comes_before_the_result():
    blocks = handout(made(MAIN))
    named = headings(blocks)
    assert [part for part in PARTS if part not in named] == []
    order = [named.index(part) for part in ("Before anything is switched on", "Predict first", "Readings", "Draw it")]
    assert order == sorted(order)
    kinds = [b["kind"] for b in blocks]
    draw = next(i for i, b in enumerate(blocks) if b.get("text") == "Draw it")
    assert kinds[draw - 1] == "new_page"  # the guess is not on the page of the answer
    before = str(blocks[:draw])
    for load in result(MAIN).after.reached.loads:
        assert f"{abs(load.voltage):.1f}" not in before


def tables(blocks):
    return [b for b in blocks if b["kind"] == "table"]


@pytest.mark.parametrize("name", CASES)
def test_blanks_in_the_handout_are_filled_in_the_key(name):
    asked, told = tables(handout(made(name))), tables(key(made(name)))
    assert any(BLANK in row for t in asked for row in t["rows"])
    assert not any(BLANK in cell for t in told for row in t["rows"] for cell in row if isinstance(cell, str))
    readings = next(t for t in asked if t["caption"] == "Readings")
    answers = next(t for t in told if t["caption"] == "Readings")
    assert [row[0] for row in readings["rows"]] == [row[0] for row in answers["rows"]]
    text = str(told)
    after = result(name).after.reached
    for load in star_loads(result(name).case):
        found = next(x for x in after.loads if x.name == load.name)
        assert f"{abs(found.voltage):.1f} V" in text


@pytest.mark.parametrize("name", CASES)
def test_what_is_left_out_is_said_with_its_reason(name):
    for blocks in (handout(made(name)), key(made(name))):
        text = str(blocks)
        assert all(part[1:] in text and why in text for part, why in made(name).left_out.items())
    assert not made(MAIN).left_out
    assert set(made(name).drawn) <= set(FIGURES)


def test_labels_go_everywhere():
    pdf = read(pack.handout_pdf(made(MAIN, "R/Y/B")))
    text = " ".join(page.extract_text() for page in pdf.pages)
    assert "R and N" in text and "R–Y" in text and not re.search(r"(?<![A-Za-z0-9])L[123](?![0-9])", text)
    assert not [words for words in alternatives(pdf) if re.search(r"(?<![A-Za-z])L[123]", words)]


def test_a_sound_neutral_gives_no_lesson():
    case = parse_case(
        'title = "Sound"\nbreak = []\n[supply]\n[[load]]\nname = "Lamp"\nkind = "lamp"\nconnect = "L1-N"\npower = 60\n'
    )
    with pytest.raises(UsageError, match="broken or bad"):
        lesson(analyse(case))


def test_nothing_on_the_neutral_gives_no_lesson():
    text = 'title = "Oven"\n[supply]\n[[load]]\nname = "Oven"\nkind = "resistive"\nconnect = "L1-L2"\npower = 2000\n'
    with pytest.raises(UsageError, match="between a line and the neutral"):
        lesson(analyse(parse_case(text)))


def test_several_settled_states_are_all_told():
    loads = "".join(
        f'[[load]]\nname = "Server {n}"\nkind = "electronic"\nconnect = "L{n}-N"\npower = 100\n'
        'front_end = "corrected"\n'
        for n in (1, 2, 3)
    )
    several = lesson(analyse(parse_case(f'title = "Three equal servers"\n[supply]\n{loads}')))
    count = sum(s.attracting for s in several.result.after.solutions)
    assert several.result.after.reached is None and count > 1
    readings = next(t for t in tables(key(several)) if t["caption"] == "Readings")
    assert len(readings["head"]) == 2 + count and readings["head"][-1].endswith(f", {chr(ord('A') + count - 1)}")
    assert any("open which line" in why for why in several.left_out.values())
    check_marks(read(pack.key_pdf(several)), "Tutor's key: Three equal servers")


def test_pulses_are_told_by_their_waveforms_and_not_drawn_as_arrows():
    pulsed = made("fan-heater")
    assert trusted(result("fan-heater")) and not {"phasors", "star-point", "star-point-readings"} & set(pulsed.drawn)
    assert "pulses" in str(handout(pulsed)) and "pulses" in str(key(pulsed))
    readings = next(t for t in tables(key(pulsed)) if t["caption"] == "Readings")
    seen = as_waves(result("fan-heater")).after.solutions[0]
    assert readings["rows"][0][2] == f"{abs(seen.voltage(pulsed.point, 'L1')):.1f} V"
    with pytest.raises(UsageError, match="pulses"):
        opening(pulsed.result)


def test_bench_lamps_keep_the_ratio_and_stay_below_the_touch_limit():
    case = result(MAIN).case
    found = bench(case, "lamp")
    assert found.rated == {"L1": 10, "L2": 15, "L3": 25}  # practice: 40, 60 and 100 W in lamps that are sold for 24 V
    assert line_powers(case) == pytest.approx({"L1": 40.0, "L2": 60.0, "L3": 100.0})
    limit = data.load("touch")["limit_normal"]["value"]
    solution = found.result.after.reached
    assert max(abs(load.voltage) for load in solution.loads) < found.result.case.supply.nominal_line_to_line < limit
    mains = result(MAIN).after.reached
    for small, large in zip(
        solution.loads, mains.loads
    ):  # invariant: the same shares, but for the filaments' other wires
        assert small.ratio == pytest.approx(large.ratio, rel=0.02)


def test_bench_resistors_are_of_the_series_and_rated_for_their_heat():
    found = bench(result(MAIN).case, "resistive")
    assert found.ohms == pytest.approx({"L1": 180.0, "L2": 120.0, "L3": 68.0})
    volts = found.result.case.supply.phasors
    total = sum(1 / r for r in found.ohms.values())
    shift = sum(volts[x] / r for x, r in found.ohms.items()) / total  # independent: node-voltage formula
    for load, (line, ohm) in zip(found.result.after.reached.loads, found.ohms.items()):
        assert load.power == pytest.approx(abs(volts[line] - shift) ** 2 / ohm)
        assert resistor_rating(load.power) >= 2 * load.power


def test_loads_that_do_not_scale_have_no_bench_version():
    with pytest.raises(NotAStar, match="rescaled"):
        line_powers(result("leaves-the-triangle").case)


@pytest.mark.parametrize("name", CASES)
def test_quiz_says_no_in_figures_of_the_case(name):
    asked = questions(result(name))
    three = result(name).case.supply.system == "three-phase"
    assert len(asked) == sum(three or not b.get("three_phase_only") for b in data.load("lesson")["belief"])
    assert not [text for pair in asked for text in pair if re.search(r"[{}]|None\b(?! of)|\bnan\b", text)]


def test_quiz_figures_are_the_solvers():
    answers = " ".join(answer for _, answer in questions(result(MAIN)))
    volts = [abs(load.voltage) for load in result(MAIN).after.reached.loads]
    assert "L1 {:.0f} V, L2 {:.0f} V, L3 {:.0f} V".format(*volts) in answers
    back = abs(result(MAIN).before.reached.currents["intake", "N"])
    assert f"{back:.3f} A" in answers
    # independent: node-voltage formula for the rod of 100 ohm beside 5000 W in the ratio 40 : 60 : 100
    corners = result(MAIN).case.supply.phasors
    siemens = {line: 5000 * share / 230**2 for line, share in (("L1", 0.2), ("L2", 0.3), ("L3", 0.5))}
    pull = sum(corners[x] * g for x, g in siemens.items())
    assert (
        f"{abs(pull / (sum(siemens.values()) + 0.01)):.0f} V from the middle, where it stood "
        f"{abs(pull / sum(siemens.values())):.0f} V" in answers
    )


def test_the_lamp_curve_is_measured_and_modelled():
    # published: measured 12-point table of a 220 V lamp; the model knows its last point only (5 % from 60 V upwards)
    table, model = data.load("lamps")["measured_220_volt"], measured_lamp()
    for volts, amps in zip(table["voltage"], table["value"]):
        modelled = abs(model.admittance(model.settled(float(volts)))) * volts
        assert volts < 60 or modelled == pytest.approx(amps, rel=0.05)
        assert f"{volts:g} V {amps:g} A" in lamp_curve()[1]


def test_film_goes_from_the_middle_to_the_open_star_point():  # invariant
    way = opening(result(MAIN))
    assert way.resistances[0] == 0.0 and way.resistances[-1] == float("inf")
    moved = [abs(z) for z in way.neutral]
    assert moved == sorted(moved) and moved[0] < 1e-9
    assert way.neutral[-1] == pytest.approx(result(MAIN).after.reached.nodes["intake", "N"])


def test_every_figure_comes_for_slides_and_says_what_it_shows():
    files = pack.figure_pictures(made(MAIN))
    assert set(files) == set(pack.figure_files())
    assert all(content.startswith(b"\x89PNG") for name, content in files.items() if name.endswith(".png"))
    said = files[pack.ALTERNATIVES].decode()
    assert all(text in said for _, text in made(MAIN).drawn.values()) and "as live" in said
    assert (
        "Left out: the light of the lamps"
        in pack.figure_pictures(made("leaves-the-triangle"))[pack.ALTERNATIVES].decode()
    )


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
    told = str(key(made(MAIN)))
    assert all(b["source"] in told for b in data.load("lesson")["belief"])


@pytest.mark.parametrize("name", CASES)
def test_nothing_is_called_safe(name):
    for blocks in (handout(made(name)), key(made(name))):
        assert not re.search(r"\bsafe(r|ly)?\b", str([b for b in blocks if b["kind"] != "figure"]), re.IGNORECASE)


def test_lamps_only_where_there_are_lamps_only():
    assert {b.kind for b in made(MAIN).benches} == {"lamp", "resistive"}
    assert all(resolve(load).kind == "lamp" for load in star_loads(result(MAIN).case))
    assert [b.kind for b in made("split-phase-house").benches] == ["resistive"]
