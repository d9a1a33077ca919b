"""The verification on screen and as a record, of outcomes put in by hand. Kind of all: behaviour laid down."""

import hashlib
from types import SimpleNamespace

import pytest

from lostneutral import __version__
from lostneutral.report.verification import record, rows, text


def check(name="star-1", known="S", **more):
    return SimpleNamespace(**{"id": name, "source": "Handbook of stars", "edition": "2nd edition", "place": "table 3", "known": known, "within": None, "why": "",
                              "given": {"line_voltage": "230 V", "loads": [1, 2]}, "case_of": "", "case": ""} | more)


def outcome(of, asked, printed, computed, passed=True, trap=False, difference="0.1 %"):
    word = ("does not come out" if trap else "pass") if passed else "FAIL"
    return SimpleNamespace(check=of, asked=asked, printed=printed, trap=trap, passed=passed, word=word,
                           found=SimpleNamespace(computed=computed, difference=difference, tolerance="± 1 %"))


A, B, C = check(), check("star-2", "M"), check("star-3")
GOOD = SimpleNamespace(topic=SimpleNamespace(title="Stars", checks=(A, B)),
                       outcomes=(outcome(A, "voltage of L1", "289 V", "289.4 V"), outcome(B, "shift", "66 V", "66.4 V"), outcome(A, "voltage of L2", "400 V", "239.4 V", trap=True)))
BAD = SimpleNamespace(topic=SimpleNamespace(title="Other stars", checks=(C,)), outcomes=(outcome(C, "heat", "5 W", "7 W", False, difference="40 %"),))


def test_counts_by_topic_and_of_all():
    assert rows.count_rows([GOOD, BAD]) == [("Stars", "3", "3", "0", "1", "1"), ("Other stars", "1", "0", "1", "0", "0"), ("All", "4", "3", "1", "1", "1")]
    assert rows.failed_checks([GOOD, BAD]) == list(BAD.outcomes) and rows.failed_checks([GOOD]) == []
    assert rows.how_many_agree([GOOD]) == "All 3 figures agree with what is printed, to the tolerance beside each."
    assert rows.how_many_agree([GOOD, BAD]).startswith("1 of 4 figures do not agree with what is printed.")
    assert [[o.asked for o in group] for group in rows.by_check(GOOD)] == [["voltage of L1", "voltage of L2"], ["shift"]]


def test_where_a_figure_is_printed_and_what_was_given():
    said = lambda **more: rows.source(check(**more))
    assert said() == (f"Handbook of stars, 2nd edition, table 3 ({rows.KNOWN['S']})", "line voltage 230 V; loads 1, 2")
    assert said(edition="", known="?")[0] == "Handbook of stars, table 3 (not stated)"
    assert said(within="2 %", why="read off a curve")[0].endswith("); tolerance: read off a curve")
    assert "tolerance" not in said(within="2 %")[0] + said(why="read off a curve")[0]
    assert said(given={}, case_of="star-9", case="x")[1] == "the case of star-9" and said(given={}, case="a\n  b")[1] == "a b" and said(given={})[1] == "–"
    assert rows.row(GOOD.outcomes[2]) == ("voltage of L2", "400 V (wrong)", "239.4 V", "0.1 %", "± 1 %", "does not come out")


def test_every_outcome_stands_in_columns_under_its_topic():
    told = text.verification_text([GOOD], width=400).split("\n\n")
    assert told[0].split("\n") == [
        "Stars", "-----", "  asked  printed  calculated  difference  tolerance  result", f"star-1: {rows.source(A)[0]}",
        "  voltage of L1  289 V          289.4 V  0.1 %  ± 1 %  pass", "  voltage of L2  400 V (wrong)  239.4 V  0.1 %  ± 1 %  does not come out",
        f"star-2: {rows.source(B)[0]}", "  shift  66 V  66.4 V  0.1 %  ± 1 %  pass"]
    assert told[1].startswith("Known limits\n------------\n  ") and "Beyond it: " in told[1]
    assert told[2].split("\n") == ["Topic  Figures  Pass  Fail  Not looked up  Traps", "-----  -------  ----  ----  -------------  -----",
                                   "Stars        3     3     0              1      1", "All          3     3     0              1      1"]
    assert told[-1] == f"{rows.how_many_agree([GOOD])} {rows.WHAT_IT_SAYS}\n" and not any(part.startswith("FAIL") for part in told)
    narrow = text.verification_text([GOOD], width=50).split("\n")
    assert max(len(line) for line in narrow if line.startswith(("    ", "It says"))) <= 50
    assert text.verification_text([SimpleNamespace(topic=SimpleNamespace(title="T" * 60, checks=()), outcomes=())], width=40).split("\n")[1] == "-" * 40


