"""`lostneutral schema`: the JSON schema of the case file, or of the result file."""

import click


@click.command()
@click.option("--result", is_flag=True, help="Print the schema of the result file instead.")
def command(result):
    """Print the JSON schema of the case file.

    Editors check and complete a case file with it; with --result programs check what they read.
    """
    import json

    from lostneutral.cli.output import write

    if result:
        from lostneutral.report.result.schema import result_schema as schema
    else:
        from lostneutral.case import case_schema as schema
    write({"-": (json.dumps(schema(), ensure_ascii=False, indent=1) + "\n").encode("utf-8")})
