"""What an observation is worth, whose condition it has, and which reading comes next, each by hand: closed forms, arithmetic, or as documented."""

from dataclasses import replace
from math import hypot, log, sqrt
from statistics import NormalDist
from types import SimpleNamespace

import numpy as np
import pytest
from small_cases import HEAD, load, read

from lostneutral import analyse, parse_case
from lostneutral.case.model import Installed, Observation
from lostneutral.consequences.devices import Threshold
from lostneutral.consequences.harm import harm_at
from lostneutral.consequences.limits import band
from lostneutral.errors import NoSolutionError
from lostneutral.evidence import answers, likelihood, next_reading, operated, where
from lostneutral.evidence.likelihood import Judge, words
from lostneutral.evidence.next_reading import CLEARER, INSTRUMENTS, SHOWN, WORTH, _span, next_readings
from lostneutral.loads import load_model
from lostneutral.studies.conditions import Circumstance, condition_of, course_of

NORMAL = NormalDist()


def seen(what, more="", name="Lamp"):
    return f'[[observation]]\nload = "{name}"\nseen = "{what}"\n{more}'


def judge(more, loads=None):
    return Judge(parse_case(HEAD + (loads or load()) + more))


# Conditions

EVENTS = '[[event]]\ntime = 10\nbreak = "intake"\n[[event]]\ntime = 60\nload = "Set"\non = false\n[[event]]\ntime = 90\nbreak = "intake"\nresistance = 0\n'


def test_the_condition_under_which_most_was_observed_comes_first():
    of = judge(read(more='state = "before"\n') + read("L2-N", more='with_on = ["Set"]\n') + read("L3-N", more='with_on = ["Set"]\n') + read("L1-N", 250.0, 4.0)
               + seen("brighter", 'with_off = ["Set"]\n') + seen("failed"), load() + load("Set", "L2-N", more="on = false\n"))
    on, off, plain = Circumstance(switched=(("Set", True),)), Circumstance(switched=(("Set", False),)), Circumstance()
    assert of.conditions[0] == on and {*of.conditions} == {on, off, plain, Circumstance(before=True), Circumstance(True, (("Set", False),))}
    assert judge(seen("failed")).conditions == (plain,)
    assert judge(read(more='state = "before"\n')).conditions == (plain, Circumstance(before=True))
    # what went before a change of light is asked for the light alone
    assert judge(read(more='with_on = ["Lamp"]\n')).conditions == (Circumstance(switched=(("Lamp", True),)),)


def test_conditions_and_courses_follow_the_events():
    case = parse_case(HEAD + load() + load("Set", "L2-N") + EVENTS + read() + read("L2-N", more="time = 5\n") + read("L3-N", more="time = 60\n")
                      + read("L3-N", 270.0, more="time = 95\n") + read("L3-N", 230.0, more='state = "before"\n') + seen("failed", "time = 70\n")
                      + seen("survived", "within = 1000\n", "Set"))
    off, mended = (("Set", False),), ((("intake", "N"), 0.0),)
    wanted = [Circumstance(), Circumstance(True), Circumstance(False, off), Circumstance(False, off, mended), Circumstance(True)]
    assert [condition_of(case, o) for o in case.observations[:5]] == wanted
    # the fault begins at 10 s: till 70 s one change of condition, in 1000 s two
    assert course_of(case, case.observations[5]) == ((Circumstance(), 50.0), (Circumstance(False, off), 10.0))
    assert course_of(case, case.observations[6]) == ((Circumstance(), 50.0), (Circumstance(False, off), 30.0), (Circumstance(False, off, mended), 920.0))


# Densities

