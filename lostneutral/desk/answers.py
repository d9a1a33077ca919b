"""The answer beside what is typed: in steps, each marked by the revision of the case that it belongs to.

At once what the settled state beside the last one comes to, then the whole calculation and, beside it, the places that the
observations support; the comparison of causes when it is asked for. What belongs to an earlier revision is `stale`: it may
be shown only with words that say so.
"""

import asyncio
from collections.abc import Callable
from dataclasses import field

from lostneutral.desk.case import DeskCase
from lostneutral.desk.lanes import Failed, Lane, Superseded
from lostneutral.frozen import dataclass
from lostneutral.studies.recorded import all_observations

QUIET = 0.08  #: s without a change before the first step begins
SETTLED = 0.25  #: s more before the long ones do


@dataclass()
class Part:
    """One step of the answer: what it came to, for which revision, and whether it is being worked out."""

    value: object = None
    revision: int = 0  #: 0: never yet
    working: bool = False
    failed: str = ""  #: why there is none for the revision
    progress: float = 0.0


@dataclass()
class Answers:
    """The parts of the answer to the present case; `listeners` are told whenever one changes."""

    case: DeskCase
    near: Part = field(default_factory=Part)
    whole: Part = field(default_factory=Part)
    where: Part = field(default_factory=Part)
    deduce: Part = field(default_factory=Part)
    listeners: list[Callable[[], None]] = field(default_factory=list)

    version: int = 0  #: grows with every change of a part

    def __post_init__(self):
        self.lanes = {"near": Lane(), "whole": Lane(background=True), "where": Lane(background=True)}
        self._task: asyncio.Task | None = None
        self._deducing: asyncio.Task | None = None
        self.case.listeners.append(self.begin)

    def stale(self, part: Part) -> bool:
        """Return whether `part` is not of the present entries."""
        return part.revision != self.case.revision

    def begin(self) -> None:
        """Work the answer out anew; what is running for an earlier revision is ended."""
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            return  # without a loop (in tests of the case alone) nobody waits for an answer
        for task in (self._task, self._deducing):
            if task is not None:
                task.cancel()
        for name in ("whole", "where"):
            self.lanes[name].end()
        self._task = loop.create_task(self._follow())

    async def _follow(self):
        revision = self.case.revision
        await asyncio.sleep(QUIET)
        checked = self.case.check()
        if checked.case is None:
            for part in (self.near, self.whole, self.where):
                part.working, part.failed = False, "faults"
            return self._tell()
        text, name = checked.text, self.case.name
        await self._step("near", self.near, revision, text, name)
        await asyncio.sleep(SETTLED)
        steps = [self._step("whole", self.whole, revision, text, name)]
        if all_observations(checked.case):
            steps.append(self._step("where", self.where, revision, text, name))
        else:
            self.where.value, self.where.revision, self.where.working = None, revision, False
        await asyncio.gather(*steps)

    async def _step(self, kind, part, revision, *arguments, lane=None, progress=None):
        part.working, part.failed, part.progress = True, "", 0.0
        self._tell()
        try:
            value = await self.lanes[lane or kind].run(kind, *arguments, progress=progress)
        except Superseded:
            return
        except Failed as error:
            if revision == self.case.revision:
                part.working, part.failed, part.revision, part.value = False, str(error), revision, None
                self._tell()
            return
        except asyncio.CancelledError:
            part.working = False
            raise
        if revision == self.case.revision:
            part.value, part.revision, part.working = value, revision, False
            self._tell()

    async def compare(self) -> None:
        """Compare the possible causes for the present entries, with progress; a change ends it."""
        checked = self.case.check()
        if checked.case is None:
            return
        loop = asyncio.get_running_loop()

        def progress(share):
            def told():
                self.deduce.progress = share
                self._tell()

            loop.call_soon_threadsafe(told)

        self._deducing = loop.create_task(self._step("deduce", self.deduce, self.case.revision, checked.text, self.case.name,
                                                     lane="where", progress=progress))
        await asyncio.gather(self._deducing, return_exceptions=True)

    async def document(self, wanted: str, progress: Callable[[float], None] | None = None) -> bytes:
        """Return a document of the present case by its key ("archive": all). LostNeutralError where there cannot be one."""
        checked = self.case.check()
        if checked.case is None:
            raise Failed("The case has faults; they stand at their fields. No document was made.")
        try:
            return await self.lanes["whole"].run("document", checked.text, self.case.name, wanted, progress=progress)
        except Superseded:
            raise Failed("The case was changed meanwhile. Ask for the document again.") from None

    def close(self) -> None:
        for lane in self.lanes.values():
            lane.close()

    def _tell(self):
        self.version += 1
        for tell in tuple(self.listeners):
            tell()


