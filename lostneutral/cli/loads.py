"""`lostneutral loads [NAME]`: the catalogue of appliances."""

import click

from lostneutral.cli.options import force_option


@click.command()
@click.argument("name", required=False)
@click.option("--json", "json_file", metavar="FILE", type=click.Path(allow_dash=True),
              help="Write the catalogue for programs too; - writes it, alone, to standard output.")
@force_option
def command(name, json_file, force):
    """List the appliances that a case can name.

    With NAME, explain one: what it is, what it takes, how that is known, and what fails.
    """
    from lostneutral.cli.output import show_text, write
    from lostneutral.loads.catalogue import appliance, appliances
    from lostneutral.report.appliances import appliance_text, catalogue_json, catalogue_text

    items = appliances() if name is None else (appliance(name),)
    if json_file:
        write(json_file, catalogue_json(items).encode("utf-8"), force)
    if json_file != "-":
        show_text(lambda _, width: catalogue_text(width) if name is None else appliance_text(items[0], width))
