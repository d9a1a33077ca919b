"""How long the desk takes from a change to the new answer, as ratios to `analyse` of the same case in one run.

`python -m pytest -m benchmarks -n 0 -s tests/benchmarks/test_desk_speed.py` prints them. No time passes or fails. Kind: invariant.
"""

import asyncio
import time
from pathlib import Path

import pytest

from lostneutral import analyse, parse_case
from lostneutral.desk.answers import Answers
from lostneutral.desk.case import DeskCase
from lostneutral.desk.items import set_on, set_text
from lostneutral.desk.worker import Work

CASEBOOK = Path(__file__).parents[2] / "casebook"
CASES = ("corner-shop", "bakery", "hotel-kitchen", "farm-lane")
TIMES = 5


def timed(work, times=TIMES):
    """Return the shortest time of the processor (s) that `work()` takes: other work on the machine does not count."""
    taken = []
    for _ in range(times):
        start = time.process_time()
        work()
        taken.append(time.process_time() - start)
    return min(taken)


def changes(case):
    """Change the case as somebody does who types: a power, then a switch, for ever."""
    uid = case.entries("load")[0].uid
    for number in range(10**6):
        if number % 2:
            set_on(case, uid, "off" if number % 4 == 1 else "on")
        else:
            set_text(case, uid, "power", f"{100 + number} W")
        yield


@pytest.mark.parametrize("name", CASES)
def test_from_a_change_to_each_step_of_the_answer(name):
    case, work = DeskCase((CASEBOOK / f"{name}.toml").read_text("utf-8"), str(CASEBOOK / f"{name}.toml")), Work()
    change = changes(case)
    whole = timed(lambda: analyse(parse_case(case.text, case.name)), 2)
    work.near(case.text, case.name)

    def near():
        next(change)
        assert work.near(case.text, case.name)["items"]

    def checked():
        next(change)
        case.check()

    row = {"change and check": timed(checked), "first answer": timed(near)}
    if case.entries("observation"):
        row["places"] = timed(lambda: work.where(case.text, case.name), 1)
    print(f"\n{name}: analyse {whole:.2f} s; as ratios to it: " + ", ".join(f"{what} {t / whole:.3f}" for what, t in row.items()))
    assert row["first answer"] < whole


def test_from_a_key_to_the_answer_through_the_processes():
    async def course():
        case = DeskCase((CASEBOOK / "corner-shop.toml").read_text("utf-8"), str(CASEBOOK / "corner-shop.toml"))
        answers, change, taken = Answers(case), changes(case), []
        answers.begin()
        try:
            while answers.stale(answers.whole):
                await asyncio.sleep(0.02)
            for _ in range(TIMES):
                next(change)
                start = time.perf_counter()
                while answers.stale(answers.near):
                    await asyncio.sleep(0.005)
                near = time.perf_counter() - start
                while answers.stale(answers.whole):
                    await asyncio.sleep(0.02)
                taken.append((near, time.perf_counter() - start))
        finally:
            answers.close()
        return [min(column) for column in zip(*taken)]

    near, whole = asyncio.run(course())
    alone = timed(lambda: analyse(parse_case((CASEBOOK / "corner-shop.toml").read_bytes(), str(CASEBOOK / "corner-shop.toml"))), 2)
    print(f"\nthrough the processes: first answer {near:.2f} s, whole {whole:.2f} s; as ratios to analyse alone ({alone:.2f} s): "
          f"{near / alone:.3f}, {whole / alone:.3f}")
    assert near < whole
