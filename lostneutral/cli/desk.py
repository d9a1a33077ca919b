"""`lostneutral desk`: a case made, answered and documented in the browser of this machine."""

from pathlib import Path

import click

from lostneutral.cli.options import force_option, number_option

MISSING = ("The desk comes with the optional extra “desk”, which is not installed here. In the folder of your copy of "
           "lostneutral type:\n  python -m pip install '.[desk]'")

@click.command()
@click.argument("case", required=False, type=click.Path(dir_okay=False))
@number_option("--port", 0, 65535, "Port at the loopback address; 0 is any free one.", default=0)
@click.option("--no-browser", is_flag=True, help="Print the address only.")
@click.option("--sheet", is_flag=True, help="Write a field sheet instead: one page for a phone, to note items, readings and "
                                            "photographs without a network. Needs -o.")
@click.option("-o", "--output", metavar="FILE", type=click.Path(allow_dash=True), help="With --sheet: the page to write; - is "
                                                                                      "standard output.")
@click.option("--forget", is_flag=True, help="Remove the draft of CASE, without CASE all drafts in this folder, and end.")
@force_option
def command(case, port, no_browser, sheet, output, forget, force):
    """Work on CASE in the browser of this machine, without writing a file by hand.

    CASE is a case file or a field sheet that was saved on a phone; without it a new case is begun in this folder. The
    address works on this machine only, and only with the token in it. Ctrl-C ends the desk.
    """
    from lostneutral.errors import UsageError

    if sheet:
        return _sheet(output, force)
    if output:
        raise UsageError("-o belongs to --sheet — documents of a case are downloaded from the desk, or made by `lostneutral report`")
    if forget:
        return _forget(case)
    return _open(case, port, not no_browser)


def _sheet(output, force):
    from lostneutral.cli.output import write
    from lostneutral.desk.sheet import sheet_html
    from lostneutral.errors import UsageError

    if not output:
        raise UsageError("--sheet: no file to write — give one with -o, such as -o sheet.html")
    write({output: sheet_html().encode("utf-8")}, force)
    if output != "-":
        click.echo(f"Wrote {output}: open it on a phone, and bring back the file that it saves", err=True)


def _forget(case):
    from lostneutral.desk.store import drafts_in, forget

    removed = [path.name for path in ([Path(case)] if case else drafts_in(Path.cwd())) if forget(path)]
    click.echo(f"Removed the draft{'s' * (len(removed) > 1)} of {', '.join(removed)}" if removed else "There is no draft here",
               err=True)


def _open(case, port, browser):
    from importlib.util import find_spec

    from lostneutral.errors import UsageError

    if not all(map(find_spec, ("nicegui", "tomlkit", "openpyxl"))):
        raise UsageError(MISSING)
    from lostneutral.desk.server import run

    run(_case_file(case), port, browser, told=lambda address: click.echo(
        f"The desk is at {address}\nIt works on this machine only. Ctrl-C ends it.", err=True))


def _case_file(case):
    """Return the case file to work on: a free name for a new case, the case that a field sheet was made into."""
    if case is None:
        names = (Path(f"case{f'-{n}' if n > 1 else ''}.toml") for n in range(1, 10**4))
        return next(path for path in names if not path.exists()).resolve()
    path = Path(case).resolve()
    if path.suffix == ".toml" or not path.exists():
        return path
    from lostneutral.desk.sheet import case_of_sheet

    return case_of_sheet(path)
