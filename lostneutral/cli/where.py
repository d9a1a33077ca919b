"""`lostneutral where CASE`: every place of the break in turn, and which fits what was seen."""

import click

from lostneutral.cli.options import case_argument, force_option


@click.command()
@case_argument
@click.option("--json", "json_file", metavar="FILE", type=click.Path(allow_dash=True),
              help="Write the answer for programs too; - writes it, alone, to standard output.")
@click.option("--figure", metavar="FILE", type=click.Path(allow_dash=True),
              help="Draw the wiring as an SVG, each part with what the first place in the list would do to it.")
@force_option
def command(case, json_file, figure, force):
    """Show what each place of the fault in CASE would do, and rank them.

    Every run is taken as the broken one in turn, open and with a bad joint, beside the faults that look like it. The
    observations of CASE rank them, and the one reading is named that would best tell the first of them apart.

    CASE is a case file, or - for standard input.
    """
    from lostneutral import read_case
    from lostneutral.cli.output import check_output, show_text, write
    from lostneutral.evidence.where import where
    from lostneutral.report.where_text import where_json, where_text

    for file in filter(None, (json_file, figure)):
        check_output(file, case, force)
    read = read_case(case)
    found = where(read)
    if json_file:
        write(json_file, where_json(read, found).encode("utf-8"), force)
    if figure:
        from lostneutral.report.earth_figures import wiring_tree

        first = found.outcomes[0]
        write(figure, wiring_tree(read, first.points, first.place)[0].encode("utf-8"), force)
    if "-" not in (json_file, figure):
        show_text(lambda colour, width: where_text(read, found, width))
