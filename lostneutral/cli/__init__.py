"""The command line: one file a command, each thin; the library does the work and never imports click.

A command file holds one click command, named `command`, and imports the library inside the function that runs, so
that `--help` stays instant. To add one: write the file, and name it in `COMMANDS`.
"""

import atexit
import gc

from lostneutral.cli.interrupts import ending_at_once

COMMANDS = ("desk", "new", "check", "analyse", "follow", "report", "where", "bound", "deduce", "compare", "teach", "explore", "loads", "schema", "verify")

# What importing makes stays, to the end: to look through it for garbage again and again, and once more at the end, where memory is
# given back in any case, takes a fifth of the time of a small case.
gc.set_threshold(200_000)
atexit.register(gc.freeze)

with ending_at_once():  # importing takes long enough to be interrupted
    from lostneutral.cli.shell import shell

shell.names = COMMANDS
main = shell
