"""What is said of places, ranges and causes: the trade's words, no certainty, cautions. Kind: practice."""

import json
import re
from dataclasses import replace
from functools import cache
from math import inf, nan
from pathlib import Path

import pytest
from click.testing import CliRunner

from lostneutral import analyse, parse_case, read_case
from lostneutral.case.model import Break
from lostneutral.circuit.states import before_and_after
from lostneutral.cli import main
from lostneutral.consequences import cautions
from lostneutral.consequences.cautions import open_cautions
from lostneutral.evidence.asked import Asked
from lostneutral.evidence.deduce import deduce
from lostneutral.evidence.effects import WORDS
from lostneutral.evidence.ranges import ranges
from lostneutral.evidence.where import where
from lostneutral.report.base.cautions import in_short
from lostneutral.report.documents.document import blocks
from lostneutral.report.documents.given import given
from lostneutral.report.evidence import rows as deduction_rows
from lostneutral.report.evidence import where_text
from lostneutral.report.evidence.file import asked_dict
from lostneutral.report.evidence.section import deduction, deduction_in_short
from lostneutral.report.evidence.text import deduction_text
from lostneutral.report.evidence.verdict import ratio_words, verdict_on_cause
from lostneutral.report.ranges import rows as range_rows
from lostneutral.report.ranges.text import ranges_text

CASEBOOK = Path(__file__).parents[2] / "casebook"
WIDE = 10**6  #: columns: so that no line is broken
STORIES = ("bakery", "bad-joint", "farm-lane", "split-phase-house", "village-hall")
FLAT = """title = "A flat"
[supply]
earthing = "TN-C-S"
electrode = 1
[[point]]
name = "flat"
[[load]]
name = "Lamps"
kind = "lamp"
connect = "L1-N"
power = 300
[[load]]
name = "Urn"
kind = "heater"
connect = "L2-N"
power = 1000
[[unknown]]
load = "Urn"
power = { low = 700, high = 1500 }
[[observation]]
between = "L1-N"
voltage = 320
uncertainty = 5
impedance = 1e7
[[observation]]
load = "Urn"
seen = "dimmer"
"""
NOT_SAID = ("bad joint", "the run to", "share of the support", "100 %", "100.0 %", "beforehand", "what was seen", "None",
            "whole everywhere", "exchanged", " N of the", "comes to", "how likely")


@cache
def found(name):
    case = read_case(CASEBOOK / f"{name}.toml")
    return case, where(case)


@cache
def flat():
    result = analyse(parse_case(FLAT))
    return replace(result, deduction=deduce(result.case, 128), ranges=ranges(result.case, 64))


def flow(text):
    return " ".join(text.split())


def squeezed(text):
    return "".join(text.split())


def said(case, text):
    """The text without its cautions and the title of the case."""
    kept = flow(text.replace(case.title, "")).split(" Cautions - ")[0]
    return kept.replace(flow(in_short(open_cautions(case, "short"))), "")


def place(name, kind):
    case, answer = found(name)
    return case, next(o for o in answer.outcomes if o.place.kind == kind)


def test_a_hot_joint_is_not_called_whole():
    case, outcome = place("bad-joint", "bad joint")
    told = where_text.consequence(case, outcome)
    assert "voltages within limits everywhere; the joint overheats" in told and "fire risk" in told


def test_the_heat_of_a_joint_is_resistance_times_current_squared():
    """Independent: the same joint put into the case and solved by `analyse`'s search."""
    case, outcome = place("bad-joint", "bad joint")
    joint = outcome.place.breaks[0]
    state = before_and_after(replace(case, breaks=(joint,), events=()))[1].reached
    assert outcome.joint_heat == pytest.approx(joint.resistance * abs(state.currents[joint.feeding, "N"]) ** 2, rel=1e-4)
    told = json.loads(where_text.where_json(*found("bad-joint")))["places"]
    assert next(p["joint_heat"] for p in told if p["kind"] == "bad joint") == pytest.approx(outcome.joint_heat)


