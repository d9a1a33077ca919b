"""Processes that calculate beside the desk, each one job at a time; a job that is no longer wanted is ended at once."""

import asyncio
import multiprocessing
import sys
import threading
from collections.abc import Callable

from lostneutral.errors import LostNeutralError

PRELOADED = ["lostneutral.desk.worker", "lostneutral.desk.told", "lostneutral.analysis", "lostneutral.circuit.states"]


class Superseded(Exception):
    """The job was ended because nobody wants its answer any more."""


class Failed(LostNeutralError):
    """The job ended with words for the reader."""


class Lane:
    """One process; `run` gives it a job, `end` takes it away from it."""

    def __init__(self, background: bool = False):
        self._background = background
        self._pipe = self._process = None
        self._busy = threading.Lock()
        self._ended = 0

    async def run(self, kind: str, *arguments, progress: Callable[[float], None] | None = None):
        """Return what the job comes to. Raises Failed with words, Superseded where it was ended."""
        return await asyncio.to_thread(self._run, kind, arguments, progress)

    def _run(self, kind, arguments, progress):
        ended = self._ended
        with self._busy:
            if ended != self._ended:
                raise Superseded
            try:
                self._start()
                if ended != self._ended:
                    raise Superseded
                self._pipe.send((kind, arguments))
                while True:
                    what, value = self._pipe.recv()
                    if what != "progress":
                        break
                    if progress:
                        progress(value)
            except (EOFError, OSError):
                self._pipe = self._process = None
                if ended != self._ended:
                    raise Superseded from None
                raise Failed("The calculation ended unexpectedly; change something, or save the case and start the desk again."
                             ) from None
        if what == "done":
            return value
        raise Failed(value if what == "failed" else f"This is an internal error of lostneutral, not an error in the case: {value}")

    def _start(self):
        if self._process is not None and self._process.is_alive():
            return
        context = _context()
        from lostneutral.desk.worker import serve

        ours, theirs = context.Pipe()
        process = context.Process(target=serve, args=(theirs, self._background), daemon=True)
        process.start()
        theirs.close()
        self._pipe, self._process = ours, process

    def end(self) -> None:
        """End the job that is running, if any; whoever waits for it gets Superseded."""
        self._ended += 1
        process = self._process
        if self._busy.locked() and process is not None:
            process.kill()

    def close(self) -> None:
        self._ended += 1
        if self._process is not None:
            self._process.kill()


def _context():
    if sys.platform == "win32":
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(PRELOADED)
    return context
