"""A generator behind a changeover: contacts that open first, close late or never make, against other methods and invariants."""

from dataclasses import replace

import numpy as np
import pytest

from lostneutral import analyse
from lostneutral.case import parse_case
from lostneutral.circuit.incident import follow_course
from lostneutral.circuit.network import network
from lostneutral.circuit.states import before_and_after, settled_states
from lostneutral.circuit.wiring import EARTH, wiring
from lostneutral.errors import CaseError

A = np.exp(2j * np.pi / 3)
POWERS = {"L1": 3000, "L2": 400, "L3": 1000}
FARM = """
title = "Farm"
[supply]
earthing = "{earthing}"
line_impedance = [0.2, 0.1]
electrode = 2
[[point]]
name = "intake"
electrode = 20
[[point]]
name = "dairy"
fed_from = "intake"
cable = {{ line = [0.05, 0.0], neutral = [0.05, 0.0] }}
[[generator]]
name = "generator"
line_impedance = [0.1, 0.5]
zero_impedance = [0.1, 0.2]
{generator}
[[changeover]]
point = "dairy"
{changeover}
""" + "".join(f'[[load]]\nname = "{line}"\nkind = "resistive"\nconnect = "{line}-N"\npoint = "dairy"\npower = {watts}\n'
              for line, watts in POWERS.items())
MOVE = '[[event]]\ntime = 10\nchangeover = "changeover at dairy"\nto = "generator"\n'


def farm(changeover="", generator='earthing = "bonded"', earthing="TN-S", events=""):
    return parse_case(FARM.format(changeover=changeover, generator=generator, earthing=earthing) + events)


def volts(solution):
    return np.array([abs(solution.voltage("dairy", line)) for line in POWERS])


def open_star(impedance):
    """Independent: the star point by Millman's theorem behind the impedance of each line."""
    y = np.array([1 / (230**2 / watts + impedance) for watts in POWERS.values()])
    e = 230 * np.array([1, A**2, A])
    return np.abs((e - (y @ e) / y.sum()) * y * np.array([230**2 / watts for watts in POWERS.values()]))


@pytest.mark.parametrize("earthing", ["TN-S", "TT", "TN-C-S"])
def test_a_neutral_contact_that_never_makes_is_a_star_without_neutral(earthing):
    case = farm('never_makes = ["N"]', earthing=earthing, events=MOVE)
    before, after = before_and_after(case)
    assert volts(after.solutions[0]) == pytest.approx(open_star(0.1 + 0.5j), abs=1e-3)
    assert volts(before.solutions[0]) == pytest.approx([225, 229, 228], abs=2)


def test_on_the_supply_with_a_contact_that_does_not_make():
    case = farm('never_makes = ["N"]')
    _, after = before_and_after(case)
    assert volts(after.solutions[0]) == pytest.approx(open_star(0.2 + 0.1j + 0.05), abs=1e-3)


def test_zero_sequence_of_the_generator():
    """Independent: symmetrical components of one loaded line, with the neutral made: E R / (R + (2 Z1 + Z0) / 3 + ZN)."""
    case = farm('position = "generator"', 'neutral_impedance = [0.1, 0.0]\nearthing = "bonded"')
    case = replace(case, loads=case.loads[:1], breaks=())
    state, _ = settled_states(case, "after", network(wiring(case)))
    load = 230**2 / 3000
    z = (2 * (0.1 + 0.5j) + (0.1 + 0.2j)) / 3 + 0.1
    assert abs(state.solutions[0].voltage("dairy", "L1")) == pytest.approx(abs(230 * load / (load + z)), abs=1e-6)


def test_a_three_pole_changeover_keeps_the_neutral():
    """Invariant: where the neutral is not switched no late contact of it can be, and the generator's star is held."""
    case = farm('poles = ["L1", "L2", "L3"]', "", events=MOVE)
    _, after = before_and_after(case)
    assert volts(after.solutions[0]) == pytest.approx([225, 230, 229], abs=6)
    assert not after.solutions[0].apart
    with pytest.raises(CaseError, match="N is not a pole of the changeover"):
        farm('poles = ["L1", "L2", "L3"]\nclose' + "s_late = { N = 0.02 }", "", events=MOVE)


