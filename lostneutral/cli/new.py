"""`lostneutral new FILE`: a commented case to start from."""

import click

from lostneutral.cli.options import force_option


@click.command()
@click.argument("file", type=click.Path(allow_dash=True))
@force_option
def command(file, force):
    """Write a commented case to start from.

    It runs as it is.

    FILE is the name of the file to write, such as bakery.toml, or - for standard output.
    """
    from lostneutral.case import starter
    from lostneutral.cli.output import write

    write(file, starter().encode("utf-8"), force)
    if file != "-":
        click.echo(f"Change {file} to what was installed, then: lostneutral check {file}", err=True)
