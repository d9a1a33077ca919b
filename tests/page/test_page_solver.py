"""The page's answers, in a real browser, against the solver's: another program, on tables, in place of the laws.

Kind of all checks: independent, unless said otherwise. What the tables cost is in the same figure: 0.1 V is allowed.
"""

import random
from math import inf

import pytest
from page_cases import CASEBOOK, LAMPS, as_set, bare, html, star

from lostneutral import analyse, read_case
from lostneutral.circuit.states import before_and_after
from lostneutral.page import page_html
from lostneutral.page.lumped import as_impedances, lumped, lumped_joint
from lostneutral.studies.course import courses

pytestmark = pytest.mark.browser
WITHIN = 0.1  # V
WAVEFORMS = ("fan-heater", "full-neutral", "map-office")
#: the reference takes seconds a setting where several states have to be looked for
SLOW = ("bakery", "corner-shop", "farm-lane", "hotel-kitchen", "joinery", "office-floor")
#: what a page has not: a second supply, a load that comes back after a delay
REFUSED = ("farm-generator", "lamp-hall", "solar-roof")
NAMES = [path.stem for path in sorted(CASEBOOK.glob("*.toml")) if path.stem not in (*WAVEFORMS, *REFUSED)]

ASK = """s => { const { model } = lostneutral, a = model.answer(s);
    return { ends: a.ends, states: a.states.map((f) => model.read(f)), points: model.held.points.map((p) => p.name) }; }"""


def settings_of(case, name):
    taken, draw = lumped(as_impedances(case.at_the_end())[0]), random.Random(name)
    on, one = [load.on for load in taken.loads], [1.0] * len(taken.loads)
    yield lumped_joint(taken)[1], on, one
    for _ in range(1 if name in SLOW else 12):
        yield (draw.choice([0.0, 0.05, 2.0, 80.0, inf, inf]), [draw.random() < 0.85 for _ in on],
               [4.0 ** draw.uniform(-1, 1) for _ in one])


def asked(page, case, ohms, on, times):
    electrodes = page.evaluate("lostneutral.setting.electrodes")
    return page.evaluate(ASK, {"ohms": ohms, "electrodes": electrodes, "on": list(on), "times": list(times)})


def apart(answer, state, expected):
    """Return the largest difference (V) between a state of the page and a solution; nothing may float in only one."""
    worst = 0.0
    for name, point in zip(answer["points"], state["points"]):
        for line, volts in point["lines"].items():
            true = expected.voltage(name, line)
            assert (volts is None) == (true is None), (name, line)
            worst = max(worst, 0.0 if volts is None else abs(volts - abs(true)))
    for volts, load in zip(state["volts"], expected.loads):
        if volts is not None and load.voltage is not None:
            worst = max(worst, abs(volts - abs(load.voltage)))
    return worst


@pytest.mark.parametrize("name", NAMES)
def test_settled_states_over_random_settings(visit, name):
    case = read_case(CASEBOOK / f"{name}.toml")
    page = visit(bare(name))
    for setting in settings_of(case, name):
        answer = asked(page, case, *setting)
        before, after = before_and_after(as_set(case, *setting))
        if before.ends == "cycle":
            continue  # motors that trip and start again before anything breaks: the page has them running, as its README section says
        assert answer["ends"] == after.ends
        if after.reached:
            assert apart(answer, answer["states"][0], after.reached) < WITHIN, setting
            assert len(answer["states"]) == sum(s.attracting for s in after.solutions), setting


CORRECTED = {"front_end": "corrected"}


@pytest.mark.parametrize("powers", [(100.0, 100.0, 100.0), (100.0, 130.0, 170.0), (60.0, 200.0, 100.0)])
def test_several_settled_states_and_the_one_arrived_at(visit, powers):
    case = star("electronic", *powers, more=CORRECTED)
    page, after = visit(page_html(analyse(case, waveforms=False))), before_and_after(case)[1]
    answer = asked(page, case, inf, [True] * 3, [1.0] * 3)
    attracting = [s for s in after.solutions if s.attracting]
    assert answer["ends"] == after.ends
    for expected in attracting:
        assert min(apart(answer, state, expected) for state in answer["states"]) < WITHIN
    if after.reached:
        assert apart(answer, answer["states"][0], after.reached) < WITHIN


def test_three_equal_resistances_stay_and_two_share(visit):  # published: the star of equal resistances
    page = visit(page_html(analyse(star("resistive", 100.0, 100.0, 100.0))))
    for on, expected in (([True] * 3, [230.0] * 3), ([True, True, False], [199.186, 199.186, None])):
        volts = asked(page, None, inf, on, [1.0] * 3)["states"][0]["volts"]
        assert [v for v, o in zip(volts, on) if o] == [pytest.approx(e, abs=0.01) for e in expected if e]


FOLLOW = """([s, seconds]) => { const { clock, model } = lostneutral; clock.anew(); clock.rewire(s, model.sound(s));
    clock.go(seconds, 1e9); return { time: clock.time, log: clock.log, failed: clock.failed.map((f) => f || null) }; }"""


def test_items_fail_when_the_course_in_time_says_so(visit):
    """The course of `follow` (central pace), of which each failure changes the star for the next."""
    case = star("lamp", 25.0, 60.0, 150.0)
    page, course = visit(html("LAMPS")), courses(LAMPS, 3e6).central
    setting = {"ohms": inf, "electrodes": [], "on": [True] * 3, "times": [1.0] * 3}
    expected = sorted((time, name) for name, (time, _) in course.failures.items())
    assert len(expected) >= 2
    for time, name in expected:
        number = [load.name for load in case.loads].index(name)
        before = page.evaluate(FOLLOW, [setting, 0.97 * time])["failed"]
        after = page.evaluate(FOLLOW, [setting, 1.03 * time])["failed"]
        assert (before + [None] * 3)[number] is None and after[number] == "open"


def test_a_filament_warms_as_the_solver_has_it(visit):
    from lostneutral.circuit.incident import follow_course

    page, course = visit(html("LAMPS")), follow_course(LAMPS, end=0.3)
    setting = {"ohms": inf, "electrodes": [], "on": [True] * 3, "times": [1.0] * 3}
    for at in (0.02, 0.1, 0.25):
        page.evaluate(FOLLOW, [setting, at])
        states = page.evaluate("[...lostneutral.clock.now.states]")
        for state, name in zip(states, course.states):
            import numpy as np

            assert state == pytest.approx(float(np.interp(at, course.times, course.states[name])), rel=2e-3)
