"""`lostneutral follow CASE`: the course of the incident in time."""

import sys

import click

from lostneutral.cli.options import case_argument, force_option, waveforms_option


@click.command()
@case_argument
@click.option("--json", "json_file", metavar="FILE", type=click.Path(allow_dash=True),
              help="Write the result file with the course too; - writes it, alone, to standard output.")
@click.option("-o", "--output", metavar="FILE", type=click.Path(allow_dash=True),
              help="Write the report with the course as a PDF too; - writes it, alone, to standard output.")
@click.option("--film", metavar="FILE", type=click.Path(allow_dash=True),
              help="Write the star point's track as an animated GIF too; - writes it, alone, to standard output.")
@click.option("--end", metavar="SECONDS", type=click.FloatRange(min=1e-3, max=1e9),
              help="How far to follow; default: the case's own end, else an hour after its last event.")
@waveforms_option
@force_option
def command(case, json_file, output, film, end, waveforms, force):
    """Follow CASE in time, through its events and failures.

    Shows what happened when, and what each phase then saw. Loads that wear out fail, which moves the star point for
    those that are left; the likeliest course comes with an early and a late one.

    CASE is a case file, or - for standard input.
    """
    from lostneutral import follow, read_case, result_json
    from lostneutral.cli.output import check_output, show_text, write
    from lostneutral.errors import UsageError
    from lostneutral.report.course_text import course_text

    files = [file for file in (json_file, output, film) if file]
    if files.count("-") > 1:
        raise UsageError("standard output takes one thing at a time — give the others a file")
    for file in files:
        check_output(file, case, force)
    result = follow(read_case(case), end, waveforms=waveforms or None)
    if json_file:
        write(json_file, result_json(result).encode("utf-8"), force)
    if output:
        from lostneutral.report.document import report_pdf

        write(output, report_pdf(result), force)
    if film:
        write(film, _film(result), force)
    if "-" not in files:
        show_text(lambda colour, width: course_text(result, width))


def _film(result):
    from lostneutral.report.film import film

    def shown(frames):
        with click.progressbar(frames, label="Drawing", file=sys.stderr) as bar:
            yield from bar

    return film(result, shown)
