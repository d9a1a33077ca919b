"""How long many samples take, as ratios in one run: to a loop of a library's root finder, and to the load laws alone.

Ratios go to pytest-benchmark's extra_info and are printed; no time passes or fails. What is asserted: that loop and
arrays give the same answers, and that memory is bounded by chunks. Last, how many effective samples of the leading cause
`deduce` comes to in a second of the processor, which is no more than a note of the machine that it ran on.
"""

import time
import tracemalloc
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import root

from lostneutral.case import parse_case, read_case
from lostneutral.circuit import many
from lostneutral.circuit.network import network
from lostneutral.circuit.wiring import wiring
from lostneutral.evidence.deduce import deduce
from lostneutral.evidence.ranges import ranges
from lostneutral.evidence.sampling import draw, solve
from lostneutral.loads import load_model

LOADS = (("lamp", 60, 1), ("lamp", 100, 2), ("lamp", 40, 3), ("lamp", 75, 1), ("heater", 2000, 2), ("heater", 1200, 3),
         ("heater", 800, 1), ("resistive", 100, 3), ("resistive", 500, 2), ("resistive", 1500, 1))
CASE = parse_case('title = "ten loads"\n[supply]\n' + "".join(
    f'[[load]]\nname = "{k}"\nkind = "{kind}"\npower = {power}\nconnect = "L{line}-N"\n[[unknown]]\nload = "{k}"\non = 0.6\n'
    for k, (kind, power, line) in enumerate(LOADS)))
SIZE, LOOPED = 100_000, 30
CASEBOOK = Path(__file__).parents[2] / "casebook"


@pytest.fixture(scope="module")
def run():
    """Seconds of 20 000 and of all samples, seconds of these in the load laws, and the answer."""
    inside, law = [0.0], many._Bench.response
    sizes, seconds = (SIZE // 5, SIZE), []

    def timed(bench, magnitude):
        start = time.perf_counter()
        answer = law(bench, magnitude)
        inside[0] += time.perf_counter() - start
        return answer

    many._Bench.response = timed
    try:
        solve(draw(CASE, 1000, 1))
        for size in sizes:
            inside[0], start = 0.0, time.perf_counter()
            found = solve(draw(CASE, size, 1))
            seconds.append(time.perf_counter() - start)
    finally:
        many._Bench.response = law
    assert found.solved.all()
    return seconds, inside[0], found


def looped(found):
    """Seconds of a library's root finder for each sample, on the same equations from the same start; and its answers."""
    net, on = network(wiring(CASE, CASE.breaks)), found.on[:LOOPED]
    one = np.flatnonzero(on.any(axis=1))  # where nothing is on there is nothing to solve
    answers, start = [], time.perf_counter()
    for sample in one:
        count = on[sample].astype(float)

        def sums(x, count=count):
            v = net.all_voltages(x[:1] + 1j * x[1:])
            u = net.across(v)
            total = -(net.response(np.abs(u))[0] * count * u).sum()
            return [total.real, total.imag]

        answer = root(sums, [1.0, 1.0])
        answers.append(complex(*answer.x) if answer.success else np.nan)
    return (time.perf_counter() - start) / len(one), one, np.array(answers)


def test_samples_against_a_loop_and_against_the_laws_alone(run, benchmark, capsys):
    # independent: the loop's answers are those of scipy.optimize.root
    (fifth, seconds), laws, found = run
    each, which, answers = benchmark.pedantic(lambda: looped(found), rounds=1)
    ours = found.nodes["intake", "N"][which]
    good = np.isfinite(answers) & np.isfinite(ours)
    assert good.sum() > 20
    assert ours[good] == pytest.approx(answers[good], abs=1e-3)
    ratios = {"loop over arrays": each * SIZE / seconds, "arrays over laws alone": seconds / laws,
              "five times the samples": seconds / fifth}
    benchmark.extra_info.update(ratios)
    with capsys.disabled():
        print(f"\n{SIZE} samples of ten loads: " + ", ".join(f"{name} {ratio:.3g}" for name, ratio in ratios.items()))


def test_memory_is_bounded_by_chunks(capsys):
    # invariant: beyond one chunk only what is kept of each sample grows: 8 bytes a number, in pieces and joined
    sizes, peaks = (4096, 12_288), []
    for size in sizes:
        tracemalloc.start()
        ranges(CASE, size)
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    numbers = 32  # kept of each sample: ten places in the unknowns' laws, ten loads, three lines, the star point …
    with capsys.disabled():
        print(f"\npeak memory {peaks[0] / 1e6:.0f} MB for {sizes[0]} samples, {peaks[1] / 1e6:.0f} MB for {sizes[1]}")
    assert peaks[1] - peaks[0] < 4 * 8 * numbers * (sizes[1] - sizes[0])


COMPARED = ("village-hall", "boat-shed", "mill-cottage", "dairy-farm", "corner-shop", "block-riser")


@pytest.mark.parametrize("name", COMPARED)
def test_effective_samples_of_the_leading_cause(name, benchmark, capsys):
    case, start = read_case(CASEBOOK / f"{name}.toml"), time.process_time()
    found = benchmark.pedantic(lambda: deduce(case), rounds=1)
    seconds = time.process_time() - start
    first = next(w for w in found.rivals if np.isfinite(w.effective))
    law = load_model(replace(case.loads[0], on=True), case.supply)[0]
    volts, begun = np.linspace(50.0, 400.0, 100_000), time.process_time()
    law.response(volts)
    laws = (time.process_time() - begun) / len(volts)
    ratios = {"effective samples": first.effective, "an effective sample over a thousand load laws": seconds / first.effective / laws / 1000}
    benchmark.extra_info.update(ratios)
    with capsys.disabled():
        print(f"\n{name}: {seconds:.1f} s of the processor, {first.effective / seconds:.0f} effective samples a second, "
              + ", ".join(f"{key} {value:.3g}" for key, value in ratios.items()))
    assert found.complete and first.effective > 100  # practice: fewer say nothing of a 5 % end
