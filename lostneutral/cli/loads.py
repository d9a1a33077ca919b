"""`lostneutral loads [NAME]`: the built-in appliances."""

import click

from lostneutral.cli.options import force_option, json_option


@click.command()
@click.argument("name", required=False)
@json_option
@force_option
def command(name, json_file, force):
    """List the built-in appliances.

    With NAME, describe one: its type, its power, the source of the figures, and the component that fails.
    """
    from lostneutral.cli.output import show_caution, show_text, write
    from lostneutral.loads.catalogue import appliance, appliances
    from lostneutral.report.damage.appliances import appliance_text, catalogue_json, catalogue_text

    items = appliances() if name is None else (appliance(name),)
    if json_file:
        write({json_file: catalogue_json(items).encode("utf-8")}, force)
    if json_file != "-":
        show_text(lambda _, width: catalogue_text(width) if name is None else appliance_text(items[0], width))
        show_caution()
