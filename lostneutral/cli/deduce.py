"""`lostneutral deduce CASE`: which cause what was seen supports."""

import sys

import click

from lostneutral.cli.options import case_argument, force_option, seed_option


@click.command()
@case_argument
@click.option("--samples", metavar="NUMBER", type=click.IntRange(32, 1_000_000),
              help="How many samples a step; default 1024; 256 with more than 20 loads or where loads may settle in several ways.")
@seed_option
@click.option("--json", "json_file", metavar="FILE", type=click.Path(allow_dash=True),
              help="Write the result file with the deduction too; - writes it, alone, to standard output.")
@click.option("-o", "--output", metavar="FILE", type=click.Path(allow_dash=True),
              help="Write it as a PDF too; - writes it, alone, to standard output.")
@force_option
def command(case, samples, seed, json_file, output, force):
    """Weigh the rival causes of what was seen in CASE.

    Takes the [[observation]] entries of CASE, and its [[unknown]] and [[prior]] ones. Says how far they support each
    cause against the others, what the voltages then were, what fits nothing, and what to read next. The break that CASE
    itself names plays no part.

    CASE is a case file, or - for standard input.
    """
    from lostneutral import analyse, read_case, result_json
    from lostneutral.cli.output import check_output, show_text, write
    from lostneutral.errors import UsageError
    from lostneutral.report.deduction_text import deduction_text

    files = [file for file in (json_file, output) if file]
    if files.count("-") > 1:
        raise UsageError("standard output takes one thing at a time — give the other a file")
    for file in files:
        check_output(file, case, force)
    result = with_deduction(analyse(read_case(case)), samples, seed)
    if json_file:
        write(json_file, result_json(result).encode("utf-8"), force)
    if output:
        from lostneutral.report.deduction_section import deduction_pdf

        write(output, deduction_pdf(result), force)
    if "-" not in files:
        show_text(lambda colour, width: deduction_text(result, width))


def with_deduction(result, samples=None, seed=1):
    """Return `result` with its observations weighed, showing on standard error how far that is."""
    from dataclasses import replace

    from lostneutral.evidence.deduce import deduce, work

    length = work(result.case)
    with click.progressbar(length=length, label="Weighing", file=sys.stderr) as bar:
        return replace(result, deduction=deduce(result.case, samples, seed, bar.update))
