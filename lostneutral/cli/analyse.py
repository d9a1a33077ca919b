"""`lostneutral analyse CASE`: the results in the terminal, or as a result file."""

import click

from lostneutral.cli.options import case_argument, force_option, json_option, waveforms_option


@click.command()
@case_argument
@json_option
@waveforms_option
@force_option
def command(case, json_file, waveforms, force):
    """Calculate CASE before and after the break.

    The results are printed: voltages, the expected effect on each item of equipment, findings and cautions.

    CASE is a case file, or - for standard input.
    """
    from lostneutral import analyse, read_case, result_json
    from lostneutral.cli.output import check_output, show_text, write
    from lostneutral.report.terminal import terminal_text

    if json_file:
        check_output(json_file, case, force)
    result = analyse(read_case(case), waveforms=waveforms or None)
    if json_file:
        write(json_file, result_json(result).encode("utf-8"), force)
    if json_file != "-":
        show_text(lambda colour, width: terminal_text(result, colour=colour, width=width))
