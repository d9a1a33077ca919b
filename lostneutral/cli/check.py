"""`lostneutral check CASE`: every error of a case file at once."""

import click

from lostneutral.cli.options import case_argument


@click.command()
@case_argument
def command(case):
    """Check CASE for errors.

    Each error is given with its line, the permitted values and a suggestion. Nothing is calculated.

    CASE is a case file, or - for standard input.
    """
    from lostneutral import read_case
    from lostneutral.cli.output import show_caution

    read = read_case(case)
    for warning in read.warnings:
        click.echo(f"Warning: {warning}", err=True)
    name = "standard input" if case == "-" else case
    counts = [f"{n} {word}{'s' * (n != 1)}" for n, word in ((len(read.loads), "load"), (len({b.place for b in read.breaks_ever() if b.resistance}), "break"))]
    click.echo(f"{name}: no errors in the file; {', '.join(counts)}.", err=True)
    show_caution()
