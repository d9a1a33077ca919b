"""`lostneutral report CASE`: the answer as a PDF."""

from pathlib import Path

import click

from lostneutral.cli.options import case_argument, force_option, waveforms_option


@click.command()
@case_argument
@click.option("-o", "--output", metavar="FILE", type=click.Path(allow_dash=True),
              help="The PDF to write, or - for standard output; default: reports/ and the case's name.")
@click.option("--for", "audience", type=click.Choice(["client", "trainer", "investigator"]), default="client",
              show_default=True, help="Whom it is for: changes depth and order, never a figure or a caution.")
@waveforms_option
@force_option
def command(case, output, audience, waveforms, force):
    """Write what CASE comes to as a PDF report.

    A case with events is followed in time too; one with unknowns has its
    ranges, and with observations beside them the rival causes weighed.

    CASE is a case file, or - for standard input.
    """
    from lostneutral import analyse, follow, read_case
    from lostneutral.cli.output import check_output, write
    from lostneutral.report.document import report_pdf

    output = output or str(Path("reports") / f"{'case' if case == '-' else Path(case).stem}.pdf")
    check_output(output, case, force)
    read = read_case(case)
    result = (follow if read.events else analyse)(read, waveforms=waveforms or None)
    if read.unknowns:
        from lostneutral.cli.bound import with_ranges

        result = with_ranges(result)
    if read.observations and (read.unknowns or read.priors):
        result = _weighed(result)
    write(output, report_pdf(result, audience), force)
    if output != "-":
        click.echo(f"Wrote {output}", err=True)


def _weighed(result):
    """Return `result` with its observations weighed, or with the reason why they are not."""
    from dataclasses import replace

    from lostneutral.cli.deduce import with_deduction
    from lostneutral.errors import LostNeutralError
    from lostneutral.evidence.places import MOST_RUNS

    if len(result.case.points) > MOST_RUNS:
        return replace(result, not_weighed="That takes long in wiring of this size: `lostneutral deduce` does it.")

    try:
        return with_deduction(result)
    except LostNeutralError as error:
        click.echo(f"The report does not weigh what was seen. {error}", err=True)
        return replace(result, not_weighed=str(error))
