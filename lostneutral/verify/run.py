"""What the program works out for each check, and how that stands to the figure printed."""

from collections.abc import Iterable, Iterator

from lostneutral.errors import LostNeutralError
from lostneutral.frozen import dataclass
from lostneutral.verify.asked import QUESTIONS
from lostneutral.verify.checks import CheckEntry, Topic, given_of
from lostneutral.verify.printed import Agreement, compare


@dataclass(frozen=True)
class Compared:
    """One printed figure. Of a trap `printed` is the figure in circulation that is wrong, and passes if it does not come out."""

    check: CheckEntry
    what: str
    printed: str
    found: Agreement
    trap: bool = False

    @property
    def passed(self) -> bool:
        return self.found.agrees is not self.trap and self.found.computed != "no figure"

    @property
    def word(self) -> str:
        return ("does not come out" if self.trap else "pass") if self.passed else "FAIL: it comes out" if self.trap else "FAIL"

    @property
    def asked(self) -> str:
        """What was asked, in words."""
        return QUESTIONS[self.check.ask].said(self.what)


@dataclass(frozen=True)
class Run:
    """All outcomes of a topic."""

    topic: Topic
    outcomes: tuple[Compared, ...]


def run_checks(topics: Iterable[Topic]) -> tuple[Run, ...]:
    """Return what comes out for every check of `topics`."""
    return tuple(Run(topic, tuple(o for check in topic.checks for o in compared(check))) for topic in topics)


def compared(check: CheckEntry) -> Iterator[Compared]:
    """Yield an Outcome for each figure of `check`, the wrong ones in circulation after the right ones."""
    try:
        answer = QUESTIONS[check.ask].make(**given_of(check))
    except (LostNeutralError, ValueError, LookupError, ArithmeticError) as error:
        answer, reason = None, " ".join(str(error).split())[:200]
    for what, printed, trap in [*((w, p, False) for w, p in check.printed.items()),
                                *((w, p, True) for w, p in (check.wrong or {}).items())]:
        if answer is None:
            yield Compared(check, what, printed, Agreement("no figure", reason, "–", False), trap)
            continue
        try:
            found = compare(answer(what), printed, check.within, check.zeros)
        except (LostNeutralError, ValueError, LookupError, ArithmeticError, AttributeError) as error:
            found = Agreement("no figure", " ".join(str(error).split())[:200], "–", False)
        yield Compared(check, what, printed, found, trap)
