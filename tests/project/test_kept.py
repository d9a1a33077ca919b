"""What is kept in `reports/` is what the present code makes. Kind of all checks: invariant."""

import re

import pytest
from kept import DOCUMENTS, PAGES, REPORTS, SCREEN, checksum, make, shown_in
from read_back import page_texts

SLOW = pytest.mark.thorough
OF_THE_MACHINE = re.compile(r"\b[0-9a-f]{8,64}\b|\b\d+\.\d+(\.\d+)+\b")  # checksums, versions: another machine has others


@pytest.mark.parametrize("kept", [pytest.param(kept, id=kept.files[0], marks=[SLOW] * kept.slow) for kept in DOCUMENTS])
def test_kept_documents_are_those_of_the_present_code(kept, tmp_path):
    make(kept, tmp_path)
    for name in kept.files:
        assert told(REPORTS / name) == told(tmp_path / name), f"{name} is old: run python tests/project/kept.py"


@pytest.mark.parametrize("name", PAGES)
def test_pictures_of_pages_show_the_kept_document(name):
    document, _, _ = PAGES[name]
    assert shown_in(REPORTS / name) == checksum(REPORTS / document)


@SLOW
def test_the_picture_of_the_page_shows_the_present_one(tmp_path):
    make(SCREEN, tmp_path)
    assert shown_in(REPORTS / "explore.png") == checksum(tmp_path / SCREEN.files[0])


def test_nothing_else_is_kept():
    known = {name for kept in DOCUMENTS for name in kept.files} | set(PAGES) | {"explore.png", "desk.png"}
    assert {path.name for path in REPORTS.iterdir()} == known


def told(path):
    """Return the texts of a document, page by page, without what differs from machine to machine."""
    if path.suffix != ".pdf":
        return OF_THE_MACHINE.sub("", path.read_text("utf-8"))
    return [OF_THE_MACHINE.sub("", " ".join(page.split())) for page in page_texts(path)]
