"""The pieces that a document is put together from, as plain data for the typesetting template.

Every text is taken literally; none is ever read as markup.
"""


def heading(text, level=1):
    return {"kind": "heading", "level": level, "text": text}


def paragraph(text):
    return {"kind": "paragraph", "text": text}


def bullets(items):
    return {"kind": "bullets", "items": list(items)}


def mono(text):
    """Return lines of text in letters of one width, as written."""
    lines = (line.expandtabs(4) for line in text.split("\n"))
    # A typesetter drops blanks that begin a line.
    return {"kind": "mono", "lines": ["\u00a0" * (len(x) - len(x.lstrip())) + x.lstrip() for x in lines]}


def table(caption, head, rows, align="", wide=None):
    """Return a table; `align` has a letter (l, r, c) a column, `wide` {column: its share of the width that is left}.

    A cell is a text, or `strong(text)`.
    """
    return {"kind": "table", "caption": caption, "head": list(head), "rows": [list(row) for row in rows],
            "align": list(align or "l" * len(head)), "wide": {str(i): share for i, share in (wide or {}).items()}}


def strong(text):
    return {"strong": text}


def figure(drawn, caption, floats=True):
    """Return a figure from its (SVG text, alternative text) and the caption below it.

    One that `floats` goes to the next free head or foot of a page.
    """
    return {"kind": "figure", "svg": drawn[0], "alternative": drawn[1], "caption": caption,
            "floats": floats}


def box(title, items, heavy=False):
    """Return a framed list under a title; a heavy frame is for danger."""
    return {"kind": "box", "title": title, "items": list(items), "heavy": heavy}


def finding(label, title, text, details):
    """Return one finding: its rank in a word, its subject, what was found, and (name, text) of what it rests on."""
    return {"kind": "finding", "label": label, "title": title, "text": text,
            "details": [list(pair) for pair in details if pair[1]]}


def together(blocks):
    """Return blocks, no longer than a page, that are kept on one page."""
    return {"kind": "together", "blocks": list(blocks)}


def new_page():
    return {"kind": "new_page"}


def ruled(number):
    """Return `number` lines to write on, 8 mm apart."""
    return {"kind": "ruled", "number": number}


def form(caption, head, rows, wide=None):
    """Return a table to fill in by hand; a cell is a text or `BLANK`, which has room of 25 mm by 8 mm.

    `wide` as of `table`; without a `caption` it has none and no number.
    """
    return {"kind": "form", "caption": caption, "head": list(head), "rows": [list(row) for row in rows],
            "wide": {str(i): share for i, share in (wide or {}).items()}}


BLANK = {"blank": True}
