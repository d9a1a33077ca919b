"""`lostneutral deduce CASE`: possible causes against the observations."""

import sys

import click

from lostneutral.cli.options import (
    case_argument,
    file_option,
    force_option,
    full_option,
    items_option,
    json_option,
    number_option,
    seed_option,
)


@click.command()
@case_argument
@number_option("--samples", 32, 1_000_000,
               "Number of samples per step; default 512, and 256 with more than 20 loads or where the loads may have "
               "several stable states.")
@seed_option
@json_option
@file_option("-o", "--output", text="Also write a PDF; - sends only this to standard output.")
@full_option
@items_option
@force_option
def command(case, samples, seed, json_file, output, full, items_file, force):
    """Compare possible causes against the observations.

    Takes the [[observation]] entries of CASE, with its [[unknown]] and [[prior]] ones. Gives the support for each cause
    against the others, the resulting voltages, the observations that no cause explains, and the most useful further
    measurement. The break named in CASE itself plays no part. Ctrl-C gives what is known by then, marked as incomplete.

    CASE is a case file, or - for standard input.
    """
    from lostneutral import analyse, read_case, result_json
    from lostneutral.cli.output import check_outputs, show_text, write
    from lostneutral.report.damage.items_file import items_csv
    from lostneutral.report.evidence.text import deduction_text
    from lostneutral.report.screen.short_answers import deduction_on_screen

    files = check_outputs(case, force, json_file, output, items_file)
    result = with_deduction(analyse(read_case(case)), samples, seed)
    made = {json_file: result_json(result).encode("utf-8")} if json_file else {}
    if output:
        from lostneutral.report.evidence.section import deduction_pdf

        made[output] = deduction_pdf(result)
    if items_file:
        made[items_file] = items_csv(result).encode("utf-8")
    write(made, force)
    if "-" not in files:
        show_text(lambda colour, width: deduction_text(result, width) if full else deduction_on_screen(result, width))
    if not result.deduction.complete:
        raise KeyboardInterrupt  # what is known is written and marked; who called has to learn that it is not all


def with_deduction(result, samples=None, seed=1):
    """Return `result` with its observations weighed, showing on standard error how far that is."""
    from dataclasses import replace

    from lostneutral.consequences.cautions import open_cautions
    from lostneutral.evidence.deduce import deduce, work

    length = work(result.case)
    with click.progressbar(length=length, label="Comparing", file=sys.stderr) as bar:
        return replace(result, deduction=deduce(result.case, samples, seed, bar.update),
                       cautions=open_cautions(result.case))
