"""`lostneutral report CASE`: a PDF report."""

from pathlib import Path

import click

from lostneutral.cli.options import case_argument, file_option, force_option, items_option, waveforms_option


@click.command()
@case_argument
@file_option("-o", "--output", text="The PDF to write, or - for standard output; default: the case's name, in reports/.")
@click.option("--for", "audience", type=click.Choice(["client", "trainer", "investigator"]), default="client",
              show_default=True, help="The reader: changes depth and order, never a figure or a caution.")
@click.option("--annex", is_flag=True, help="Add tables and figures behind the two pages of a client's report.")
@file_option("--page", text="Also write a page for the browser, in which the case can be changed (see explore).", dash=False)
@items_option
@waveforms_option
@force_option
def command(case, output, audience, annex, page, items_file, waveforms, force):
    """Write a PDF report on CASE: for a client two pages, to be signed.

    Besides, it contains a time course if the case has events, voltage ranges if it has unknowns, and a comparison of possible
    causes if it has observations together with unknowns or prior weights.

    CASE is a case file, or - for standard input.
    """
    from lostneutral import analyse, follow, read_case
    from lostneutral.cli.bound import with_ranges
    from lostneutral.cli.deduce import with_deduction
    from lostneutral.cli.output import check_outputs, working, write
    from lostneutral.evidence.answers import TAKES_LONG, with_answers
    from lostneutral.page import check_page, page_html
    from lostneutral.report.damage.items_file import items_csv
    from lostneutral.report.documents.document import report_pdf

    output = output or str(Path("reports") / f"{'case' if case == '-' else Path(case).stem}.pdf")
    check_outputs(case, force, output, page, items_file)
    read = read_case(case)
    if page:
        check_page(read, waveforms)
    with working("Calculating settled states and what follows"):
        result = (follow if read.events else analyse)(read, waveforms=waveforms or None)
    result = with_answers(result, lambda case: with_ranges(result).ranges, lambda case: with_deduction(result).deduction)
    if result.deduction and not result.deduction.complete:
        raise KeyboardInterrupt  # no document on half a comparison
    if result.not_weighed and result.not_weighed != TAKES_LONG:
        click.echo(f"The report does not compare possible causes. {result.not_weighed}", err=True)
    made = {}
    if page:
        made[page] = page_html(result).encode("utf-8")
    made[output] = report_pdf(result, audience, annex)
    if items_file:
        made[items_file] = items_csv(result).encode("utf-8")
    write(made, force)
    if output != "-":
        click.echo(f"Wrote {output}" + (f" and {page}" if page else ""), err=True)

