"""What screen and record share: rows of outcomes, counts by topic, known limits."""

from typing import TYPE_CHECKING

from lostneutral import data
from lostneutral.consequences.limits import cite
from lostneutral.data import KNOWN

if TYPE_CHECKING:
    from lostneutral.verify.checks import CheckEntry
    from lostneutral.verify.run import Compared, Run

HEAD = ("Asked", "Printed", "Calculated", "Difference", "Tolerance", "Result")
WHAT_IT_SAYS = ("It says that the program, as it is on this machine, calculates these figures as they are printed. It does not say "
                "that a case describes an installation as it is.")


def by_check(run: "Run"):
    """Yield the outcomes of one check after the other."""
    groups = {}
    for outcome in run.outcomes:
        groups.setdefault(outcome.check.id, []).append(outcome)
    yield from groups.values()


def source(check: "CheckEntry") -> tuple[str, str]:
    """Return (source, edition, place, how known, why the tolerance is wider; what is given), as text."""
    place = ", ".join(text for text in (check.source, check.edition, check.place) if text)
    words = f"{place} ({KNOWN.get(check.known, 'not stated')})"
    words += f"; tolerance: {check.why}" if check.within and check.why else ""
    given = [f"{name.replace('_', ' ')} {', '.join(map(str, value)) if isinstance(value, list) else value}" for name, value in check.given.items()]
    if check.case_of:
        given.append(f"the case of {check.case_of}")
    elif check.case:
        given.append(" ".join(check.case.split()))
    return words, "; ".join(given) or "–"


def row(outcome: "Compared") -> tuple[str, ...]:
    """Return the cells of one outcome, under `HEAD`."""
    printed = f"{outcome.printed} (wrong)" if outcome.trap else outcome.printed
    return (outcome.asked, printed, outcome.found.computed, outcome.found.difference, outcome.found.tolerance, outcome.word)


def count_rows(runs) -> list[tuple[str, ...]]:
    """Return (topic, figures, pass, fail, not looked up, traps) by topic, and of all."""
    made = [(run.topic.title, *_counts(run.outcomes)) for run in runs]
    every = [o for run in runs for o in run.outcomes]
    return [*((name, *map(str, counts)) for name, *counts in made), ("All", *map(str, _counts(every)))]


COUNT_HEAD = ("Topic", "Figures", "Pass", "Fail", "Not looked up", "Traps")


def _counts(outcomes):
    return (len(outcomes), sum(o.passed for o in outcomes), sum(not o.passed for o in outcomes),
            sum(o.check.known == "M" for o in outcomes), sum(o.trap for o in outcomes))


def failed_checks(runs) -> "list[Compared]":
    return [o for run in runs for o in run.outcomes if not o.passed]


def limit_rows() -> list[tuple[str, ...]]:
    """Return (model, range, beyond it, source) of every known limit."""
    return [(entry["of"], entry["range"], entry["beyond"], f"{cite(entry)}; {data.KNOWN[entry['known']]}")
            for entry in data.load("known_limits")["limit"]]


LIMIT_HEAD = ("Model", "Checked range", "Beyond it", "Source")


def how_many_agree(runs) -> str:
    """Return the sentence that says how many figures came out."""
    every, failed = sum(len(run.outcomes) for run in runs), len(failed_checks(runs))
    if failed:
        return f"{failed} of {every} figures do not agree with what is printed. Do not rely on this installation of the program."
    return f"All {every} figures agree with what is printed, to the tolerance beside each."
