"""`python -m lostneutral`: the same as the command `lostneutral`."""

from lostneutral.cli import main

main()
