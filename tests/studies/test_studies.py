"""Studies follow the state that is known, and what is rendered of a result that has them solves nothing."""

import json
from math import inf
from unittest.mock import patch

import pytest

from lostneutral import analyse, parse_case, result_json
from lostneutral.report.documents.document import AUDIENCES, blocks
from lostneutral.report.screen.short_text import short_text
from lostneutral.report.screen.terminal import terminal_text
from lostneutral.studies.joint import joint_sweep
from lostneutral.studies.near import near
from lostneutral.studies.readings import readings

pytestmark = pytest.mark.usefixtures("figures_unwritten")
JOINT = """
title = "A joint"
[supply]
earthing = "TN-C-S"
[[point]]
name = "intake"
[[break]]
conductor = "N"
feeding = "intake"
resistance = {ohms}
[[load]]
name = "Heater"
kind = "resistive"
connect = "L1-N"
power = 1500
[[load]]
name = "Lamp"
kind = "lamp"
connect = "L2-N"
power = 60
[[load]]
name = "Drivers"
kind = "electronic"
front_end = "corrected"
connect = "L3-N"
power = {watts}
works_from = 160
restarts_from = 210
"""


def result(ohms="3.0", watts=50):
    return analyse(parse_case(JOINT.format(ohms=ohms, watts=watts)))


BEHIND = """
[[load]]
name = "Oven"
kind = "resistive"
connect = "L3-N"
power = {watts}
"""


def refuse(*_, **__):
    raise AssertionError("a circuit was solved")


def test_what_is_rendered_solves_nothing():
    """Invariant: with its studies worked out, a result is written in every form while nothing can be solved."""
    found = result().studied()
    with patch("lostneutral.circuit.newton.newton_rows", refuse), patch("lostneutral.circuit.continued.newton", refuse), \
            patch("lostneutral.circuit.network.solve_nodal", refuse):
        with pytest.raises(AssertionError):
            near(found.case, found.after.reached)  # so that the test can fail
        texts = [result_json(found), terminal_text(found), short_text(found)]
        texts += [str(blocks(found, audience)) for audience in AUDIENCES]
    assert all("Heater" in text for text in texts)


def test_a_study_is_worked_out_once():
    found = result()
    with patch("lostneutral.studies.joint.joint_sweep", wraps=joint_sweep) as swept:
        for _ in range(2):
            result_json(found)
            blocks(found, "client")
    assert swept.call_count == 1


def test_what_meters_show_is_worked_out_once_for_claims_and_tables():
    seen = '[[observation]]\npoint = "intake"\nbetween = "L1-N"\nvoltage = 250\n'
    with patch("lostneutral.studies.readings.readings", wraps=readings) as read:
        found = analyse(parse_case(JOINT.format(ohms='"open"', watts=400) + seen))
        assert found.readings and result_json(found)
    assert read.call_count == 1


@pytest.mark.thorough
def test_the_sweep_of_a_joint_passes_through_the_state_that_is_reported():
    """Invariant: at the joint's own resistance the sweep has the voltages of the settled state, at both ends what is settled there."""
    found = result()
    sweep = joint_sweep(found.case, (0.0, 3.0, inf), known=found.after.reached)
    for at, state in ((0, found.before), (1, found.after), (2, result('"open"').after)):
        for line, volts in sweep.phases.items():
            assert volts[at] == pytest.approx(abs(state.reached.voltage("intake", line)), abs=1e-6)


def test_a_state_is_followed_in_the_modes_that_its_loads_are_in():
    """Invariant: what has shut down stays so where its voltage is below that at which it restarts."""
    found = analyse(parse_case(JOINT.format(ohms='"open"', watts=400) + BEHIND.format(watts=1800)))
    there = found.after.reached
    assert "cut off" in there.modes.values() and 160 < abs(there.loads[2].voltage) < 210
    again = near(found.at_the_end, there)
    assert again is not None and again.modes == there.modes
    assert [abs(load.voltage) for load in again.loads] == pytest.approx([abs(load.voltage) for load in there.loads])


def test_the_result_file_has_every_study():
    made = json.loads(result_json(result()))["studies"]
    assert made["joint"]["conductor"] == "N" and made["joint"]["resistances"][-1] == "open"
    assert len(made["joint"]["phases"]) == 3 and len(made["joint"]["heats"]) == len(made["joint"]["resistances"])
    assert {"lower", "higher"} <= made["sensitivity"]["changed"][0].keys()
    assert made["electrode"]["voltages"] and made["main_switch"][0]["point"] == "intake"
