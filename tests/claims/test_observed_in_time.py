"""An observation is held against the stage of its time. Published star of 100, 200, 300 W: 289.4, 239.4, 175.7 V without neutral, 230 V with it."""

import pytest

from lostneutral import analyse, parse_case
from lostneutral.claims.model import Kind, Rank

CASE = 'title = "t"\nbreak = []\n[supply]\n[[point]]\nname = "house"\n[course]\nend = 60\n[[event]]\ntime = 10\nbreak = "house"\n' + "".join(
    f'[[load]]\nname = "Item {n}"\nkind = "resistive"\nconnect = "L{n}-N"\npower = {n}00\n' for n in (1, 2, 3))
READ = {"L1-N": (288, 230.0, 289.4), "L3-N": (231, 230.0, 175.7)}  # read, there before the break, there after it
TIMES = (None, 0.0, 5.0, 9.99, 10.0, 30.0, 1e6)


@pytest.fixture(scope="module")
def told():
    seen = "".join(f'[[observation]]\nbetween = "{between}"\nvoltage = {read}\nuncertainty = 2\n' + ("" if time is None else f"time = {time}\n")
                   for between, (read, _, _) in READ.items() for time in TIMES)
    claims = analyse(parse_case(CASE + seen)).claims
    return {c.facts["number"]: c for c in claims if c.kind is Kind.OBSERVED}


def test_each_reading_is_held_against_its_own_stage(told):
    found = [told[number] for number in sorted(told)]
    assert [c.about.name for c in found] == [between for between in READ for _ in TIMES]
    for claim, time in zip(found, TIMES * 2):
        read, before, after = READ[claim.about.name]
        there = before if time is not None and time < 10 else after
        assert claim.facts["read"] == read and claim.value == pytest.approx(there, abs=0.05)
        assert claim.span == pytest.approx((there, there), abs=0.05)
        assert claim.facts["agrees"] is (abs(read - there) <= 4) and claim.rank is (Rank.NOTE if claim.facts["agrees"] else Rank.WARNING)


@pytest.mark.parametrize(("own", "sigma", "agrees"), [('bound = "about"', 26.0, True), ("", 5.57, False), ('bound = "about"\nuncertainty = 2', 2.0, False)])
def test_about_means_the_same_where_it_is_compared_as_where_it_is_weighed(own, sigma, agrees):
    # documented: about is 10 % unless an uncertainty is given; 260 V is 29.4 V beside the published voltage
    claims = analyse(parse_case(CASE + f'[[observation]]\nbetween = "L1-N"\nvoltage = 260\n{own}\n')).claims
    (claim,) = (c for c in claims if c.kind is Kind.OBSERVED)
    assert claim.facts["sigma"] == pytest.approx(sigma, rel=1e-3) and claim.facts["agrees"] is agrees
