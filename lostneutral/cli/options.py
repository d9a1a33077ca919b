"""The arguments that several commands share."""

import click

case_argument = click.argument("case", type=click.Path(allow_dash=True))
force_option = click.option("--force", is_flag=True, help="Overwrite a file that is there already.")
waveforms_option = click.option(
    "--waveforms", is_flag=True, help="Follow loads that draw pulses in time, whatever their share of the power.")
seed_option = click.option(
    "--seed", metavar="NUMBER", type=click.IntRange(0, 2**31), default=1, show_default=True,
    help="Where the samples begin; the same seed gives the same answer.")
