"""Where results go: standard output or a file, with colour only where it is wanted."""

import os
import shutil
import sys
from contextlib import contextmanager

from lostneutral.errors import UsageError
from lostneutral.report.base.files import check_free, write_files

WIDEST = 120  #: columns; longer lines are hard to read


def check_outputs(case, force, *files):
    """Return those of `files` that are asked for (not None); UsageError, before the work of computing what goes into them, if one cannot be
    written, two have one name, or two would go to standard output ("-")."""
    asked = [file for file in files if file]
    if asked.count("-") > 1:
        raise UsageError("standard output takes one result at a time — give a file name for the other")
    places = set()
    for file in (file for file in asked if file != "-"):
        check_free(file, force, keep=case)
        place = os.path.realpath(file)
        if place in places:
            raise UsageError(f"{file}: two results cannot go into one file — give each its own name")
        places.add(place)
    return asked


def write(made, force=False):
    """Write `made`, {file: its bytes}, to the files, or to standard output where one is "-": all of them, or none."""
    straight = _stdout().buffer if "-" in made else None
    write_files({file: content for file, content in made.items() if file != "-"}, force)
    if straight:
        straight.write(made["-"])


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
