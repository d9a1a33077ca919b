"""`lostneutral compare OLD NEW`: what changed between two result files."""

import click


@click.command()
@click.argument("old", type=click.Path(allow_dash=True))
@click.argument("new", type=click.Path(allow_dash=True))
def command(old, new):
    """Show what changed between two result files.

    OLD and NEW are result files written by --json: of the same case calculated again, by another version of the program
    or with other entries. Compared are voltages, the verdict on each item, and findings.
    """
    from lostneutral.cli.output import show_caution, show_text
    from lostneutral.report.base.files import read_file
    from lostneutral.report.base.words import visible
    from lostneutral.report.screen.compare_text import compare_text, read_result

    text = compare_text(read_result(read_file(old), old), read_result(read_file(new), new))
    show_text(lambda colour, width: "\n".join(map(visible, text.split("\n"))))
    show_caution()
