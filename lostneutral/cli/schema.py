"""`lostneutral schema`: the case file's JSON schema."""

import click


@click.command()
def command():
    """Print the case file's JSON schema.

    With it an editor can complete and check the keys of a case file.
    """
    import json

    from lostneutral.case import case_schema
    from lostneutral.cli.output import write

    write("-", (json.dumps(case_schema(), ensure_ascii=False, indent=1) + "\n").encode("utf-8"))
