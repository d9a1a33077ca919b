"""Every kind of document against a checker of PDF/UA-1 and PDF/A-2a that is none of ours. Kind of all checks: independent."""

import re
from dataclasses import replace
from pathlib import Path

import pytest
from casebook_results import result as casebook
from page import ValidationProfile, validate_pdf_bytes

from lostneutral.report.base.blocks import beneath, bullets
from lostneutral.report.base.pdf import set_pdf
from lostneutral.report.documents.document import report_pdf
from lostneutral.words.language import speaking

KEPT = sorted((Path(__file__).parents[2] / "reports").glob("*.pdf"))
PROFILES = (ValidationProfile.PDF_UA_1, ValidationProfile.PDF_A_2A)


def faults(content):
    found = [failure for profile in PROFILES for failure in validate_pdf_bytes(content, profile=profile).failures]
    return [str(f) for f in found if not (f.rule_id.endswith("STREAM-LENGTH-001") and lengths_hold(content))]


def lengths_hold(content):
    """Return whether each stream has the length that it states.

    Compressed data may by chance end in the byte 13, which the checker takes for part of the end of line after it.
    """
    ends = [m.end() + int(m[1]) for m in re.finditer(rb"/Length (\d+)[^>]*>>\s*stream\r?\n", content)]
    return bool(ends) and all(content[at : at + 10] == b"\nendstream" for at in ends)


@pytest.mark.parametrize("path", KEPT, ids=lambda path: path.stem)
def test_kept_documents_conform(path):
    assert faults(path.read_bytes()) == []


def test_a_report_in_another_language_conforms():
    result = casebook("bakery")
    case = replace(result.case, document=replace(result.case.document, language="de", paper="letter"))
    assert faults(report_pdf(replace(result, case=case))) == []


def test_the_checker_finds_what_is_wrong():
    with speaking("fr"):
        content = set_pdf("Titre", [bullets([beneath("ne pas toucher", "do not touch")])])
    assert faults(content) == []
    assert content.count(b"/DisplayDocTitle true") == 1
    assert faults(content.replace(b"/DisplayDocTitle true", b"/DisplayDocTitle null")) != []
