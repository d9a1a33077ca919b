"""Marches of one or two parts against closed forms: links that fill and empty, supplies behind them that stop and start again."""

from dataclasses import replace
from math import pi, sqrt
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from wave_cases import CABLE, case, load, rectifier, supply

from lostneutral.case.model import Break
from lostneutral.circuit.waveform.march import Marcher, Marching
from lostneutral.circuit.waveform.measures import wave_state
from lostneutral.circuit.waveform.model import time_network
from lostneutral.circuit.waveform.parts import clamp_of
from lostneutral.circuit.waveform.steady import _jump, _repeats, repeating
from lostneutral.errors import NoSolutionError

OHMS, FARADS, WATTS, STEPS = 400.0, 50e-6, 60.0, 500  # 20 ms to fill, and what is taken; steps of 2 ms
CREST = sqrt(2) * 230.0


def slow_bridge(frequency=1.0, **behind):
    """A bridge on L1 of a sound supply of `frequency`, so slow that its link follows the line: (network, marcher)."""
    net = time_network(case([rectifier("L1", WATTS, inlet=OHMS, leakage=1e9)], [], source=supply(frequency=frequency)))
    made = replace(net.bridges[0], **{"capacitance": FARADS, "cut_off": 100.0, "restart": 100.0, "on_or_off": True} | behind)
    net.mass[net.link, net.link] = FARADS
    net = replace(net, bridges=(made,))
    return net, Marcher(net, STEPS)


def marched(net, marcher, link, on=True, steps=20, begin=0.0, sensitivity=None):
    y = np.zeros(len(net.mass))
    y[net.link] = link
    course = Marching(begin, y, np.zeros(1, int), np.array([on]), sensitivity=sensitivity)
    marcher.settle(course)
    return marcher.march(course, begin + steps * marcher.step, record=True)


def link_at(net, course, time):
    """The link at `time`, on the straight line between the two stages beside it."""
    return np.interp(time, np.concatenate(course.times), np.concatenate(course.values)[:, net.link[0]])


def filled(start, time, frequency=1.0):
    """Closed form: a capacitor filled from `start` (V) through a resistance by a line that is at its crest at time 0, nothing taken."""
    omega, tau = 2 * pi * frequency, OHMS * FARADS
    forced = lambda t: CREST / (1 + (omega * tau) ** 2) * (np.cos(omega * t) + omega * tau * np.sin(omega * t))
    return forced(time) + (start - forced(0.0)) * np.exp(-time / tau)


def test_a_link_above_the_crest_empties_by_what_is_taken():
    # closed form: C v²/2 falls by P t, until the supply stops at 100 V, from where on nothing is taken
    net, marcher = slow_bridge(cuts_out=900.0)
    for begin in (0.0, 0.25):  # s: what the line does is no matter while the bridge blocks
        course = marched(net, marcher, 400.0, steps=1, begin=begin)
        assert course.y[net.link[0]] == pytest.approx(sqrt(400**2 - 2 * WATTS * 0.002 / FARADS), rel=1e-6) and course.on[0]
        assert course.time == pytest.approx(begin + 0.002) and len(course.times) == 1
    low, march = slow_bridge(frequency=0.4)
    low.forcing[:] = 0  # no line at all
    course = marched(low, march, 400.0, steps=13)  # of 5 ms
    stops = (400**2 - 100**2) * FARADS / 2 / WATTS
    assert not course.on[0] and course.y[low.link[0]] == pytest.approx(100.0, abs=1e-3) and not course.restarts
    assert np.abs(np.concatenate(course.times) - stops).min() < 1e-5  # a step ends where it stops


def test_a_step_in_which_more_is_taken_than_a_link_holds_is_refused():
    net, marcher = slow_bridge(frequency=0.01)  # steps of 0.2 s: 60 W take 12 J, of 4 J that there are
    net.forcing[:] = 0
    with pytest.raises(NoSolutionError, match="does not converge"):
        marched(net, marcher, 400.0, steps=1)


@pytest.mark.parametrize("delay", [0.0, 0.015])
def test_a_supply_starts_again_where_its_link_has_come_to_and_after_its_delay(delay):
    # closed form: off, a link of 150 V is filled through 400 ohm; it is back at 240 V, and what is behind it waits for its delay
    net, marcher = slow_bridge(restart=240.0) if not delay else slow_bridge(restart=240.0, restart_delay=delay)
    course = marched(net, marcher, 150.0, on=False, steps=20)
    times = np.linspace(0, 0.04, 40001)
    back = times[np.argmax(filled(150.0, times) >= 240.0)]
    ((time, which),) = course.restarts
    assert (time, which) == (pytest.approx(back + delay, abs=2e-5), 0) and course.on[0] and np.isinf(course.due[0])
    assert link_at(net, course, back + delay) == pytest.approx(filled(150.0, back + delay), rel=1e-4)
    # from then on WATTS are taken: the link stays below what it would come to
    assert course.y[net.link[0]] < filled(150.0, 0.04) - 10


