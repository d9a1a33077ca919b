"""The page in use, in a real browser: by mouse, key and touch, at the widths and in the colours people have."""

import re
from dataclasses import replace

import pytest
from page_cases import LAMPS, html, star
from test_page_file import HOSTILE

from lostneutral import analyse
from lostneutral.circuit.states import before_and_after
from lostneutral.page import page_html
from lostneutral.result import Result

pytestmark = pytest.mark.browser
SIZES = [(360, 740), (1024, 768), (1920, 1080)]


def readings(page):
    return page.locator("#rows .reading").all_inner_texts()


def set_range(page, name, value):
    page.get_by_label(name).evaluate(
        "(node, x) => { node.value = x; node.dispatchEvent(new Event('input')); node.dispatchEvent(new Event('change')); }", value)


def test_every_question_of_the_prediction_sheet_has_its_answer(visit):
    """Practice: the smallest lamp glares, the largest dims; with the neutral in each has its voltage."""
    page = visit(html("LAMPS", for_class=True))
    assert readings(page) == ["?", "?", "?"] and page.locator("#joint-sound").get_attribute("aria-pressed") == "true"
    page.get_by_role("button", name="Show the readings").click()
    assert readings(page) == ["230 V"] * 3
    words = page.locator("#words").inner_text()
    assert re.search(r"Current in the neutral in the cable to intake: 0\.\d+ A", words)
    page.get_by_role("button", name="Open", exact=True).click()
    assert readings(page) == ["?", "?", "?"] and "?" not in page.locator("#words").inner_text()
    for row, word in enumerate(["higher", "lower", "lower"]):
        page.locator("#rows > li").nth(row).get_by_label(word).check()
    page.get_by_role("button", name="Show the readings").click()
    volts = [int(text.split()[0]) for text in readings(page)]
    assert volts[0] > volts[1] > 300 and volts[2] < 100
    said = page.locator("#rows .right").all_inner_texts()
    assert said == ["You said higher: so it is.", "You said lower: it is higher.", "You said lower: so it is."]
    assert "Most at risk: lamp 0" in page.locator("#words").inner_text()
    page.get_by_role("switch", name="lamp 0").click()  # the load with the highest voltage has failed
    page.get_by_role("button", name="Show the readings").click()
    two = [int(text.split()[0]) for text in readings(page)[1:]]
    assert 380 < sum(two) < 400  # what is left shares the voltage between the lines


def test_why_says_figure_limit_part_and_what_it_rests_on(visit):
    page = visit(html("LAMPS"))
    page.locator("#rows > li summary").first.click()
    page.locator("#rows > li details", has_text="By calculation").first.wait_for()  # a browser tells that it opened a moment later
    said = page.locator("#rows > li details").first.inner_text()
    for word in ("By calculation", "times the rated", "EN 50160", "If this lasts", "filament", "How sure", "Rests on"):
        assert word in said, word


def test_no_line_is_called_dead(visit):
    """Practice: a line without voltage to the neutral is still live to earth."""
    page = visit(html("LAMPS"), "#j=open&l=-1_-1_1")
    assert "L3: 0 V, no voltage to neutral, STILL LIVE to earth" in page.locator("#words").inner_text()
    text = page.locator("main").inner_text()
    assert not re.search(r"\b[Dd]ead\b", text.replace(page.locator("#cautions").inner_text(), ""))


def lines_of(page):
    return page.locator("#words li").all_inner_texts()


def test_a_lost_line_is_not_proved_dead(visit):
    """Practice: what its load ties to the neutral is at no voltage by calculation, which proves nothing."""
    page = visit(html("LOST"))
    assert page.locator("#fault").inner_text().casefold() == "loss of a phase, by calculation"
    assert "L1: 0 V, no voltage to neutral, not proved dead" in lines_of(page)
    assert page.locator("#rows .verdict").first.inner_text() == "no voltage, not proved dead"
    assert "live to earth" not in page.locator("main").inner_text().lower() and not any("neutral at" in said for said in lines_of(page))


