"""`lostneutral teach CASE`: a lesson on the case, with the tutor's key, or exercises alone."""

import sys
from pathlib import Path

import click

from lostneutral.cli.options import file_option, force_option, number_option, seed_option, with_a_name
from lostneutral.teaching.labels import LABEL_SETS

LABELS = tuple(LABEL_SETS)
SUPPLIES = ("three-phase", "split-phase")
MOST_SHEETS = 60


@click.command()
@click.argument("case", type=click.Path(allow_dash=True), required=False)
@file_option(
    "-o",
    "--output",
    text="The handout, a PDF; the key is written beside it, with -key in its "
    "name. Default: the case's name, in reports/.",
)
@click.option(
    "--labels", type=click.Choice(LABELS), default=LABELS[0], show_default=True, help="Phase names used in the handout."
)
@click.option(
    "--colours",
    metavar="COUNTRY",
    help='Conductor colours of the figures: a country, "COUNTRY old", or '
    '"IEC 60445". Default: those of the case\'s country, else by its supply.',
)
@number_option("--exercises", 0, 200, "Number of exercises to add, with their solutions in the key.", default=0)
@seed_option
@number_option(
    "--grade",
    1,
    3,
    "Exercises of this grade only: 1 arithmetic, 2 a formula, 3 phasors. May be repeated.",
    metavar="GRADE",
    multiple=True,
)
@click.option(
    "--topic",
    metavar="TOPIC",
    multiple=True,
    help="Exercises on this topic only; may be repeated. Topics: series, neutral-current, unequal, open-line, "
    "short, joint, find-fault, sequence.",
)
@click.option(
    "--supply",
    type=click.Choice(SUPPLIES),
    help="Exercises on this kind of supply only; split-phase also makes the bench version the two-battery lesson.",
)
@number_option(
    "--sheets",
    1,
    MOST_SHEETS,
    "Numbered sheets of exercises, a different one for each pupil, in separate "
    "files: sheets, one key, and a CSV table for marking.",
)
@file_option("--slides", dash=False, text="Also write the lesson as slides, a PDF with 16:9 pages.")
@file_option(
    "--film",
    dash=False,
    text="Also write an animation of the star point and the loads, as the joint goes from sound to open, as a GIF.",
)
@click.option(
    "--figures",
    metavar="FOLDER",
    type=click.Path(),
    callback=with_a_name,
    help="Also write each figure, as SVG and PNG, with a text file that describes them.",
)
@force_option
def command(case, output, labels, colours, exercises, seed, grade, topic, supply, sheets, slides, film, figures, force):
    """Write a lesson on CASE: a handout, the tutor's key and a page for the class.

    The handout asks for predictions and holds no answers; the key has every blank filled in and says how reliable the
    figures are. Learners build the case at extra-low voltage; the handout says whether it may be shown at mains voltage,
    or why not. Without CASE only exercises are written.

    CASE is a case file, or - for standard input.
    """
    from lostneutral.cli.output import check_outputs
    from lostneutral.errors import UsageError
    from lostneutral.report.base.files import write_files

    if case is None and not exercises:
        raise UsageError("nothing to write — give a CASE, or a number of --exercises")
    if case is None and (slides or film or figures or colours):
        raise UsageError("--slides, --film, --figures and --colours belong to a lesson — give a CASE")
    if sheets and not exercises:
        raise UsageError("--sheets: how many exercises on each? — give --exercises too")
    if output == "-":
        raise UsageError("-o -: a lesson is several files — give the handout a name")
    stem = "exercises" if case is None else "case-handout" if case == "-" else f"{Path(case).stem}-handout"
    handout = Path(output or f"reports/{stem}.pdf")
    alone = handout if case is None else handout.with_name(f"{handout.stem}-sheets.pdf") if sheets else None
    files = _places(handout if case else None, alone, slides, film, figures)
    if figures and Path(figures).exists() and not Path(figures).is_dir():
        raise UsageError(f"{figures}: this is a file — give the name of a folder for the figures")
    check_outputs(case, force, *map(str, files))
    choice = {"grades": grade, "topics": topic, "system": supply}
    made = {}
    if case:
        made |= _lesson(
            case, labels, colours, supply, () if sheets else (exercises, seed, choice), handout, slides, film, figures
        )
    if alone:
        made |= _sheets(alone, sheets or 1, exercises, seed, labels, choice)
    write_files(made, force)
    click.echo(
        "Wrote "
        + ", ".join(str(file) for file in made if not (figures and Path(figures) in file.parents))
        + (f", and the figures in {figures}" if figures else ""),
        err=True,
    )


