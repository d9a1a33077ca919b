"""What the waveform model saves: a ratio to marching plainly at fixed steps, and how the time grows with the loads.

The ratios are printed and kept in pytest-benchmark's extra_info; no time passes or fails.
"""

from dataclasses import replace
from math import inf, log
from time import perf_counter

import numpy as np
import pytest

from lostneutral.case.model import Break, Cable, Case, Load, Point, Supply
from lostneutral.circuit.waveform.march import Marcher, Marching
from lostneutral.circuit.waveform.steady import repeating

LINES = ("L1", "L2", "L3")
OPEN = (Break("intake", "N", inf),)
PLAIN = (500, 1000)  # steps per cycle at which plain marching is tried


def office(loads):
    """An open star of rectifiers, 20 to 70 W each, 3 µF/W, 1 ohm, behind a short cable."""
    phasors = {line: 230.0 * np.exp(-2j * np.pi * k / 3) for k, line in enumerate(LINES)}
    made = tuple(Load(f"screen {k}", "electronic", (LINES[k % 3], "N"), "intake", 230.0, parameters={
        "power": 20.0 + 50.0 * ((7 * k) % 12) / 11, "front_end": "rectifier", "inlet_resistance": 1.0,
        "capacitance": 3e-6 * (20.0 + 50.0 * ((7 * k) % 12) / 11)}) for k in range(loads))
    point = Point("intake", cable=Cable(0.1 + 0.02j, 0.1 + 0.02j))
    return Case("office", Supply(phasors), (point,), made, breaks=OPEN)


def plain_cycle(turn, steps):
    """March one cycle by implicit Euler at fixed steps, diodes switched at the end of a step; return the links."""
    net, marcher = turn.net, Marcher(turn.net, steps)
    course = replace(turn.start, y=turn.start.y.copy(), mode=turn.start.mode.copy())
    h, inverses, y = net.period / steps, {}, course.y
    for number in range(steps):
        force = net.force(np.array([(number + 1) * h]))[:, 0] + net.mass @ y / h
        force[net.link] -= np.array([b.power for b in net.bridges]) / y[net.link]
        for _ in range(40):
            key = course.mode.tobytes()
            if key not in inverses:
                system, constant = marcher._system(course.mode)
                inverses[key] = np.linalg.inv(net.mass / h - system), constant
            inverse, constant = inverses[key]
            new = inverse @ (force + constant)
            wrong = np.flatnonzero(marcher._diodes(new[None], course.mode)[0] < -1e-7)
            if not len(wrong):
                break
            course.mode = marcher._flipped(course.mode, new, wrong[:1])
        y = new
    return y[net.link]


def timed(work):
    start = perf_counter()
    value = work()
    return perf_counter() - start, value


@pytest.fixture(scope="module")
def twelve():
    case = office(12)
    return case, repeating(replace(case, breaks=()))


def test_twelve_loads_against_plain_marching(benchmark, twelve):
    case, before = twelve
    seconds, turn = timed(lambda: repeating(case, OPEN, before=before))
    benchmark.pedantic(lambda: repeating(case, OPEN, before=before), rounds=1)
    fine = turn.start.y[turn.net.link]  # a cycle later the links are the same: what plain marching misses is its error
    tries = [timed(lambda steps=steps: plain_cycle(turn, steps)) for steps in PLAIN]
    errors = [np.abs(links - fine).max() / 230.0 for _, links in tries]
    order = log(errors[0] / errors[1]) / log(PLAIN[1] / PLAIN[0])
    # How close this model is, by halving its own steps; plain marching is carried on to there by its order.
    halved = repeating(case, OPEN, before=before, steps=96)
    own = np.abs(halved.start.y[halved.net.link] - fine).max() / 230.0
    needed = (errors[1] / own) ** (1 / max(order, 0.5))
    # Plain waiting to 1e-9 at the rate at which the period map contracts.
    cycles = max(turn.cycles, log(1e-9) / log(min(turn.radius, 0.999)))
    ratio = tries[1][0] * needed * cycles / seconds
    benchmark.extra_info.update(ratio=round(ratio), seconds=round(seconds, 2), own_error=float(own), cycles=turn.cycles,
                                plain_error=float(errors[1]), plain_order=round(order, 2),
                                same_cycles_at_1000_steps=round(tries[1][0] * cycles / seconds, 2))
    print(f"\n{seconds:.2f} s to {own:.0e}; plain marching at 1000 steps reaches {errors[1]:.0e} in "
          f"{tries[1][0] * cycles:.1f} s, and would need {ratio:.0f} times as long for the same (order {order:.2f}, carried on)")
    assert turn.ends == "settled" and 0 < errors[1] < errors[0] < 0.1  # both methods worked out the same circuit


def test_growth_with_loads(benchmark):
    seconds = {}
    for loads in (3, 6, 12):
        case = office(loads)
        course = repeating(replace(case, breaks=()), steps=96).start
        start = Marching(0.0, course.y, course.mode, course.on)
        marcher = Marcher(repeating(replace(case, breaks=()), steps=96, patience=1).net, 96)
        seconds[loads], done = timed(lambda m=marcher, c=start: m.march(c, m.net.period))
        assert done.switched >= loads  # every bridge opened and shut
    benchmark.pedantic(lambda: None, rounds=1)
    growth = log(seconds[12] / seconds[3]) / log(4)
    benchmark.extra_info.update(growth=round(growth, 2), milliseconds={k: round(1e3 * s) for k, s in seconds.items()})
    print(f"\none cycle: {', '.join(f'{k} loads {1e3 * s:.0f} ms' for k, s in seconds.items())}; as loads^{growth:.2f}")
