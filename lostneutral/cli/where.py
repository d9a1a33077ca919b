"""`lostneutral where CASE`: the possible locations of the fault, ranked by the observations."""

import click

from lostneutral.cli.options import case_argument, file_option, force_option, full_option, items_option, json_option


@click.command()
@case_argument
@json_option
@file_option("--figure", text="Draw the wiring as an SVG, marked with the effect of the highest-ranked fault.")
@full_option
@items_option
@force_option
def command(case, json_file, figure, full, items_file, force):
    """Rank the possible locations of the fault.

    Each cable in turn is assumed broken, with an open neutral and with a high-resistance joint, beside other faults
    with similar effects. They are ranked by the observations in CASE. Names the single measurement that would best
    distinguish the leading candidates.

    CASE is a case file, or - for standard input.
    """
    from lostneutral import analyse, read_case
    from lostneutral.cli.output import check_outputs, show_text, working, write
    from lostneutral.evidence.where import where
    from lostneutral.report.damage.items_file import items_csv
    from lostneutral.report.evidence.where_text import consequence, where_json, where_text
    from lostneutral.report.screen.short_answers import where_in_short

    files = check_outputs(case, force, json_file, figure, items_file)
    read = read_case(case)
    with working("Comparing possible causes"):
        found = where(read)
    made = {json_file: where_json(read, found).encode("utf-8")} if json_file else {}
    if figure:
        from lostneutral.consequences.cautions import open_cautions
        from lostneutral.report.earth.figures import wiring_tree

        first = found.outcomes[0]
        foot = " ".join([f"By calculation: {consequence(read, first)}.", *open_cautions(read, "short")])
        made[figure] = wiring_tree(read, first.points, first.place, foot)[0].encode("utf-8")
    if items_file:
        made[items_file] = items_csv(analyse(read)).encode("utf-8")
    write(made, force)
    if "-" not in files:
        show_text(lambda colour, width: where_text(read, found, width) if full else where_in_short(read, found, width))
