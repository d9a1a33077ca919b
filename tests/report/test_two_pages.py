"""A client's report keeps to two pages with every sentence of it: a shop, a farm, a street seen by one client, in four languages.

Kind of the checks: invariant (what the blocks hold stands in the PDF), practice (two pages).
"""

import io
import re
from dataclasses import replace

import pypdf
import pytest
from casebook_results import result as casebook
from daily import daily
from read_back import page_texts, squeezed

from lostneutral.report.documents import document, page_one
from lostneutral.report.documents.advice import advice

FEW = [("corner-shop", "de", "letter"), ("dairy-farm", "fr", "A4"), ("sixty-houses", "es", "A4")]
ALL = [*((name, code, "letter") for name in ("corner-shop", "dairy-farm", "sixty-houses") for code in ("en", "de", "fr", "es")),
       ("corner-shop", "de", "A4"), ("corner-shop", "en", "A4"), *FEW[1:]]  # A4 has more room: each language once, each case once


def texts(value, key=""):
    """Yield every text of blocks that is set as text."""
    if isinstance(value, dict):
        for k, inner in value.items():
            yield from texts(inner, k)
    elif isinstance(value, (list, tuple)):
        for inner in value:
            yield from texts(inner, key)
    elif isinstance(value, str) and key not in ("kind", "svg", "align", "alternative", "logo") and value:
        yield value


def letters(text):
    """Return the letters and digits of a text alone: where a line breaks, and with which mark, is the typesetter's business."""
    return re.sub(r"[\W_]+", "", squeezed(text))


@pytest.mark.parametrize("name, code, paper", daily(ALL, FEW, several=True))
def test_two_pages_with_every_sentence(name, code, paper):
    result = casebook(name)
    result = replace(result, case=replace(result.case, document=replace(result.case.document, language=code, paper=paper)))
    made = []
    with pytest.MonkeyPatch.context() as patch:
        client = document._client
        patch.setattr(document, "_client", lambda *given: made.append(client(*given)) or made[-1])
        content = document.report_pdf(result)
    pdf = pypdf.PdfReader(io.BytesIO(content))
    assert len(pdf.pages) == 2
    width = {"A4": 595, "letter": 612}[paper]
    assert round(pdf.pages[0].mediabox.width) == width  # published: ISO 216, ANSI/ASME Y14.1, in points
    whole = letters("".join(page_texts(content)))
    ((blocks, _),) = made
    missing = [text for text in texts(blocks) if letters(text) not in whole]
    assert missing == []


def test_a_street_seen_by_one_client_lists_what_is_there_and_counts_the_rest():
    result = casebook("sixty-houses")
    page = " ".join(page_texts(document.report_pdf(result))[0].split())
    # independent: nine items of house 53 (two of the group, seven of its own); 130 in the case
    there = [load for load in result.case.loads if load.point == "house 53"]
    assert len(there) == 9 and len(result.case.loads) == 130
    assert "Of 9 items of equipment" in page and "Of 121 items at other premises" in page
    assert "house 12" not in page and "metalwork at house 53" in page


def test_premises_that_are_no_point_are_named():
    from lostneutral.errors import CaseError

    text = 'title = "T"\n[document]\npremises = "house"\n[supply]\n[[point]]\nname = "hous"\n[[load]]\nname = "Lamp"\nkind = "lamp"\npower = 60\nconnect = "L1-N"\n'
    with pytest.raises(CaseError, match="hous"):
        from lostneutral.case.reader import parse_case

        parse_case(text)


@pytest.mark.parametrize("name", ["farm-generator", "bakery"])
def test_where_a_second_supply_can_take_over_the_main_switch_alone_is_not_told_to_end_anything(name):
    # practice: a generator behind a changeover goes on feeding, or starts, when the main switch is opened
    result = casebook(name)
    two = name == "farm-generator"
    told = page_one.to_do(result)
    assert any("stop every second supply" in text for text in told) is two
    assert any("This ends any overvoltage" in text for text in told) is not two
    assert any("changeover whose neutral contact failed" in text for text in advice(result, "before")) is two
    assert any(text.startswith("A changeover whose neutral contact") for text in advice(result, "prevent")) is two
