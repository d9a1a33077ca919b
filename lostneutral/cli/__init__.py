"""The command line: one file a command, each thin; the library does the work and never imports click.

A command file holds one click command, named `command`, and imports the library inside the function that runs, so
that `--help` stays instant. To add one: write the file, and name it in `COMMANDS`.
"""

from lostneutral.cli.interrupts import ending_at_once

COMMANDS = ("desk", "new", "check", "analyse", "follow", "report", "where", "bound", "deduce", "compare", "teach", "explore", "loads", "schema", "verify")

with ending_at_once():  # importing takes long enough to be interrupted
    from lostneutral.cli.shell import shell

shell.names = COMMANDS
main = shell
