"""`lostneutral report CASE`: the answer as a PDF."""

from pathlib import Path

import click

from lostneutral.cli.options import case_argument, force_option


@click.command()
@case_argument
@click.option("-o", "--output", metavar="FILE", type=click.Path(),
              help="The PDF to write; default: reports/ and the case's name.")
@click.option("--for", "reader", type=click.Choice(["client", "trainer", "investigator"]), default="client",
              show_default=True, help="Whom it is for: changes depth and order, never a figure or a caution.")
@force_option
def command(case, output, reader, force):
    """Write what CASE comes to as a PDF report.

    CASE is a case file, or - for standard input.
    """
    from lostneutral import analyse, read_case, write_report
    from lostneutral.report.files import check_free

    output = output or str(Path("reports") / f"{'case' if case == '-' else Path(case).stem}.pdf")
    check_free(output, force, keep=case)
    write_report(analyse(read_case(case)), output, reader=reader, force=force)
    click.echo(f"Wrote {output}", err=True)
