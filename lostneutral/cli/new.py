"""`lostneutral new FILE`: an annotated example case file."""

import click

from lostneutral.cli.options import force_option


@click.command()
@click.argument("file", type=click.Path(allow_dash=True))
@force_option
def command(file, force):
    """Write an annotated example case file, ready to run.

    FILE is the name of the file to write, such as bakery.toml, or - for standard output.
    """
    from lostneutral.case import starter
    from lostneutral.cli.output import write

    write({file: starter().encode("utf-8")}, force)
    if file != "-":
        click.echo(f"Wrote {file}. Edit it to describe the installation, then: lostneutral check {file}", err=True)
