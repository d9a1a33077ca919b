"""From blocks to a PDF: tagged, PDF/UA-1 and PDF/A-2a in one file, the same bytes from the same data."""

import json
import os
import re
from datetime import UTC, datetime
from functools import cache
from importlib.resources import files

from lostneutral.errors import UsageError
from lostneutral.report.glyphs import font_folder, printable

STANDARDS = ("a-2a", "ua-1")
MISSING_NOTE = "Characters that the report's font lacks are written as U+XXXX, their number in the Unicode standard."
_BLANKS = str.maketrans("\n\r\t", "   ")
_LONG_WORD = re.compile(r"(?![0-9a-f]{64})\S{31,}")
_NOT_SHOWN = ("svg", "kind", "alternative")


def set_pdf(title, blocks, *, date=None, under_title="", footer="", description="", keywords=()) -> bytes:
    """Return the PDF of `blocks` (see `lostneutral.report.blocks`) under `title`, an A4 document in English.

    `date` is an ISO date or None; the document's own date is SOURCE_DATE_EPOCH, else `date`, else 1970-01-01.
    Texts are shown as written; a character that no font has is written as U+XXXX and a note says so.
    Raises UsageError if SOURCE_DATE_EPOCH is set and is not a whole number of seconds.
    """
    import typst

    data = {"title": title, "blocks": list(blocks), "under_title": under_title, "footer": footer}
    shown = _each_text(data, printable)
    if shown != _each_text(data, lambda text: text.translate(_BLANKS)):
        shown["blocks"].append({"kind": "paragraph", "text": MISSING_NOTE})
    shown = _each_text(shown, _breakable) | {"metadata": {"title": shown["title"], "description": printable(description),
                                                          "keywords": list(map(printable, keywords))}}
    return typst.compile(_template(), font_paths=[font_folder()], ignore_system_fonts=True,
                         sys_inputs={"data": json.dumps(shown)}, pdf_standards=list(STANDARDS),
                         timestamp=timestamp(date))


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
        return "not dated"
    return datetime.fromtimestamp(timestamp(date), UTC).date().isoformat()


@cache
def _template():
    return files("lostneutral.report").joinpath("report.typ").read_bytes()


def _breakable(text):
    """Return `text` with places to break in words that are too long for a line; a checksum stays in one piece."""
    return _LONG_WORD.sub(lambda word: "\u200b".join(re.findall(".{1,12}", word.group())), text)


def _each_text(value, change, key=""):
    if isinstance(value, dict):
        return {k: _each_text(v, change, k) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [_each_text(v, change, key) for v in value]
    return change(value) if isinstance(value, str) and key not in _NOT_SHOWN else value