@pytest.mark.parametrize("watts, said", [(0.5, []), (3.0, ["the joint heats: about 3.0 W"])])
def test_little_heat_is_told_as_little(watts, said, monkeypatch):  # by the figures of the data file yardsticks
    _, outcome = place("bad-joint", "bad joint")
    monkeypatch.setattr(type(outcome), "joint_heat", watts)
    assert where_text._heat(outcome) == said


def test_a_line_without_voltage_to_the_neutral_is_not_dead():
    """N and L1 lost behind one break: the neutral rises to a line, and L1 with it."""
    case, answer = found("bakery")
    both = next(o for o in answer.outcomes if o.place.kind == "line lost as well" and o.place.feeding == "shop board"
                and o.place.breaks[1].conductor == "L1")
    told = where_text.consequence(case, both)
    assert "L1 no voltage to neutral, STILL LIVE to earth (shop board)" in told
    alone = next(o for o in answer.outcomes if o.place.kind == "line lost" and o.place.feeding == "shop board")
    assert "L1 no voltage to neutral, not proved dead (shop board); voltages within limits at the other points" \
        in where_text.consequence(case, alone)


@pytest.mark.parametrize("name", STORIES)
def test_where_speaks_the_trade_and_names_the_lines(name):
    text = said(found(name)[0], where_text.where_text(*found(name), WIDE))
    for words in NOT_SAID:
        assert words not in text, words
    assert not re.search(r"\bdead\b", re.sub("(not|isolated and) proved dead", "", text))  # of what is to be tested, never of a line
    told = json.loads(where_text.where_json(*found(name)))["places"]
    assert {p["kind"] for p in told} >= {"open neutral", "bad joint"}  # values that programs read stay
    assert {w for p in told for words in p["points"].values() for w in words} <= set(WORDS)


def test_a_place_is_a_pen_where_the_conductor_is_one():
    _, answer = found("farm-lane")
    words = {o.place.feeding: o.place.words for o in answer.outcomes if o.place.kind == "open neutral"}
    case, _ = found("farm-lane")
    assert all(("PEN" in words[p.name]) is (p.kind != "board") for p in case.points if p.name in words)


def test_metalwork_behind_an_open_pen_is_named_also_below_the_limit():
    """Rule 4 of claims: metalwork that follows the neutral is never passed over in silence because it is below 50 V."""
    case, outcome = place("farm-lane", "open neutral")
    volts = abs(outcome.solution.between(("farmhouse", "PE"), ("earth", "")))
    assert 5 < volts < 50 and "metalwork raised, treat as live" in where_text.consequence(case, outcome)


def test_cautions_go_with_every_rendering(tmp_path):
    """Every command on what was seen: short before the answer, in full after it, in the files, and on the figure."""
    file, figure = tmp_path / "flat.toml", tmp_path / "where.svg"
    file.write_text(FLAT, encoding="utf-8")
    case = parse_case(FLAT)
    joint = replace(case, breaks=(Break("flat", "N", 2.0),))
    for command, more in (("where", ("--figure", str(figure))), ("bound", ("--samples", "64")), ("deduce", ("--samples", "128"))):
        answer = tmp_path / f"{command}.json"
        text = CliRunner().invoke(main, [command, str(file), *more, "--full", "--json", str(answer)]).stdout
        at = squeezed(text).index
        first = squeezed(cautions(joint)[0])
        assert all(at(squeezed(short)) < at(first) for short in cautions(joint, "short")), command
        assert all(squeezed(long) in squeezed(text) for long in cautions(joint)), command
        told = json.loads(answer.read_text(encoding="utf-8"))
        assert told["cautions"] == list(cautions(joint)), command
    assert cautions(joint, "short")[0] in figure.read_text(encoding="utf-8")


