"""What calculates for the desk in a process of its own, so that nothing there ever keeps somebody from typing.

`serve` takes jobs from a pipe, one at a time: (kind, text of the case, name of its file, arguments). It answers with
("done", value), ("failed", words) or, on the way, ("progress", share). Results are kept for the next job on the same text.
"""

import os

from lostneutral.desk.store import without_folders

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy: the systems are small, and other processes work beside

MOST_KEPT = 4


class Work:
    """The jobs, each a method; what one worked out is there for the next."""

    def __init__(self, progress=lambda share: None):
        self.progress = progress
        self.known = None  #: the last settled result that was followed
        self.kept: dict[str, object] = {}  #: text of a case -> its whole result
        self.full: dict[str, object] = {}  #: the same, with all that a report has

    def near(self, text, name):
        """Return what the settled state beside the last one comes to, or None where there is none."""
        from lostneutral import parse_case
        from lostneutral.analysis import analyse_near
        from lostneutral.desk.told import told

        found = analyse_near(parse_case(text, name), self.known)
        self.known = found or self.known
        return found and told(found)

    def whole(self, text, name):
        """Return what the whole calculation comes to."""
        from lostneutral.desk.told import told

        return told(self.result(text, name))

    def where(self, text, name):
        """Return the places that the observations support."""
        from lostneutral import parse_case
        from lostneutral import where as places
        from lostneutral.desk.told import where_told

        case = parse_case(text, name)
        return where_told(case, places(case))

    def deduce(self, text, name):
        """Return how far the observations support each kind of cause."""
        from lostneutral import parse_case
        from lostneutral.desk.told import deduction_told

        return deduction_told(self.deduction(parse_case(text, name)))

    def document(self, text, name, wanted):
        """Return a document of the case by its key; "archive" is all of them."""
        from lostneutral.desk.documents import archive, make

        return archive(self, text, name) if wanted == "archive" else make(self, text, name, wanted)

    def result(self, text, name):
        """Return the whole result of a text."""
        from lostneutral import analyse, parse_case

        if text not in self.kept:
            while len(self.kept) >= MOST_KEPT:
                del self.kept[next(iter(self.kept))]
            self.kept[text] = analyse(parse_case(text, name))
        return self.kept[text]

    def reported(self, text, name):
        """Return the result with all that a report has: ranges where something is unknown, causes where something was seen."""
        from lostneutral.evidence.answers import with_answers

        if text in self.full:
            return self.full[text]
        result = with_answers(self.result(text, name), weighed=self.deduction)
        self.full = {text: result}
        return result

    def deduction(self, case):
        from lostneutral.evidence.deduce import deduce, work

        total, done = max(work(case), 1), 0

        def tick(number=1):
            nonlocal done
            done += number
            self.progress(min(done / total, 1.0))

        return deduce(case, tick=tick)


def serve(pipe, background: bool = False) -> None:
    """Do jobs until the pipe closes; in the `background` what somebody waits for at once goes first."""
    import signal

    from lostneutral.errors import LostNeutralError

    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the desk, which ends its workers itself
    if background and hasattr(os, "nice"):
        os.nice(5)
    work = Work(lambda share: pipe.send(("progress", share)))
    while True:
        try:
            kind, arguments = pipe.recv()
        except (EOFError, OSError):
            return
        try:
            answer = ("done", getattr(work, kind)(*arguments))
        except LostNeutralError as error:
            answer = ("failed", without_folders(str(error)))
        except Exception as error:  # noqa: BLE001 - the desk says that it is ours, and goes on
            answer = ("broken", without_folders(f"{type(error).__name__}: {' '.join(str(error).split())[:200]}"))
        try:
            pipe.send(answer)
        except (BrokenPipeError, OSError):
            return
