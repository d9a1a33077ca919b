"""The result file keeps its contract; expected numbers by the node-voltage formula (independent) in `handmade`."""

import json
from dataclasses import replace
from math import inf, nan

import handmade
import pytest

from lostneutral.circuit.solution import Solution, State
from lostneutral.report.result.file import result_dict, result_json


@pytest.fixture(scope="module")
def made():
    return json.loads(result_json(handmade.star([100.0, 200.0, 300.0])))


def test_contract_keys(made):  # the result format, version 1
    assert made["format"] == "lostneutral-result/1"
    assert {"title", "sha256"} <= made["case"].keys()
    assert {"version", "python", "numpy", "scipy"} <= made["software"].keys()
    assert [state["name"] for state in made["states"]] == ["before", "after"]
    (solution,) = made["states"][1]["solutions"]
    assert {"attracting", "reached", "residual", "points", "runs", "loads"} <= solution.keys()
    assert {"name", "neutral", "earth_terminal", "phases"} <= solution["points"][0].keys()
    assert {"name", "voltage", "angle", "ratio", "verdict"} == solution["points"][0]["phases"][0].keys()
    assert solution["runs"][0]["feeding"] == "intake"
    assert solution["runs"][0]["currents"].keys() == {"L1", "L2", "L3", "N", "PE"}
    assert {"name", "connect", "on", "voltage", "angle", "current", "current_angle", "power", "reactive_power",
            "ratio"} <= solution["loads"][0].keys()
    assert {"severity", "rank", "subject", "message", "computed", "sure", "limit"} == made["findings"][0].keys()
    assert [f["severity"] for f in made["findings"]][:2] == ["danger", "danger"]
    (high,) = [f for f in made["findings"] if f["severity"] == "damage"]
    assert high["subject"] == "L1 at intake" and high["limit"]["value"] == 253.0 and high["limit"]["unit"] == "V"
    assert high["limit"]["source"].startswith("EN 50160, clause 4.2.2") and high["limit"]["known"] == "read in a secondary source"
    assert any(f["limit"] is None for f in made["findings"])
    assert made["cautions"] == ["Treat the neutral as live.", "Measure before touching."]


def test_claims_and_verdicts_are_data(made):
    # independent: the node-voltage formula's 289.4 V on L1
    (above,) = [c for c in made["claims"] if c["kind"] == "line above limits"]
    assert (above["about"], above["where"], above["rank"]) == ({"what": "line", "name": "L1"}, ["intake"], "damage")
    assert above["value"] == pytest.approx(289.4, abs=0.05) and above["unit"] == "V"
    assert above["condition"] == {"stage": "after", "start": 0.0, "end": None, "held": 1, "possible": 1}
    assert (above["yardstick"]["value"], above["yardstick"]["edge"]) == (253.0, "high")
    assert [(v["item"], v["outcome"]) for v in made["verdicts"]] == [
        ("Lamp L1", "not known"), ("Lamp L2", "unharmed"), ("Lamp L3", "works weakly")]
    assert [v["voltage"] for v in made["verdicts"]] == pytest.approx([289.4, 239.4, 175.7], abs=0.05)


def test_published_star(made):  # independent, arithmetic with the node-voltage formula: 289.4 / 239.4 / 175.7 V
    phases = made["states"][1]["solutions"][0]["points"][0]["phases"]
    assert [p["voltage"] for p in phases] == pytest.approx([289.4, 239.4, 175.7], abs=0.05)
    assert [p["verdict"] for p in phases] == ["over", "within", "under"]
    assert all(-180 < p["angle"] <= 180 for p in phases)


def test_pe_is_null_where_neutral_and_pe_are_one(made):
    assert made["states"][0]["solutions"][0]["runs"][0]["currents"]["PE"] is None


def test_no_earthing_no_earth_terminal():
    result = handmade.star([100.0, 200.0, 300.0], handmade.supply(earthing=None))
    assert result_dict(result)["states"][1]["solutions"][0]["points"][0]["earth_terminal"] is None


def test_floating_and_unusable_figures_are_null():
    result = handmade.star([100.0, 200.0, 300.0])
    (solution,) = result.after.solutions
    loads = (replace(solution.loads[0], voltage=None, current=None, power=nan, ratio=inf), *solution.loads[1:])
    floating = replace(solution, nodes=dict(solution.nodes) | {("intake", "N"): None}, loads=loads,
                       currents=dict(solution.currents) | {("intake", "N"): None})
    text = result_json(replace(result, after=State("after", (floating,))))
    made = json.loads(text, parse_constant=lambda word: pytest.fail(word))["states"][1]["solutions"][0]
    assert made["points"][0]["neutral"] == {"voltage": None, "angle": None}
    assert made["points"][0]["phases"][0] == {"name": "L1", "voltage": None, "angle": None, "ratio": None,
                                              "verdict": "floating"}
    assert made["runs"][0]["currents"]["N"] == {"current": None, "angle": None}
    assert (made["loads"][0]["power"], made["loads"][0]["ratio"], made["loads"][0]["current_angle"]) == (None,) * 3


def test_an_angle_of_minus_180_is_written_180():
    nodes = {("intake", "N"): complex(-5.0, -0.0)}
    result = handmade.star([100.0, 200.0, 300.0])
    state = State("after", (Solution(True, True, 0.0, nodes, {}, ()),))
    (solution,) = result_dict(replace(result, after=state))["states"][1]["solutions"]
    assert solution["points"][0]["neutral"]["angle"] == 180.0


def test_undecided_has_no_solution_reached():
    state = json.loads(result_json(handmade.undecided()))["states"][1]
    assert state["ends"] == "undecided" and state["reason"] == "The loads are alike."
    assert [s["reached"] for s in state["solutions"]] == [False] * 3


def test_same_result_same_bytes():
    first, second = (result_json(handmade.star([60.0, 40.0, 100.0])) for _ in range(2))
    assert first == second and first.endswith("}\n")