def test_a_floating_generator_has_no_voltage_to_earth():
    """Practice: nothing ties it to earth, so that a meter to earth shows nothing that means anything."""
    floating = farm('position = "generator"', "")
    bonded = farm('position = "generator"')
    for case, ties in ((floating, False), (bonded, True)):
        state, _ = settled_states(case, "after", network(wiring(case)))
        found = state.solutions[0]
        assert (found.between(("dairy", "L1"), EARTH) is not None) is ties
        assert abs(found.voltage("dairy", "L1")) > 200
        assert (found.between(("dairy", "N"), ("dairy", "PE")) is not None) is ties


def stages(case):
    return [(part.start, part.end, part.case.changeovers[0].position, part.case.changeovers[0].open)
            for part in follow_course(case, {}).parts]


def test_the_steps_of_a_move():
    """Practice: first, all, and late, as the keys say; nothing is fed between."""
    case = farm("opens_first = { N = 0.01 }\ncloses_late = { N = 0.02 }\ndead_time = 0.3", events=MOVE)
    found = [(round(a, 3), position, poles) for a, _, position, poles in stages(case)]
    assert found == [(0.0, "supply", ()), (10.0, "supply", ("N",)), (10.01, "off", ()), (10.31, "generator", ("N",)),
                     (10.33, "generator", ())]


def test_the_worst_of_the_steps_is_told_and_the_end_is_sound():
    case = farm("closes_late = { N = 0.02 }", events=MOVE)
    result = analyse(case)
    assert volts(result.after.solutions[0]) == pytest.approx([228, 231, 230], abs=2)
    highest = max(v.highest for v in result.verdicts)
    assert highest == pytest.approx(open_star(0.1 + 0.5j).max(), abs=0.5)
    assert result.incident.ever and not result.incident.lasts


def test_an_overlapping_neutral_does_nothing():
    """Invariant: with all contacts together no line rises above what the sources give."""
    result = analyse(farm(events=MOVE))
    assert not result.incident.ever
    assert max(v.highest for v in result.verdicts) < 235


def test_there_and_back_is_where_it_began():
    back = MOVE + MOVE.replace("time = 10", "time = 60").replace('to = "generator"', 'to = "supply"')
    before, after = before_and_after(farm(events=back))
    assert volts(after.solutions[0]) == pytest.approx(volts(before.solutions[0]), abs=1e-6)


FAULTS = {
    "no generator of that name": ('generator = "other"', 'earthing = "bonded"', "", 'there is no generator "other"'),
    "PEN switched": ("", "", "TN-C", "which is not switched"),
    "line not switched": ('poles = ["L1", "L2", "N"]', "", "", "L3 is not switched"),
    "every pole late": ("closes_late = { L1 = 1, L2 = 1, L3 = 1, N = 1 }", "", "", "names every pole"),
    "no line makes": ('never_makes = ["L1", "L2", "L3"]', "", "", "leaves no line connected"),
}


@pytest.mark.parametrize("name", FAULTS)
def test_faults_are_named(name):
    changeover, generator, earthing, words = FAULTS[name]
    with pytest.raises(CaseError) as caught:
        farm(changeover, generator, earthing or "TN-S")
    assert any(words in fault for fault in caught.value.faults), caught.value.faults


@pytest.mark.parametrize(("text", "words"), [
    (MOVE.replace('"generator"', '"supply"'), "already stands on"),
    (MOVE + MOVE.replace("10", "10.2").replace('"generator"', '"supply"'), "is still moving until 10.5 s"),
    (MOVE.replace('to = "generator"\n', ""), "to: is missing"),
    (MOVE.replace("at dairy", "at home"), 'there is no changeover "changeover at home"'),
    (MOVE + "on = true\n", "it belongs to an event of a load"),
    ('[[event]]\ntime = 1\nfuse = "L1"\n', "there is no transformer"),
    ('[[generator]]\nname = "spare"\nrated_power = 5000\n', 'no changeover leads to "spare"'),
    ('[[generator]]\nname = "dairy"\nrated_power = 5000\n', '"dairy" is already used'),
    ('[[generator]]\nname = "spare"\n[[changeover]]\npoint = "intake"\ngenerator = "spare"\n', "neither rated_power nor line_impedance"),
])
def test_faults_of_moves_are_named(text, words):
    with pytest.raises(CaseError) as caught:
        farm(events=text)
    assert any(words in fault for fault in caught.value.faults), caught.value.faults
