"""`lostneutral bound CASE`: what unknown loads leave open."""

import sys

import click

from lostneutral.cli.options import case_argument, force_option, seed_option


@click.command()
@case_argument
@click.option("--samples", metavar="NUMBER", type=click.IntRange(16, 10_000_000),
              help="How many samples to take; default 8192; 2048 with more than 20 loads, 256 where loads may settle in several ways.")
@seed_option
@click.option("--json", "json_file", metavar="FILE", type=click.Path(allow_dash=True),
              help="Write the result file with the ranges too; - writes it, alone, to standard output.")
@force_option
def command(case, samples, seed, json_file, force):
    """Bound the voltages of CASE where it is not known which loads were on.

    Samples the [[unknown]] entries of CASE. Says for every line and load how high it may have been, how likely it
    passed a limit, what is certain whatever the loads, and which fact would narrow it most.

    CASE is a case file, or - for standard input.
    """
    from lostneutral import analyse, read_case, result_json
    from lostneutral.cli.output import check_output, show_text, write
    from lostneutral.report.ranges_text import ranges_text

    if json_file:
        check_output(json_file, case, force)
    result = with_ranges(analyse(read_case(case)), samples, seed)
    if json_file:
        write(json_file, result_json(result).encode("utf-8"), force)
    if json_file != "-":
        show_text(lambda colour, width: ranges_text(result, width))


def with_ranges(result, samples=None, seed=1):
    """Return `result` with the ranges of its case, showing on standard error how far the samples are."""
    from dataclasses import replace

    from lostneutral.evidence.ranges import ranges, sample_count

    with click.progressbar(length=sample_count(result.case, samples), label="Sampling", file=sys.stderr) as bar:
        return replace(result, ranges=ranges(result.case, samples, seed, bar.update))