def test_before_the_fault_a_cause_that_is_not_listed_leaves_the_supply_as_usual():
    of = judge(read(volts=240.0, sigma=4.0, more='state = "before"\n'))
    # closed form: the normal law of meter and supply together, 3 % of 230 V; no less than any voltage alike
    assert of.not_listed()[0] == pytest.approx(NormalDist(230, hypot(4.0, 0.03 * 230)).pdf(240.0))
    far = judge(read(volts=400.0, sigma=4.0, more='state = "before"\n'))
    assert far.not_listed() == (pytest.approx(1 / 1000.0), (1.0,))
    both = judge(read(volts=1500.0, sigma=4.0, more='state = "before"\n') + seen("failed"))
    assert both.not_listed() == (pytest.approx(1 / 1500.0 / 2), (pytest.approx(1 / 2), pytest.approx(1 / 1500.0)))
    light = judge(seen("dimmer"))
    assert light.not_listed()[0] == pytest.approx(1 / 4)


def test_parts_of_a_likelihood_are_weighed_by_slip_and_reliability():
    of = judge(read(volts=300.0, sigma=4.0) + seen("dimmer", "reliability = 0.7\n") + seen("failed", "within = 60\n"))
    main = of.conditions[0]
    was = next(c for c in of.conditions if c.before)
    lamp = lambda volts: SimpleNamespace(solved=np.array([True, True, False]), loads=np.full((3, 1), volts), together=np.full((3, 1), volts), on=np.ones((3, 1), bool), sample=np.arange(3))
    states = {c: lamp(215.0) for c in of.conditions} | {was: lamp(230.0)}
    genuine, other = of.likelihoods(np.full((3, 3, 1), 302.0), states)
    assert genuine[:2, 0] == pytest.approx(0.98 * NormalDist(300, 4.0).pdf(302.0)) and other[:2, 0] == pytest.approx(0.02 / (2 * 230 * sqrt(3)))
    change = 215 / 230
    dim = NORMAL.cdf((0.98 - change) / 0.02) * (1 - NORMAL.cdf((0.3 - 215 / 230) / 0.05))
    assert genuine[:2, 1] == pytest.approx(0.7 * dim, rel=1e-9) and other[:2, 1] == pytest.approx(0.3 / 4)
    assert genuine[:2, 2] == pytest.approx(0.9 * of.fails(of.case.loads[0], [(np.array([215.0]), np.array([True]), 60.0)])[0]) and other[:2, 2] == pytest.approx(0.1 / 2)
    assert not genuine[2].any() and not other[2].any() and main == Circumstance()  # no settled state: nothing is likely
    guide = of.guide(np.full((3, 3, 1), 302.0), genuine, other, np.array([True, True, False]))
    off = 2.0 / 4.0
    assert guide[0] == pytest.approx(-off**2 / 2 / (1 + off / 4) + log(genuine[0, 1] + other[0, 1]) + log(genuine[0, 2] + other[0, 2])) and guide[2] == -1e3
    bound = judge(read(volts=300.0, sigma=4.0, more='bound = "up to"\n'))  # the side it was on, not how far
    told = bound.guide(np.full((1, 1, 1), 500.0), np.array([[0.3]]), np.array([[0.1]]), np.array([True]))
    assert told[0] == pytest.approx(log(0.4))


def test_the_life_of_a_load_is_that_of_its_law_of_wear():
    of = judge(seen("failed"), load() + load("Heat", "L2-N", 1000, "resistive"))
    lamp, heat = of.case.loads
    grid, log_life, spread, direct = of._life(lamp)
    model, limits = load_model(lamp, of.case.supply)[0], band(of.case.supply.limits)
    assert grid[0] == 0 and grid[-1] == pytest.approx(2.5 * 230 * sqrt(3)) and len(grid) == 240
    for k in (90, 110, 140):  # the law itself, asked at the voltage
        harm = harm_at(lamp, model, grid[k], limits)[0]
        assert log_life[k] == pytest.approx(log(harm.central)) and direct[k] == 0
        # nine in ten between its ends
        assert spread[k] == pytest.approx(max(log(harm.latest / harm.earliest) / (2 * NORMAL.inv_cdf(0.95)), 0.5))
    assert log_life[20] == pytest.approx(log(1e12)) and spread[20] == 0.5  # a dim lamp does not wear
    grid, log_life, spread, direct = of._life(heat)
    high = int(np.searchsorted(grid, 1.3 * 230))
    assert direct[high] == pytest.approx(NORMAL.cdf((grid[high] / 230 - 1.35) / 0.12)) and log_life[high] == pytest.approx(log(1e12))
    on, off = np.array([True]), np.array([False])
    course = [(np.array([1.3 * 230]), on, 5.0), (np.array([1.5 * 230]), off, 5.0), (np.array([230.0]), on, 5.0)]
    assert of.fails(heat, course)[0] == pytest.approx(NORMAL.cdf(-0.05 / 0.12), rel=0.05)  # by the highest that it met while it was on


