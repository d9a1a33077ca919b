"""Photographs and test results: what is read of a file, what is printed of it, and what a hostile one does."""

import hashlib
import io

import pypdf
import pytest
from PIL import Image
from read_back import page_texts, squeezed

from lostneutral import analyse, read_case
from lostneutral.errors import CaseError, UsageError
from lostneutral.report.documents.document import report_pdf

pytestmark = [pytest.mark.thorough, pytest.mark.usefixtures("figures_unwritten")]
CASE = """
title = "Three lamps"
[supply]
[[load]]
name = "Hall lamp"
kind = "resistive"
connect = "L1-N"
power = 100
[[load]]
name = "Kitchen lamp"
kind = "resistive"
connect = "L2-N"
power = 200
"""
PHOTO = """
[[photo]]
file = "{}"
caption = "The joint as found"
load = "Hall lamp"
taken_by = "A. Author"
taken = "1 March 2024, about noon"
{}
"""
TEST = """
[[test]]
circuit = "intake"
test = "insulation resistance, L-PE"
value = ">999"
unit = "MΩ"
instrument = "tester 3"
calibration = "certificate 12, 2024-01"
by = "A. Author, inspector"
date = 2024-03-02
"""


@pytest.fixture()
def folder(tmp_path):
    """A folder with a photograph that holds a position, and files that are none."""
    tags = Image.Exif()
    tags[0x8825] = {1: "N", 2: (51.0, 30.0, 0.0), 3: "W", 4: (0.0, 7.0, 30.0)}
    Image.effect_noise((600, 450), 60).resize((2400, 1800)).convert("RGB").save(tmp_path / "joint.jpg", exif=tags)
    Image.new("RGBA", (400, 300), (0, 90, 160, 120)).save(tmp_path / "mark.png")
    (tmp_path / "false.jpg").write_bytes(b"\xff\xd8\xff\xe0 and no picture")
    (tmp_path / "text.png").write_text("hello")
    whole = (tmp_path / "joint.jpg").read_bytes()
    (tmp_path / "cut.jpg").write_bytes(whole[: len(whole) // 3])
    return tmp_path


def report_on(folder, more):
    (folder / "case.toml").write_text(CASE + more)
    return report_pdf(analyse(read_case(folder / "case.toml")), "investigator")


def text_of(content):
    return squeezed(" ".join(page_texts(content)))


def test_the_copy_is_scaled_and_the_original_is_named_by_its_checksum(folder):
    before = (folder / "joint.jpg").read_bytes()
    content = report_on(folder, PHOTO.format("joint.jpg", "") + TEST)
    text = text_of(content)
    for said in (
        hashlib.sha256(before).hexdigest(),
        "The joint as found",
        "1 March 2024, about noon",
        "A. Author",
        "Scaled copy, 1400 by 1050",
        ">999 MΩ",
        "certificate 12",
        "2024-03-02",
    ):
        assert squeezed(said) in text
    assert (folder / "joint.jpg").read_bytes() == before and before not in content
    sizes = {
        image.image.size for page in pypdf.PdfReader(io.BytesIO(content)).pages for image in page.images if image.image
    }
    assert (1400, 1050) in sizes
    assert b"Exif" not in content and "51.5" not in text


def test_a_position_is_told_only_where_it_is_to_be_kept(folder):
    assert squeezed("51.50000 N, 0.12500 W") in text_of(
        report_on(folder, PHOTO.format("joint.jpg", "keep_position = true"))
    )


def test_the_same_photograph_gives_the_same_bytes(folder):
    more = PHOTO.format("joint.jpg", "") + '[document]\nlogo = "mark.png"\n'
    assert report_on(folder, more) == report_on(folder, more)


WRONG = {
    "nothing.jpg": "is not there",
    "../joint.jpg": "outside the folder",
    "/etc/hostname": "outside the folder",
    "text.png": "neither a JPEG nor a PNG",
    "false.jpg": "cannot be decoded",
    ".": "not a plain file",
}


def test_every_wrong_picture_is_told_with_its_place(folder):
    (folder / "case.toml").write_text(
        CASE + "".join(PHOTO.format(name, "") for name in WRONG) + '[document]\nlogo = "text.png"\n'
    )
    with pytest.raises(CaseError) as caught:
        read_case(folder / "case.toml")
    message = str(caught.value)
    for number, (_name, words) in enumerate(WRONG.items(), 1):
        assert f"photo[{number}].file" in message and words in message
    assert "document.logo" in message and len(message.splitlines()) == len(WRONG) + 1


def test_a_picture_of_too_many_pixels_is_refused_by_its_head(folder, monkeypatch):
    monkeypatch.setattr("lostneutral.case.pictures.PIXELS_MAX", 1000)
    (folder / "case.toml").write_text(CASE + PHOTO.format("joint.jpg", ""))
    with pytest.raises(CaseError, match="2400 by 1800 pixels"):
        read_case(folder / "case.toml")


def test_a_file_that_is_cut_off_or_was_changed_is_told_when_it_is_printed(folder):
    with pytest.raises(UsageError, match="cut.jpg: the picture cannot be decoded"):
        report_on(folder, PHOTO.format("cut.jpg", ""))
    (folder / "case.toml").write_text(CASE + PHOTO.format("joint.jpg", ""))
    result = analyse(read_case(folder / "case.toml"))
    (folder / "joint.jpg").write_bytes(b"another")
    with pytest.raises(UsageError, match="another than when the case was read"):
        report_pdf(result, "investigator")


def test_a_photograph_of_a_load_that_is_not_there_is_refused(folder):
    (folder / "case.toml").write_text(CASE + PHOTO.format("joint.jpg", "").replace("Hall lamp", "Hall lmp"))
    with pytest.raises(CaseError, match='did you mean "Hall lamp"'):
        read_case(folder / "case.toml")
