"""Reading a report, or another document of the same machinery, back from its PDF."""

import re

import pypdfium2


def squeezed(text):
    return re.sub(r"[\s\u200b]+", "", text)  # where lines break is the typesetter's business


def page_texts(document):
    """Return the text of every page of a PDF, given as bytes or by its path."""
    with pypdfium2.PdfDocument(document) as pdf:
        return [page.get_textpage().get_text_range().replace("\ufffe", "-") for page in pdf]  # so it marks a hyphen at a line's end


def structure(pdf):
    """Yield every element of the document's structure tree."""
    waiting = [pdf.trailer["/Root"]["/StructTreeRoot"]]
    while waiting:
        element = waiting.pop().get_object()
        if isinstance(element, list):
            waiting += element
        elif isinstance(element, dict):
            if "/S" in element:
                yield element
            if "/K" in element:
                waiting.append(element["/K"])


def alternatives(pdf):
    """Return the text alternatives of all figures, squeezed; every figure has to have one."""
    figures = [e for e in structure(pdf) if e["/S"] == "/Figure"]
    assert figures and all("/Alt" in e for e in figures)
    return {squeezed(str(e["/Alt"])) for e in figures}


def check_marks(pdf, title):
    """Check the marks of an accessible and lasting document (PDF/UA-1 and PDF/A-2a), its language and its title."""
    root = pdf.trailer["/Root"]
    assert root["/Lang"].startswith("en")
    assert root["/MarkInfo"]["/Marked"] is True or root["/MarkInfo"]["/Marked"].value is True
    assert "/StructTreeRoot" in root and root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert pdf.metadata.title == title
    xmp = root["/Metadata"].get_data().decode()
    assert re.search(r"pdfaid:part\W+2\b", xmp) and re.search(r"pdfaid:conformance\W+A\b", xmp)
    assert re.search(r"pdfuaid:part\W+1\b", xmp)
    assert f"page 1 of {len(pdf.pages)}" in pdf.pages[0].extract_text()


def check_fonts(pdf):
    """Check that every font of every page is embedded."""
    fonts = 0
    for page in pdf.pages:
        for font in page["/Resources"].get("/Font", {}).values():
            (inner,) = font.get_object()["/DescendantFonts"]
            descriptor = inner.get_object()["/FontDescriptor"]
            assert {"/FontFile2", "/FontFile3"} & descriptor.keys()
            fonts += 1
    assert fonts
