"""The rules find what is wrong: each is given a result in which one thing was made false. Kind of all checks: invariant."""

from dataclasses import replace

import pytest
from case_generator import random_case
from claim_rules import danger_first
from drawn import unwritten
from renderings import renderings
from rules import currents_balance, figures_are_finite, pulses_balance

from lostneutral import analyse, parse_case
from lostneutral.claims.model import Kind

CASE = """title = "star"
[supply]
earthing = "TN-C-S"
line_impedance = [0.05, 0.02]
[[point]]
name = "intake"
cable = { length = 20, area = 16 }
electrode = 30.0
[[break]]
feeding = "intake"
resistance = 2.0
[[load]]
name = "Lamp"
kind = "lamp"
power = 100
connect = "L1-N"
[[load]]
name = "Screen"
kind = "electronic"
front_end = "rectifier"
power = 70
connect = "L2-N"
"""


@pytest.fixture(scope="module")
def result():
    return analyse(parse_case(CASE))


def with_state(result, name, **changes):
    result = result.sines or result  # of waveforms true r.m.s. values have no sum
    state = getattr(result, name)
    return replace(result, **{name: replace(state, solutions=(replace(state.solutions[0], **changes),))})


def test_a_sound_result_has_no_fault(result):
    for rule in (currents_balance, pulses_balance):
        assert rule(result, {}) == []
    with unwritten():  # as in the sweep
        assert figures_are_finite(result, renderings(result)) == []


@pytest.mark.parametrize("name", ["before", "after"])
@pytest.mark.parametrize("terminal", [("intake", "N"), ("intake", "L1"), ("supply", "L3"), ("earth", "")])
def test_a_voltage_a_hair_beside_does_not_balance(result, name, terminal):
    nodes = dict(getattr(result.sines or result, name).solutions[0].nodes)
    nodes[terminal] += 1e-4
    assert currents_balance(with_state(result, name, nodes=nodes), {})


def test_a_load_current_a_millionth_beside_does_not_balance(result):
    lamp, *rest = result.after.solutions[0].loads
    loads = (replace(lamp, current=lamp.current * (1 + 1e-6)), *rest)
    assert currents_balance(with_state(result, "after", loads=loads), {})


def test_where_nothing_is_on_what_is_left_of_a_lost_line_is_no_current():
    result = analyse(parse_case('title = "out"\n[supply]\ntransformer = { rated_power = 288000, group = "Yyn0" }\n[[point]]\nname = "shed"\n'
                                'cable = { length = 20, area = 16 }\n[[break]]\nfuse = "L3"\n'
                                '[[load]]\nname = "Kettle"\nkind = "resistive"\npower = 2000\nconnect = "L1-N"\non = false\n'))
    volts = result.after.solutions[0].nodes
    assert abs(volts["shed", "L3"]) < 1e-6  # rounding of its coil, and with it currents of rounding
    assert currents_balance(result, {}) == []


def test_a_load_on_three_lines_counts_with_all_its_lines_where_the_first_carries_nothing():
    result = analyse(parse_case('title = "delta"\n[supply]\n[[point]]\nname = "shed"\ncable = { length = 100, area = 70 }\n[[break]]\n'
                                'feeding = "shed"\nconductor = "L3"\n[[cross]]\npoint = "shed"\nconductors = ["L3", "L1"]\n'
                                '[[load]]\nname = "Bank"\nkind = "impedance"\nreactance = -28.0\nconnect = "L1-L2-L3"\n'))
    (bank,) = result.after.solutions[0].loads
    bank = replace(bank, current=0j, currents={**bank.currents, "L1": 0j})  # but for rounding it is
    assert abs(bank.currents["L2"]) > 10 and currents_balance(with_state(result, "after", loads=(bank,)), {}) == []
    wrong = replace(bank, currents={**bank.currents, "L2": bank.currents["L2"] * (1 + 1e-6)})
    assert currents_balance(with_state(result, "after", loads=(wrong,)), {})


@pytest.mark.parametrize("seed", [35816, 40273])
def test_rounding_of_voltages_and_of_coils_is_no_current(seed):
    # a leakage of 0.1 µA is all that flows, beside metalwork whose voltage, and beside coils whose currents, are rounded
    result = analyse(parse_case(random_case(seed)))
    assert 1e-8 < max(abs(load.current) for load in result.after.solutions[0].loads if load.on) < 1e-6 and currents_balance(result, {}) == []
    if seed == 40273:  # the other one's leakage is at the coils themselves, of which nothing is known
        loads = [load if not load.on else replace(load, current=load.current * (1 + 1e-3)) for load in result.after.solutions[0].loads]
        assert currents_balance(with_state(result, "after", loads=tuple(loads)), {})


def test_a_conductor_that_floats_at_one_end_only_does_not_balance(result):
    nodes = dict(result.after.solutions[0].nodes) | {("intake", "L3"): None}
    assert currents_balance(with_state(result, "after", nodes=nodes), {})


def test_a_pulse_that_is_lost_on_its_way_does_not_balance(result):
    waves = result.waveforms
    currents = dict(waves.after.currents)
    wave = currents["intake", "L2"]
    currents["intake", "L2"] = replace(wave, harmonics=tuple(0.999 * h for h in wave.harmonics))
    assert pulses_balance(replace(result, waveforms=replace(waves, after=replace(waves.after, currents=currents))), {})


@pytest.mark.parametrize("text", ["L1 at nan V", "about inf hours", "-inf", "NaN"])
def test_a_figure_that_is_none_is_found_in_words(result, text):
    assert figures_are_finite(result, {"file": "{}", "terminal": text})


@pytest.mark.parametrize("text", ["the Inf. of it", "Nan's kettle", "information", "nan-o", "none"])
def test_words_are_not_taken_for_figures(result, text):
    assert not figures_are_finite(result, {"file": "{}", "terminal": text})


def test_a_figure_that_is_none_is_found_in_the_result(result):
    lamp, *rest = result.after.solutions[0].loads
    assert figures_are_finite(with_state(result, "after", loads=(replace(lamp, power=float("nan")), *rest)), {"file": "{}"})


@pytest.mark.parametrize(("own", "live"), [('poles = ["L1", "N"]\nposition = "generator"', False), ('poles = ["L1"]\nposition = "generator"', False),
                                           ('poles = ["L1", "N"]', True)])
def test_an_open_neutral_is_live_where_it_leads_to_the_source_that_feeds(own, live):
    # practice: on its generator, whose neutral it has, a board's loads miss nothing of the supply's; what it may miss is earth
    result = analyse(parse_case('title = "set"\n[supply]\nearthing = "TN-C-S"\nelectrode = 1\n[[point]]\nname = "house"\n[[point]]\nname = "barn"\nkind = "board"\n'
                                'fed_from = "house"\nphases = ["L1"]\n[[break]]\nfeeding = "barn"\nconductor = "N"\n[[load]]\nname = "Lamp"\nkind = "lamp"\n'
                                'power = 60\nconnect = "L1-N"\npoint = "barn"\n[[generator]]\nname = "set"\nkind = "generator"\nrated_power = 6100.0\n'
                                f'[[changeover]]\npoint = "barn"\ngenerator = "set"\n{own}\n'))
    kinds = {c.kind for c in result.claims}
    assert (Kind.NEUTRAL_LIVE in kinds, Kind.UNEARTHED_SOURCE in kinds) == (live, not live) and danger_first(result, {}) == []
    unsaid = replace(result, claims=tuple(c for c in result.claims if c.kind is not Kind.NEUTRAL_LIVE))
    assert bool(danger_first(unsaid, {})) == live
