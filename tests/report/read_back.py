"""Reading a report back from its PDF."""

import re


def squeezed(text):
    return re.sub(r"[\s\u200b]+", "", text)  # where lines break is the typesetter's business


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
