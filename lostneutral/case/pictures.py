"""Picture files that a case names: what they may be, and their SHA-256; only their heads are decoded here."""

import hashlib
import warnings
from pathlib import Path

from lostneutral.case.faults import show
from lostneutral.case.model import Picture

BYTES_MAX = 50_000_000
PIXELS_MAX = 120_000_000  #: width times height; a larger one takes more memory than a report is worth
PICTURES_MAX = 60
HEADS = {b"\xff\xd8\xff": "JPEG", b"\x89PNG\r\n\x1a\n": "PNG"}
ALLOWED = "a JPEG or PNG file in the folder of the case file or below it"


def check_pictures(draft, faults, folder: Path) -> dict[str, Picture]:
    """Return {name as written: Picture} of the pictures that `draft` names; what is wrong with one goes to `faults`.

    `folder` is that of the case file. The originals are read, never written.
    """
    named = [((*path, "file"), entry.file) for path, entry in draft.entries("photo")]
    logo = draft.file.document.logo if draft.file.document and ("document",) not in draft.aside else None
    named += [(("document", "logo"), logo)] if logo else []
    found, read = {}, {}
    for number, (path, name) in enumerate(named):
        if number >= PICTURES_MAX:
            faults.add(path, f"more than {PICTURES_MAX} pictures are named", "fewer of them")
            break
        if name not in read:
            read[name] = _picture(name, folder)
        if isinstance(read[name], str):
            faults.add(path, f"{show(name)} {read[name]}", ALLOWED)
        else:
            found[name] = read[name]
    return found


def picture_bytes(picture: Picture) -> bytes | None:
    """Return the bytes of the file, or None if it is no longer the one that was read."""
    try:
        content = Path(picture.path).read_bytes()
    except OSError:
        return None
    return content if hashlib.sha256(content).hexdigest() == picture.sha256 else None


def _picture(name, folder):
    """Return the Picture `name`, or what is wrong with it."""
    try:
        root = folder.resolve()
        path = (root / name).resolve()
        if not path.is_relative_to(root):
            return "is outside the folder of the case file"
        if not path.exists():
            return "is not there"
        if not path.is_file():
            return "is not a plain file"
        if path.stat().st_size > BYTES_MAX:
            return f"is larger than {BYTES_MAX // 10**6} MB"
        with path.open("rb") as file:
            content = file.read(BYTES_MAX + 1)
    except (OSError, ValueError, RuntimeError) as error:
        return f"cannot be read: {getattr(error, 'strerror', None) or error}"
    kind = next((kind for head, kind in HEADS.items() if content.startswith(head)), None)
    if kind is None:
        return "is neither a JPEG nor a PNG file"
    size = _size(content, kind)
    if size is None:
        return f"begins as a {kind} file, but cannot be decoded"
    if size[0] * size[1] > PIXELS_MAX:
        return f"has {size[0]} by {size[1]} pixels, more than {PIXELS_MAX // 10**6} million"
    return Picture(str(path), name, hashlib.sha256(content).hexdigest(), size)


def _size(content, kind):
    """Return (width, height) in pixels, or None if the head cannot be read."""
    import io

    from PIL import Image

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # Pillow warns of large pictures; they are counted below
            with Image.open(io.BytesIO(content), formats=[kind]) as image:
                return image.size
    except Exception:  # whatever a hostile file makes of the decoder, it is one that cannot be used
        return None
