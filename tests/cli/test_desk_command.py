"""What `lostneutral desk` does before the browser is there: the extra it needs, the case it works on, its drafts. Kind: behaviour laid down."""

import importlib.util
import sys
from types import SimpleNamespace

import pytest
from click.testing import CliRunner

from lostneutral.cli import main

EXTRA = {"nicegui", "tomlkit", "openpyxl"}


@pytest.fixture
def desk(tmp_path, monkeypatch):
    """Call the command in an empty folder where only the packages `there` are; what the server was given is in `opened`."""
    monkeypatch.chdir(tmp_path)
    opened = []

    def run(file, port, browser, told):
        opened.append((file, port, browser))
        told("http://there")

    def call(*arguments, there=EXTRA):
        with monkeypatch.context() as patch:
            patch.setattr(importlib.util, "find_spec", lambda name: object() if name in there else None)
            patch.setitem(sys.modules, "lostneutral.desk.server", SimpleNamespace(run=run))
            return CliRunner().invoke(main, ["desk", *map(str, arguments)])

    call.opened = opened
    return call


@pytest.mark.parametrize("missing", sorted(EXTRA))
def test_without_its_extra_it_says_what_to_install(desk, missing):
    said = desk(there=EXTRA - {missing})
    assert said.exit_code == 2 and "python -m pip install '.[desk]'" in said.stderr and not desk.opened


def test_it_works_on_the_case_that_is_named_or_on_a_name_that_is_free(desk, tmp_path):
    said = desk("shop.toml", "--port", "8080", "--no-browser")
    assert said.exit_code == 0 and said.stderr == "The desk is at http://there\nIt works on this machine only. Ctrl-C ends it.\n"
    assert desk.opened.pop() == (tmp_path.resolve() / "shop.toml", 8080, False)
    for name in ("case.toml", "case-2.toml", "case-3.toml"):
        assert desk().exit_code == 0
        assert desk.opened.pop() == (tmp_path.resolve() / name, 0, True)
        (tmp_path / name).write_text("")
    for name in ("case.toml", "none"):  # one that is there, and a name of any kind that is free
        assert desk(name).exit_code == 0 and desk.opened.pop() == (tmp_path.resolve() / name, 0, True)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("lostneutral.desk.sheet.case_of_sheet", lambda path: path.with_suffix(".toml"))
        (tmp_path / "phone.json").write_text("{}")
        assert desk("phone.json").exit_code == 0 and desk.opened.pop()[0] == tmp_path.resolve() / "phone.toml"


@pytest.mark.parametrize(("arguments", "words"), [
    (("-o", "x.html"), "-o belongs to --sheet"), (("--sheet",), "--sheet: no file to write"), (("notes.txt",), "neither a case file")])
def test_what_it_refuses(desk, tmp_path, arguments, words):
    (tmp_path / "notes.txt").write_text("bread")
    said = desk(*arguments)
    assert said.exit_code == 2 and words in said.stderr and not desk.opened and not said.stdout


def test_a_sheet_goes_to_its_file_or_to_standard_output(desk, tmp_path):
    said = desk("--sheet", "-o", "sheet.html")
    assert said.exit_code == 0 and "Wrote sheet.html: open it on a phone" in said.stderr and not said.stdout
    assert desk("--sheet", "-o", "sheet.html").exit_code == 2
    alone = desk("--sheet", "-o", "-")
    assert alone.stdout_bytes == (tmp_path / "sheet.html").read_bytes() and not alone.stderr


def test_nothing_to_forget_is_said(desk):
    assert desk("--forget").stderr == "There is no draft here\n"