def test_a_neutral_that_a_line_was_put_on_is_told_as_live_first(visit):
    """Practice: behind crossed conductors what is called N is at the voltage of the line, with its joint sound."""
    page = visit(html("CROSSED"))
    assert page.locator("#fault").inner_text().casefold() == "transposed conductors, by calculation"
    assert lines_of(page)[0] == "The neutral at intake is at about 230 V to the supply's star point: treat it as live, whatever the figure."


def test_a_machine_on_unequal_lines_has_no_outcome_on_a_page_that_takes_it_as_an_impedance(visit):
    page = visit(html("hay-barn"))  # what the whole calculation says of its fan is a failure and a fire risk
    fan = page.locator("#rows > li", has_text="Drying fan")
    assert "unequal lines" in fan.locator(".verdict").inner_text() and fan.locator(".effect").inner_text() == "Cannot be said on this page"
    assert "No damage" not in fan.inner_text() and lines_of(page)[-1].startswith("Most at risk: Drying fan")
    simplified = page.locator("#also li").last.inner_text()
    assert re.search(r"it gives L2 \d+ V where the whole calculation gives 135 V", simplified)
    assert page.locator("#rows > li", has_text="Air heater").locator(".facts").inner_text().endswith("3000 W at 230 V")  # of all three branches


def test_dangers_stand_first_and_fire_is_among_them(visit):
    said = lines_of(visit(html("hotel-kitchen")))
    said = [line for line in said if not line.startswith("Looking whether")]
    assert [line.split()[0] for line in said[:3]] == ["The", "Metalwork", "Fire"] and any("varistor) of Radio may overheat and burn" in line for line in said)
    assert said.index(next(line for line in said if line.startswith("L1"))) > max(n for n, line in enumerate(said) if line.startswith("Fire"))
    assert any(line.startswith("Fire risk: the joint would dissipate about") for line in lines_of(visit(html("bad-joint"))))


def test_where_several_states_are_possible_no_outcome_is_given_as_good(visit):
    """Invariant: dangers are those of the worst state, whichever is shown, and what differs between the states cannot be said."""
    page = visit(page_html(analyse(star("electronic", 100.0, 100.0, 100.0, more={"front_end": "corrected"}))))
    page.locator("#states button").nth(1).wait_for()
    for at in range(page.locator("#states button").count()):
        page.locator("#states button").nth(at).click()
        said = lines_of(page)
        assert any(re.match(r"The neutral at intake is at up to about 141 V", line) for line in said)
        effects = page.locator("#rows .effect").all_inner_texts()
        assert all(text.lower().startswith("cannot be said; in the worst possible state: failure expected") for text in effects)
        assert not any("no item is expected to fail" in line for line in said)


def test_by_keyboard_alone(visit):
    page = visit(html("LAMPS"))
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "joint-sound"
    page.keyboard.press("Enter")
    assert readings(page) == ["230 V"] * 3
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.press("End")  # the slider: open
    assert page.locator("#joint-ohms").inner_text() == "open" and readings(page)[0] != "230 V"
    page.keyboard.press("Control+z")
    assert readings(page) == ["230 V"] * 3
    switch = page.get_by_role("switch", name="lamp 1")
    switch.focus()
    page.keyboard.press("Space")
    assert switch.get_attribute("aria-checked") == "false"
    power = page.get_by_label("Power of lamp 2")
    power.focus()
    page.keyboard.press("ArrowRight")
    assert "156 W" in page.locator("#rows .facts").nth(2).inner_text()


def test_by_touch_on_a_phone(visit):
    page = visit(html("LAMPS"), viewport={"width": 360, "height": 740}, has_touch=True, is_mobile=True)
    page.get_by_role("button", name="Sound").tap()
    assert readings(page) == ["230 V"] * 3
    page.get_by_role("switch", name="lamp 0").tap()
    page.locator("#joint").tap()
    assert "Ω" in page.locator("#joint-ohms").inner_text()
    small = page.evaluate("""[...document.querySelectorAll('button, select, input, summary')].filter((n) => n.offsetParent)
        .map((n) => [n.id || n.textContent, n.getBoundingClientRect()]).filter(([, r]) => r.width < 18 || r.height < 18).map(([n]) => n)""")
    assert small == []


