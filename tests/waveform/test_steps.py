"""Steps of one pattern of conducting diodes, taken together and one by one; cycles that are not marched twice."""

from dataclasses import replace

import numpy as np
import pytest
from wave_cases import CABLE, case, load, rectifier, rectifier_star, supply, with_breaks

from lostneutral.circuit.waveform import steady
from lostneutral.circuit.waveform.march import Marcher, Marching
from lostneutral.circuit.waveform.model import time_network
from lostneutral.circuit.waveform.steady import repeating
from lostneutral.circuit.waveform.steps import STAGES

PULSES = load("harmonic", "L2", power=100.0, orders=(3, 5), shares=(0.8, 0.5), angles=(180.0, 20.0))


def conducting():
    """A network with a bridge that conducts, a varistor, harmonics, inductances: (network, pattern, where a step begins)."""
    made = case([rectifier("L1", 100.0), load("varistor", "L3", rating=275.0), PULSES, load("impedance", "L3", resistance=40.0, reactance=30.0)],
                cable=CABLE, source=supply(line_impedance=0.2 + 0.1j))
    net = time_network(made, made.breaks)
    pattern = Marcher(net, 96)._pattern(np.array([1]))
    return net, pattern, np.random.default_rng(3).normal(scale=100.0, size=len(pattern.moving))


@pytest.mark.parametrize("share", [1.0, 0.23])
def test_a_step_solves_its_stage_equations(share):
    """Independent: M (y - start) / h = A (K y + forcing + currents) of the stages, put in; A by its defining quadrature of polynomials."""
    net, pattern, x = conducting()
    h, time = share * pattern.step, 0.0031
    step = pattern.one(h)
    drawn = np.random.default_rng(4).normal(size=step.spread.shape[1])
    y = step.stages(np.concatenate([x, net.waves(time + step.at).ravel()]), drawn)
    enters = pattern.forces[:, :pattern.sees.shape[1]]
    slope = y @ pattern.system.T + pattern.constant + net.force(time + STAGES * h).T + drawn.reshape(3, -1) @ enters.T
    powers = np.vander(STAGES, 3, increasing=True)
    a = (powers * STAGES[:, None] / [1, 2, 3]) @ np.linalg.inv(powers)
    start = np.zeros(len(net.mass))
    start[pattern.moving] = x
    assert (y - start) @ net.mass == pytest.approx(h * a @ slope, abs=1e-12 * np.abs(slope).max())
    still = np.diag(net.mass) == 0
    assert np.abs(slope[:, still]).max() < 1e-9 * np.abs(slope).max()


def test_steps_together_are_steps_one_after_another():
    """Invariant: stages, what the nonlinear parts see, and what a start changes."""
    net, pattern, x = conducting()
    several, one, count = pattern.several, pattern.one(pattern.step), pattern.together
    drawn = np.random.default_rng(5).normal(size=count * one.spread.shape[1])
    slope = -0.01 * np.abs(drawn)
    known = np.concatenate([x, net.waves(np.array([0.002])).ravel()])
    together = several.stages(known, drawn)
    changed, begin, carried = [], x, np.eye(len(x))
    for number, (part, bent) in enumerate(zip(drawn.reshape(count, -1), slope.reshape(count, -1))):
        stages = one.stages(np.concatenate([begin, net.waves(0.002 + number * pattern.step + one.at).ravel()]), part)
        changed.append(stages)
        begin, carried = stages[-1, pattern.moving], one.carried(carried, bent, 1)[pattern.moving]
        assert several.carried(np.eye(len(x)), slope, number + 1)[pattern.moving] == pytest.approx(carried, abs=1e-9 * np.abs(carried).max())
    size = np.abs(together).max()
    assert together == pytest.approx(np.concatenate(changed), abs=1e-9 * size)
    assert several.open @ known + several.coupling @ drawn == pytest.approx((together @ pattern.sees).ravel(), abs=1e-9 * size)


def test_no_cycle_is_marched_twice(monkeypatch):
    """Invariant: where Newton's method leads is tried by a cycle, and that cycle is the next one."""
    starts, march = [], Marcher.march

    def counted(self, course, *given, **keys):
        starts.append((id(self), course.y.tobytes()))
        return march(self, course, *given, **keys)

    made = with_breaks(rectifier_star((100, 100, 100)))
    monkeypatch.setattr(Marcher, "march", counted)
    turn = repeating(made, steps=24)
    assert turn.ends == "settled" and len(starts) == turn.cycles > 3 and len(set(starts)) == len(starts)


def test_what_is_slow_waits_while_the_course_has_far_to_go():
    """Behaviour: a heater that has 1e-4 of its way to go keeps its network while the course moves by 10 V in a cycle, not while it rests."""
    made = case([load("heater", "L1", power=500.0)], [])
    rest = repeating(made, steps=24)
    off = {0: {("L1", "N"): rest.admittances[0]["L1", "N"] * (1 + 1e-4)}}
    for moved, waits in ((10 / 230, True), (0.0, False)):
        search = steady._Search(made, (), (), off, 24)
        net = search.net
        change = search.follow(search.cycle(steady._full(search)), moved)
        assert change == pytest.approx(1e-4, rel=0.1) and (search.net is net) == waits
    assert repeating(made, before=replace(rest, admittances=off), steps=24).admittances[0]["L1", "N"] == pytest.approx(rest.admittances[0]["L1", "N"], rel=1e-7)


def test_what_was_drawn_is_what_the_next_step_begins_with(monkeypatch):
    """Behaviour: of a link that empties slowly the law is asked once a step, twice where nothing is known of what it drew; the answer is one."""
    net = time_network(case([rectifier("L1", 100.0)], []))
    marcher, asked, law = Marcher(net, 96), [], Marcher._law
    y = np.zeros(len(net.mass))
    y[net.link] = 400.0
    course = Marching(0.0, y, np.zeros(1, int), np.ones(1, bool))
    monkeypatch.setattr(Marcher, "_law", lambda self, *given: asked.append(1) or law(self, *given))
    ends = []
    for drawn, times in ((0.0, 2), (-100.0 / 400.0, 1)):  # W over V
        asked.clear()
        stages, made = marcher._stages(replace(course, drawn=np.array([drawn])), 0.5 * marcher.step)
        marcher._accept(moved := replace(course), 0.5 * marcher.step, 1, stages, made, False)
        assert len(asked) == times and moved.drawn == pytest.approx([-0.25], rel=1e-3)
        ends.append(moved.y[net.link[0]])
    assert ends[0] == pytest.approx(ends[1], abs=1e-7) and ends[0] < 400.0 - 1e-2
