"""The heading of a document and the place where it is signed: as given, else lines to fill in by hand."""

import os

from lostneutral.report.base.blocks import fields, small, space
from lostneutral.report.base.pdf import date_words
from lostneutral.words.language import beside, tell


def issued(case):
    """Return the date of the report, or None if neither case nor environment has one."""
    dated = case.document.report or case.date
    return date_words(dated) if dated or os.environ.get("SOURCE_DATE_EPOCH") else None


def fields_of(case):
    """Return the block of reference, client, author, site and dates."""
    d = case.document
    author = ", ".join(text for text in (d.prepared_by, d.qualification, d.organisation) if text)
    pairs = [
        (tell("Report no."), d.reference),
        (tell("Prepared for"), d.prepared_for),
        (tell("Prepared by"), author),
        (tell("Site"), d.address),
        (tell("Incident"), d.incident),
        (tell("Inspected"), d.inspection),
        (tell("Date of report"), issued(case)),
    ]
    return [fields([*pairs, (tell("Instruction"), d.instruction)])]


def signature(case):
    """Return the lines for date, name and signature."""
    d = case.document
    return [
        space(),
        fields([(tell("Date"), ""), (tell("Name"), d.prepared_by), (tell("Qualification"), d.qualification), (tell("Signature"), "")]),
        *([] if d.prepared_by else [small(tell("Not signed unless completed by hand."))]),
    ]


def translated():
    """Return the note that a translation was not reviewed by a specialist whose first language it is; nothing where it was."""
    if not beside("not reviewed"):
        return []
    return [small(tell("This translation has not been reviewed by a specialist whose first language it is; where it and the English differ, "
                       "the English holds. What to do, and the cautions, stand in English too. An annex is in English."))]
