"""Every case of the casebook is fit to run as it is. Kind of all checks: practice, or invariant where it says so."""

import re
import tomllib

import pytest
from casebook_results import CASES, FOLDER, result
from outline import held
from views import figures

from lostneutral import result_json
from lostneutral.claims.model import Kind, Rank
from lostneutral.consequences.weighing import weighed
from lostneutral.words.english import said


def after(name, load):
    return next(x for x in result(name).after.reached.loads if x.name == load)


@pytest.mark.parametrize("name", CASES)
def test_case_runs_and_tells_a_story(name):
    made = result(name)
    assert made.after.reached is not None or made.after.cycle
    assert len(made.case.description) > 200
    assert not made.case.warnings
    assert made.cautions and made.findings
    assert f'"{made.case.sha256}"' in result_json(made)


@pytest.mark.parametrize("name", CASES)
def test_figures_are_those_kept(name):  # pins behaviour
    held(name, figures(result(name)))


def between_lines(name):
    """Whether the case's file has a load that is not connected to N."""
    case = tomllib.loads((FOLDER / f"{name}.toml").read_text(encoding="utf-8"))
    return any("N" not in load.get("connect", "L1-N") for part in (case, *case.get("group", ())) for load in part.get("load", ()))


BETWEEN = [name for name in CASES if between_lines(name)]


@pytest.mark.parametrize("name", BETWEEN)
def test_voltages_between_lines_are_untouched_by_the_neutral(name):
    # practice: a lost neutral does not change what lies between the lines, but for the drop in the wiring
    made = result(name)
    if any(b.conductor != "N" for b in made.case.breaks_after()):
        pytest.skip("a line is broken")
    pairs = [(before, now) for before, now in zip(made.before.reached.loads, weighed(made.after)[0].loads) if "N" not in now.connect]
    assert pairs
    for before, now in pairs:
        assert abs(now.voltage) == pytest.approx(abs(before.voltage), rel=0.02)


@pytest.mark.parametrize("name", CASES)
def test_power_taken_is_power_delivered(name):
    # invariant: the loads' power and what the runs, joints and electrodes turn into heat come from the supply
    made = result(name).sines or result(name)  # of sine waves: of pulses, currents at the fundamental's angle are no powers
    if made.case.generators:
        pytest.skip("a second supply gives as well")
    reached, supply = weighed(made.after)[0], made.case.supply
    delivered = sum(supply.phasors[line] * reached.currents[p.name, line].conjugate()
                    for p in made.case.points if p.fed_from == "supply" for line in p.phases)
    powers = [x.power for x in reached.loads]  # what a load gives is negative
    assert -1e-9 <= delivered.real - sum(powers) + 1e-9 * abs(delivered.real)
    assert delivered.real - sum(powers) <= 0.2 * (delivered.real - sum(min(p, 0.0) for p in powers)) + 1e-9


def test_three_equal_lamps_carry_on():  # practice
    for lamp in result("three-equal-lamps").after.reached.loads:
        assert abs(lamp.voltage) == pytest.approx(230.0, abs=1e-6)


def test_two_lamps_left_share_the_line_to_line_voltage():  # practice: half of √3 · 230 V each; the gap at 1.5 × 230 V
    loads = result("two-lamps-left").after.reached.loads
    assert [abs(x.voltage) for x in loads] == pytest.approx([199.186, 199.186, 345.0], abs=0.01)


def test_the_smallest_lamp_glares_and_the_largest_dims():  # practice: the voltage rises where least is connected
    low, middle, high = (after("three-unequal-lamps", x).ratio for x in ("Counter lamp", "Bench lamp", "Clock lamp"))
    assert low < 0.9
    assert 1.1 < middle < high < 3**0.5


def test_a_bad_joint_does_what_a_broken_one_does_only_less():  # practice
    ratio = {x.name: x.ratio for x in result("bad-joint").after.reached.loads}
    assert ratio["Kitchen lamp"] < 0.95 and ratio["Parlour lamp"] > 1.05


def test_split_phase_halves_share_the_whole():  # practice: one leg high, the other low, the sum as before
    made = result("split-phase-house")
    loads = {x.name: abs(x.voltage) for x in made.after.reached.loads}
    assert loads["Toaster"] + loads["Porch lamps"] == pytest.approx(loads["Water heater"], rel=1e-3)
    assert loads["Toaster"] < 100
    assert loads["Porch lamps"] > 140


def test_a_coil_and_a_capacitor_leave_the_triangle():  # practice: beyond what resistances can do
    assert after("leaves-the-triangle", "Propagation bench").ratio > 3**0.5


