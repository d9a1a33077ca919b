"""`lostneutral follow CASE`: the incident over time."""

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
    waveforms_option,
)


@click.command()
@case_argument
@json_option
@file_option("-o", "--output", text="Also write the report with the time course as a PDF; - sends only this to standard "
                                      "output.")
@file_option("--film", text="Also write an animation of the star point as a GIF; - sends only this to standard output.")
@number_option("--end", 1e-3, 1e9, "Duration in seconds; default: the duration in the case file, else an hour after its "
                                   "last event.", kind=float, metavar="SECONDS")
@waveforms_option
@full_option
@items_option
@force_option
def command(case, json_file, output, film, end, waveforms, full, items_file, force):
    """Simulate CASE over time, with its events and equipment failures.

    Lists the events and the phase voltages that follow. A load that fails shifts the voltages of the rest; the most
    likely course is given with an early and a late one.

    CASE is a case file, or - for standard input.
    """
    from lostneutral import follow, read_case, result_json
    from lostneutral.cli.output import check_outputs, show_text, working, write
    from lostneutral.report.course.text import course_text
    from lostneutral.report.damage.items_file import items_csv
    from lostneutral.report.screen.short_answers import course_in_short

    files = check_outputs(case, force, json_file, output, film, items_file)
    read = read_case(case)
    with working("Following the incident in time"):
        result = follow(read, end, waveforms=waveforms or None)
    made = {json_file: result_json(result).encode("utf-8")} if json_file else {}
    if output:
        from lostneutral.report.documents.document import report_pdf

        made[output] = report_pdf(result)
    if items_file:
        made[items_file] = items_csv(result).encode("utf-8")
    if film:
        made[film] = _film(result)
    write(made, force)
    if "-" not in files:
        show_text(lambda colour, width: course_text(result, width) if full else course_in_short(result, width))


def _film(result):
    from lostneutral.report.course.film import incident_film

    def shown(frames):
        with click.progressbar(frames, label="Drawing", file=sys.stderr) as bar:
            yield from bar

    return incident_film(result, shown)
