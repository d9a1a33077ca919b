"""From blocks to a PDF: tagged, PDF/UA-1 and PDF/A-2a in one file, the same bytes from the same data."""

import json
import os
import re
from datetime import UTC, datetime
from functools import cache
from importlib.resources import files

from lostneutral.errors import UsageError
from lostneutral.report.base.glyphs import font_folders, printable
from lostneutral.words.language import spoken, tell

STANDARDS = ("a-2a", "ua-1")
LETTERS = 9.0  #: pt, size of letters unless a document says its own
MISSING_NOTE = "Characters that the report's font lacks are written as U+XXXX, their number in the Unicode standard."
_BLANKS = str.maketrans("\n\r\t", "   ")
_LONG_WORD = re.compile(r"(?![0-9a-f]{64})\S{31,}")
_UNIT = re.compile(r"(?<=\d) (?=(?:V|mA|A|W|Ω|MΩ|%|K|°C|Hz|mm²|seconds?|minutes?|hours?|days?)(?![\w-]))")
_NOT_SHOWN = ("svg", "kind", "alternative", "logo")


def set_pdf(title, blocks, *, date=None, under_title="", footer="", description="", keywords=(), reference="",
            paper="A4", size=LETTERS, above_title="", logo="") -> bytes:
    """Return the PDF of `blocks` (see `lostneutral.report.base.blocks`) under `title`, in the language being spoken.

    `date` is an ISO date or None; the document's own date is SOURCE_DATE_EPOCH, else `date`, else 1970-01-01.
    `paper` is "A4" or "letter", `size` that of the letters in pt, `reference` stands in the head of every page but the
    first, `logo` is a drawing as SVG. Texts are shown as written; a character that no font has is written as U+XXXX and a
    note says so. Raises UsageError if SOURCE_DATE_EPOCH is set and is not a whole number of seconds.
    """
    return _readable(_compiler(*_prepared(locals())).compile(pdf_standards=list(STANDARDS), timestamp=timestamp(date)))


def page_count(title, blocks, **settings) -> int:
    """Return how many pages `set_pdf` makes of the same arguments."""
    given = {"under_title": "", "footer": "", "description": "", "keywords": (), "reference": "", "paper": "A4", "size": LETTERS,
             "above_title": "", "logo": ""} | settings
    (found,) = json.loads(_compiler(*_prepared({"title": title, "blocks": blocks, **given})).query("<pages>", field="value"))
    return int(found)


def _prepared(given):
    """Return (template, data as JSON) of the arguments of `set_pdf`, by name."""
    data = {key: given[key] for key in ("title", "under_title", "footer", "reference", "above_title")} | {"blocks": list(given["blocks"])}
    shown = _each_text(data, printable)
    if shown != _each_text(data, lambda text: text.translate(_BLANKS)):
        shown["blocks"].append({"kind": "paragraph", "text": tell(MISSING_NOTE)})
    shown = _each_text(shown, _breakable) | {
        "metadata": {"title": shown["title"], "description": printable(given["description"]),
                     "keywords": list(map(printable, given["keywords"]))},
        "paper": {"A4": "a4", "letter": "us-letter"}[given["paper"]], "size": given["size"], "logo": given["logo"],
        "language": spoken().code, "page_of": tell("page {page} of {pages}", page="\1", pages="\2"),
        "logo_words": tell("The mark of the author's organisation")}
    return _template(), json.dumps(shown)


def _compiler(template, data):
    import typst

    return typst.Compiler(template, font_paths=_fonts(), sys_inputs={"data": data})


@cache
def _fonts():
    import typst

    return typst.Fonts(include_system_fonts=False, font_paths=font_folders())


def _readable(content):
    """Return the PDF without the entry that its tags are not suspect: some readers take "no" for an error.

    The entry may be left out with the same meaning (ISO 32000-1, table 321). Blanks take its place, so that nothing
    in the file moves.
    """
    entry = b"/Suspects false"
    return content.replace(entry, b" " * len(entry))


def timestamp(date=None) -> int:
    """Return the document's time, s since 1970: SOURCE_DATE_EPOCH, else midnight UTC of the ISO `date`, else 0."""
    epoch = os.environ.get("SOURCE_DATE_EPOCH")
    if epoch:
        if not epoch.isascii() or not epoch.isdigit():
            raise UsageError(f"SOURCE_DATE_EPOCH is '{epoch}' — it must be a whole number of seconds since 1970")
        return int(epoch)
    return int(datetime.fromisoformat(date).replace(tzinfo=UTC).timestamp()) if date else 0


def date_words(date=None):
    """Return the document's date as printed: an ISO date, or "not dated"."""
    if not date and not os.environ.get("SOURCE_DATE_EPOCH"):
        return tell("not dated")
    return datetime.fromtimestamp(timestamp(date), UTC).date().isoformat()


@cache
def _template():
    return files("lostneutral.report.base").joinpath("report.typ").read_bytes()


def _breakable(text):
    """Return `text` with places to break in words that are too long for a line, and none between a figure and its unit.

    A checksum stays in one piece.
    """
    text = _UNIT.sub("\u00a0", text)
    return _LONG_WORD.sub(lambda word: "\u200b".join(re.findall(".{1,12}", word.group())), text)


def _each_text(value, change, key=""):
    if isinstance(value, dict):
        return {k: _each_text(v, change, k) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [_each_text(v, change, key) for v in value]
    return change(value) if isinstance(value, str) and key not in _NOT_SHOWN else value