def _beside(file, more, suffix=None):
    """Return the file beside `file` with `more` in its name."""
    return file.with_name(f"{file.stem}{more}{suffix or file.suffix or '.pdf'}")


def _places(handout, alone, slides, film, figures):
    from lostneutral.teaching.pack import figure_files

    wanted = [handout, _beside(handout, "-key"), _beside(handout, "", ".html")] if handout else []
    if alone:
        wanted += [alone, _beside(alone, "-key"), _beside(alone, "", ".csv")]
    wanted += [Path(file) for file in (slides, film) if file]
    return wanted + ([Path(figures) / name for name in figure_files()] if figures else [])


def _lesson(case, labels, colours, supply, tasks, handout, slides, film, figures):
    """Return {file: content} of a lesson."""
    from lostneutral import analyse, read_case
    from lostneutral.teaching import pack
    from lostneutral.teaching.lesson import lesson
    from lostneutral.teaching.look import look_for
    from lostneutral.words.language import speaking

    read = read_case(case)
    look_for(read, labels, colours)  # a wrong name is told before any work
    tasks = _tasks(tasks, labels, read.supply.system)
    result, system = analyse(read), supply if supply == "split-phase" else None
    made = lesson(result, labels, colours, system)
    with speaking(read.document.language):  # what learners get; the key is the tutor's, and in English
        told = made if read.document.language == "en" else lesson(result, labels, colours, system)
        files = {handout: pack.handout_pdf(told, tasks)}
    files |= {_beside(handout, "-key"): pack.key_pdf(made, tasks)}
    files |= _page(made.result, colours, _beside(handout, "", ".html"))
    if slides:
        from lostneutral.teaching.slides import slides as drawn

        files[Path(slides)] = drawn(made)
    if film:
        files[Path(film)] = _film(made)
    if figures:
        files |= {Path(figures) / name: content for name, content in pack.figure_pictures(made).items()}
    return files


def _page(result, colours, file):
    """Return {file: the class version of the page for the browser}; nothing, with the reason, where there cannot be one."""
    from lostneutral.errors import UsageError
    from lostneutral.page import page_html

    try:
        return {file: page_html(result, for_class=True, colours=colours).encode("utf-8")}
    except UsageError as error:
        click.echo(f"No page for the class. {error}", err=True)
        return {}


def _tasks(asked, labels, system):
    if not asked or not asked[0]:
        return ()
    from lostneutral.teaching.exercises import exercises

    number, seed, choice = asked
    if choice["system"] is None and system == "split-phase":
        choice = choice | {"system": system}
    return exercises(number, seed, labels, **choice)


def _sheets(file, count, number, seed, labels, choice):
    """Return {file: content} of sheets of exercises."""
    from lostneutral.teaching.sheets import answers_csv, key_of_sheets_pdf, sheets, sheets_pdf

    made = sheets(count, number, seed, labels, **choice)
    return {file: sheets_pdf(made), _beside(file, "-key"): key_of_sheets_pdf(made), _beside(file, "", ".csv"): answers_csv(made)}


def _film(lesson):
    from lostneutral.teaching.film import neutral_film

    def shown(steps):
        with click.progressbar(steps, label="Filming", file=sys.stderr) as bar:
            yield from bar

    return neutral_film(lesson.result, lesson.look, shown)
