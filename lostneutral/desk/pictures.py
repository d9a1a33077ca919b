"""Photographs that are brought: decoded and made anew as JPEG beside the case file, so that nothing else comes with them.

The file that was brought is not kept; its name and SHA-256 stand as a comment above the entry of the case file.
"""

import hashlib
import io
import re
import warnings
from datetime import datetime
from pathlib import Path

from lostneutral.case.pictures import PICTURES_MAX, PIXELS_MAX
from lostneutral.desk.case import DeskCase
from lostneutral.errors import UsageError
from lostneutral.report.base.files import write_file

BYTES_MAX = 25_000_000
SIDE_MAX = 3000  #: pixels of the longer side that are kept
FORMATS = ("JPEG", "PNG")
TAKEN = 0x9003  #: EXIF: when it was taken


def made_anew(content: bytes) -> tuple[bytes, str]:
    """Return (JPEG made from the pixels of `content`, when it was taken by its file or ""). UsageError says what is wrong."""
    from PIL import Image, ImageOps

    if len(content) > BYTES_MAX:
        raise UsageError(f"the picture is larger than {BYTES_MAX // 10**6} MB — bring a smaller copy")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # Pillow warns of large pictures; they are counted here
            with Image.open(io.BytesIO(content), formats=FORMATS) as image:
                if image.width * image.height > PIXELS_MAX:
                    raise UsageError(f"the picture has {image.width} by {image.height} pixels, more than {PIXELS_MAX // 10**6} million")
                taken = _taken(image)
                turned = ImageOps.exif_transpose(image).convert("RGB")
                turned.thumbnail((SIDE_MAX, SIDE_MAX))
                held = io.BytesIO()
                turned.save(held, "JPEG", quality=88, optimize=True)
    except UsageError:
        raise
    except Exception:  # noqa: BLE001 - whatever a damaged or hostile file makes of the decoder
        raise UsageError("this is not a JPEG or PNG picture that can be decoded — bring a photograph as JPEG or PNG") from None
    return held.getvalue(), taken


def _taken(image):
    text = image.getexif().get_ifd(0x8769).get(TAKEN, "")
    try:
        return datetime.strptime(str(text), "%Y:%m:%d %H:%M:%S").isoformat(" ", "minutes")
    except ValueError:
        return ""


def bring(case: DeskCase, content: bytes, brought_as: str, caption: str = "", load: str = "", point: str = "") -> int:
    """Put a photograph beside the case file and name it in the case; return the entry's number."""
    if len(case.entries("photo")) >= PICTURES_MAX:
        raise UsageError(f"the case has {PICTURES_MAX} photographs, and no more are taken")
    picture, taken = made_anew(content)
    name = _place(case, caption or load or point or Path(brought_as).stem)
    write_file(Path(case.name).parent / name, picture)
    data = {"file": name, "caption": (caption or _plain(load or point or Path(brought_as).stem) or "Photograph")[:500]}
    data |= {"load": load} if load else {"point": point} if point else {}
    data |= {"taken": taken} if taken else {}
    was = f"# brought as {_plain(Path(brought_as).name)[:120]}, SHA-256 {hashlib.sha256(content).hexdigest()}, and made anew\n"
    return case.add("photo", data, was)


def _place(case, words):
    """Return a free name, in a folder of the case's own beside it."""
    folder = Path(case.name).parent
    stem = re.sub(r"[^A-Za-z0-9]+", "-", words).strip("-").lower()[:40] or "photo"
    base = f"{Path(case.name).stem}-photos"
    names = (f"{base}/{stem}{f'-{n}' if n > 1 else ''}.jpg" for n in range(1, 10**5))
    return next(name for name in names if not (folder / name).exists())


def _plain(text):
    return "".join(c if c.isprintable() else " " for c in text)
