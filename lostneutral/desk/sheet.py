"""The field sheet: one page for a phone, and the file that it saves."""

import base64
import hashlib
import json
from importlib import resources
from pathlib import Path

from lostneutral.desk import everyday, pictures
from lostneutral.desk.case import EMPTY, DeskCase
from lostneutral.desk.items import FATES, WRITTEN, Written, add_item
from lostneutral.desk.readings import INSTRUMENTS, Reading, add_reading
from lostneutral.desk.tables import new_boards
from lostneutral.errors import UsageError
from lostneutral.words.amounts import counted

FORMAT = "lostneutral field sheet/1"
BYTES_MAX = 200_000_000
TEXT_MAX = 2000  #: characters of one note
MOST = {"items": 2000, "readings": 500, "photos": 60}


def sheet_html() -> str:
    """Return the field sheet as one HTML document that needs nothing else."""
    from lostneutral.case.model import Case, Point, Supply
    from lostneutral.consequences.cautions import cautions

    unknown = Case("", Supply({}), (Point("intake"),), ())
    held = {"format": FORMAT, "words": [word for c in everyday.choices() for word in (c.name, *c.words)], "fates": FATES,
            "instruments": list(INSTRUMENTS), "cautions": list(cautions(unknown, "short"))}
    text = json.dumps(held, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")
    style, script = _source("sheet.css"), _source("sheet.js").replace("\u2028", "").replace("\u2029", "")
    policy = (f"default-src 'none'; script-src '{_digest(script)}'; style-src '{_digest(style)}'; img-src data: blob:; "
              "base-uri 'none'; form-action 'none'")
    parts = {"policy": policy, "style": style, "held": text, "script": script}
    pieces = _source("sheet.html").split("@@")
    return "".join(parts[piece] if at % 2 else piece for at, piece in enumerate(pieces))


def _source(name):
    return resources.files("lostneutral.desk").joinpath(name).read_text("utf-8")


def _digest(text):
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")


# The file that it saves


def is_sheet(content: bytes) -> bool:
    """Return whether `content` begins as the file of a field sheet does."""
    return FORMAT.encode() in content[:400]


def read_sheet(content: bytes) -> dict:
    """Return what a field sheet's file holds, every part of the kind that it should be. UsageError says what is wrong."""
    if len(content) > BYTES_MAX:
        raise UsageError(f"the field sheet is larger than {BYTES_MAX // 10**6} MB — save it in parts")
    try:
        held = json.loads(content)
    except (ValueError, RecursionError):
        raise UsageError("the field sheet is damaged: it is not JSON to its end — save it anew on the phone") from None
    if not isinstance(held, dict) or held.get("format") != FORMAT:
        raise UsageError("this is not a field sheet — bring the file that the sheet saved")
    made: dict = {"title": _text(held.get("title")), "note": _text(held.get("note"))}
    for key, most in MOST.items():
        rows = held.get(key, [])
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows) or len(rows) > most:
            raise UsageError(f"the field sheet is damaged: its {key} cannot be read, or are more than {most}")
        made[key] = [{str(k): v if k == "data" else _text(v) for k, v in row.items()} for row in rows]
    return made


def _text(value):
    return " ".join(str(value).split())[:TEXT_MAX] if isinstance(value, (str, int, float)) and not isinstance(value, bool) else ""


def take(case: DeskCase, held: dict) -> str:
    """Put what a field sheet holds into the case as one step of undo; return what was taken, in words.

    A picture that cannot be used is left out and named.
    """
    written = [Written(**{key: row.get(key, "") for key in WRITTEN}) for row in held["items"]]
    written = [w for w in written if w.what or w.name]
    lost = []
    with case.one_step():
        first = next((str(b.data.get("name")) for b in case.entries("point")), "supply")
        for name in dict.fromkeys([*new_boards(case, written), *_boards(case, held["readings"])]):
            case.add("point", {"name": name, "fed_from": first})
        if held["title"] and case.entry(None).get("title") == "New case":
            case.put(None, ("title",), held["title"])
        if held["note"] and not case.entry(None).get("description"):
            case.put(None, ("description",), held["note"])
        names = {}
        for row, w in zip([r for r in held["items"] if r.get("what") or r.get("name")], written):
            uid = add_item(case, w)
            names[row.get("id")] = str(case.entry(uid).get("name"))
        for row in held["readings"]:
            add_reading(case, Reading(**{key: row[key] for key in Reading.__dataclass_fields__ if row.get(key)}))
        for row in held["photos"]:
            try:
                content = base64.b64decode(str(row.get("data", "")).partition(",")[2], validate=True)
                pictures.bring(case, content, row.get("file") or "photo.jpg", row.get("caption", ""), names.get(row.get("item"), ""))
            except (ValueError, UsageError) as error:
                lost.append(f"{row.get('caption') or row.get('file') or 'a photograph'} ({error})")
    words = ", ".join((counted(len(written), "item"), counted(len(held["readings"]), "reading"),
                       counted(len(held["photos"]) - len(lost), "photograph")))
    return words + (f"; left out: {'; '.join(lost)}" if lost else "")


def _boards(case, readings):
    known = {str(b.data.get("name")) for b in case.entries("point")}
    return [row["point"] for row in readings if row.get("point") and row["point"] not in known]


def case_of_sheet(path: Path) -> Path:
    """Return the case file beside the field sheet `path`, with the sheet taken into its draft where neither is there yet."""
    from lostneutral.desk.store import Draft, draft_path, write_draft
    from lostneutral.report.base.files import read_file

    content = read_file(path, BYTES_MAX)
    if not is_sheet(content):
        raise UsageError(f"{path.name}: this is neither a case file (.toml) nor a field sheet — give one of these")
    target = path.with_name(f"{path.stem.removesuffix('.sheet')}.toml")
    if not target.exists() and not draft_path(target).exists():
        case = DeskCase(EMPTY, str(target))
        take(case, read_sheet(content))
        write_draft(target, Draft(case.text))
    return target
