"""A client's report: two pages, in order, with nothing that is not for a client, and lines where the case is silent."""

import io
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import handmade
import pypdf
import pytest
from casebook_results import result as casebook
from read_back import page_texts, squeezed

from lostneutral.case.model import Document, Observation
from lostneutral.report.documents.document import report_pdf
from lostneutral.words.schedule import schedule

CASEBOOK = Path(__file__).parents[2] / "casebook"
NOT_FOR_A_CLIENT = re.compile(
    r"clause|not checked against|from memory|residual(?!-\s?current)|remaining error|lostneutral report|--|[0-9a-f]{12}"
)


def pages_of(content):
    return page_texts(content)


SHOP = "corner-shop"  #: fifteen items on three boards, five observations
STREET = "row-of-cottages"  #: thirty-six items in twelve cottages


@cache
def pages_of_case(name):
    return page_texts(report_pdf(casebook(name)))


@pytest.mark.parametrize("name", [SHOP, STREET])
def test_it_keeps_to_two_pages_with_every_caution(name):
    result = casebook(name)
    pages = pages_of_case(name)
    text = squeezed(" ".join(pages))
    assert len(pages) == 2
    assert all(squeezed(caution) in text for caution in result.cautions)
    assert not NOT_FOR_A_CLIENT.search(" ".join(pages))


@pytest.mark.parametrize("name", [SHOP])
def test_page_one_goes_from_hypothesis_to_danger_to_conclusion_to_items(name):
    page = squeezed(pages_of_case(name)[0])
    parts = (
        "Report no.",
        "as a hypothesis",
        "Danger: what to do",
        "call the emergency services",
        "Exposed metalwork at",
        "Conclusion.",
        "All 5 observations agree",
        "Equipment that would suffer",
        "Till, Card terminal",
        "Further precautions",
    )
    places = [page.find(squeezed(part)) for part in parts]
    assert -1 not in places and places == sorted(places)


@pytest.mark.parametrize("name", [SHOP])
def test_the_second_part_has_every_item_and_every_observation(name):
    page = squeezed(" ".join(pages_of_case(name))).partition("Everyitemofequipment")[2]  # where its text begins
    assert all(squeezed(load.name) in page for load in casebook(name).case.loads)
    for part in (
        "Observed, and calculated for it",
        "L3-N at shop board 327 V",
        "Not explained by this fault alone",
        "Inspect and test before switching on",
        "Keep as evidence",
        "What would prevent it",
        "Basis and limits",
        "Signature",
    ):
        assert squeezed(part) in page
    assert page.count("agrees") == 5


@pytest.mark.parametrize("name", [SHOP])
def test_equal_items_share_a_row_and_none_is_lost(name):
    shop = casebook(name)
    rows = schedule(shop.claims, shop.verdicts)
    assert sorted(name for row in rows for name in row.items) == sorted(load.name for load in shop.case.loads)
    assert ("Deep fryer", "Fan heater") in [row.items for row in rows] and len(rows) < len(shop.case.loads)


def test_what_the_case_gives_of_the_document_is_printed_and_the_rest_is_a_line():
    result = handmade.star([100.0, 200.0, 300.0])
    given = Document(
        reference="R-17/3",
        prepared_for="The owner",
        prepared_by="A. Author",
        qualification="inspector",
        incident="2024-03-01",
        paper="letter",
    )
    content = report_pdf(replace(result, case=replace(result.case, document=given)))
    pages = page_texts(content)
    text = " ".join(pages)
    for said in ("R-17/3", "The owner", "A. Author, inspector", "2024-03-01"):
        assert squeezed(said) in squeezed(text)
    assert "Not signed unless completed by hand" not in text
    assert [round(float(x)) for x in pypdf.PdfReader(io.BytesIO(content)).pages[0].mediabox[2:]] == [612, 792]
    assert "R-17/3" in pages[1]  # the reference heads each page
    blank = " ".join(pages_of(report_pdf(result)))
    assert all(label in blank for label in ("Report no.", "Prepared for", "Site", "Inspected")) and "None" not in blank
    assert "Not signed unless completed by hand" in blank


def test_an_observation_against_the_calculation_stands_on_page_one():
    case = replace(
        handmade.star([100.0, 200.0, 300.0]).case,
        observations=(Observation("intake", ("L1", "N"), 231.0, 3.0), Observation("intake", ("L2", "N"), 239.0, 3.0)),
    )
    states = handmade.star([100.0, 200.0, 300.0])
    result = handmade.of_states(case, states.before, states.after)
    first, second = pages_of(report_pdf(result))
    assert squeezed("NOT in agreement: L1-N at intake") in squeezed(first)
    assert squeezed("does NOT agree with") not in squeezed(first) and squeezed("does NOT agree") in squeezed(second)


def test_the_marks_have_no_entry_that_a_reader_takes_for_an_error():
    content = report_pdf(handmade.star([100.0, 200.0, 300.0]))
    marks = pypdf.PdfReader(io.BytesIO(content)).trailer["/Root"]["/MarkInfo"]
    assert "/Suspects" not in marks and marks["/Marked"]


def test_set_in_the_shipped_face_regular_and_bold():
    names = {
        str(font.get_object()["/BaseFont"])
        for page in pypdf.PdfReader(io.BytesIO(report_pdf(handmade.star([1.0, 2.0, 3.0])))).pages
        for font in page["/Resources"]["/Font"].values()
    }
    assert any("Lato-Regular" in name for name in names) and any("Lato-Bold" in name for name in names)
