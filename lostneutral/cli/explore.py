"""`lostneutral explore CASE`: one page in which to change a case and watch what follows, for any browser."""

from pathlib import Path

import click

from lostneutral.cli.options import case_argument, force_option


@click.command()
@case_argument
@click.option("-o", "--output", metavar="FILE", type=click.Path(allow_dash=True),
              help="The page to write, one HTML file that needs nothing else; - is standard output. Default: a file of its "
                   "own, opened in the browser.")
@click.option("--class", "for_class", is_flag=True,
              help="Begin with the neutral sound and the readings hidden until they are asked for.")
@click.option("--colours", metavar="COUNTRY", help="Draw the lines in the conductor colours of this country.")
@click.option("--still", metavar="FILE", type=click.Path(allow_dash=True), hidden=True,
              help="Withdrawn: says what to use instead.")
@force_option
def command(case, output, for_class, colours, still, force):
    """Write a page on CASE in which its loads, switches and joint can be changed.

    Star point, voltages, light, outcomes and the course in time follow in the browser, without any connection: from a
    memory stick, on a phone, by touch, keyboard or screen reader.

    CASE is a case file, or - for standard input.
    """
    from lostneutral import analyse, read_case
    from lostneutral.cli.output import check_outputs, write
    from lostneutral.consequences.colours import conductor_colours
    from lostneutral.errors import UsageError
    from lostneutral.page import check_page, page_html

    if still:
        raise UsageError("--still is withdrawn: write the page with `lostneutral explore CASE -o page.html` and print it "
                         "from a browser, or take the figures of `lostneutral teach CASE --figures FOLDER`")
    if colours:
        conductor_colours(colours)
    check_outputs(case, force, output)
    read = read_case(case)
    check_page(read)
    page = page_html(analyse(read), for_class=for_class, colours=colours).encode("utf-8")
    if output:
        write({output: page}, force)
        if output != "-":
            click.echo(f"Wrote {output}", err=True)
        return
    _open(page, "case" if case == "-" else Path(case).stem)


def _open(page, name):
    """Put `page` into a file of its own and show it in the browser; say where it is."""
    import tempfile
    import webbrowser

    place = Path(tempfile.mkdtemp(prefix="lostneutral-")) / f"{name}.html"
    place.write_bytes(page)
    shown = webbrowser.open(place.as_uri())
    click.echo(f"{'Opened' if shown else 'No browser was found here; open this file in one:'} {place}", err=True)
