"""Pictures are made anew, so that nothing but their pixels comes with them. Kind: invariant."""

import hashlib
import io

import pytest
from desk_cases import SHOP
from PIL import Image

from lostneutral.desk.case import DeskCase
from lostneutral.desk.pictures import BYTES_MAX, SIDE_MAX, bring, made_anew
from lostneutral.errors import UsageError


def picture(size=(60, 40), kind="JPEG", turned=1, more=b""):
    exif = Image.Exif()
    exif[0x0112] = turned
    exif[0x8769] = {0x9003: "2025:09:19 11:40:05"}
    exif[0x8825] = {1: "N", 2: (51.0, 30.0, 0.0)}
    held = io.BytesIO()
    Image.new("RGB", size, (200, 30, 30)).save(held, kind, exif=exif)
    return held.getvalue() + more


def test_position_and_what_is_hidden_behind_the_picture_do_not_come_along():
    content = picture(more=b"<script>alert(1)</script> PK\x03\x04")
    made, taken = made_anew(content)
    assert taken == "2025-09-19 11:40" and b"script" not in made and b"PK" not in made
    with Image.open(io.BytesIO(made)) as image:
        assert image.format == "JPEG" and not image.getexif()


def test_a_turned_picture_is_upright_and_a_large_one_smaller():
    with Image.open(io.BytesIO(made_anew(picture(turned=6))[0])) as image:
        assert image.size == (40, 60)
    with Image.open(io.BytesIO(made_anew(picture((SIDE_MAX + 500, 30)))[0])) as image:
        assert image.width == SIDE_MAX


@pytest.mark.parametrize("content", [b"", b"GIF89a" + b"\0" * 50, b"<svg xmlns='http://www.w3.org/2000/svg'/>", picture()[:200],
                                     b"\xff\xd8\xff" + b"\0" * 100, b"\0" * (BYTES_MAX + 1), b"\xff\xd8\xff" + b"\0" * 50_000_000],
                         ids=["nothing", "gif", "svg", "cut", "head only", "too large", "50 MB"])
def test_what_is_no_photograph_is_refused_with_words(content):
    with pytest.raises(UsageError):
        made_anew(content)


def test_a_picture_of_too_many_pixels_is_refused():
    held = io.BytesIO()
    Image.new("1", (40_000, 4_000)).save(held, "PNG")
    with pytest.raises(UsageError, match="million"):
        made_anew(held.getvalue())


def test_a_photograph_stands_beside_the_case_and_in_it(tmp_path):
    case = DeskCase(SHOP.read_text("utf-8"), str(tmp_path / "shop.toml"))
    content = picture(kind="PNG")
    bring(case, content, "../../IMG 1.png", load="Till")
    bring(case, content, "a\nb\x1b[31m.png", "The joint; as found")
    assert {p.name for p in (tmp_path / "shop-photos").iterdir()} == {"till.jpg", "the-joint-as-found.jpg"}
    first, second = case.check().case.photos
    assert first.load == "Till" and second.caption == "The joint; as found" and first.taken == "2025-09-19 11:40"
    assert hashlib.sha256(content).hexdigest() in case.text and "brought as IMG 1.png" in case.text
    assert str(tmp_path) not in case.text
