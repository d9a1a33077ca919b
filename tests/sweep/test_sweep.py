"""Cases drawn at random keep every rule of `rules.RULES`; `SWEEP=500 python -m pytest tests/sweep` takes more of them.

Kind of each check: beside the rule. That nothing crashes and every reader's report can be put together is an invariant.
"""

import os

import pytest
from case_generator import random_case
from claim_rules import CLAIM_RULES
from daily import daily
from drawn import unwritten
from renderings import renderings
from rules import RULES

from lostneutral import analyse, parse_case
from lostneutral.report.documents.document import AUDIENCES, report_pdf

CASES = int(os.environ.get("SWEEP", "12"))
SET_AS_PDF = 12  #: one in so many is set as PDF, for the readers in turn


@pytest.mark.parametrize("seed", daily(range(CASES), (0, 4, 8, 11) if CASES == 12 else range(CASES)))
def test_a_case_drawn_at_random_keeps_the_rules(seed):
    result = analyse(parse_case(random_case(seed)))
    with unwritten():  # no word changes by it, and most of the time of a report goes there
        texts = renderings(result)
    faults = [f"{rule.__name__}: {fault}" for rule in (*RULES, *CLAIM_RULES) for fault in rule(result, texts)]
    assert not faults, "\n".join([f"seed {seed}:", *faults])
    if seed % SET_AS_PDF == 0:
        assert report_pdf(result, AUDIENCES[seed // SET_AS_PDF % len(AUDIENCES)]).startswith(b"%PDF")


def test_the_same_seed_draws_the_same_case():
    assert random_case(7) == random_case(7) != random_case(8)
