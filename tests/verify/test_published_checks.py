"""Every figure of the checks in the data files, as printed; `lostneutral verify` runs the same table.

Kind of every row: as its `known` says (published; from memory where M; independent or arithmetic where D).
"""

from functools import cache

import pytest

from lostneutral.verify.checks import TOPICS, topic
from lostneutral.verify.run import compared

CHECKS = {(name, check.id): check for name in TOPICS for check in topic(name).checks}


@cache
def found(name, check):
    return {(o.what, o.trap): o for o in compared(CHECKS[name, check])}


ROWS = [(name, check.id, what, trap) for (name, _), check in CHECKS.items()
        for trap, figures in ((False, check.printed), (True, check.wrong or {})) for what in figures]


@pytest.mark.parametrize("name, check, what, trap", ROWS, ids=[f"{n}-{c}-{w}{'-wrong' * t}" for n, c, w, t in ROWS])
def test_figure_as_printed(name, check, what, trap):
    outcome = found(name, check)[what, trap]
    assert outcome.passed, (outcome.printed, outcome.found)


def test_there_are_hundreds_and_traps_among_them():
    assert len(ROWS) > 800 and sum(trap for *_, trap in ROWS) >= 10


@pytest.mark.parametrize("name", TOPICS)
def test_every_check_says_what_it_rests_on(name):
    checks = topic(name).checks
    assert len({check.id for check in checks}) == len(checks)
    assert all(check.source and check.known for check in checks)
    assert all(check.why for check in checks if check.within)
