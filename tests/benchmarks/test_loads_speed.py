"""A mixed set of 100 000 loads as arrays against a Python loop over single loads, in one run.

The loop is timed over a part of the set and scaled. The ratio goes to pytest-benchmark's extra_info and is printed; no
time passes or fails. What is asserted is that both give the same answer.
"""

from time import perf_counter

import numpy as np
import pytest

from lostneutral.loads.electronic import Electronic
from lostneutral.loads.heater import Heater
from lostneutral.loads.lamp import Lamp
from lostneutral.loads.motor import Motor
from lostneutral.loads.ptc import PtcHeater
from lostneutral.loads.varistor import Varistor

SIZE, LOOPED = 100_000, 120

KINDS = {
    "lamp": lambda p: Lamp(0.1 * p, 230.0, 2760.0),
    "heater": lambda p: Heater(p, 230.0),
    "ptc_heater": lambda p: PtcHeater(p, 230.0),
    "electronic": lambda p: Electronic(0.1 * p, 230.0),
    "motor": lambda p: Motor(0.2 * p, 230.0),
    "varistor": lambda p: Varistor(275.0 + 0 * p),
}


def test_mixed_set_of_loads(benchmark, capsys):
    random = np.random.default_rng(1)
    share = SIZE // len(KINDS)
    powers, volts = random.uniform(500.0, 3000.0, share), random.uniform(100.0, 380.0, share)
    sets = [make(powers) for make in KINDS.values()]
    answers = benchmark.pedantic(lambda: [model.response(volts)[0] for model in sets], rounds=3, warmup_rounds=1)
    singles = [[make(float(p)) for p in powers[:LOOPED]] for make in KINDS.values()]
    first = [[one.response(float(v))[0] for one, v in zip(ones, volts)] for ones in singles]  # fills their caches
    start = perf_counter()
    looped = [[one.response(float(v))[0] for one, v in zip(ones, volts)] for ones in singles]
    loop = (perf_counter() - start) * share / LOOPED
    assert looped == first
    for all_at_once, one_by_one in zip(answers, looped):
        assert all_at_once[:LOOPED] == pytest.approx(np.array(one_by_one), rel=1e-9)
    ratio = loop / benchmark.stats.stats.min
    benchmark.extra_info["loop over arrays"] = ratio
    with capsys.disabled():
        print(f"\n{share * len(KINDS)} loads: a loop takes {ratio:.0f} times as long as arrays")
