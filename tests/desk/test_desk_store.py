"""The case file changes whole or not at all; the draft is its owner's and loses nothing. Kind: invariant."""

import asyncio
import os
import stat

import pytest
from click.testing import CliRunner
from desk_cases import SHOP

from lostneutral.cli import main
from lostneutral.desk.case import EMPTY
from lostneutral.desk.desk import Desk
from lostneutral.desk.items import Written, add_item, set_text
from lostneutral.desk.store import Draft, Store, draft_path, drafts_in, read_draft, write_draft
from lostneutral.errors import UsageError


@pytest.fixture
def case(tmp_path):
    file = tmp_path / "shop.toml"
    file.write_bytes(SHOP.read_bytes())
    return file


def test_a_draft_is_readable_by_its_owner_only_and_comes_back(case):
    write_draft(case, Draft("title = 'half", "abc", {"item": {"what": "ket"}}))
    assert read_draft(case) == Draft("title = 'half", "abc", {"item": {"what": "ket"}})
    if os.name == "posix":
        assert stat.S_IMODE(draft_path(case).stat().st_mode) == 0o600
    assert [p.name for p in case.parent.iterdir() if p.name.endswith(".tmp")] == []


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b'{"format": "other"}', b'{"format": "lostneutral desk draft/1", "text": 3}'])
def test_a_draft_that_cannot_be_read_is_none(case, content):
    draft_path(case).write_bytes(content)
    assert read_draft(case) is None


def test_a_draft_of_an_earlier_case_file_says_so(case):
    write_draft(case, Draft("title = 'mine'", Desk(case).store.base))
    assert Desk(case).found_draft and not Desk(case).other_base and Desk(case).case.text == "title = 'mine'"
    case.write_text("title = 'later'")
    desk = Desk(case)
    assert desk.found_draft and desk.other_base
    desk.reopen()
    assert not desk.found_draft and not desk.other_base and desk.saved and desk.case.text == "title = 'later'"


def test_a_draft_that_is_no_case_file_is_passed_over(case):
    write_draft(case, Draft("title = ", "abc"))
    assert Desk(case).case.text == SHOP.read_text("utf-8") and not Desk(case).found_draft


def test_the_case_file_changes_only_when_valid(case):
    desk = Desk(case)
    set_text(desk.case, desk.case.entries("load")[0].uid, "power", "heaps")
    with pytest.raises(UsageError, match="faults"):
        desk.save()
    assert case.read_bytes() == SHOP.read_bytes()
    set_text(desk.case, desk.case.entries("load")[0].uid, "power", "46")
    desk.save()
    assert case.read_text("utf-8") == SHOP.read_text("utf-8").replace("power = 45\n", "power = 46\n") and desk.saved


def test_a_file_that_was_changed_elsewhere_is_not_overwritten_unasked(case):
    desk = Desk(case)
    add_item(desk.case, Written("kettle", "New kettle", connect="L1-N", point="intake"))
    case.write_text(SHOP.read_text("utf-8").replace("Teasel", "Thistle"), "utf-8")
    with pytest.raises(UsageError, match="another program"):
        desk.save()
    assert "Thistle" in case.read_text("utf-8")
    desk.reopen()
    assert "Thistle" in desk.case.text and "New kettle" not in desk.case.text
    desk.case.undo()
    desk.save(over=True)
    assert "New kettle" in case.read_text("utf-8") and "Teasel" in case.read_text("utf-8")


def test_a_folder_that_cannot_be_written_leaves_the_file_as_it_was(case, monkeypatch):
    desk = Desk(case)
    add_item(desk.case, Written("kettle", connect="L1-N", point="intake"))
    monkeypatch.setattr(os, "replace", lambda *_: (_ for _ in ()).throw(OSError(28, "No space left on device")))
    with pytest.raises(UsageError, match="No space"):
        desk.save()
    assert case.read_bytes() == SHOP.read_bytes() and [p for p in case.parent.iterdir() if p.suffix == ".tmp"] == []


def test_what_is_typed_is_in_the_draft_within_a_second(case):
    async def typing():
        desk = Desk(case)
        desk._drafting = asyncio.get_running_loop().create_task(desk._keep_drafts())
        desk.type_in("item", "what", "ketl")
        set_text(desk.case, desk.case.entries("load")[0].uid, "power", "4")
        await asyncio.sleep(0.9)
        desk._drafting.cancel()

    asyncio.run(typing())
    again = Desk(case)  # after a crash: nothing was closed
    assert again.found_draft and again.pending == {"item": {"what": "ketl"}} and again.case.entries("load")[0].data["power"] == 4
    assert case.read_bytes() == SHOP.read_bytes()
    again.pending.clear()
    again.case.undo()
    set_text(again.case, again.case.entries("load")[0].uid, "power", "47")
    again.save()
    assert not draft_path(case).exists()


