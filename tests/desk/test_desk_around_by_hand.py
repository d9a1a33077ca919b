"""Field sheets, drafts, photographs, archives and processes of the desk at their edges, by small cases. Kind of all: behaviour laid down."""

import asyncio
import errno
import hashlib
import io
import os
import zipfile
from types import SimpleNamespace

import pytest
from desk_cases import SMALL

from lostneutral.desk import documents, lanes, pictures, sheet, store, worker
from lostneutral.desk.case import DeskCase
from lostneutral.errors import LostNeutralError, UsageError

# Field sheets

def note(title="At the shop", text="As found", **more):
    return {"title": title, "note": text, "items": [], "readings": [], "photos": []} | more


def test_title_and_note_of_a_sheet_replace_nothing_that_was_written():
    case = DeskCase()
    assert sheet.take(case, note()) == "0 items, 0 readings, 0 photographs" and (case.data["title"], case.data["description"]) == ("At the shop", "As found")
    sheet.take(case, note("Second", "Other"))
    assert (case.data["title"], case.data["description"]) == ("At the shop", "As found")
    blank = DeskCase()
    sheet.take(blank, note("", ""))
    assert blank.data["title"] == "New case" and "description" not in blank.data


def test_rows_of_a_sheet_without_a_name_are_left_out():
    case = DeskCase()
    rows = [{"id": "1", "what": "", "name": ""}, {"id": "2", "what": "kettle", "name": "", "point": "barn"}, {"id": "3", "name": "Urn"}]
    told = sheet.take(case, note(items=rows, readings=[{"point": "shed", "between": "L1-N", "voltage": "231"}, {"point": "", "between": "L1-N", "voltage": "230"}],
                                 photos=[{"item": "2", "file": "p.jpg", "data": "data:,not base64!"}, {"item": "2", "data": ""}]))
    assert told.startswith("2 items, 2 readings, 0 photographs; left out: p.jpg (") and "; a photograph (" in told
    assert [x["name"] for x in case.data["load"]] == ["Kettle", "Urn"] and [p["name"] for p in case.data["point"]] == ["intake", "barn", "shed"]
    assert [o["voltage"] for o in case.data["observation"]] == [231, 230]


def test_a_sheet_that_is_too_large_is_refused(monkeypatch):
    monkeypatch.setattr(sheet, "BYTES_MAX", 2_000_000)
    with pytest.raises(UsageError, match="larger than 2 MB"):
        sheet.read_sheet(b" " * 2_000_001)
    with pytest.raises(UsageError, match="not a field sheet"):
        sheet.read_sheet(b'{"format": "x"}')
    held = sheet.read_sheet(b'{"format": "lostneutral field sheet/1", "title": "a  b", "note": true, "items": [{"data": [1], "count": 2.5}]}')
    assert (held["title"], held["note"], held["items"], held["photos"]) == ("a b", "", [{"data": [1], "count": "2.5"}], []) and len(sheet._text("x" * 3000)) == 2000


def test_a_sheet_beside_a_case_or_its_draft_is_not_taken_again(tmp_path):
    at = tmp_path / "a.sheet.json"
    at.write_text('{"format": "lostneutral field sheet/1", "items": [{"what": "kettle"}]}')
    store.write_draft(tmp_path / "a.toml", store.Draft("title = 'mine'"))
    assert sheet.case_of_sheet(at) == tmp_path / "a.toml" and store.read_draft(tmp_path / "a.toml").text == "title = 'mine'"
    store.forget(tmp_path / "a.toml")
    (tmp_path / "a.toml").write_text("title = 'there'")
    assert sheet.case_of_sheet(at) == tmp_path / "a.toml" and store.read_draft(tmp_path / "a.toml") is None


# Drafts

def test_a_draft_that_cannot_be_written_leaves_nothing(tmp_path, monkeypatch):
    def full(*_):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(UsageError, match=r"the draft cannot be written \(No space left on device\)"):
        store.write_draft(tmp_path / "a.toml", store.Draft("x"))
    assert os.listdir(tmp_path) == []


def test_what_cannot_be_removed_or_read_is_said(tmp_path):
    case = tmp_path / "a.toml"
    assert store.forget(case) is False
    store.draft_path(case).mkdir()
    with pytest.raises(UsageError, match="cannot be removed"):
        store.forget(case)
    assert store.read_draft(case) is None
    case.mkdir()
    with pytest.raises(UsageError, match="cannot be read: Is a directory — give the name of a case file"):
        store.Store(case).open()
    assert store.Store(case).changed_elsewhere() is True


