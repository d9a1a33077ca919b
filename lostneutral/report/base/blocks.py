"""The pieces that a document is put together from, as plain data for the typesetting template.

Every text is taken literally; none is ever read as markup.
"""


def heading(text, level=1):
    return {"kind": "heading", "level": level, "text": text}


def paragraph(text):
    return {"kind": "paragraph", "text": text}


def numbered(number, text):
    """Return a paragraph with its number."""
    return {"kind": "numbered", "number": number, "text": text}


def lead(text):
    """Return the sentence that a page begins with, in larger letters."""
    return {"kind": "lead", "text": text}


def small(text):
    """Return a note in small letters."""
    return {"kind": "small", "text": text}


def labelled(label, text):
    """Return a paragraph that begins with its label in bold."""
    return {"kind": "labelled", "label": label, "text": text}


def fields(pairs, columns=2):
    """Return (label, text) side by side; a text that is missing is a line to fill in by hand."""
    return {"kind": "fields", "pairs": [[label, text or ""] for label, text in pairs], "columns": columns}


def side_by_side(sections):
    """Return titled lists, (title, texts), in two columns of like height; a list without title may be cut in two."""
    made = [(title, list(texts)) for title, texts in sections if texts]
    if len(made) == 1:
        (title, texts), = made
        at = _middle([_lines(text) for text in texts])
        halves = [[bullets(texts[:at])], [bullets(texts[at:])]]
        made_of = [*([heading(title, 2)] if title else [])]
        return {"kind": "side_by_side", "over": made_of, "halves": halves}
    at = _middle([2 + sum(map(_lines, texts)) for _, texts in made])
    halves = [[block for title, texts in part for block in (heading(title, 2), bullets(texts))] for part in (made[:at], made[at:])]
    return {"kind": "side_by_side", "over": [], "halves": halves}


def beneath(text, english):
    """Return an item of a list with its English beneath it, in smaller letters."""
    return {"text": text, "english": english}


def _lines(text):
    if isinstance(text, dict):
        return _lines(text["text"]) - (-len(text["english"]) // 66)
    return 0.3 + -(-len(text) // 60)


def _middle(weights):
    """Return where to cut so that the higher of the two parts is lowest."""
    return min(range(1, len(weights) + 1), key=lambda at: max(sum(weights[:at]), sum(weights[at:])))


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


def figure(drawn, caption, width=100):
    """Return a figure from its (SVG text, alternative text) and the caption below it, `width` in % of the text's."""
    return {"kind": "figure", "svg": drawn[0], "alternative": drawn[1], "caption": caption, "width": width}


def box(title, items, heavy=False, first=()):
    """Return a framed list under a title, what is `first` in bold before it; a heavy frame is for danger."""
    return {"kind": "box", "title": title, "items": list(items), "heavy": heavy, "first": list(first)}


def finding(label, title, text, details):
    """Return one finding: its rank in a word, its subject, what was found, and (name, text) of what it rests on."""
    return {"kind": "finding", "label": label, "title": title, "text": text,
            "details": [list(pair) for pair in details if pair[1]]}


def together(blocks):
    """Return blocks, no longer than a page, that are kept on one page."""
    return {"kind": "together", "blocks": list(blocks)}


def space():
    """Return a little room, such as above the lines for a signature."""
    return {"kind": "space"}


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
