"""What a lesson lets a class do, over the whole casebook: bounds of a mains demonstration, the bench version, words."""

import re
from math import isinf, sqrt

import pytest
from daily import daily
from lessons_of_casebook import FOLDER, NAMES, made, own_words, result, sheets, texts

from lostneutral import analyse, data, read_case
from lostneutral.circuit.wiring import pen_run
from lostneutral.errors import UsageError
from lostneutral.loads.catalogue import resolve
from lostneutral.teaching.bench import POINT, resistor_rating
from lostneutral.teaching.demonstration import mains
from lostneutral.teaching.handout import handout
from lostneutral.teaching.key import key
from lostneutral.teaching.lesson import lesson
from lostneutral.teaching.star import star_loads

BOUNDS = data.load("lesson")["bounds"]
TABLE = data.load("lesson")["bench"]


OFFERED = {"evening-class", "three-equal-lamps", "two-lamps-left"}


@pytest.mark.parametrize("name", NAMES)
def test_a_mains_demonstration_is_offered_for_boards_of_lamps_only(name):
    # practice: the three cases of small lamps on one board with an earth of their own; none with a PEN, heaters, electronics
    assert made(name).mains.offered == (name in OFFERED)


@pytest.mark.parametrize("name", sorted(OFFERED))
def test_what_is_offered_stays_within_every_bound(name):  # invariant: judged here from the states themselves
    assert made(name).mains.offered
    case, states = result(name).case, (*result(name).before.solutions, *result(name).after.solutions)
    assert not any(pen_run(case, case.point(b.feeding)) or not isinf(b.resistance) for b in case.breaks_after())
    assert case.supply.earthing in ("TN-S", "TT") and case.supply.nominal * sqrt(3) < 400
    for seen in (x for s in states for x in s.loads if x.on):
        assert seen.ratio <= BOUNDS["over_rated"]["value"] and seen.power <= BOUNDS["power"]["value"]
    amps = max(abs(i) for s in states for i in s.currents.values())
    assert amps <= BOUNDS["current"]["value"] and amps < made(name).mains.fuse
    assert all((h.earliest or 1e9) >= BOUNDS["soonest_failure"]["value"] for h in result(name).verdicts if h.fails)
    text = texts(sheets(name)[0])
    for needed in ("protective conductor", "rated for 400 V", "shrouded terminals", "fuse link of 2 A (gG", "isolate, lock off, prove dead",
                   "second person", "competent person only"):
        assert needed in text


@pytest.mark.parametrize(("name", "told", "asked"), [
    ("leaves-the-triangle", "490 V", "above 1.4 × its rated voltage"), ("farm-lane", "PEN", "PEN"), ("row-of-cottages", "PEN", "PEN"),
    ("split-phase-house", "PEN", "PEN"), ("bad-joint", "190 W", "more than 10 W"), ("bakery", "28 A", "more than 2 A"),
    ("hotel-kitchen", "may fail within 15 minutes", "may fail within 15 minutes"),
    ("three-unequal-lamps", "1.48 × its rated voltage", "above 1.4 × its rated voltage"),
    ("wrong-room", "opens while the loads are on", "opens while the loads are on")])
def test_what_is_not_offered_says_why_to_the_class_without_results(name, told, asked):
    sheet, key_ = map(texts, sheets(name))
    assert asked in sheet and told in key_
    assert "competent person only" not in sheet and "230 V to N" not in sheet
    assert all(why.words in sheet and why.figures[1:] in key_ for why in made(name).mains.why_not)


@pytest.mark.parametrize("change", daily([
    {"earthing = \"TN-S\"": ""}, {"power = 100": "power = 100\ncount = 9"}, {"power = 40": "power = 4"},
    {"power = 40": "power = 40\n[[load]]\nname = \"Set\"\nkind = \"electronic\"\nconnect = \"L1-N\"\npower = 30"}]), ids=str)
def test_a_small_change_of_the_board_takes_the_offer_back(change, tmp_path):  # invariant
    text = (FOLDER / "evening-class.toml").read_text(encoding="utf-8")
    for old, new in change.items():
        assert old in text
        text = text.replace(old, new)
    (tmp_path / "case.toml").write_text(text, encoding="utf-8")
    assert not mains(analyse(read_case(tmp_path / "case.toml"))).offered


@pytest.mark.parametrize("name", ["corner-shop", "evening-class"])
def test_the_key_has_the_construction_where_the_sheet_asks_for_it(name):
    asked = "case-readings" in made(name).drawn
    assert ("N of the case from its three voltages" in texts(sheets(name)[1])) is asked
    assert asked is bool(made(name).bench.why_not_own and len(result(name).case.supply.lines) == 3)


# The bench version

