"""The damage in every rendering: the same outcome of each load in terminal, result file and document."""

import json
import re
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from read_back import page_texts

from lostneutral.analysis import analyse
from lostneutral.case.reader import parse_case
from lostneutral.circuit.solution import State
from lostneutral.claims.model import Kind, Rank
from lostneutral.claims.verdicts import verdicts
from lostneutral.consequences.harm import harms
from lostneutral.report.base.words import NOTHING
from lostneutral.report.damage import figures as damage_figures
from lostneutral.report.damage import section as damage
from lostneutral.report.documents.document import report_pdf
from lostneutral.report.result.file import result_json
from lostneutral.report.screen.terminal import terminal_text
from lostneutral.studies.joint import joint_sweep
from lostneutral.words.items import OUTCOMES

CASE = """
title = "Damage"
[supply]
earthing = "TN-S"
[[point]]
name = "intake"
cable = { length = 20, area = 16 }
[[break]]
conductor = "N"
feeding = "intake"
resistance = RESISTANCE
[[load]]
name = "Cooker"
kind = "heater"
connect = "L1-N"
power = 3000
[[load]]
name = "Hall lamp"
kind = "lamp"
connect = "L2-N"
power = 60
[[load]]
name = "Bath heater"
kind = "resistive"
connect = "L3-N"
power = 400
[[load]]
name = "Porch lamp"
kind = "lamp"
connect = "L3-N"
power = 40
"""


def result_of(resistance):
    return analyse(parse_case(CASE.replace("RESISTANCE", resistance).encode()))


@pytest.fixture(scope="module")
def opened():
    return result_of('"open"')


def after_loads(result):
    found = json.loads(result_json(result))
    return {load["name"]: load for load in found["states"][1]["solutions"][0]["loads"]}


def test_result_file_has_a_harm_for_every_load_after_and_none_before(opened):
    found = json.loads(result_json(opened))
    assert all("harm" not in load for s in found["states"][0]["solutions"] for load in s["loads"])
    for load in after_loads(opened).values():
        assert set(load["harm"]) == {"outcome", "earliest", "central", "latest", "confidence", "part", "mode", "basis",
                                     "overvoltage_device"}
    lamp = after_loads(opened)["Hall lamp"]["harm"]
    assert lamp["outcome"].startswith("fails in") and lamp["part"] == "filament" and lamp["mode"] == "open"
    assert 0 < lamp["earliest"] < lamp["central"] < lamp["latest"]
    assert after_loads(opened)["Cooker"]["harm"]["central"] is None


def test_result_file_has_the_protection_of_every_line(opened):
    rows = json.loads(result_json(opened))["states"][1]["solutions"][0]["protection"]
    assert [(row["point"], row["line"]) for row in rows] == [("intake", line) for line in ("L1", "L2", "L3")]
    high = rows[1]
    assert high["overvoltage_device"]["acts"] and high["overvoltage_device"]["latest"] <= 15
    assert high["surge_device"]["verdict"] != "within its rating" and high["iti"] == "above"
    assert rows[0]["overvoltage_device"] == {"acts": False, "earliest": None, "latest": None, "known": None}


@pytest.mark.usefixtures("figures_unwritten")
def test_every_rendering_has_the_one_verdict_of_every_item(opened):
    page = " ".join(page_texts(report_pdf(opened, annex=True))[:5])
    flat, text = re.sub(r"\s+", " ", page), terminal_text(opened, width=200)
    table = text[text.index("Expected effect on each item"):text.index("Findings")]
    told = {v["item"]: v for v in json.loads(result_json(opened))["verdicts"]}
    assert [v.item for v in opened.verdicts] == list(told) == [load.name for load in opened.case.loads]
    for verdict in opened.verdicts:
        row = next(line for line in table.splitlines() if line.startswith(verdict.item))
        assert OUTCOMES[verdict.outcome] in row and verdict.confidence in row
        assert verdict.item in flat and OUTCOMES[verdict.outcome] in flat
        assert (told[verdict.item]["outcome"], told[verdict.item]["voltage"]) == (verdict.outcome, verdict.volts)
        (claim,) = [c for c in opened.claims if c.kind is Kind.ITEM and c.about.name == verdict.item]
        assert claim.facts["verdict"] is verdict
    assert "Expected effect on each item" in flat and "other causes should be investigated" in flat


def test_the_table_puts_what_is_hurt_first_and_fits_a_narrow_terminal(opened):
    rows = damage.harm_rows(opened)
    verdicts = {v.item: v for v in opened.verdicts}
    hurt = [verdicts[row[0]].rank < Rank.NOTE for row in rows]
    assert hurt == sorted(hurt, reverse=True) and any(hurt) and not all(hurt)
    text = terminal_text(opened, width=80)
    table = text[text.index("Expected effect"):text.index("Findings")]
    assert max(map(len, table.splitlines())) <= 80