def test_while_a_supply_waits_its_link_fills_on_and_it_has_not_started():
    net, marcher = slow_bridge(restart=240.0, restart_delay=0.5)
    course = marched(net, marcher, 150.0, on=False, steps=20)
    times = np.linspace(0, 0.04, 40001)
    back = times[np.argmax(filled(150.0, times) >= 240.0)]
    assert not course.on[0] and course.restarts == [] and course.due[0] == pytest.approx(back + 0.5, abs=2e-5)
    assert course.y[net.link[0]] == pytest.approx(filled(150.0, 0.04), rel=1e-6)


def test_a_supply_stops_above_its_upper_end_and_starts_again_only_below_the_highest_it_starts_at():
    # closed form: hardly anything taken, a link is filled from 150 V and passes 260 V, where its supply stops; it is filled on
    net, marcher = slow_bridge(cuts_out=260.0, restart_below=200.0)
    net = replace(net, bridges=(replace(net.bridges[0], power=1e-6),))
    marcher = Marcher(net, STEPS)
    course = marched(net, marcher, 150.0, steps=20)
    assert not course.on[0] and not course.restarts and course.y[net.link[0]] == pytest.approx(filled(150.0, 0.04), rel=1e-6)
    # off at 180 V it starts at once, at 210 V not at all
    assert marched(net, marcher, 180.0, on=False, steps=1).on[0] and not marched(net, marcher, 210.0, on=False, steps=1).on[0]


def test_what_a_start_changes_is_carried_along():
    """Independent: two marches from starts that differ by 0.01 V or 1 mA, through pulses, a varistor's clipping and an inductance."""
    made = case([rectifier("L1", 100, per_watt=1e-6, inlet=5.0), load("varistor", "L1", rating=150.0), load("impedance", "L2", resistance=50.0, reactance=20.0)],
                [Break("intake", "N", 20.0)], CABLE)
    net = time_network(made, made.breaks)
    marcher = Marcher(net, 96)
    moving = np.flatnonzero(np.diag(net.mass))

    def followed(change=0.0, which=0, sensitivity=None):
        y = np.zeros(len(net.mass))
        y[net.link] = 250.0
        course = Marching(0.0, y, np.zeros(1, int), np.ones(1, bool))
        marcher.settle(course)
        y = course.y.copy()
        y[which] += change
        start = Marching(0.0, y, course.mode, course.on, sensitivity=sensitivity)
        return marcher.march(start, 0.5 * net.period)

    told = followed(sensitivity=np.eye(len(net.mass))[:, moving]).sensitivity
    for column, which in enumerate(moving):
        apart = 0.01 if net.names[which][0] == "link" else 1e-3
        found = (followed(apart, which).y - followed(-apart, which).y)[moving] / (2 * apart)
        assert told[moving, column] == pytest.approx(found, abs=2e-4 * max(1.0, np.abs(found).max()))
    assert told[net.link[0], list(moving).index(net.link[0])] > 0.01


def test_below_its_cut_off_a_supply_fades():
    # independent: scipy's integrator on C dv/dt = −P(v) / v, with the power that the bridge takes by itself
    net, _ = slow_bridge(on_or_off=False, cut_off=127.0, fade=30.0)
    net.forcing[:] = 0
    course = marched(net, Marcher(net, 500), 140.0, steps=30)
    law = net.bridges[0]
    found = solve_ivp(lambda _, v: -law.taken(v) / v / FARADS, (0, 0.06), [140.0], rtol=1e-9, atol=1e-9, max_step=1e-3)
    assert course.y[net.link[0]] == pytest.approx(found.y[0, -1], abs=1e-3) and 97 < found.y[0, -1] < 98


def test_a_varistor_in_a_star_clips_by_its_law():
    # independent: the star point of every instant by a root of the current sum of two resistances and a power law
    made = case([load("varistor", "L1", rating=150.0), load("impedance", "L2", resistance=200.0), load("impedance", "L3", resistance=300.0)])
    turn = repeating(made, made.breaks, steps=48)
    reference, exponent, size = clamp_of(made.loads[0])
    star = turn.values[:, turn.net.node["intake", "N"]]
    for k in range(0, len(star), 7):
        u = [CREST * np.cos(100 * pi * turn.times[k] - 2 * pi * n / 3) for n in range(3)]
        total = lambda n, u=u: np.sign(u[0] - n) * size * (abs(u[0] - n) / reference) ** exponent + (u[1] - n) / 200 + (u[2] - n) / 300
        assert star[k] == pytest.approx(brentq(total, -1000, 1000), abs=1e-3)
    assert np.abs(turn.values @ turn.net.across(turn.net.ports[0])).max() < 320  # of 488 V between the lines at their crest


