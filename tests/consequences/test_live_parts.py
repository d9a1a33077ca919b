"""What can give a shock: neutral and metalwork, on settled states written by hand."""

from dataclasses import replace
from math import inf

import pytest
from handmade_star import about, find, only, settled, star_case

from lostneutral.case.model import Break, Cross, Point
from lostneutral.data import KNOWN


@pytest.mark.parametrize("shift", [0j, 3 + 0j, 100 + 0j])
def test_an_open_neutral_is_a_danger_even_when_it_happens_to_be_low(shift):
    case = star_case(earthing="TN-S")
    live = only(find(case, settled(case, shift)), "N at intake", "danger")
    assert live.computed == f"{abs(shift):.1f} V"
    assert (live.limit.value, live.limit.known) == (50.0, KNOWN["2"])


def test_a_floating_neutral_is_a_danger_without_a_figure():
    case = star_case()
    found = find(case, settled(case, None))
    assert "any voltage up to that of a line" in only(found, "N at intake", "danger").message
    assert "high impedance may show anything" in only(found, "N at intake", "note").message


@pytest.mark.parametrize(("shift", "danger"), [(20 + 0j, False), (50 + 0j, False), (60 + 0j, True)])
def test_a_bad_joint_makes_the_neutral_a_danger_above_the_touch_limit(shift, danger):
    case = star_case(breaks=(Break("intake", "N", 2.0),), earthing="TN-S")
    assert bool(about(find(case, settled(case, shift)), "N at intake", "danger")) is danger


def test_metalwork_is_taken_as_live_when_the_earthing_is_not_known():
    case = star_case()
    assert "treat all metalwork as live" in only(find(case, settled(case, 0j)), "metalwork", "danger").message
    sound = star_case(breaks=())
    assert not about(find(sound, settled(sound)), "metalwork")


@pytest.mark.parametrize("earthing", ["TN-C-S", "TN-C"])
def test_an_open_pen_makes_metalwork_live_and_the_main_switch_does_not_help(earthing):
    case = star_case(earthing=earthing)
    live = only(find(case, settled(case, 100 + 0j, pe=96 + 0j)), "earth terminal at intake", "danger")
    assert live.computed == "96.0 V"
    assert "Opening the main switch does not clear it" in live.message
    assert "full between them and the ground out of doors" in live.message


@pytest.mark.parametrize(("resistance", "pe", "severity"), [
    (inf, 5.0, "danger"), (inf, None, "danger"), (2.0, 10.0, "warning"), (2.0, 80.0, "danger")])
def test_severity_of_a_pen(resistance, pe, severity):
    case = star_case(earthing="TN-C-S", breaks=(Break("intake", "N", resistance),))
    assert only(find(case, settled(case, 0j, pe=pe)), "earth terminal at intake").severity == severity


@pytest.mark.parametrize(("earthing", "words"), [("TN-S", "comes apart from the neutral"),
                                                 ("TT", "own earth electrode")])
def test_earth_terminals_apart_from_the_neutral_are_noted_as_such(earthing, words):
    case = star_case(earthing=earthing)
    assert words in only(find(case, settled(case, 100 + 0j)), "earth terminal at intake", "note").message
    assert only(find(case, settled(case, 100 + 0j, pe=60 + 0j)), "earth terminal at intake").severity == "danger"


def test_an_earth_terminal_without_an_earth_is_a_danger():
    case = star_case(earthing="TT")
    found = only(find(case, settled(case, 0j, pe=None)), "earth terminal at intake", "danger")
    assert "no electrode or path ties it to earth" in found.message and found.computed is None


def test_a_break_beyond_the_separation_leaves_the_earth_terminal_alone():
    case = star_case(earthing="TN-C-S")
    case = replace(case, points=(*case.points, Point("board", "board", "intake")), breaks=(Break("board", "N"),))
    after = settled(case, 0j)
    after = replace(after, nodes=after.nodes | {("board", line): u for line, u in case.supply.phasors.items()}
                    | {("board", "N"): 100 + 0j, ("board", "PE"): 0j})
    found = find(case, after)
    assert "already apart where it broke" in only(found, "earth terminal at board", "note").message
    assert only(found, "N at board", "danger").computed == "100.0 V"
    assert not about(found, "N at intake") and not about(found, "earth terminal at intake")


def test_a_broken_protective_conductor_is_a_warning_while_its_voltage_is_low():
    case = star_case(earthing="TN-S", breaks=(Break("intake", "PE"),))
    assert only(find(case, settled(case, 0j)), "earth terminal at intake").severity == "warning"


def test_exchanged_pen_and_line_is_a_danger():
    case = replace(star_case(earthing="TN-C-S", breaks=()), crosses=(Cross("intake", ("L1", "N")),))
    found = find(case, settled(case, 230 + 0j, pe=230 + 0j))
    assert "L1 and N are exchanged at intake" in only(found, "earth terminal at intake", "danger").message
    assert only(found, "L1 and N at intake", "danger")
    assert not about(found, "the installation", words="No conductor is broken")
