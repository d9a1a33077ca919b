"""`lostneutral explore CASE`: an interactive window, or one frame of it."""

from pathlib import Path

import click

from lostneutral.cli.options import case_argument, file_option, force_option


@click.command()
@case_argument
@file_option("--still", text="Draw one frame as a PNG or SVG, without a screen, and print its text; - sends only the PNG "
                             "to standard output.")
@force_option
def command(case, still, force):
    """Open an interactive window on CASE.

    Shows the voltage triangle with the star point, the loads as bars and the voltages in large figures; a switch and a
    joint in the neutral, every load with its switch and power. Readings can be hidden until the class has predicted
    them. Works by mouse and by key; the keys are listed in the window.

    CASE is a case file, or - for standard input.
    """
    from lostneutral import read_case
    from lostneutral.cli.output import check_output, show_text, write
    from lostneutral.errors import UsageError

    kind = "png" if still in (None, "-") else Path(still).suffix.lower().lstrip(".")
    if kind not in ("png", "svg"):
        raise UsageError(f"{still}: a frame is drawn as .png or .svg — give a name with one of these endings")
    if still:
        check_output(still, case, force)
    read = read_case(case)
    from lostneutral.teaching.window.window import open_window
    from lostneutral.teaching.window.window import still as draw

    if not still:
        open_window(read)
        return
    picture, text = draw(read, kind)
    write(still, picture, force)
    if still != "-":
        show_text(lambda colour, width: text)
