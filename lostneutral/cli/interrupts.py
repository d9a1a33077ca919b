"""What Ctrl-C does: end at once while there is nothing to tidy up, stop the work and tidy up after that."""

import signal
from contextlib import contextmanager


@contextmanager
def ending_at_once():
    """Let Ctrl-C end the process without a traceback while there is nothing to tidy up: as the program loads, and after its work."""
    before = interrupts(signal.SIG_DFL)
    try:
        yield
    finally:
        interrupts(before)


def interrupts(handler):
    """Set what Ctrl-C does, and return what it did; nothing in a thread, which has no say in it."""
    try:
        return signal.signal(signal.SIGINT, handler) if handler is not None else None
    except ValueError:
        return None