def test_a_circuit_that_does_not_settle_has_harms_at_the_ends_of_its_cycle(opened):
    ranges = {"Cooker": (90.0, 230.0), "Hall lamp": (150.0, 340.0), "Porch lamp": (200.0, 300.0), "Bath heater": (200.0, 300.0)}
    cycle = {"period": 12.0, "restarts": [], "loads": {name: {"lowest": low, "highest": high, "rms": high}
                                                      for name, (low, high) in ranges.items()},
             **{part: {} for part in ("lines", "neutrals", "metalwork", "links")}}
    after = State("after", (), "cycle", "It keeps changing.", cycle=cycle)
    result = replace(opened, after=after, harms=harms(opened.case, opened.before, after), courses=None)
    result = replace(result, verdicts=verdicts(result.incident, result.harms))
    assert [h.load for h in result.harms] == [load.name for load in opened.case.loads]
    rows = json.loads(result_json(result))["states"][1]["harms"]
    lamp = next(row for row in rows if row["name"] == "Hall lamp")
    # invariant: as bad as the highest voltage lasting, by the published exponents (1000 h × (230 / 340)^14)
    assert lamp["central"] == pytest.approx(3.6e6 * (230 / 340) ** 14, rel=1e-6)
    assert "highest voltage of the cycle" in lamp["basis"]
    told = {v.item: v for v in result.verdicts}
    assert (told["Hall lamp"].outcome, told["Hall lamp"].central) == (lamp["outcome"], lamp["central"])
    # both ends of the cycle lie within what the cooker bears, and it is none of the loads that go off and come back
    assert (told["Cooker"].outcome, told["Cooker"].worst) == ("unharmed", "")
    assert "Hall lamp" in terminal_text(result).split("Expected effect")[1]
    assert json.loads(result_json(opened))["states"][1]["harms"] == []
    # invariant: at 340 V for a tenth of every turn it takes ten times as long, and none at 150 V; 340 V all the time is as if it lasted
    for share in (0.1, 1.0):
        cycle["loads"]["Hall lamp"]["levels"] = [(340.0, share), (150.0, 1 - share)]
        harm = next(h for h in harms(opened.case, opened.before, after) if h.load == "Hall lamp")
        assert harm.central == pytest.approx(lamp["central"] / share, rel=1e-3) and harm.earliest == pytest.approx(lamp["earliest"] / share, rel=1e-3)
        assert harm.outcome == ("fails in days" if share < 1 else lamp["outcome"]) and harm.volts == 340.0


def test_lamps_are_drawn_to_scale_with_words_and_patterns(opened):
    svg, words = damage_figures.lamps(opened)
    lights = {name: low for name, low, _ in damage_figures.lamps_of(opened)}
    assert set(lights) == {"Hall lamp", "Porch lamp"}
    assert "Hall lamp: glaring" in words and "url(#" in svg
    width = {}
    for at, name in enumerate(lights):
        path = re.search(rf'id="lamp-{at}">\s*<path d="([^"]*)"', svg).group(1)
        xs = [float(x) for x in re.findall(r"[ML] (-?[\d.]+) ", path)] + [float(c.split()[-2]) for c in re.findall(r"C ([^\n]*)", path)]
        width[name] = max(xs) - min(xs)
    # invariant: areas stand as the lights do (within the smallest and largest that can be drawn)
    drawn = {name: min(max(light, 0.002), 4.0) for name, light in lights.items()}
    assert (width["Hall lamp"] / width["Porch lamp"]) ** 2 == pytest.approx(drawn["Hall lamp"] / drawn["Porch lamp"], rel=0.01)


def test_lamps_in_series_are_shown_beside_the_resistors_they_are_taken_for():
    two = CASE[:CASE.index("[[load]]")].replace("RESISTANCE", '"open"') + """
[[load]]
name = "Small lamp"
kind = "lamp"
connect = "L1-N"
power = 60
[[load]]
name = "Large lamp"
kind = "lamp"
connect = "L2-N"
power = 100
"""
    blocks = damage.item_by_item(analyse(parse_case(two.encode())))
    table = next(b for b in blocks if b["kind"] == "table" and "fixed resistors" in b["caption"])
    assert [row[0] for row in table["rows"]] == ["Small lamp", "Large lamp"]
    # arithmetic: 230 V × √3 shared by resistors of 60 and 100 W as 100 to 60 (the cable's drop is less than 1 V)
    assert float(table["rows"][0][2]) == pytest.approx(249.0, abs=0.5)
    assert float(table["rows"][0][1]) > 255
    assert any("diverge more than fixed resistors" in b.get("text", "") for b in blocks)


def test_a_joint_has_its_section_figure_and_table():
    result = result_of("3.0")
    blocks = damage.joint(result)
    kinds = [block["kind"] for block in blocks]
    assert kinds == ["heading", "paragraph", "figure", "table"]
    assert blocks[-1]["rows"][0][0] == "sound" and blocks[-1]["rows"][-1][0] == "open"
    svg, words = damage_figures.joint(joint_sweep(result.case), 10.0)
    assert 'id="joint-heat"' in svg and "greatest at" in words
    assert damage.joint(result_of('"open"')) == []


def test_a_joint_at_which_the_circuit_does_not_settle_is_told_without_a_figure():
    # invariant: what is not calculated is neither drawn nor called greatest
    sweep, case = joint_sweep(result_of("3.0").case), result_of("3.0").case
    rows = ("currents", "heats", "shifts")
    missing = {name: np.where(sweep.resistances > 1.0, np.nan, getattr(sweep, name)) for name in rows}
    part = damage.joint(SimpleNamespace(case=case, joint=replace(sweep, **missing)))
    assert "does not settle" in part[1]["text"] and NOTHING in part[-1]["rows"][-1]
    none = damage.joint(SimpleNamespace(case=case, joint=replace(sweep, **{name: 0 * missing[name] + np.nan for name in rows})))
    assert [block["kind"] for block in none] == ["heading", "paragraph"] and "does the circuit settle" in none[1]["text"]