def test_undo_goes_back_one_gesture_at_a_time(visit):
    page = visit(html("LAMPS"))
    first = page.evaluate("linkOf = document.querySelector('#link').value")
    set_range(page, "Resistance of the joint", 400)
    page.get_by_role("switch", name="lamp 0").click()
    for _ in range(2):
        page.get_by_role("button", name="Undo").click()
    assert page.locator("#link").input_value() == first and page.get_by_role("button", name="Undo").is_disabled()


def test_a_link_holds_the_setting_and_nothing_else(visit):
    page = visit(html("LAMPS"))
    set_range(page, "Power of lamp 1", 1.0)
    page.get_by_role("switch", name="lamp 2").click()
    link = page.locator("#link").input_value()
    fragment = link.split("#")[1]
    assert re.fullmatch(r"[-=&_.\w]+", fragment) and not re.search("lamp|three|hand", fragment, re.IGNORECASE)
    other = visit(html("LAMPS"), "#" + fragment)
    assert readings(other) == readings(page)
    assert readings(visit(html("LAMPS"), "#j=open&l=1_1")) == readings(visit(html("LAMPS")))  # not of this case: left alone


def test_two_settings_side_by_side(visit):
    page = visit(html("LAMPS"))
    page.get_by_role("button", name="Keep this setting beside").click()
    page.get_by_role("button", name="Sound").click()
    rows = page.locator("#beside tbody tr").all_inner_texts()
    assert rows[0].split("\t") == ["Joint", "open", "sound"] and rows[1].split("\t")[2] == "230 V"
    assert page.locator(".kept").get_attribute("d")


def test_time_runs_and_items_fail_in_it(visit):
    page = visit(html("LAMPS"))
    page.get_by_label("1 s is 1 h").check()
    page.locator("#log li").first.wait_for(timeout=30_000)
    assert "lamp 0: failure by calculation, open-circuit: filament" in page.locator("#log").inner_text()
    page.get_by_role("radio", name="Settled").check()
    assert page.locator("#rows .verdict").first.inner_text().endswith("above limits")


def test_metalwork_follows_electrode_and_joint(visit):
    """Practice: behind an open PEN a better local electrode pulls the metalwork down."""
    page = visit(html("farm-lane"))
    assert "Metalwork at" in page.locator("#words").inner_text()

    def volts():
        return page.evaluate("(() => { const v = lostneutral.view(); return v.reading.points[v.point].metal; })()")

    before = volts()
    page.evaluate("lostneutral.resist({ electrode: [0, 2] }, true)")
    assert volts() < before
    page.get_by_role("button", name="Sound").click()
    assert volts() < 10.0


def test_split_phase_has_a_line_and_no_triangle(visit):
    page = visit(html("split-phase-house"))
    text = page.locator("main").inner_text().replace(page.locator("#cautions").inner_text(), "")
    assert "The line between L1 and L2" in text and not re.search("star point|triangle", text, re.IGNORECASE)


def test_waveforms_are_a_fixed_picture_that_says_so(visit):
    page = visit(html("full-neutral"))
    assert "Sine waves do not give the answer" in page.locator("main").inner_text()
    assert page.locator("#fixed-picture img").evaluate("node => node.naturalWidth") > 100
    assert not page.locator("#joint").is_visible() and "V" in page.locator("#fixed-items").inner_text()


def test_texts_of_the_case_are_no_markup(visit):
    loads = tuple(replace(load, name=f"{n}{HOSTILE}") for n, load in enumerate(LAMPS.loads))
    page = visit(page_html(analyse(replace(LAMPS, title=HOSTILE, description=HOSTILE, loads=loads))))
    page.locator("#rows > li summary").first.click()
    page.get_by_role("button", name="Keep this setting beside").click()
    assert page.locator("h1").inner_text().split("\n")[0].startswith("</script>")
    assert page.locator("img, b").count() == 0  # and no dialogue came, or the visit fails