def test_a_draft_that_says_nothing_else_is_none(tmp_path, monkeypatch):
    case = tmp_path / "a.toml"
    case.write_text("title = 'x'")
    opened = lambda draft: (store.write_draft(case, draft), store.Store(case).open())[1]
    assert opened(store.Draft("title = 'x'")) == ("title = 'x'", None)
    assert opened(store.Draft("title = 'x'", pending={"a": {"b": "c"}}))[1].pending == {"a": {"b": "c"}} and opened(store.Draft("title = 'y'"))[1].text == "title = 'y'"
    monkeypatch.setattr(store, "BYTES_MAX", 10)
    assert store.read_draft(case) is None


def test_saving_takes_the_draft_away_and_asks_where_another_has_written(tmp_path):
    case = store.Store(tmp_path / "a.toml")
    assert case.open() == (None, None) and case.changed_elsewhere() is False
    store.write_draft(case.path, store.Draft("x"))
    case.save("title = 'x'")
    assert store.read_draft(case.path) is None and case.text == "title = 'x'" and not case.changed_elsewhere()
    case.path.write_text("title = 'other'")
    with pytest.raises(UsageError, match="by another program"):
        case.save("title = 'y'")
    case.save("title = 'y'", over=True)
    assert case.path.read_text() == "title = 'y'"


@pytest.mark.parametrize("wrong", [{"format": "other"}, {"text": 3}, {"pending": []}])
def test_a_draft_with_a_part_of_another_kind_is_none(tmp_path, wrong):
    import json

    held = {"format": store.FORMAT, "base": "", "pending": {}, "text": "x"}
    store.draft_path(tmp_path / "a.toml").write_text(json.dumps(held))
    assert store.read_draft(tmp_path / "a.toml") == store.Draft("x")
    store.draft_path(tmp_path / "a.toml").write_text(json.dumps(held | wrong))
    assert store.read_draft(tmp_path / "a.toml") is None


# Photographs

def test_no_more_photographs_than_a_case_takes(tmp_path, monkeypatch):
    monkeypatch.setattr(pictures, "PICTURES_MAX", 1)
    monkeypatch.setattr(pictures, "made_anew", lambda content: (b"jpeg", ""))
    case = DeskCase(SMALL, str(tmp_path / "a.toml"))
    pictures.bring(case, b"x", "DSC 1.jpg", point="intake")
    assert case.data["photo"] == [{"file": "a-photos/intake.jpg", "caption": "intake", "point": "intake"}] and (tmp_path / "a-photos/intake.jpg").read_bytes() == b"jpeg"
    with pytest.raises(UsageError, match="the case has 1 photographs, and no more are taken"):
        pictures.bring(case, b"x", "DSC 2.jpg")


def test_photographs_of_like_names_are_numbered(tmp_path, monkeypatch):
    monkeypatch.setattr(pictures, "made_anew", lambda content: (b"jpeg", "2025-09-19 11:40"))
    case = DeskCase(SMALL, str(tmp_path / "a.toml"))
    for caption, file in (("", "DSC 1.jpg"), ("", "DSC-1.png"), ("***", "q.jpg")):
        assert pictures.bring(case, b"x", file, caption) == case.entries("photo")[-1].uid
    assert [(p["file"], p["caption"], p["taken"]) for p in case.data["photo"]] == [
        ("a-photos/dsc-1.jpg", "DSC 1", "2025-09-19 11:40"), ("a-photos/dsc-1-2.jpg", "DSC-1", "2025-09-19 11:40"), ("a-photos/photo.jpg", "***", "2025-09-19 11:40")]


# Documents

def test_names_of_documents():
    assert [documents.file_name(d.key, "/some/where/shop.toml") for d in documents.DOCUMENTS] == [
        "shop-client.pdf", "shop-annex.pdf", "shop-investigator.pdf", "shop-handout.pdf", "shop-key.pdf", "shop.html", "shop-items.csv", "shop.json", "shop.toml"]
    assert documents.stem_of("") == "case"


