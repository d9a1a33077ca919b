"""How the cost of a street grows, each time as a ratio measured in the same run, and its peak memory.

Ratios go to pytest-benchmark's extra_info and are printed; no time passes or fails. What is asserted: that every street is
solved, and that memory grows no faster than the street.
"""

import subprocess
import sys
import tracemalloc
from dataclasses import replace
from math import log
from time import process_time

from lostneutral.case.model import Observation
from lostneutral.case.reader import parse_case
from lostneutral.circuit.states import before_and_after
from lostneutral.evidence.deduce import deduce
from lostneutral.evidence.where import where

SIZES = (10, 100, 1000, 5000)
MEMORY_OF = 300  #: premises; tracing memory takes its time
TEXT = """title = "street"
[supply]
earthing = "TN-C-S"
electrode = 2.0
line_impedance = [{source}, {reactance}]
[[group]]
name = "home"
count = {count}
electrode = 30.0
spacing = {{ line = [{spacing}, 0.0] }}
service = {{ line = [0.03, 0.0] }}
load = [
  {{ name = "stove", kind = "resistive", power = 1500, share = 0.5 }},
  {{ name = "lamps", kind = "lamp", power = 60 }},
]
[[break]]
feeding = "home joint {broken}"
"""
ELECTRONICS = """title = "street"
[supply]
line_impedance = [{source}, {reactance}]
[[group]]
name = "home"
count = {count}
spacing = {{ line = [{spacing}, 0.0] }}
service = {{ line = [0.03, 0.0] }}
load = [
  {{ name = "set", kind = "electronic", power = 100, front_end = "corrected" }},
  {{ name = "computer", kind = "electronic", power = 60, front_end = "corrected" }},
  {{ name = "lamps", kind = "lamp", power = 60, share = 0.5 }},
]
[[break]]
feeding = "home joint {broken}"
"""


def street(count, text=TEXT):
    """A street whose supply and main are made for its size: its lines drop as much whatever its length."""
    return parse_case(text.format(count=count, broken=count // 2, spacing=50 / count**2, source=10 / count, reactance=20 / count))


def seconds(work, rounds=3):
    times = []
    for _ in range(rounds):
        start = process_time()
        work()
        times.append(process_time() - start)
    return min(times)


def test_cost_of_a_street(benchmark, capsys):
    cases = {n: street(n) for n in SIZES}
    times = {n: seconds(lambda c=c: before_and_after(c), 2) for n, c in cases.items()}
    before, after = benchmark.pedantic(before_and_after, args=(cases[SIZES[-1]],), rounds=1)
    assert before.reached and after.reached and after.reached.residual < 1e-6
    code = "from time import process_time\nimport scipy.optimize, scipy.sparse.linalg\nprint(process_time())"
    imports = float(subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True).stdout)
    exponent = log(times[5000] / times[1000]) / log(5)
    benchmark.extra_info |= {"exponent from 1000 to 5000": exponent, "1000 over importing scipy": times[1000] / imports}
    with capsys.disabled():
        print(f"\n{', '.join(f'{n} premises {1e3 * t:.0f} ms' for n, t in times.items())}: cost grows as N^{exponent:.2f}; "
              f"1000 premises take {times[1000] / imports:.1f} times as long as importing scipy")


def test_cost_of_a_street_with_electronics(capsys):
    """Several states can hold on it."""
    times = {}
    for n in SIZES[1:3]:
        case = street(n, ELECTRONICS)
        start = process_time()
        after = before_and_after(case)[1]
        times[n] = process_time() - start
        assert sum(s.attracting for s in after.solutions) > 1 and not any(s.reached and not s.attracting for s in after.solutions)
        assert max(s.residual for s in after.solutions) < 1e-8
    start = process_time()
    before_and_after(street(1000))
    linear = process_time() - start
    with capsys.disabled():
        print(f"\nwith electronics: cost grows as N^{log(times[1000] / times[100]) / log(10):.2f} from 100 to 1000 premises; 1000 take "
              f"{times[1000] / linear:.1f} times as long as with one state")


def test_where_and_deduce_in_a_street(capsys):
    """What is asked of the evidence in a long street, as ratios to solving it once before and after the break."""
    for name, text, asked in (("stoves and lamps", TEXT, (where, deduce)), ("electronics", ELECTRONICS, (where,))):
        case = street(SIZES[-1], text)
        start = process_time()
        after = before_and_after(case)[1]
        once, state = process_time() - start, after.reached or after.solutions[0]
        case = replace(case, observations=tuple(reading(state, n) for n in (100, 400, 700, 900)))
        for ask in asked:
            start = process_time()
            found = ask(case)
            with capsys.disabled():
                print(f"\n{ask.__name__} in a street of {SIZES[-1]} premises, {name}: {(process_time() - start) / once:.0f} times as long as solving it")
            assert found
            assert ask is not where or not any("Not weighed" in note for note in found.notes)  # each cause has a state


def reading(state, n):
    """Return what stands at the premises numbered `n`, as read."""
    line = f"L{(n - 1) % 3 + 1}"
    return Observation(f"home {n}", (line, "N"), round(float(abs(state.between((f"home {n}", line), (f"home {n}", "N")))), 1), 3.0)


def test_memory_of_a_street(capsys):
    def peak(count):
        case = street(count)
        before_and_after(case)  # caches filled
        tracemalloc.start()
        before_and_after(case)
        held = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return held

    small, large = peak(MEMORY_OF // 10), peak(MEMORY_OF)
    with capsys.disabled():
        print(f"\npeak memory: {large / 1e6:.1f} MB for {MEMORY_OF} premises, {1e-3 * large / MEMORY_OF:.0f} kB for each")
    assert large / small < 10 * 1.5  # a dense matrix of the street would make it a hundred