@pytest.mark.parametrize(("width", "height"), SIZES)
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", ["bakery", "split-phase-house", "full-neutral"])
def test_it_fits_and_its_cautions_are_in_sight(visit, name, width, height, scheme):
    page = visit(html(name), viewport={"width": width, "height": height}, color_scheme=scheme)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    for where in (0, 600, 10**6):
        page.evaluate(f"scrollTo(0, {where})")
        strip = page.locator("#strip").bounding_box()
        assert 0 <= strip["y"] < height and abs(strip["y"] + strip["height"] - height) < 1.5
    if width >= 1024:  # all of them, without scrolling
        assert page.evaluate("(() => { const s = document.querySelector('#strip'); return s.scrollHeight <= s.clientHeight + 1; })()")
    out = page.evaluate("""[...document.querySelectorAll('main h1, main h2, main h3, main p, main button, main label, main td')].filter((n) => n.offsetParent)
        .filter((n) => n.getBoundingClientRect().right > innerWidth + 1 && !n.closest('.scroll')).map((n) => n.textContent)""")
    assert out == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", ["bakery", "split-phase-house", "full-neutral", "row-of-cottages"])
def test_the_accessibility_checker_finds_nothing(visit, name, scheme):
    """By axe-core with all its rules for WCAG 2 A, AA and good practice. A checker finds part of what can be wrong."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="no checker: pip install -e '.[test,browser]'")
    page = visit(html(name), color_scheme=scheme, bypass_csp=True)
    for _ in range(2):
        found = axe.Axe().run(page).response["violations"]
        assert [(v["id"], [n["html"][:120] for n in v["nodes"]]) for v in found] == []
        if page.locator("#predict").is_visible():
            page.locator("#predict").check()


def test_it_prints_without_controls_and_with_cautions(visit):
    page = visit(html("LAMPS"))
    page.emulate_media(media="print")
    assert not page.locator("#undo").is_visible() and page.locator("#cautions-full").is_visible()
    assert page.pdf()[:4] == b"%PDF"


def test_reader_hears_the_star_point_in_words(visit):
    page = visit(html("LAMPS"))
    page.wait_for_timeout(100)
    assert re.search(r"The neutral is \d+ V from the middle. L1: 3\d\d V to neutral, above limits", page.locator("#star-words").inner_text())
    assert page.locator("#star").get_attribute("role") == "img"


def test_where_nothing_decides_no_figure_is_left_standing(visit):
    """Practice: a load without any impedance across an ideal source has no answer, and the page says so."""
    short = replace(LAMPS.loads[0], kind="impedance", parameters={"resistance": 0.0, "reactance": 0.0}, on=False)
    page = visit(page_html(analyse(replace(LAMPS, loads=(short, *LAMPS.loads[1:]), breaks=()))))
    assert readings(page)[1] == "230 V"
    page.get_by_role("switch", name="lamp 0").click()
    assert set(readings(page)) == {"no figure"} and "no answer for this setting" in page.locator("#words").inner_text()
    page.get_by_role("button", name="Undo").click()
    assert readings(page)[1] == "230 V"


def test_what_does_not_settle_says_so(visit):
    """Independent: a motor too low to turn stalls, trips and tries again for ever (see the circuit's own tests)."""
    heavy = star("resistive", 1500.0, 600.0, 500.0)
    case = replace(heavy, loads=(*star("motor", 120.0).loads, *heavy.loads))
    assert before_and_after(case)[1].ends == "cycle"
    page = visit(page_html(Result(case, *before_and_after(case))))
    page.locator("#words li", has_text="does not settle").wait_for(timeout=60_000)
    assert page.locator("#rows .verdict", has_text="goes to and fro").count() >= 1
