"""What a report has beside its result: ranges where something is unknown, causes where something was seen."""

from collections.abc import Callable
from dataclasses import replace

from lostneutral.case.model import Case
from lostneutral.consequences.cautions import open_cautions
from lostneutral.errors import LostNeutralError
from lostneutral.evidence.deduce import deduce
from lostneutral.evidence.deduction import Deduction
from lostneutral.evidence.places import MOST_RUNS
from lostneutral.evidence.ranges import Ranges, ranges
from lostneutral.result import Result
from lostneutral.studies.recorded import all_observations

TAKES_LONG = "This takes long in wiring of this size, and was not asked for."


def with_answers(result: Result, sampled: Callable[[Case], Ranges] = ranges,
                 weighed: Callable[[Case], Deduction] = deduce) -> Result:
    """Return `result` with the ranges and causes that its case asks for, or `not_weighed`: why there are no causes.

    `sampled` and `weighed` give them; a caller that shows progress has its own.
    """
    case = result.case
    if case.unknowns:
        result = replace(result, ranges=sampled(case), cautions=open_cautions(case))
    if not (all_observations(case) and (case.unknowns or case.priors)):
        return result
    if len(case.points) > MOST_RUNS:
        return replace(result, not_weighed=TAKES_LONG)
    try:
        return replace(result, deduction=weighed(case), cautions=open_cautions(case))
    except LostNeutralError as error:
        return replace(result, not_weighed=str(error))
