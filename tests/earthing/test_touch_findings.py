"""Findings on touch voltages and diverted current, the section they stand in, and their figures."""

from dataclasses import replace

import numpy as np
import pytest
from earth_cases import sharing_a_pipe, single, street

from lostneutral import analyse
from lostneutral.circuit.states import before_and_after
from lostneutral.consequences import findings
from lostneutral.consequences.electrode_range import touch_range
from lostneutral.report import earth_figures
from lostneutral.report.earth import earth


def found(case):
    return {f.subject: f for f in findings(case, *before_and_after(case))}


def test_a_person_is_in_danger_and_nothing_is_called_safe():
    case = single(own=20.0, source=2.0, ohms=23.0)  # 102 V to earth
    person = found(case)["person at intake"]
    assert person.severity == "danger" and "indication" in person.message and "not checked" in person.sure
    assert "zone AC-4" in person.message  # over 100 mA through 5 % of people, by the table from memory
    for f in found(case).values():
        assert "safe" not in f.message.replace("unsafe", "")


def test_the_rule_of_70_volts():  # secondary: BS 7671:2018 regulation 722.411.4.1
    assert "charging point at intake" in found(single(own=2.53, source=0.0, ohms=5.75))
    assert "charging point at intake" not in found(single(own=2.51, source=0.0, ohms=5.75))  # 2.5156 ohm gives 70 V
    assert "charging point at intake" not in found(single("TT", own=2.6, source=0.0, ohms=5.75))


@pytest.mark.parametrize("case", [single("TN-S"), single("TT"), single(breaks=())], ids=["TN-S", "TT", "whole"])
def test_no_danger_of_touch_where_the_earth_is_whole(case):  # practice
    assert not [s for s in found(case) if s.startswith(("person", "charging", "metalwork of"))]


def test_a_pipe_between_neighbours_is_told_and_its_heat():
    case = sharing_a_pipe(pipe=0.1, load=5.0)
    told = found(case)
    assert "path from a to b" in told["other ways back"].message
    assert told["path from a to b"].severity == "danger" and "indicative" in told["path from a to b"].sure
    assert "path from a to b" not in found(sharing_a_pipe(load=230.0))  # one ampere warms nothing


def test_without_earthing_the_range_is_shown_as_if_tn_c_s():
    """Closed form: U0 RA / (RA + Zload) with an ideal source electrode."""
    case = single(earthing=None, source=0.0)
    result = touch_range(case)
    assert result.as_if and result.volts == pytest.approx(230 * result.ohms / (result.ohms + 23.0), rel=1e-9)
    assert "shown as if TN-C-S" in found(case)["touch voltage at intake"].message


def test_the_range_is_for_an_electrode_that_is_not_given():
    assert touch_range(single()) is None and touch_range(single("TT")) is None
    ranged = touch_range(single(own=None, source=2.0))
    assert not ranged.as_if and np.all(np.diff(ranged.volts) > 0)


def test_alike_findings_are_gathered():
    told = found(street(40, broken=5, own=300.0))
    assert any("more places" in subject for subject in told) and len(told) < 80


@pytest.mark.parametrize("case", [street(8), single(own=None), single(None), sharing_a_pipe()])
def test_section_and_figures(case):
    result = analyse(replace(case, title="Earth"))
    blocks = earth(result)
    assert {"heading", "figure", "table"} <= {b["kind"] for b in blocks}
    for block in blocks:
        if block["kind"] == "figure":
            assert block["svg"].startswith("<svg") and len(block["alternative"]) > 30


def test_the_tree_says_every_part_in_words():
    case = street(3, broken=1)
    words = {p.name: ("whole",) if "0" in p.name else ("high", "live") for p in case.points}
    drawn, said = earth_figures.wiring_tree(case, words)
    assert "home 0 unaffected" in said and "home 2 above limits, live metalwork" in said
    assert drawn == earth_figures.wiring_tree(case, words)[0]  # the same bytes