def test_an_archive_has_every_document_its_photographs_and_their_hashes(monkeypatch):
    def made(work, text, name, key):
        if key == "handout":
            raise LostNeutralError("no lesson can be made of it")
        return f"{key} of {text}".encode()

    photos = (SimpleNamespace(picture=SimpleNamespace(name="a-photos\\joint.jpg")), SimpleNamespace(picture=SimpleNamespace(name="gone.jpg")))
    monkeypatch.setattr(documents, "make", made)
    monkeypatch.setattr("lostneutral.case.pictures.picture_bytes", lambda picture: None if picture.name == "gone.jpg" else b"jpeg")
    shares = []
    work = SimpleNamespace(progress=shares.append, result=lambda text, name: SimpleNamespace(case=SimpleNamespace(photos=photos)))
    content = documents.archive(work, "TEXT", "x/shop.toml")
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        names = archive.namelist()
        assert names == ["shop-client.pdf", "shop-annex.pdf", "shop-investigator.pdf", "shop-key.pdf", "shop.html", "shop-items.csv", "shop.json", "shop.toml",
                         "a-photos/joint.jpg", "NOT-INCLUDED.txt", "SHA256SUMS.txt"]
        assert archive.read("shop.toml") == b"case of TEXT" and archive.read("a-photos/joint.jpg") == b"jpeg"
        assert archive.read("NOT-INCLUDED.txt").decode() == "Lesson: handout: no lesson can be made of it\nPhotograph gone.jpg: no longer the file that was read\n"
        assert archive.read("SHA256SUMS.txt").decode() == "".join(f"{hashlib.sha256(archive.read(n)).hexdigest()}  {n}\n" for n in names[:-1])  # as sha256sum reads it
        assert all(entry.date_time == (1980, 1, 1, 0, 0, 0) and entry.compress_type == zipfile.ZIP_DEFLATED for entry in archive.infolist())
    assert shares == pytest.approx([0.1, 0.2, 0.3, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8])  # of nine documents and the photographs
    assert documents.archive(work, "TEXT", "x/shop.toml") == content


def test_each_document_is_made_of_what_it_needs(monkeypatch):
    import lostneutral
    from lostneutral.report.damage import items_file
    from lostneutral.report.documents import document
    from lostneutral.teaching import lesson, pack

    monkeypatch.setattr(lostneutral, "page_html", lambda result: f"page of {result}"), monkeypatch.setattr(lostneutral, "result_json", lambda result: f"json of {result}")
    monkeypatch.setattr(items_file, "items_csv", lambda result: f"items of {result}")
    monkeypatch.setattr(document, "report_pdf", lambda result, *how: f"{result} {how}")
    monkeypatch.setattr(lesson, "lesson", lambda result: f"lesson of {result}")
    monkeypatch.setattr(pack, "handout_pdf", lambda made: f"handout, {made}"), monkeypatch.setattr(pack, "key_pdf", lambda made: f"key, {made}")
    work = SimpleNamespace(result=lambda text, name: "result", reported=lambda text, name: "reported")
    assert {d.key: documents.make(work, "Ω", "x", d.key) for d in documents.DOCUMENTS} == {
        "client": "reported ('client', False)", "annex": "reported ('client', True)", "investigator": "reported ('investigator',)", "handout": "handout, lesson of result",
        "key": "key, lesson of result", "page": b"page of result", "items": b"items of result", "result": b"json of reported", "case": "Ω".encode()}


# Processes

class Pipe:
    """A pipe that gives what it is told to and keeps what is sent."""

    def __init__(self, *given):
        self.given, self.sent = list(given), []

    def recv(self):
        if not self.given:
            raise EOFError
        found = self.given.pop(0)
        if isinstance(found, Exception):
            raise found
        return found

    def send(self, what):
        self.sent.append(what)


@pytest.fixture
def quiet(monkeypatch):
    """What a process does to itself, noted and not done."""
    import signal

    done = []
    monkeypatch.setattr(os, "nice", done.append)
    monkeypatch.setattr(signal, "signal", lambda *what: done.append(what))
    return done, signal


