"""`lostneutral verify`: published figures, and what this installation of the program calculates for each."""

import click

from lostneutral.cli.options import file_option, force_option


@click.command()
@file_option("-o", "--output", text="Also write the record as a PDF to be signed; - sends only this to standard output.")
@click.option("--checks", metavar="FILE", type=click.Path(allow_dash=True), help="Also run your own checks, a TOML file.")
@force_option
@click.pass_context
def command(context, output, checks, force):
    """Check this installation against published figures.

    Calculates published examples, tables and curves, and prints each figure with its source, the value calculated, the
    difference and the tolerance. Ends with exit code 1 if a figure does not agree.
    """
    from lostneutral.cli.output import check_outputs, show_caution, show_text, write
    from lostneutral.report.base.files import read_file
    from lostneutral.report.verification import rows
    from lostneutral.report.verification.text import verification_text
    from lostneutral.verify.checks import own_checks, topics
    from lostneutral.verify.run import run_checks

    check_outputs(checks if checks != "-" else None, force, output)
    own = None if checks is None else read_file(checks)
    added = () if own is None else (own_checks(own, "<stdin>" if checks == "-" else checks),)
    runs = run_checks((*topics(), *added))
    if output:
        from lostneutral.report.verification.record import record_pdf

        write({output: record_pdf(runs, own)}, force)
    if output != "-":
        show_text(lambda colour, width: verification_text(runs, colour, width))
        show_caution()
    if rows.failed_checks(runs):
        context.exit(1)