@pytest.mark.parametrize("name", NAMES)
def test_the_bench_version_is_extra_low_and_of_parts_that_are_sold(name):
    built = made(name).bench
    limit = data.load("touch")["limit_normal"]["value"]
    lines = built.case.supply.lines
    between = max(abs(s.voltage(POINT, a, b)) for s in built.states for a in lines for b in (*lines, "N"))
    assert between < limit and built.volts in (12.0, 24.0)
    said = "nsulated (shrouded) terminals" in texts(sheets(name)[0])
    assert said is (between > 25.0)  # published, memory: IEC 60364-4-41, 414
    assert built.largest_current < built.fuse <= 4.0
    for line, watts in built.rated.items():
        if built.kind == "lamp":
            assert watts in TABLE["lamps"][f"{built.volts:g}"]
        else:
            mantissa = built.ohms(line) / 10 ** (len(f"{int(built.ohms(line))}") - 1)
            assert min(abs(mantissa - m) for m in TABLE["resistors"]["series"]) < 1e-9
            assert resistor_rating(built.hottest[line]) >= 2 * built.hottest[line]
    text = texts(sheets(name)[0])
    assert f"fuse link of {built.fuse:g} A" in text
    if built.joint_watts:
        assert resistor_rating(built.joint_watts) >= 2 * built.joint_watts
        assert f"minimum rating {resistor_rating(built.joint_watts):g} W" in text


@pytest.mark.parametrize("name", NAMES)
def test_every_resistive_star_is_built_and_any_other_says_what_is_lost(name):
    built, loads = made(name).bench, star_loads(made(name).result.case)
    lines = {x.connect[0] for x in loads}
    resistors = ("lamp", "heater", "resistive")
    foreign = [x for x in loads if resolve(x).kind not in resistors]
    text = texts(sheets(name)[0])
    assert built.system == result(name).case.supply.system
    assert ("The two-battery split-phase lesson" in text) is (built.system == "split-phase")
    if built.why_not_own:
        assert foreign or len(lines) < 2
        assert built.why_not_own in text and "nearest star that shows the same effect" in text
        return
    assert set(built.lines) == lines
    assert all(sentence in text for sentence in built.lost)
    assert all(f"“{x.name}”: replaced" in text for x in foreign)
    powers = {line: sum(resolve(x).parameters["power"] * x.count * (result(name).case.supply.nominal / x.voltage) ** 2 for x in loads
                        if x.connect[0] == line and resolve(x).kind in resistors) for line in lines}
    if not foreign:  # invariant: in the proportion of the rating plates
        scale = [built.rated[line] / powers[line] for line in lines]
        assert max(scale) / min(scale) <= TABLE["close_enough"]["ratio"]


@pytest.mark.parametrize("name", [n for n in NAMES if n != "wrong-room"])
def test_bench_voltages_of_resistors_by_millman(name):  # independent: the node-voltage formula
    built = made(name).bench
    if built.kind == "lamp":
        return
    siemens = {line: 1 / built.ohms(line) for line in built.lines}
    corners = built.case.supply.phasors
    shift = sum(corners[x] * g for x, g in siemens.items()) / (sum(siemens.values()) + 1 / built.joint)
    for line in built.lines:
        assert built.volt(line, built.after) == pytest.approx(abs(corners[line] - shift), rel=1e-6)


def test_the_joint_scales_with_the_loads():
    case, built = result("bad-joint").case, made("bad-joint").bench
    mains = 230**2 / (2200 + 60)  # independent: kettle and lamp in parallel
    assert built.joint / built.ohms("L1") == pytest.approx(case.breaks[0].resistance / mains, rel=0.1)  # the nearest of the E12 series, whose steps are a fifth
    assert built.joint_watts < 2.0 and built.out == "resistor in"


def test_a_three_phase_case_becomes_the_two_battery_lesson_if_asked():
    two = lesson(result("evening-class"), system="split-phase")
    assert two.bench.system == "split-phase" and two.bench.lines == ("L1", "L2") and two.bench.volts == 12.0
    text = texts([*handout(two), *key(two)], drawn=True)
    assert "two sealed 12 V batteries" in text and "third line" in text and "battery's lead, at its terminal" in text
    with pytest.raises(UsageError, match="two lines"):
        lesson(result("split-phase-house"), system="three-phase")


# Words

FORBIDDEN = (r"(?<!prove )(?<!proves )(?<!proved )\bdead\b", r"\bperson alone\b", r"switch one off", r"\bsafe(r|ly)?\b", r"\bbad joint\b", r"\brun\b",
             r"\bas usual\b", r"\bhelping line\b", r"\bexchanged\b", r"\bno licence\b", r"\bnow the meets\b", r"\bNone\b(?! of)", r"\bnan\b", r"[{}]")


@pytest.mark.parametrize("name", NAMES)
def test_words_that_no_sheet_has(name):
    for blocks in sheets(name):
        text = own_words(name, blocks, drawn=True)
        assert not [text[max(0, found.start() - 30):found.end() + 30] for found in re.finditer("|".join(FORBIDDEN), text)]


def test_a_split_phase_supply_has_no_star_point_and_no_triangle():
    name = "split-phase-house"
    for blocks in sheets(name):
        assert not re.findall(r"\bstar\b|triangle|corner|compass|120°|parallelogram", own_words(name, blocks, drawn=True))
    assert "centre tap" in texts(sheets(name)[0])


@pytest.mark.parametrize("name", NAMES)
def test_cautions_go_with_every_sheet(name):
    assert all(caution in texts(blocks) for blocks in sheets(name) for caution in result(name).cautions)
