"""`lostneutral check CASE`: every fault of a case file at once."""

import click

from lostneutral.cli.options import case_argument


@click.command()
@case_argument
def command(case):
    """Find every fault in CASE.

    Each comes with its place, what is allowed, and a suggestion. Nothing is computed.

    CASE is a case file, or - for standard input.
    """
    from lostneutral import read_case

    read = read_case(case)
    for warning in read.warnings:
        click.echo(f"Warning: {warning}", err=True)
    name = "standard input" if case == "-" else case
    counts = [f"{n} {word}{'s' * (n != 1)}" for n, word in ((len(read.loads), "load"), (len(read.breaks_after()), "break"))]
    click.echo(f"{name}: no faults; {', '.join(counts)}.", err=True)