def test_a_broken_pen_makes_metalwork_live():  # practice
    (live,) = [c for c in result("farm-lane").claims if c.kind is Kind.METALWORK and c.rank is Rank.DANGER]
    assert live.facts["cause"] == "pen open" and "dairy" in live.where
    reached = result("farm-lane").after.reached
    at = {name: abs(reached.between((name, "PE"), ("earth", ""))) for name in live.where}
    assert at["dairy"] > 10 and live.value >= max(at.values()) - 1e-6  # the worst of the incident


WITHDRAWN = re.compile(r"as usual|bad joint|\bdead\b(?! everywhere)|torn apart|comes? to\b|\bruns? (to|that feeds?|feeding)\b|"
                       r"from memory|exchanged", re.IGNORECASE)


@pytest.mark.parametrize("name", CASES)
def test_every_claim_has_its_sentence(name):  # rule of the house
    made = result(name)
    own = sorted({x.name for x in (*made.case.loads, *made.case.points)}, key=len, reverse=True)
    for claim in made.claims:
        told = said(claim, made.case)
        assert told.subject and told.lead.endswith(".") and len(told.lead) > 20, told
        assert not told.more or told.more.endswith("."), told
        text = f"{told.message} {told.computed or ''}"
        for word in own:  # the case's own names may be anything
            text = text.replace(word, "·")
        assert not re.search(r"\b(None|nan|inf)\b|\{|\}|  |\.\.|\bAbout about\b|\d (a|v|w|k|ma)\b", text), text
        assert not WITHDRAWN.search(text), text
    assert sorted(c.about.name for c in made.claims if c.kind is Kind.ITEM) == sorted(
        v.item for v in made.verdicts if v.outcome != "was off")
    assert [c.rank for c in made.claims] == sorted(c.rank for c in made.claims)
    assert {id(c) for f in made.findings for c in f.claims} == {id(c) for c in made.claims}


@pytest.mark.parametrize("story", ["corner-shop"])  # named, so that it runs where the case has been worked out
def test_the_corner_shop_has_everything_a_shop_has(story):  # practice
    made = result(story)
    assert len(made.case.loads) == 15 and sum(p.kind == "board" for p in made.case.points) == 3
    outcome = {h.load: h.outcome for h in made.harms}
    # what is lightly loaded rises: small electronics fail, heaters on the heavily loaded line only work weakly
    assert {load for load, what in outcome.items() if what.startswith("fails")} == {
        "Till", "Card terminal", "Shop ceiling lights", "Window spot lamps", "Router"}
    assert {load for load, what in outcome.items() if what == "works weakly"} == {"Deep fryer", "Fan heater"}
    assert outcome["Back room lamp"] == "dim" and outcome["Kettle"] == "was off"
    # and the readings of the story are those of the calculation, within their uncertainty
    readings = [o for o in made.case.observations if o.between]
    assert readings
    for seen in readings:
        ends = [("earth", "") if end == "earth" else (seen.point, end) for end in seen.between]
        assert abs(made.after.reached.between(*ends)) == pytest.approx(seen.voltage, abs=2 * seen.uncertainty)


@pytest.mark.thorough
@pytest.mark.parametrize("story", ["solar-roof"])
def test_the_solar_roof_trips_first_and_comes_back(story):  # practice: an inverter alone on its line drives it up, and trips
    made = result(story)
    assert sorted(again["load"] for again in made.after.cycle["restarts"]) == ["Battery", "Solar roof", "Vehicle charger"]  # each once a turn
    assert made.after.cycle["lines"]["cottage L1"]["highest"] > 262.2  # published: G98/G99, first stage
    device = next(c for c in made.claims if c.kind is Kind.OPEN_PEN_DEVICE)
    assert device.about.name == "Vehicle charger" and device.facts["touch"] in ("would operate", "may operate")


@pytest.mark.thorough
@pytest.mark.parametrize("story", ["lamp-hall"])
def test_lamps_of_the_hall_go_out_where_the_heaters_are(story):  # practice: the heavily loaded line sags
    cycle = result(story).after.cycle
    assert {again["load"] for again in cycle["restarts"]} == {"Hall lamps L2"}
    assert cycle["period"] == pytest.approx(600.0, abs=10.0)  # published: about ten minutes for a hot metal halide lamp
    assert cycle["lines"]["hall board L2"]["lowest"] < 0.8 * 230.0 < cycle["lines"]["hall board L2"]["highest"]
