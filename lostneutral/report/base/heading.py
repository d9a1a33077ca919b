"""The heading of a document and the place where it is signed: as given, else lines to fill in by hand."""

from lostneutral.report.base.blocks import fields, heading, small, space
from lostneutral.report.base.pdf import date_words


def issued(case):
    """Return the date of the report, or None if neither case nor environment has one."""
    words = date_words(case.document.report or case.date)
    return None if words == "not dated" else words


def fields_of(case):
    """Return the block of reference, client, author, site and dates."""
    d = case.document
    author = ", ".join(text for text in (d.prepared_by, d.qualification, d.organisation) if text)
    pairs = [
        ("Report no.", d.reference),
        ("Prepared for", d.prepared_for),
        ("Prepared by", author),
        ("Site", d.address),
        ("Incident", d.incident),
        ("Inspected", d.inspection),
        ("Date of report", issued(case)),
    ]
    return [fields([*pairs, ("Instruction", d.instruction)])]


def signature(case, form=""):
    """Return the lines for date, name and signature, under the words of a form if there is one."""
    d = case.document
    return [
        *([heading(form, 2)] if form else []),
        space(),
        fields([("Date", ""), ("Name", d.prepared_by), ("Qualification", d.qualification), ("Signature", "")]),
        *([] if d.prepared_by else [small("Not signed unless completed by hand.")]),
    ]
