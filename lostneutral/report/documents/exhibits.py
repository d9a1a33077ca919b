"""Photographs and test results as exhibits: a scaled copy to look at, the original by its SHA-256."""

import base64
import io

from lostneutral.case.pictures import picture_bytes
from lostneutral.errors import UsageError
from lostneutral.report.base.blocks import figure, heading, paragraph, table
from lostneutral.report.base.words import NOTHING

LONGEST = 1400  #: pixels of the longer side of a copy: 300 to the inch at the width at which it is printed
_GPS, _TAKEN = 0x8825, 0x9003  #: tags of a file's position and time (EXIF)


def exhibits(case):
    """Return the blocks of photographs and test results; nothing where the case has none."""
    return [*_tests(case), *_photos(case)]


def exhibit_name(number):
    """Return the name of the photograph of that number, from 0."""
    return f"P{number + 1}"


def _tests(case):
    if not case.tests:
        return []
    rows = [
        (
            f"T{n + 1}",
            t.circuit,
            t.test,
            _value(t),
            t.instrument or NOTHING,
            t.calibration or NOTHING,
            t.by or NOTHING,
            t.date or NOTHING,
        )
        for n, t in enumerate(case.tests)
    ]
    return [
        heading("Test results as recorded", 2),
        table(
            "Test results as recorded; none was repeated for this report",
            ("no.", "circuit", "test", "value", "instrument", "calibration", "by", "date"),
            rows,
            "lllrllll",
            {1: 1, 2: 1.4, 4: 1, 5: 1, 6: 1},
        ),
    ]


def _value(test):
    value = f"{test.value:g}" if isinstance(test.value, (int, float)) else test.value
    return f"{value} {test.unit or ''}".rstrip()


def _photos(case):
    if not case.photos:
        return []
    rows, drawn = [], []
    for n, photo in enumerate(case.photos):
        copy = _copy(photo)
        rows.append(
            (
                exhibit_name(n),
                photo.caption,
                photo.point or photo.load or NOTHING,
                photo.taken_by or "not stated",
                photo.taken or "not stated",
                copy["time"] or NOTHING,
                photo.picture.name,
                photo.picture.sha256,
            )
        )
        where = f" ({photo.point or photo.load})" if photo.point or photo.load else ""
        more = f" Position in the file: {copy['position']}." if copy["position"] else ""
        drawn.append(
            figure(
                (copy["svg"], f"Photograph: {photo.caption}"),
                f"{exhibit_name(n)}: {photo.caption}{where}. Scaled copy, {copy['size']}; the original is the"
                f" exhibit.{more}",
                width=62,
            )
        )
    return [
        heading("Photographs", 2),
        paragraph(
            "The exhibit is the original file, which is not in this document and was not changed; its SHA-256"
            " identifies it. What is printed is a scaled copy without the data of the camera."
        ),
        table(
            "Exhibits: photographs",
            (
                "no.",
                "shows",
                "of",
                "taken by",
                "taken, as stated",
                "time in the file",
                "file",
                "SHA-256 of the original",
            ),
            [(*row[:7], _in_parts(row[7])) for row in rows],
            "llllllll",
            {1: 1.3, 2: 0.8, 3: 0.8, 4: 0.8, 5: 0.8, 6: 0.9, 7: 1.3},
        ),
        *drawn,
    ]


def _in_parts(checksum):
    return " ".join(checksum[i : i + 16] for i in range(0, 64, 16))


def logo(document):
    """Return the drawing of the author's own mark as SVG, or an empty text."""
    return _svg(*_scaled(document.logo, LONGEST // 3)[:2]) if document.logo else ""


def _copy(photo):
    content, size, image = _scaled(photo.picture, LONGEST)
    tags = image.getexif()
    position = _position(tags.get_ifd(_GPS)) if photo.keep_position else ""
    return {
        "svg": _svg(content, size),
        "size": f"{size[0]} by {size[1]} pixels",
        "position": position,
        "time": str(tags.get_ifd(0x8769).get(_TAKEN, ""))[:40],
    }


def _scaled(picture, longest):
    """Return (JPEG bytes, (width, height), the image) of a copy on white, upright, without the file's own data."""
    from PIL import Image, ImageOps

    content = picture_bytes(picture)
    if content is None:
        raise UsageError(
            f"{picture.name}: the picture is not there any more, or is another than when the case was read — put it"
            " back"
        )
    try:
        with Image.open(io.BytesIO(content), formats=["JPEG", "PNG"]) as image:
            image.draft("RGB", (longest, longest))
            upright = ImageOps.exif_transpose(image)
            upright.thumbnail((longest, longest))
            if upright.mode in ("RGBA", "LA", "P", "PA"):
                upright = upright.convert("RGBA")
                upright = Image.alpha_composite(Image.new("RGBA", upright.size, "white"), upright)
            out = io.BytesIO()
            upright.convert("RGB").save(out, "JPEG", quality=82)
            return out.getvalue(), upright.size, image
    except Exception as error:  # a file that only begins like a picture: whatever the decoder makes of it
        raise UsageError(
            f"{picture.name}: the picture cannot be decoded ({type(error).__name__}) — save it again as JPEG or PNG"
        ) from None


def _svg(content, size):
    data = base64.b64encode(content).decode()
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{size[0]}" height="{size[1]}" viewBox="0 0 {size[0]}'
        f' {size[1]}"><image width="{size[0]}" height="{size[1]}" href="data:image/jpeg;base64,{data}"/></svg>'
    )


def _position(tags):
    """Return the position in degrees, "51.50000 N, 0.12000 W", or an empty text."""
    try:
        return ", ".join(
            f"{sum(float(x) / 60**n for n, x in enumerate(tags[at])):.5f} {tags[side]}" for at, side in ((2, 1), (4, 3))
        )
    except (KeyError, TypeError, ValueError, ZeroDivisionError):
        return ""
