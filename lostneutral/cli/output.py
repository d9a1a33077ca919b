"""Where results go: standard output or a file, with colour only where it is wanted."""

import os
import shutil
import sys
from contextlib import contextmanager

from lostneutral.errors import UsageError
from lostneutral.report.base.files import check_free, write_file

WIDEST = 120  #: columns; longer lines are hard to read


def check_output(file, case, force):
    """Raise UsageError if `file` cannot be written, before the work of computing what goes into it."""
    if file != "-":
        check_free(file, force, keep=case)


def write(file, content: bytes, force=False):
    """Write `content` to `file`, or to standard output if that is "-"."""
    if file == "-":
        _stdout().buffer.write(content)
    else:
        write_file(file, content, force)


def show_text(render):
    """Print what `render(colour, width)` returns for a reader at the terminal, in whatever characters it has."""
    text = render(_colour(_stdout()), min(shutil.get_terminal_size().columns, WIDEST))
    _stdout().buffer.write(text.encode(_stdout().encoding or "utf-8", "replace"))


@contextmanager
def working(what):
    """Say at a terminal, on standard error, what is being worked on, until it is done."""
    if sys.stderr is None or not sys.stderr.isatty():
        yield
        return
    print(f"{what} …", end="", file=sys.stderr, flush=True)
    try:
        yield
    finally:
        print("\r" + " " * (len(what) + 2) + "\r", end="", file=sys.stderr, flush=True)


def show_caution():
    """Print one short caution, for outputs that belong to no result."""
    from lostneutral.consequences.cautions import one_caution

    show_text(lambda colour, width: f"\nCaution: {one_caution()}\n")


def _stdout():
    if sys.stdout is None:
        raise UsageError("standard output is closed — leave it open, or give a file to write to")
    return sys.stdout


def _colour(stream):
    """Return whether escape codes are wanted: at a terminal that can show them, unless NO_COLOR is set."""
    return stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