def test_what_voltages_do_to_a_load_is_worked_out_once_for_all_that_is_taken_otherwise(monkeypatch):
    of, asked = judge(seen("failed")), []
    usual = likelihood.harm_at
    monkeypatch.setattr(likelihood, "harm_at", lambda *arguments: asked.append(1) or usual(*arguments))
    wider = of.taken(("life", "least_spread", 3.0))
    lamp = of.case.loads[0]
    spreads = [one._life(lamp)[2] for one in (of, wider)]
    assert len(asked) == len(spreads[0]) and spreads[0][20] == 0.5 and spreads[1][20] == 3.0  # of a lamp that does not wear the least
    assert wider._life(lamp)[1].tolist() == of._life(lamp)[1].tolist()


def test_light_comes_before_a_failure_as_people_tell_it():
    of = Judge(parse_case(HEAD + load("A") + load("B", "L2-N") + seen("brighter", 'sooner_than = "B"\n', "A") + seen("failed", "", "B")))
    condition = of.of_condition[0]
    state = SimpleNamespace(on=np.array([[True, True], [True, False]]), loads=np.full((2, 2), 330.0), together=np.full((2, 2), 330.0))
    grid, log_life, spread, _ = of._life(of.case.loads[1])
    life, width = np.interp(330.0, grid, log_life), np.interp(330.0, grid, spread)
    found = of._sooner(of.case.loads[0], of.observations[0], 0, {condition: state})
    # two seconds, what people can tell apart, against the life at 330 V; one that is off has 0 V
    assert found[0] == pytest.approx(NORMAL.cdf((life - log(2.0)) / width)) and found[1] == pytest.approx(1.0)
    assert of._sooner(of.case.loads[1], of.observations[1], 1, {}) == 1.0  # no order is told
    both = Judge(parse_case(HEAD + load("A") + load("B", "L2-N") + seen("brighter", 'sooner_than = "B"\n', "A") + seen("dimmer", "", "B")))
    assert both._sooner(both.case.loads[0], both.observations[0], 0, {both.of_condition[0]: state}) == pytest.approx(0.5)
    # what was seen and its order both have to be so: 330 V on a lamp that had 230 V is brighter as good as certainly
    usual = SimpleNamespace(on=state.on, loads=np.full((2, 2), 230.0), together=np.full((2, 2), 230.0))
    assert both.seen(0, {c: usual if c.before else state for c in both.conditions}) == pytest.approx(0.5)
    two = Judge(parse_case(HEAD + load("A") + load("B", "L2-N") + seen("failed", 'sooner_than = "B"\n', "A") + seen("failed", "", "B")))
    fails = two.fails(two.case.loads[0], [(np.array([330.0]), np.array([True]), s) for _, s in two.courses[0]])[0]
    assert two.seen(0, dict.fromkeys(two.conditions, state))[0] == pytest.approx(0.5 * fails) and fails > 0  # alike lamps, either may have gone first