def test_what_fails_stands_last_and_in_its_colour():
    plain, painted = (text.verification_text([GOOD, BAD], width=120, **more) for more in ({}, {"colour": True}))
    assert "\n\nFAIL\n  star-3, heat: printed 5 W, calculated 7 W (40 %)\n\n1 of 4 figures do not agree" in plain
    assert "\x1b" not in plain and "\n\n\x1b[1;31mFAIL\x1b[0m\n  star-3" in painted


@pytest.fixture
def kept(monkeypatch):
    made = {}
    monkeypatch.setattr(record, "set_pdf", lambda title, blocks, **keys: made.update(title=title, blocks=blocks, **keys) or b"%PDF-made")
    monkeypatch.setattr(record, "hashes", lambda: ({"a.py": "aa"}, {"data/z.toml": "zz", "data/b.toml": "bb"}))
    return made


def tables(kept):
    return {b["caption"]: b for b in kept["blocks"] if b["kind"] == "table"}


def test_the_record_of_a_run(kept, monkeypatch):
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "0")
    assert record.record_pdf([GOOD]) == b"%PDF-made"
    assert kept["title"] == "Record of verification" and kept["footer"] == f"lostneutral {__version__} · 1970-01-01" and kept["size"] == 8.5
    first = kept["blocks"][1]["pairs"]
    assert first[0] == ["Program", f"lostneutral {__version__}"] and first[3] == ["Date", "1970-01-01"]
    (result,) = [b for b in kept["blocks"] if b["kind"] == "box"]
    assert result["heavy"] is False and result["items"] == [rows.how_many_agree([GOOD]), rows.WHAT_IT_SAYS]
    assert "Figures that do not agree" not in [b.get("text") for b in kept["blocks"]]
    found = tables(kept)
    assert found["Figures by topic"]["rows"] == [list(r) for r in rows.count_rows([GOOD])]
    assert found["Data files"]["rows"] == [["data/b.toml", "bb"], ["data/z.toml", "zz"]]
    assert [row[0] for row in found["Each figure as printed and as calculated"]["rows"]] == [{"strong": "star-1"}, "", {"strong": "star-2"}]
    assert [row[0] for row in found["Where they are printed, and what was given"]["rows"]] == ["star-1", "star-2"]
    listed = hashlib.sha256(b"bb  data/b.toml\nzz  data/z.toml\n").hexdigest()  # as sha256sum writes it
    assert any(f"Of its data files: {listed}." in b.get("text", "") for b in kept["blocks"])
    assert not any("Own file" in str(b.get("text")) for b in kept["blocks"])
    packages = next(b["text"] for b in kept["blocks"] if str(b.get("text")).startswith("Packages: "))
    assert "not found" not in packages and "numpy " in packages and record._version("no-such-package-here") == "not found"


def test_the_record_of_a_run_that_fails(kept, monkeypatch):
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    record.record_pdf([GOOD, BAD], own=b"abc")
    assert [b["heavy"] for b in kept["blocks"] if b["kind"] == "box"] == [True] and kept["blocks"][1]["pairs"][3] == ["Date", ""]
    texts = [b.get("text") for b in kept["blocks"]]
    assert "Figures that do not agree" in texts and kept["blocks"][texts.index("Figures that do not agree") + 1]["items"] == [
        "star-3, heat: printed 5 W, calculated 7 W (40 %)"]
    # published: FIPS 180-2, appendix B.1
    assert "Own file of checks: SHA-256 ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad." in texts


def test_files_of_the_program_and_of_its_data_are_told_apart(tmp_path, monkeypatch):
    for name in ("a.py", "data/b.toml", "data/deep/c.toml", "sub/d.py", "__pycache__/e.pyc", "sub/__pycache__/f.pyc"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(b"abc")
    monkeypatch.setattr(record, "files", lambda _: tmp_path)
    program, data_files = record.hashes()
    assert sorted(program) == ["a.py", "sub/d.py"] and sorted(data_files) == ["data/b.toml", "data/deep/c.toml"]
    assert set(program.values()) == {hashlib.sha256(b"abc").hexdigest()}
