"""Files that appear whole or not at all. Kind of all: behaviour laid down."""

import errno
import io
import os
from types import SimpleNamespace

import pytest

from lostneutral.errors import UsageError
from lostneutral.report.base import files


def refused(*given, **keys):
    with pytest.raises(UsageError) as caught:
        files.check_free(*given, **keys)
    return str(caught.value)


def test_where_nothing_may_be_written(tmp_path, monkeypatch):
    case, pipe = tmp_path / "case.toml", tmp_path / "pipe"
    case.write_text("x")
    assert refused(case, keep=case, force=True) == f"{case}: this is the case file itself — give another name for the output"
    assert refused(case) == f"{case}: the file already exists — use --force to overwrite it, or give another name"
    assert refused(tmp_path, force=True) == f"{tmp_path}: this is a folder — give the name of a file in it"
    os.mkfifo(pipe)
    assert refused(pipe, force=True) == f"{pipe}: this is not a plain file — give the name of a file"
    files.check_free(case, force=True, keep=tmp_path / "other.toml")
    files.check_free(case, force=True, keep=pipe)  # another file, which is there
    files.check_free(tmp_path / "new" / "deep.pdf")
    monkeypatch.setattr(os, "access", lambda path, mode: path != tmp_path)
    assert refused(tmp_path / "new" / "deep.pdf") == (
        f"{tmp_path}/new/deep.pdf: cannot be written: Permission denied — give the name of a file in a folder that you may write to")


def test_a_file_is_written_into_a_folder_that_is_made(tmp_path):
    at = tmp_path / "new" / "deep.txt"
    files.write_file(at, b"one")
    assert at.read_bytes() == b"one" and os.listdir(at.parent) == ["deep.txt"]
    with pytest.raises(UsageError, match="already exists"):
        files.write_file(at, b"two")
    files.write_file(at, b"two", force=True)
    assert at.read_bytes() == b"two" and os.listdir(at.parent) == ["deep.txt"]


def test_a_link_stays_a_link(tmp_path):
    (tmp_path / "real").write_bytes(b"old")
    (tmp_path / "link").symlink_to(tmp_path / "real")
    files.write_file(tmp_path / "link", b"new", force=True)
    assert (tmp_path / "link").is_symlink() and (tmp_path / "real").read_bytes() == b"new"


def test_of_several_files_none_is_left_where_one_fails(tmp_path, monkeypatch):
    old = tmp_path / "old"
    old.write_bytes(b"before")
    put, names = files._put, []

    def failing(draft, path, force):
        names.append(path.name)
        if path.name == "third":
            raise OSError(errno.ENOSPC, "No space left on device")
        put(draft, path, force)

    monkeypatch.setattr(files, "_put", failing)
    with pytest.raises(UsageError) as caught:
        files.write_files({tmp_path / "first": b"1", old: b"2", tmp_path / "third": b"3"}, force=True)
    assert "cannot be written: No space left on device — make room, or give the name of a file on another disk" in str(caught.value)
    assert names == ["first", "old", "third"] and sorted(os.listdir(tmp_path)) == ["old"] and old.read_bytes() == b"2"  # what was replaced stays
    monkeypatch.setattr(files, "_put", put)
    files.write_files({tmp_path / "first": b"1", tmp_path / "third": b"3"})
    assert sorted(os.listdir(tmp_path)) == ["first", "old", "third"]


def test_what_another_run_has_put_there_meanwhile_is_kept(tmp_path, monkeypatch):
    draft, there = tmp_path / "draft", tmp_path / "there"
    draft.write_bytes(b"mine"), there.write_bytes(b"theirs")
    with pytest.raises(UsageError, match="already exists"):
        files._put(draft, there, force=False)
    assert there.read_bytes() == b"theirs"
    monkeypatch.setattr(os, "link", lambda *_: (_ for _ in ()).throw(OSError(errno.EPERM, "no links here")))
    files._put(draft, tmp_path / "new", force=False)  # a file system without links
    assert (tmp_path / "new").read_bytes() == b"mine" and not draft.exists()


def test_what_cannot_be_read_or_is_too_large(tmp_path, monkeypatch):
    at = tmp_path / "content"
    at.write_bytes(b"x" * 2_000_000)
    assert len(files.read_file(at, 2_000_000)) == 2_000_000
    with pytest.raises(UsageError) as caught:
        files.read_file(at, 1_999_999)
    assert str(caught.value) == f"{at}: the file is larger than 1 MB — give a smaller one"
    with pytest.raises(UsageError, match="cannot be read: No such file or directory"):
        files.read_file(tmp_path / "none")
    monkeypatch.setattr("sys.stdin", SimpleNamespace(buffer=io.BytesIO(b"abc")))
    assert files.read_file("-", 3) == b"abc"
    monkeypatch.setattr("sys.stdin", SimpleNamespace(buffer=io.BytesIO(b"abcd")))
    with pytest.raises(UsageError, match="larger than 0 MB"):
        files.read_file("-", 3)


def test_an_error_without_a_number_is_told_by_its_words():
    assert "cannot be written: embedded null byte — give the name of a file in a folder" in str(files._cannot("x", ValueError("embedded null byte")))