def test_where_a_lead_may_have_been_on_more_than_one_terminal():
    earthed = HEAD.replace("{}", '{ earthing = "TN-S" }')
    of = Judge(parse_case(earthed + load() + read("L1-?", 230.0) + read("L1-N", 250.0) + read("L2-?", 200.0, more='reference = ["N", "PE"]\n')))
    pairs, places = of.readings
    named = [[pairs[k][1] for k in places[n]] for n in range(3)]
    assert named == [[("L1", x) for x in ("L2", "L3", "N", "PE", "earth")], [("L1", "N")], [("L2", "N"), ("L2", "PE")]]
    assert len(pairs) == 7 and places[1] == [2]  # a pair that is there is not made again


@pytest.mark.parametrize(("row", "told"), [
    (read(volts=231.5), "L1-N at intake read 231.5 V"), (read(more='bound = "more than"\n'), "L1-N at intake read more than 300 V"),
    (read("L1-?", more='reference = ["N", "L2"]\n'), "L1-N or L2 at intake read 300 V"), (read("L1-?"), "L1-unknown terminal at intake read 300 V"),
    (read(more='state = "before"\n'), "L1-N at intake read 300 V, before the break"), (seen("off"), "Lamp: not working"), (seen("dimmer"), "Lamp: dimmer"),
    (seen("dimmer", name="Heat"), "Heat: weaker"), (seen("brighter", name="Heat"), "Heat: stronger"), (seen("failed", "within = 60\n", "Heat"), "Heat: failed within 60 seconds")])
def test_an_observation_in_words(row, told):
    case = parse_case(HEAD + load() + load("Heat", "L2-N", 1000, "heater") + row)
    assert words(case, case.observations[0]) == told


# Devices

def test_a_device_with_two_criteria_operates_by_either(monkeypatch):
    # closed form: 1 − (1 − p)(1 − q), with 0, 1/2 and 1
    made = lambda values: SimpleNamespace(watched=lambda case, met: np.array(values), threshold=Threshold(10.0, 20.0, "V", 1.0))
    monkeypatch.setattr(operated, "criteria", lambda case, given: (made([5.0, 15.0, 15.0, 25.0]), made([5.0, 5.0, 15.0, 5.0])))
    case = parse_case(HEAD + load())
    states = SimpleNamespace(sample=np.arange(4), between=lambda a, b: np.array([230.0, 84.0, 86.0, 84.0]))
    given = lambda kind, **more: Installed("d", kind, "intake", poles=("L1", "N"), **more)
    assert operated.operates(case, given("voltage relay"), states, 5.0).tolist() == [0, 0.5, 0.75, 1]
    assert operated.operates(case, given("isolation monitor"), states, 5.0).tolist() == [0.5] * 4  # nothing tells
    # published (IEC 61009-1): electronics fed by a line are certain to work from 85 V on
    assert operated.operates(case, given("residual-current device", supply="line to neutral"), states, 5.0).tolist() == [0, 0.5, 0.75, 0.5]
    assert operated.operates(case, given("residual-current device", supply="none"), states, 5.0).tolist() == [0, 0.5, 0.75, 1]


# What to read next