def test_what_is_typed_and_not_entered_outlives_a_save(case, monkeypatch):
    monkeypatch.setattr("lostneutral.desk.desk.DRAFT_AFTER", 0.0)

    async def saving():
        desk = Desk(case)
        desk.type_in("item", "what", "ketl")
        desk._drafting = asyncio.get_running_loop().create_task(desk._keep_drafts())
        await asyncio.sleep(0.05)
        assert read_draft(case).pending == {"item": {"what": "ketl"}}
        set_text(desk.case, desk.case.entries("load")[0].uid, "power", "46")
        await asyncio.sleep(0.05)
        desk.save()
        await asyncio.sleep(0.05)
        assert read_draft(case).pending == {"item": {"what": "ketl"}}
        desk.entered("item")
        await asyncio.sleep(0.05)
        desk._drafting.cancel()

    asyncio.run(saving())
    assert read_draft(case) is None and "power = 46" in case.read_text("utf-8")  # nothing is left that the file does not hold


def test_a_change_of_the_case_alone_is_in_the_draft(case):
    async def changing():
        desk = Desk(case)
        desk._drafting = asyncio.get_running_loop().create_task(desk._keep_drafts())
        set_text(desk.case, desk.case.entries("load")[0].uid, "power", "4")
        await asyncio.sleep(0.9)
        desk._drafting.cancel()

    asyncio.run(changing())
    assert Desk(case).found_draft and Desk(case).case.entries("load")[0].data["power"] == 4


def test_a_new_case_has_no_file_until_it_is_saved(tmp_path):
    desk = Desk(tmp_path / "case.toml")
    assert desk.case.text == EMPTY and not (tmp_path / "case.toml").exists() and not desk.store.changed_elsewhere()
    add_item(desk.case, Written("kettle", connect="L1-N"))
    desk.save()
    assert (tmp_path / "case.toml").read_text("utf-8") == desk.case.text


@pytest.mark.parametrize("content", [b"title = ", b"\xff\xfe", b"x" * 2_000_001])
def test_a_file_that_is_no_case_is_refused_with_words(tmp_path, content):
    (tmp_path / "x.toml").write_bytes(content)
    with pytest.raises(UsageError, match=r"x\.toml"):
        Desk(tmp_path / "x.toml")


def test_drafts_are_forgotten_on_request(case, monkeypatch):
    monkeypatch.chdir(case.parent)
    for name in ("a.toml", "b.toml"):
        write_draft(case.with_name(name), Draft("x"))
    assert [p.name for p in drafts_in(case.parent)] == ["a.toml", "b.toml"]
    said = CliRunner().invoke(main, ["desk", "--forget", "a.toml"])
    assert said.exit_code == 0 and "a.toml" in said.stderr and [p.name for p in drafts_in(case.parent)] == ["b.toml"]
    assert "b.toml" in CliRunner().invoke(main, ["desk", "--forget"]).stderr and drafts_in(case.parent) == ()
    assert "no draft" in CliRunner().invoke(main, ["desk", "--forget"]).stderr


def test_without_the_extra_the_command_says_what_to_type(monkeypatch, tmp_path):
    import importlib.util

    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    said = CliRunner().invoke(main, ["desk", str(tmp_path / "x.toml")])
    assert said.exit_code == 2 and "pip install" in said.stderr and "[desk]" in said.stderr


def test_store_says_nothing_changed_where_nothing_did(case):
    store = Store(case)
    store.open()
    assert not store.changed_elsewhere()
    case.unlink()
    assert store.changed_elsewhere()


def test_every_change_of_what_is_typed_counts(case):
    desk, seen = Desk(case), []
    for step in (lambda: desk.type_in("item", "what", "ke"), lambda: desk.type_in("item", "what", "ket"), lambda: desk.type_in("item", "name", "x"),
                 lambda: desk.type_in("item", "what", ""), lambda: desk.entered("item"), lambda: desk.type_in("item", "what", "k"),
                 lambda: desk.type_in("item", "what", "")):
        step()
        seen.append((desk.typed_version, {form: dict(held) for form, held in desk.pending.items()}))
    assert [held for _, held in seen] == [{"item": {"what": "ke"}}, {"item": {"what": "ket"}}, {"item": {"what": "ket", "name": "x"}},
                                          {"item": {"name": "x"}}, {}, {"item": {"what": "k"}}, {}]
    assert len({version for version, _ in seen}) == len(seen) and 0 not in {version for version, _ in seen}  # a page that shows an old one is told
