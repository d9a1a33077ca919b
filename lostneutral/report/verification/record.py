"""The record of a run as a PDF: what was run, on what, with which files, what came out, and a line to sign."""

import hashlib
import platform
from importlib.metadata import PackageNotFoundError, version
from importlib.resources import files

from lostneutral import __version__
from lostneutral.report.base.blocks import (
    box,
    bullets,
    fields,
    heading,
    new_page,
    paragraph,
    small,
    space,
    strong,
    table,
)
from lostneutral.report.base.pdf import date_words, set_pdf
from lostneutral.report.verification import rows

TITLE = "Record of verification"
_PACKAGES = ("numpy", "scipy", "matplotlib", "pydantic", "click", "typst", "pillow", "tree-sitter", "tree-sitter-toml")


def record_pdf(runs, own: bytes | None = None) -> bytes:
    """Return the record of `runs` as a PDF; `own` is the user's file of checks, of which the SHA-256 is printed.

    The date is SOURCE_DATE_EPOCH, else a line to fill in by hand; the same run on the same machine gives the same bytes.
    """
    dated = date_words()
    blocks = [
        heading("What was checked"),
        fields([("Program", f"lostneutral {__version__}"), ("Python", f"{platform.python_implementation()} {platform.python_version()}"),
                ("Platform", f"{platform.system()} {platform.machine()}"), ("Date", "" if dated == "not dated" else dated)]),
        box("Result", [rows.how_many_agree(runs), rows.WHAT_IT_SAYS], heavy=bool(rows.failed_checks(runs))),
        *_failures(runs),
        table("Figures by topic", rows.COUNT_HEAD, rows.count_rows(runs), "lrrrrr", {0: 1}),
        heading("Program and data"),
        paragraph("Packages: " + ", ".join(f"{name} {_version(name)}" for name in _PACKAGES) + "."),
        *_hashes(own),
        heading("Signed"), space(),
        fields([("Date", ""), ("Name", ""), ("Qualification", ""), ("Signature", "")]),
        small("Not signed unless completed by hand."),
        new_page(),
        heading("Known limits"),
        table("Where a model ends, and what the program does beyond", rows.LIMIT_HEAD, rows.limit_rows(), "llll", {1: 2, 2: 3, 3: 2}),
    ]
    for run in runs:
        blocks += _topic(run)
    return set_pdf(TITLE, blocks, footer=f"lostneutral {__version__} · {dated}", size=8.5,
                   description="Published figures and what this program calculates for them.")


def _failures(runs):
    failed = rows.failed_checks(runs)
    return [heading("Figures that do not agree"),
            bullets(f"{o.check.id}, {o.asked}: printed {o.printed}, calculated {o.found.computed} ({o.found.difference})" for o in failed)
            ] if failed else []


def _topic(run):
    made = [(strong(o.check.id) if o is outcomes[0] else "", *rows.row(o)) for outcomes in rows.by_check(run) for o in outcomes]
    sources = [(check.id, *rows.source(check)) for check in run.topic.checks]
    return [heading(run.topic.title), table("Each figure as printed and as calculated", ("Check", *rows.HEAD), made, "llrrrrl", {0: 2, 1: 3}),
            table("Where they are printed, and what was given", ("Check", "Source", "Given"), sources, "lll", {0: 2, 1: 5, 2: 4})]


def _hashes(own):
    program, tables = hashes()
    made = [paragraph(f"SHA-256 of the program's files, as a list of \"SHA-256  name\" in order of name: {_list_hash(program)}. "
                      f"Of its data files: {_list_hash(tables)}. Of each data file:"),
            table("Data files", ("File", "SHA-256"), sorted(tables.items()), "ll", {1: 1})]
    return made if own is None else [*made, paragraph(f"Own file of checks: SHA-256 {hashlib.sha256(own).hexdigest()}.")]


def hashes() -> tuple[dict[str, str], dict[str, str]]:
    """Return {name: SHA-256} of the program's files and of its data files, names relative to the package, with /."""
    program, tables = {}, {}
    waiting = [("", files("lostneutral"))]
    while waiting:
        name, place = waiting.pop()
        if place.is_dir():
            waiting += [(f"{name}/{inner.name}".lstrip("/"), inner) for inner in place.iterdir() if inner.name != "__pycache__"]
        else:
            (tables if name.startswith("data/") else program)[name] = hashlib.sha256(place.read_bytes()).hexdigest()
    return program, tables


def _list_hash(hashed):
    return hashlib.sha256("".join(f"{digest}  {name}\n" for name, digest in sorted(hashed.items())).encode()).hexdigest()


def _version(name):
    try:
        return version(name)
    except PackageNotFoundError:
        return "not found"
