"""A deduction as figures and as a document: words that say the same as what is drawn, marks, and the order of its parts."""

import io
import re
from dataclasses import replace
from math import inf
from xml.etree import ElementTree

import pypdf
import pytest
from read_back import alternatives, check_fonts, check_marks, page_texts, squeezed

from lostneutral import parse_case
from lostneutral.evidence.deduce import deduced
from lostneutral.report.documents.document import report_pdf
from lostneutral.report.evidence import figures as evidence_figures
from lostneutral.report.evidence import rows as deduction_rows
from lostneutral.report.evidence.section import deduction, deduction_in_short, deduction_pdf
from lostneutral.report.evidence.verdict import ratio_words, verdict_on_cause

pytestmark = pytest.mark.thorough

CASE = """title = "A flat"
[supply]
voltage = 230
[[point]]
name = "flat"
[[load]]
name = "A"
kind = "resistive"
connect = "L1-N"
power = 1000
[[load]]
name = "B"
kind = "resistive"
connect = "L2-N"
power = 1000
[[unknown]]
load = "B"
power = { low = 300, high = 2500 }
[[observation]]
between = "L1-N"
voltage = 240
uncertainty = 5
[[observation]]
between = "L2-N"
voltage = 158
uncertainty = 5
"""


@pytest.fixture(scope="module")
def flat():
    return deduced(parse_case(CASE), samples=128)


@pytest.fixture(scope="module")
def content(flat):
    return deduction_pdf(flat)


@pytest.fixture(scope="module")
def pdf(content):
    return pypdf.PdfReader(io.BytesIO(content))


def drawn(result):
    return (evidence_figures.rival_causes(result.deduction), evidence_figures.voltages_given_evidence(result.case, result.deduction))


def test_figures_are_well_formed_with_their_alternative_and_the_same_twice(flat):
    once = drawn(flat)
    for svg, alternative in once:
        assert ElementTree.fromstring(svg).get("aria-label") == alternative and len(alternative) > 40
    assert drawn(flat) == once


@pytest.mark.usefixtures("figures_unwritten")
def test_a_deduction_has_its_parts_in_order(flat):  # behaviour laid down
    made = deduction(flat)
    assert [b["text"] for b in made if b["kind"] == "heading"] == [
        "Comparison of possible causes", "Given", "Assumed", "Computed", "Concluded from the observations"]
    captions = [b["caption"] for b in made if b["kind"] == "table"]
    asked = [n for n, text in enumerate(captions) if text.startswith(("Given everything observed: lowest and highest", "Lowest and highest voltage to"))]
    assert len(asked) == 2 and asked[1] == asked[0] + 1
    without = deduction(replace(flat, deduction=replace(flat.deduction, asked=())))
    assert [b["caption"] for b in without if b["kind"] == "table"] == [c for n, c in enumerate(captions) if n not in asked]


@pytest.mark.usefixtures("figures_unwritten")
def test_words_carry_what_the_figures_show(flat):
    (_, causes), (_, volts) = drawn(flat)
    found = flat.deduction
    shown = sorted(found.rivals, key=lambda w: round(w.against, 6))[:10]  # alike but for rounding: as they come
    assert [part.split(":")[0] for part in causes.split("best. ")[1].split("; ")] == [w.words for w in shown]
    compared = [w for w in shown[1:] if 1 < w.against <= 1e6]
    assert compared and all(f"{w.words}: 1 to {ratio_words(w.against)}" in causes for w in compared)
    assert any(middle is not None for *_, middle, _ in found.voltages)
    for point, line, low, middle, high in found.voltages:
        if middle is not None:
            assert f"{line} at {point} {low:.0f}, {middle:.0f}, {high:.0f} V" in volts


def test_a_cause_that_cannot_be_is_drawn_at_the_end_of_the_axis(flat):
    found = flat.deduction
    last = replace(found.rivals[-1], evidence=0.0, against=inf)
    svg, alternative = evidence_figures.rival_causes(replace(found, rivals=(found.rivals[0], last)))
    ElementTree.fromstring(svg)
    assert alternative.endswith(f"{last.words}: less than 1 to a million.")


def test_the_document_has_its_marks_fonts_and_alternatives(flat, pdf):
    check_marks(pdf, "A flat")
    check_fonts(pdf)
    assert alternatives(pdf) == {squeezed(alternative) for _, alternative in drawn(flat)}


@pytest.mark.usefixtures("figures_unwritten")
def test_given_assumed_computed_concluded_in_that_order_and_nobody_blamed(flat):
    text = squeezed(" ".join(page_texts(deduction_pdf(flat))))
    tables = "Evidencelog", "Assumptionsbeyondthecase", "Possiblecauses:priorandposterior", "Mostusefulfurtherreading"
    at = [text.index(words) for words in tables]
    assert at == sorted(at)
    assert squeezed(deduction_rows.PURPOSE) in text
    for sentence in verdict_on_cause(flat.deduction):
        assert squeezed(sentence) in text
    for word in (r"\bguilt", r"\bblame", r"\bsafe\b(?!ty)"):  # practice: support for a cause, never a verdict on people
        assert not re.search(word, " ".join(verdict_on_cause(flat.deduction)))
    assert squeezed(flat.cautions[0]) in text


@pytest.mark.thorough
def test_the_same_bytes_each_time(flat, content):
    assert deduction_pdf(flat) == content


@pytest.mark.usefixtures("figures_unwritten")
@pytest.mark.parametrize("audience", ["client", "investigator"])
def test_a_report_has_the_section_only_with_a_deduction(flat, audience):
    bare = replace(flat, deduction=None)
    assert deduction(bare) == deduction_in_short(bare) == []
    assert squeezed(deduction_rows.TITLE) in squeezed(" ".join(page_texts(report_pdf(flat, audience))))


@pytest.mark.usefixtures("figures_unwritten")
def test_a_report_says_why_nothing_was_weighed(flat):
    bare = replace(flat, deduction=None, not_weighed="Too few samples agree.")
    told = squeezed(" ".join(page_texts(report_pdf(bare, "investigator"))))
    assert "couldnotbecomparedwithpossiblecauses.Toofewsamplesagree." in told