def test_a_bridge_between_two_lines_fills_its_link_to_their_crest():
    # closed form: what is left of √2 · 400 V between two pulses is what 60 W took, C v²/2 falling by P t
    made = case([rectifier("L1-L2", WATTS, per_watt=1e-6, inlet=0.1, voltage=400.0), load("resistive", "L3", power=100.0)], [])
    turn = repeating(made, steps=96)
    found = wave_state(made, "before", turn).loads[0]
    mean, lowest, highest = found.link
    crest = sqrt(6) * 230
    assert turn.ends == "settled" and crest - 5 < highest < crest and found.power == pytest.approx(WATTS, rel=0.01)
    # the pulse begins where the line comes up to the link that has emptied since the last crest, some 10 ms less the pulse
    begins = np.arccos(lowest / crest) / (100 * pi)
    assert lowest == pytest.approx(sqrt(highest**2 - 2 * WATTS * (0.01 - begins) / 60e-6), abs=4.0) and lowest < mean < highest


def test_what_a_suppressor_and_a_leak_take_while_the_bridge_blocks():
    # closed form: 1 µF and 46 kohm on 230 V, 50 Hz: 72.3 mA across 5 mA
    net = time_network(case([rectifier("L1", 100.0, suppressor=1e-6, leakage=46e3)], []))
    marcher = Marcher(net, 96)
    y = np.zeros(len(net.mass))
    y[net.link] = 900.0
    course = Marching(0.0, y, np.zeros(1, int), np.ones(1, bool))
    marcher.settle(course)
    marcher.march(course, net.period, record=False)
    course = replace(course, times=[], weights=[], values=[])
    marcher.march(course, 2 * net.period, record=True)
    weights, values = np.concatenate(course.weights), np.concatenate(course.values)
    drawn = values @ net.through[net.ports[0].key]
    assert sqrt(weights @ drawn**2 / weights.sum()) == pytest.approx(abs(230 / 46e3 + 230j * 100 * pi * 1e-6), rel=1e-3)
    assert values[-1, net.link[0]] == pytest.approx(sqrt(900**2 - 2 * 100 * 2 * net.period / net.bridges[0].capacitance), rel=1e-4)


def test_restarts_repeat_by_their_distance_or_their_number():
    # (cycle, bridge): three at one distance, give or take a cycle; six of any; what another supply does is no matter
    own = lambda *cycles, which=0: [(cycle, which) for cycle in cycles]
    assert _repeats(own(3, 9, 16)) and not _repeats(own(3, 9, 17)) and not _repeats(own(3, 9))
    assert not _repeats(own(3, 6, 9)) and _repeats(own(3, 7, 11))  # a supply that restarts in nearly every cycle may come to rest
    assert _repeats(own(1, 2, 3, 4, 5, 9)) and not _repeats(own(1, 2, 3, 4, 9))
    assert _repeats([*own(3), *own(5, which=1), *own(9, 16)]) and not _repeats([*own(3, 9, 16), *own(17, which=1)])


def test_without_anything_before_it_a_course_starts_from_full_links():
    made = case([rectifier("L1", WATTS), load("resistive", "L2", power=50.0)], [])
    turn = repeating(made, steps=24, patience=1)
    # one cycle only: nothing is known of how it ends, and a link of 325 V has lost what 60 W took
    assert (turn.ends, turn.cycles) == ("undecided", 1) and turn.start.y[turn.net.link[0]] == pytest.approx(CREST)
    assert turn.values[-1, turn.net.link[0]] < CREST and len(turn.restarts) == 0


@pytest.mark.parametrize("turns, share, taken", [
    (lambda y: 100 - 0.98 * (100 - y), 0.5, True),  # what is left shrinks by a fiftieth a cycle: half of it is gone at once
    (lambda y: 100 - 0.98 * (100 - y), 1.0, True),
    (lambda y: 100 - 0.98 * (100 - y) if y < 45 else y - 1.0, 0.5, False),  # beyond 45 it goes another way: left alone
    (lambda y: y + (0.8 if y < 45 else 0.1), 0.5, False),  # it comes to rest before what was foreseen
])
def test_part_of_a_long_way_is_gone_at_once_only_where_the_rest_is_as_foreseen(turns, share, taken):
    search = SimpleNamespace(moving=np.arange(1), net=SimpleNamespace(omega=1.0, mass=np.eye(1), names=[("link", "one")]),
                             marcher=SimpleNamespace(settle=lambda course: None), cycle=lambda course: replace(course, y=turns(course.y)))
    start = Marching(0.0, np.array([0.0]), np.zeros(1, int), np.ones(1, bool))
    course = search.cycle(start)
    reached, wait = _jump(search, (search.net, {}, start, course), course.y - start.y, np.array([100.0]), share)
    # closed form: `share` of 100 V
    assert (reached.y[0], wait) == (pytest.approx(100 * share), 0) if taken else (reached is course and wait > 0)
