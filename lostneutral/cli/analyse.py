"""`lostneutral analyse CASE`: the results in the terminal, or as a result file."""

import click

from lostneutral.cli.options import case_argument, force_option, items_option, json_option, waveforms_option


@click.command()
@case_argument
@json_option
@items_option
@click.option("--full", is_flag=True, help="Print everything: every point, findings with limits and sources, cautions in full.")
@waveforms_option
@force_option
def command(case, json_file, items_file, full, waveforms, force):
    """Calculate CASE before and after the break.

    Printed on one screen: dangers, voltages, the expected effect on each item of equipment, cautions in short.

    CASE is a case file, or - for standard input.
    """
    from lostneutral import analyse, read_case
    from lostneutral.cli.output import check_outputs, show_text, working, write

    files = check_outputs(case, force, json_file, items_file)
    read = read_case(case)
    with working("Calculating settled states and what follows"):
        result = analyse(read, waveforms=waveforms or None)
    made = {}
    if json_file:
        from lostneutral import result_json

        made[json_file] = result_json(result).encode("utf-8")
    if items_file:
        from lostneutral.report.damage.items_file import items_csv

        made[items_file] = items_csv(result).encode("utf-8")
    write(made, force)
    if "-" not in files:
        if full:
            from lostneutral.report.screen.terminal import terminal_text as text
        else:
            from lostneutral.report.screen.short_text import short_text as text

        show_text(lambda colour, width: text(result, colour=colour, width=width))