def test_a_process_answers_one_job_after_the_other(monkeypatch, quiet):
    class Jobs:
        def __init__(self, progress):
            self.progress = progress

        def whole(self, text, name):
            self.progress(0.5)
            return f"{text} {name}"

        def where(self):
            raise LostNeutralError("/home/x/case.toml: no")

        def near(self):
            raise ValueError("some\n thing in /home/x/y.py")

    monkeypatch.setattr(worker, "Work", Jobs)
    done, signal = quiet
    pipe = Pipe(("whole", ("a", "b")), ("where", ()), ("near", ()))
    worker.serve(pipe)
    assert pipe.sent == [("progress", 0.5), ("done", "a b"), ("failed", "case.toml: no"), ("broken", "ValueError: some thing in y.py")]
    assert done == [(signal.SIGINT, signal.SIG_IGN)]
    worker.serve(Pipe(OSError()), background=True)
    assert done[1:] == [(signal.SIGINT, signal.SIG_IGN), 5]


def test_results_are_kept_for_the_next_job_on_the_same_text(monkeypatch):
    import lostneutral
    from lostneutral.evidence import answers

    asked, work = [], worker.Work()
    monkeypatch.setattr(lostneutral, "parse_case", lambda text, name: text), monkeypatch.setattr(lostneutral, "analyse", lambda case: asked.append(case) or f"result of {case}")
    monkeypatch.setattr(answers, "with_answers", lambda result, weighed: asked.append("answers") or f"full {result}")
    assert [work.result(t, "n") for t in "aba"] == ["result of a", "result of b", "result of a"] and asked == ["a", "b"]
    for text in "cde":
        work.result(text, "n")
    assert list(work.kept) == ["b", "c", "d", "e"]  # four, the oldest goes
    assert work.reported("e", "n") == "full result of e" == work.reported("e", "n") and asked.count("answers") == 1 and work.reported("d", "n") == "full result of d"


def test_the_share_of_a_comparison_that_is_done(monkeypatch):
    from lostneutral.evidence import deduce

    shares = []
    monkeypatch.setattr(deduce, "work", lambda case: case)
    monkeypatch.setattr(deduce, "deduce", lambda case, tick: (tick(), tick(2), tick(4)) and "found")
    assert worker.Work(shares.append).deduction(4) == "found" and shares == [0.25, 0.75, 1.0]
    shares.clear()
    worker.Work(shares.append).deduction(0)
    assert shares == [1.0, 1.0, 1.0]


def lane(*given, alive=True):
    made = lanes.Lane()
    made._pipe, made._process = Pipe(*given), SimpleNamespace(is_alive=lambda: alive, kill=lambda: killed.append(1))
    killed = made.killed = []
    return made


def test_a_lane_gives_what_its_job_comes_to():
    shares = []
    good = lane(("progress", 0.2), ("progress", 0.4), ("done", 7))
    assert asyncio.run(good.run("whole", "a", "b", progress=shares.append)) == 7 and shares == [0.2, 0.4] and good._pipe.sent == [("whole", ("a", "b"))]
    assert asyncio.run(lane(("progress", 0.2), ("done", 7)).run("whole")) == 7
    for answer, words in ((("failed", "no"), "no"), (("broken", "x"), "This is an internal error of lostneutral, not an error in the case: x")):
        with pytest.raises(lanes.Failed) as caught:
            asyncio.run(lane(answer).run("whole"))
        assert str(caught.value) == words
    broken = lane(EOFError())
    with pytest.raises(lanes.Failed, match="ended unexpectedly"):
        asyncio.run(broken.run("whole"))
    assert broken._pipe is None and broken._process is None


def test_a_job_that_nobody_wants_is_superseded():
    class Ending(Pipe):
        def recv(self):
            busy.end()
            raise EOFError

    busy = lane()
    busy._pipe = Ending()
    with pytest.raises(lanes.Superseded):
        busy._run("whole", (), None)
    assert busy.killed == [1]
    idle = lane()
    idle.end()
    assert idle.killed == []  # nobody waits: the process stays for the next
    late = lane(("done", 7))
    late._start = late.end  # ended while its process was started
    with pytest.raises(lanes.Superseded):
        late._run("whole", (), None)
    assert late._pipe.sent == []
    waiting = lane(("done", 7))

    class Busy:
        def __enter__(self):
            waiting._ended += 1

        def __exit__(self, *_):
            return None

    begun = []
    waiting._start = lambda: begun.append(1)
    waiting._busy = Busy()  # ended while another job was running
    with pytest.raises(lanes.Superseded):
        waiting._run("whole", (), None)
    assert waiting._pipe.sent == begun == []  # no process is started for it
    waiting.close()
    assert waiting.killed == [1]