@pytest.mark.thorough
def test_no_probability_is_printed_as_certain():
    result = flat()
    assert result.deduction.rivals[0].posterior > 0.8
    answer = result.deduction
    sure = replace(answer, rivals=tuple(replace(w, posterior=float(n == 0)) for n, w in enumerate(answer.rivals)))
    verdict = " ".join(verdict_on_cause(sure))
    assert "posterior probability of" in verdict and "> 99.9 %" in verdict and "With the prior probabilities" in verdict
    assert deduction_rows.rival_rows(sure)[0][2] == "> 99.9 %" and deduction_rows.rival_rows(sure)[1][2] == "< 0.1 %"
    case, answer = found("village-hall")
    assert "> 99.9 % (fits best)" in where_text.where_text(case, answer)


@pytest.mark.usefixtures("figures_unwritten")
def test_prior_and_posterior_are_for_experts():
    """A client reads likelihood ratios and their words alone: a probability that rests on priors is no evidence."""
    in_short = json.dumps(deduction_in_short(flat()), ensure_ascii=False)
    in_full = json.dumps(deduction(flat()), ensure_ascii=False)
    assert "posterior" not in in_short and "likelihood ratio" in in_short
    assert "posterior" in in_full and "prior" in in_full
    beside = deduction_rows.beside_the_case(flat())
    assert "probability" not in beside and "%" not in beside


def test_alike_is_no_support_either_way():
    causes = flat().deduction.rivals
    alike = replace(flat().deduction, rivals=(causes[0], replace(causes[1], against=1.3)))
    assert deduction_rows.rival_rows(alike)[1][4] == "no support either way"


def test_deduce_speaks_the_trade():
    text = said(flat().case, deduction_text(flat(), WIDE))
    for words in NOT_SAID:
        assert words not in text, words
    assert "Urn: weaker" in text and "dimmer" not in text  # a heater gives no light
    assert "10 MΩ" in text and "10000000" not in text and "1e+07" not in text
    assert "no record of" in text and "who is responsible" in text
    told = json.loads(json.dumps([vars(k) for k in flat().deduction.kinds]))
    assert {k["kind"] for k in told} >= {"open neutral", "bad joint"} and {k["words"] for k in told} >= {
        "open PEN", "high-resistance joint in the PEN"}


def test_ranges_speak_the_trade():
    text = said(flat().case, ranges_text(flat(), WIDE))
    for words in (*NOT_SAID, "all alike", "stands", "nine in ten"):
        assert words not in text, words
    assert "the median is" in text and "uniformly distributed" in text


@pytest.mark.usefixtures("figures_unwritten")
def test_an_unknown_is_named_whatever_it_is_of():
    """upstairs-flat has unknowns of switches, of one of two loads, of a power, of a joint and of the supply."""
    result = analyse(read_case(CASEBOOK / "upstairs-flat.toml"))
    for made in (given(result), blocks(result, "investigator")):
        text = json.dumps(made, ensure_ascii=False)
        assert "None" not in text
        assert "one of Kettle, Iron" in text and "resistance of the neutral in the cable to flat" in text


def test_a_joint_of_unknown_resistance_is_said_to_be_unknown():
    case = read_case(CASEBOOK / "upstairs-flat.toml")
    assert range_rows.fault_words(case)[0] == (
        "The neutral in the cable to flat is taken as open-circuit or as a high-resistance joint: its resistance "
        "is not known.")


def test_an_open_neutral_beside_a_resistance_of_any_size_has_a_short_name():
    assert range_rows.ohms_words(1e5) == "100 kΩ" and ratio_words(inf) == "more than a million"


def test_voltages_that_nothing_determines_are_null_in_the_file():
    """Practice: JSON has no nan. Of a cause that leaves a line's neutral floating in every sample nothing is known there."""
    unknown = (nan,) * 3
    told = asked_dict(Asked("open neutral", (230.0, 240.0, 250.0), unknown, (("L1", unknown, unknown),), None))
    assert told["highest"] == [230.0, 240.0, 250.0] and told["lowest"] == told["phases"]["L1"]["highest"] == [None] * 3
    json.dumps(told, allow_nan=False)
