"""Every case of the casebook that a lesson can be made of, analysed and made into a lesson once for all tests."""

from functools import cache

from casebook_results import CASES, FOLDER, result

from lostneutral.teaching.handout import handout
from lostneutral.teaching.key import key
from lostneutral.teaching.lesson import lesson

__all__ = ["FOLDER", "NAMES", "flat", "made", "own_words", "result", "sheets", "texts"]
NO_LESSON = {"full-neutral", "hay-barn", "lost-fuse"}  # no neutral is broken there
NAMES = tuple(name for name in CASES if name not in NO_LESSON)


@cache
def made(name):
    return lesson(result(name))


@cache
def sheets(name):
    """The blocks of handout and key."""
    return handout(made(name)), key(made(name))


def texts(blocks, drawn=False):
    """Every text that is printed of `blocks`; `drawn` adds the text alternatives of figures."""
    if isinstance(blocks, dict):
        kept = ("alternative",) if drawn else ()
        skipped = {"svg", "kind", "align", "wide", "alternative"} - set(kept)
        return " ".join(texts(value, drawn) for name, value in blocks.items() if name not in skipped)
    if isinstance(blocks, (list, tuple)):
        return " ".join(texts(value, drawn) for value in blocks)
    return blocks if isinstance(blocks, str) else ""


def own_words(name, blocks, drawn=False):
    """The texts of `blocks` without the case's own words and without cautions, which have their own data file."""
    from lostneutral.consequences.cautions import cautions

    case, text = result(name).case, texts(blocks, drawn)
    for foreign in (*result(name).cautions, *cautions(case, "short"), case.description, case.title, *(x.name for x in case.loads)):
        text = text.replace(foreign, " ")
    return text


def flat(blocks):
    """Every block, those kept together too."""
    for block in blocks:
        yield block
        if block["kind"] == "together":
            yield from flat(block["blocks"])
