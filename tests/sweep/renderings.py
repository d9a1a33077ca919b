"""Every text that a reader gets of a result, as the rules look at them."""


from lostneutral import result_json
from lostneutral.report.documents.document import AUDIENCES, blocks
from lostneutral.report.screen.short_text import short_text
from lostneutral.report.screen.terminal import terminal_text


def renderings(result) -> dict[str, str]:
    """Return every text a reader gets of `result`: "file", "terminal", "short", and the words of each reader's report."""
    return {"file": result_json(result), "terminal": terminal_text(result), "short": short_text(result, width=400),
            **{audience: "\n".join(_words(blocks(result, audience))) for audience in AUDIENCES}}


def _words(value, key=""):
    """Yield every text of a report's blocks; of a figure the text that says the same."""
    if isinstance(value, dict):
        for k, v in value.items():
            yield from _words(v, k)
    elif isinstance(value, (list, tuple)):
        for v in value:
            yield from _words(v, key)
    elif isinstance(value, str) and key not in ("svg", "kind", "align"):
        yield value


