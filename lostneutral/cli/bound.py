"""`lostneutral bound CASE`: the range of voltages when loads are not known."""

import sys

import click

from lostneutral.cli.options import (
    case_argument,
    force_option,
    full_option,
    items_option,
    json_option,
    number_option,
    seed_option,
)


@click.command()
@case_argument
@number_option("--samples", 16, 10_000_000,
               "Number of samples; default 8192, with more than 20 loads 2048, and 256 where the loads may have several "
               "stable states.")
@seed_option
@json_option
@full_option
@items_option
@force_option
def command(case, samples, seed, json_file, full, items_file, force):
    """Calculate the range of voltages when loads are not known.

    Samples the [[unknown]] entries of CASE, such as which loads were on. For every line and load: the range of voltage,
    the probability of exceeding a limit, the certain bound, and the fact that would narrow the range most.

    CASE is a case file, or - for standard input.
    """
    from lostneutral import analyse, read_case, result_json
    from lostneutral.cli.output import check_outputs, show_text, write
    from lostneutral.report.damage.items_file import items_csv
    from lostneutral.report.ranges.text import ranges_text
    from lostneutral.report.screen.short_answers import ranges_in_short

    files = check_outputs(case, force, json_file, items_file)
    result = with_ranges(analyse(read_case(case)), samples, seed)
    made = {json_file: result_json(result).encode("utf-8")} if json_file else {}
    if items_file:
        made[items_file] = items_csv(result).encode("utf-8")
    write(made, force)
    if "-" not in files:
        show_text(lambda colour, width: ranges_text(result, width) if full else ranges_in_short(result, width))


def with_ranges(result, samples=None, seed=1):
    """Return `result` with the ranges of its case, showing on standard error how far the samples are."""
    from dataclasses import replace

    from lostneutral.consequences.cautions import open_cautions
    from lostneutral.evidence.ranges import ranges, sample_count

    with click.progressbar(length=sample_count(result.case, samples), label="Sampling", file=sys.stderr) as bar:
        return replace(result, ranges=ranges(result.case, samples, seed, bar.update),
                       cautions=open_cautions(result.case))