def test_which_readings_come_next_and_with_which_instrument(monkeypatch):
    case = parse_case('title = "t"\n[supply]\n[[point]]\nname = "joint"\nkind = "joint"\n[[point]]\nname = "a"\nfed_from = "joint"\n' + load(more='point = "a"\n'))
    asked = []

    def shown(case, rows, pairs):
        asked.extend(pairs)
        return [({name: np.tile(np.arange(len(pairs)), (2, 1)) for name in INSTRUMENTS}, np.array([0.5, 0.5])) for _ in rows]

    bits = {"high": [0.3, 0.5, 0.04, 0.2, 0.6, 0.1], "low": [0.3, 0.5 + CLEARER + 0.01, 0.04, 0.2 + CLEARER - 0.01, 0.0, 0.1]}
    calls = iter([(name, n) for n in range(6) for name in INSTRUMENTS])
    monkeypatch.setattr(next_reading, "_shown", shown)
    monkeypatch.setattr(next_reading, "_information", lambda readings, classes: (lambda call: bits[call[0]][call[1]])(next(calls)))
    rows = [(SimpleNamespace(words=w), None, 0.4) for w in ("one", "two", "three", "four", "five")]
    found = next_readings(case, rows)
    assert {point for point, _ in asked} == {"a"} and len(asked) == 6  # of four terminals; a joint in the main has no meter
    assert [(r.between, r.instrument) for r in found] == [(asked[4][1], INSTRUMENTS["high"]), (asked[1][1], INSTRUMENTS["low"]), (asked[0][1], INSTRUMENTS["high"])]
    assert len(found) == SHOWN and [w for w, *_ in found[0].expected] == ["one", "two", "three", "four"] and found[0].expected[0][1:] == (4.0, 4.0, 4.0)
    assert replace(found[0], of=2.0).strength == pytest.approx(0.3) and next_readings(case, rows[:1]) == ()
    calls = iter([(name, n) for n in range(6) for name in INSTRUMENTS])
    bits = {"high": [WORTH - 0.01] * 6, "low": [WORTH - 0.01] * 6}
    assert next_readings(case, rows[:2]) == ()


def test_of_several_states_of_a_sample_a_reading_is_of_the_one_that_was_weighed(monkeypatch):
    # by hand: the samples that were weighed stood at 19, 0, 11 and 20 V, whatever other states they have; the last is of none
    cause, asked = SimpleNamespace(words="cause"), []
    volts, solved = np.array([19.0, 0.0, 11.0, 20.0]), np.array([True, True, True, False])

    def met_again(states, numbers, values, condition):
        asked.append((numbers.tolist(), values[:, 0].tolist(), condition))
        return states
    monkeypatch.setattr(next_reading, "_read", lambda states, *_: states.v)
    world = SimpleNamespace(case=None, causes=[None, cause], conditions=(Circumstance(),), holding=lambda pairs: SimpleNamespace(met_again=met_again))
    known = SimpleNamespace(world=world, at=lambda rows, sample, weight: SimpleNamespace(v=volts[rows], solved=solved[rows], sample=sample, weight=weight))
    part = SimpleNamespace(states=known, weight=np.array([0.5, 0.0, 0.25, 0.25]), values=np.array([[0.1] * 3, [0.2] * 3, [0.3] * 3, [0.4] * 3]))
    ((shown, weight),) = next_reading._shown(SimpleNamespace(events=()), [(cause, part, 1.0)], [("intake", ("L1", "N"))])
    # of 48 samples 24 were of the first, none of the second: each is met once and weighs as often
    assert asked == [([1, 1, 1], [0.1, 0.3, 0.4], Circumstance())]
    assert weight == pytest.approx([2 / 3, 1 / 3, 0.0]) and shown["high"][:, 0].tolist() == [19.0, 11.0, 20.0]


def test_a_reading_that_mostly_floats_has_no_span():
    assert _span(np.array([np.nan, 230.0]), np.array([0.51, 0.49])) == (None, None, None)
    assert _span(np.array([np.nan, 230.0, 240.0]), np.array([0.4, 0.3, 0.3])) == (230.0, 230.0, 240.0)


# What goes with a result

@pytest.mark.parametrize(("more", "sampled", "weighed"), [
    ("", False, False), (read(), False, False), ('[[unknown]]\nload = "Lamp"\non = 0.5\n', True, False),
    (read() + '[[unknown]]\nload = "Lamp"\non = 0.5\n', True, True), (read() + '[[prior]]\ncause = "sound"\nweight = 1\n', False, True),
    ('[[prior]]\ncause = "sound"\nweight = 1\n', False, False)])
