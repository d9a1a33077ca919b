"""The documents of a case, each made from its whole result; all of them in one archive with photographs and hashes."""

import hashlib
import io
import zipfile

from lostneutral.errors import LostNeutralError
from lostneutral.frozen import dataclass

BEGAN = (1980, 1, 1, 0, 0, 0)  #: time of every file in an archive: the same case gives the same archive
SUMS = "SHA256SUMS.txt"


@dataclass(frozen=True)
class Document:
    """One document as the desk offers it: its key, what it is, whom it is for, the type of its first file."""

    key: str
    title: str
    words: str
    type: str


DOCUMENTS = (
    Document("client", "Report for the client", "Two pages, to be signed (PDF)", "application/pdf"),
    Document("annex", "Report for the client, with annex", "The two pages with all tables and figures (PDF)", "application/pdf"),
    Document("investigator", "Report for an investigator", "Facts, observations, calculation and opinion apart (PDF)", "application/pdf"),
    Document("handout", "Lesson: handout", "What learners build, predict and read (PDF)", "application/pdf"),
    Document("key", "Lesson: tutor's key", "Every blank filled in, every question answered (PDF)", "application/pdf"),
    Document("page", "Page for the browser", "The case to be changed and watched, without a network (HTML)", "text/html"),
    Document("items", "List of items", "For a spreadsheet (CSV)", "text/csv"),
    Document("result", "Result file", "For programs, and to be compared later (JSON)", "application/json"),
    Document("case", "Case file", "What everything here is calculated from (TOML)", "text/plain"),
)
EXTENSIONS = {"application/pdf": ".pdf", "text/html": ".html", "text/csv": ".csv", "application/json": ".json", "text/plain": ".toml"}


def stem_of(name: str) -> str:
    """Return the case's name for its files, without a folder."""
    from pathlib import Path

    return Path(name).stem or "case"


def file_name(key: str, name: str) -> str:
    """Return the file name of a document of the case file `name`."""
    entry = next(d for d in DOCUMENTS if d.key == key)
    middle = "" if key in ("case", "result", "page") else f"-{key}"
    return f"{stem_of(name)}{middle}{EXTENSIONS[entry.type]}"


def make(work, text: str, name: str, key: str) -> bytes:
    """Return one document; `work` is the `Work` that has its result. LostNeutralError where there cannot be one."""
    from lostneutral import page_html, result_json
    from lostneutral.report.damage.items_file import items_csv
    from lostneutral.report.documents.document import report_pdf

    match key:
        case "case":
            return text.encode("utf-8")
        case "result":
            return result_json(work.reported(text, name)).encode("utf-8")
        case "items":
            return items_csv(work.result(text, name)).encode("utf-8")
        case "page":
            return page_html(work.result(text, name)).encode("utf-8")
        case "client" | "annex":
            return report_pdf(work.reported(text, name), "client", key == "annex")
        case "investigator":
            return report_pdf(work.reported(text, name), "investigator")
    from lostneutral.teaching.lesson import lesson
    from lostneutral.teaching.pack import handout_pdf, key_pdf

    made = lesson(work.result(text, name))
    return handout_pdf(made) if key == "handout" else key_pdf(made)


def archive(work, text: str, name: str) -> bytes:
    """Return a zip of every document, the photographs as they lie beside the case, and the SHA-256 of each.

    A document that this case does not allow is left out, and a file says why.
    """
    from lostneutral.case.pictures import picture_bytes

    files, missing = {}, []
    for entry in DOCUMENTS:
        try:
            files[file_name(entry.key, name)] = make(work, text, name, entry.key)
        except LostNeutralError as error:
            missing.append(f"{entry.title}: {error}")
        work.progress(len(files) / (len(DOCUMENTS) + 1))
    for photo in work.result(text, name).case.photos:
        content = picture_bytes(photo.picture)
        if content is None:
            missing.append(f"Photograph {photo.picture.name}: no longer the file that was read")
        else:
            files[photo.picture.name.replace("\\", "/").lstrip("/")] = content
    if missing:
        files["NOT-INCLUDED.txt"] = ("\n".join(missing) + "\n").encode("utf-8")
    sums = "".join(f"{hashlib.sha256(content).hexdigest()}  {file}\n" for file, content in files.items())
    files[SUMS] = sums.encode("utf-8")
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as made:
        for file, content in files.items():
            made.writestr(zipfile.ZipInfo(file, BEGAN), content, zipfile.ZIP_DEFLATED)
    return held.getvalue()
