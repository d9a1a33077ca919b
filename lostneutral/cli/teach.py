"""`lostneutral teach CASE`: a lesson on the case, with the tutor's key."""

import os
import sys
from pathlib import Path

import click

from lostneutral.cli.options import case_argument, file_option, force_option, number_option, seed_option
from lostneutral.teaching.labels import LABEL_SETS

LABELS = tuple(LABEL_SETS)


@click.command()
@case_argument
@file_option("-o", "--output", dash=False, text="The handout, a PDF; the key is written beside it, with -key in its "
                                               "name. Default: the case's name, in reports/.")
@click.option("--labels", type=click.Choice(LABELS), default=LABELS[0], show_default=True,
              help="Phase names used in the handout.")
@number_option("--exercises", 0, 200, "Number of exercises to add, with their solutions in the key.", default=0)
@seed_option
@file_option("--film", dash=False, text="Also write an animation of the star point, as the joint goes from sound to "
                                        "open, as a GIF.")
@click.option("--figures", metavar="FOLDER", type=click.Path(),
              help="Also write each figure for slides, as SVG and PNG, with a text file that describes them.")
@force_option
def command(case, output, labels, exercises, seed, film, figures, force):
    """Write a lesson on CASE: a handout and the tutor's key.

    The handout asks for predictions before it gives results; the key has every blank filled in and says how reliable
    the figures are. A construction that would not be exact for CASE is left out, and both say why.

    CASE is a case file, or - for standard input.
    """
    from lostneutral import analyse, read_case
    from lostneutral.cli.output import check_output, write
    from lostneutral.teaching import pack
    from lostneutral.teaching.lesson import lesson

    handout = Path(output or f"reports/{'case' if case == '-' else Path(case).stem}-handout.pdf")
    key = handout.with_name(f"{handout.stem}-key{handout.suffix or '.pdf'}")
    pictures = [Path(figures) / name for name in pack.figure_files()] if figures else []
    wanted = [handout, key, *([film] if film else []), *pictures]
    _check_places(wanted, figures)
    for file in wanted:
        check_output(str(file), case, force)
    made = lesson(analyse(read_case(case)), labels)
    tasks = _tasks(exercises, seed, labels)
    files = {handout: pack.handout_pdf(made, tasks), key: pack.key_pdf(made, tasks)}
    if film:
        files[Path(film)] = _film(made.result, labels)
    if figures:
        files |= {Path(figures) / name: content for name, content in pack.figure_pictures(made).items()}
    for file, content in files.items():
        write(str(file), content, force)
    click.echo(
        f"Wrote {handout} and {key}"
        + (f", {film}" if film else "")
        + (f", and the figures in {figures}" if figures else ""),
        err=True,
    )


def _check_places(files, folder):
    """Raise UsageError if two files have one name, or if a place cannot take its file, before any is made."""
    from lostneutral.errors import UsageError

    if folder and Path(folder).exists() and not Path(folder).is_dir():
        raise UsageError(f"{folder}: this is a file — give the name of a folder for the figures")
    places = [Path(file).resolve() for file in files]
    for at, place in enumerate(places):
        if str(files[at]) == "-" or place in places[:at]:
            raise UsageError(f"{files[at]}: a lesson is several files — give each its own name")
        above = next(p for p in place.parents if p.exists())
        if not above.is_dir() or not os.access(above, os.W_OK):
            raise UsageError(f"{files[at]}: {above} cannot be written to — give a file in a folder that you may write to")


def _tasks(number, seed, labels):
    if not number:
        return ()
    from lostneutral.teaching.exercises import exercises

    return exercises(number, seed, labels=labels)


def _film(result, labels):
    from lostneutral.teaching.film import film

    def shown(steps):
        with click.progressbar(steps, label="Filming", file=sys.stderr) as bar:
            yield from bar

    return film(result, labels, shown)