def test_ranges_and_causes_are_worked_out_where_the_case_asks_for_them(more, sampled, weighed, monkeypatch):
    result, done = analyse(parse_case(HEAD + load() + more)), []
    def made(what):
        return lambda case: done.append(what) or what
    found = answers.with_answers(result, made("ranges"), made("causes"))
    assert done == ["ranges"] * sampled + ["causes"] * weighed
    assert (found.ranges, found.deduction) == ("ranges" if sampled else None, "causes" if weighed else None) and not found.not_weighed

    def refused(case):
        raise NoSolutionError("too few")

    if weighed:
        assert answers.with_answers(result, made("ranges"), refused).not_weighed == "too few"
        monkeypatch.setattr(answers, "MOST_RUNS", 1)
        assert answers.with_answers(result, made("ranges"), made("causes")).deduction == "causes"
        monkeypatch.setattr(answers, "MOST_RUNS", 0)
        assert answers.with_answers(result, made("ranges"), refused).not_weighed == answers.TAKES_LONG


def test_the_second_lead_is_where_the_reading_fits_best():
    # arithmetic: 230 V to N and 400 V to L2, by the rows of weight 0.6 and 0.4
    of = judge(read("L1-?", 398.0, more='reference = ["N", "L2"]\n'))
    o, weight = of.observations[0], np.array([0.6, 0.4])
    assert of.lead(o, np.array([[230.0, 400.0], [230.0, 390.0]]), weight) == (1, "L2")
    assert of.lead(o, np.array([[230.0, np.nan], [398.0, 250.0]]), weight) == (0, "N")
    plain = judge(read())
    assert plain.lead(plain.observations[0], np.array([[300.0], [290.0]]), weight) == (0, "")


# What a place gives for each observation

def test_what_a_place_gives_in_words_and_by_how_much_it_misses():
    device = '[[device]]\nname = "RCD"\nkind = "residual-current device"\npoint = "intake"\n'
    of = Judge(parse_case(HEAD.replace("{}", '{ earthing = "TN-S" }') + load() + device + read() + read("L1-?", 300.0, more='reference = ["N", "L2"]\n') + read("L2-N", 200.0)
                          + read("L3-N", 200.0) + seen("brighter")))
    of = Judge(replace(of.case, observations=(*of.observations, Observation(device="RCD", operated=True))))
    volts = np.array([[300.0, 230.0, 150.0, np.nan], [300.4, 230.0, 250.0, np.nan]])
    held = np.full((2, 6, 2), np.nan)
    held[:, :4, 0], held[:, 1, 1] = volts, 301.0
    genuine, other = np.full((2, 6), 0.02), np.full((2, 6), 0.01)
    step = lambda on: SimpleNamespace(genuine=genuine, other=other, volts=held, states=SimpleNamespace(
        loads=np.array([[299.0], [276.0]]), together=np.array([[299.0], [276.0]]), on=np.array(on)))
    told = list(where._misfits(of, step([[True], [True]]), np.array([0.5, 0.5])))
    assert [gives for _, gives, _ in told] == ["300 V", "301 V to L2", "150 to 250 V", "no such voltage", "1.25 × rated voltage",
                                               f"expected with a probability of {0.02 / of.trust(of.observations[5]):.2f}"]
    assert [words_ for words_, *_ in told] == [words(of.case, o) for o in of.observations]
    # closed form: twice the logarithm of the density at best over that given, 0.98 of slips apart
    best = (NormalDist(0, of.sigma(of.observations[0])).pdf(0), of.trust(of.observations[4]))
    assert told[0][2] == pytest.approx(2 * log(best[0] / 0.03)) and told[4][2] == pytest.approx(2 * log(best[1] / 0.03))
    assert [gives for _, gives, _ in where._misfits(of, step([[True], [False]]), np.array([0.4, 0.6]))][4] == "switched off"
    genuine[:] = 5.0
    assert {miss for *_, miss in where._misfits(of, step([[True], [True]]), np.array([0.5, 0.5]))} == {0.0}
