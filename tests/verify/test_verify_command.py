"""`lostneutral verify`: what it prints and writes, that a false figure fails, and a user's own checks."""

import hashlib
import re
from pathlib import Path

import pytest
from click.testing import CliRunner
from read_back import page_texts

from lostneutral import __version__
from lostneutral.cli import main
from lostneutral.errors import CaseError
from lostneutral.report.verification import record, rows
from lostneutral.report.verification.text import verification_text
from lostneutral.verify import checks, run
from lostneutral.verify.printed import compare, is_figure, last_digit

WHOLE = checks.TOPICS
OWN = '''
title = "Bench"
[[check]]
id = "two lamps"
source = "our own bench, two lamps on 400 V"
given = {{}}
case = """
title = "bench"
[supply]
nominal = 230.94010767585033
[[load]]
name = "small"
kind = "resistive"
connect = "L1-N"
power = 100
voltage = 230
[[load]]
name = "large"
kind = "resistive"
connect = "L2-N"
power = 150
voltage = 230
"""
printed = {{ "voltage of small" = "{small}", "between L1-L2" = "400" }}
'''


@pytest.fixture(autouse=True)
def few_topics(monkeypatch):
    monkeypatch.setattr(checks, "TOPICS", ("wear", "beyond"))
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)


def verify(*arguments, **more):
    return CliRunner().invoke(main, ["verify", *map(str, arguments)], **more)


# Kinds: arithmetic of printed digits.
@pytest.mark.parametrize(("printed", "value", "agrees"), [
    ("12.3", 12.349, True), ("12.3", 12.36, False), ("12.30", 12.309, False), ("-3.2", -3.16, True), ("-3.2", 3.2, False),
    ("33.3433∠13.17", 33.3433 * complex(0.97370, 0.22784), True), ("33.3433∠13.17", 33.3433 * complex(0.9732, 0.2300), False),
    ("6480-j2156", 6480 - 2156j, True), ("6480-j2156", 6480 + 2156j, False), ("14 to 16", 15.99, True), ("14 to 16", 16.01, False),
    ("1.2e-3", 1.249e-3, True), ("1.2e-3", 1.26e-3, False), ("= 230*20/(20 + 2 + 23)", 102.2222222222, True),
    ("= 230*20/(20 + 2 + 23)", 102.2223, False), ("= sqrt(3)*230", 398.37168574084, True), ("never", "never", True),
    ("never", 3.0, False), ("3", "never", False), ("3", None, False), ("0∠0", 0j, True), ("100∠-179.9", -100 + 0j, False),
    ("100∠-180", -100 + 0j, True), ("240", 240 + 0j, True)])
def test_agreement(printed, value, agrees):
    assert compare(value, printed).agrees is agrees


def test_last_digits_and_wider_tolerances():
    assert [last_digit(x) for x in ("12", "12.30", "1.2e-3", "7e3")] == pytest.approx([1, 0.01, 1e-4, 1000])
    assert last_digit("7000", zeros=False) == 1000 and last_digit("270", zeros=False) == 10
    assert compare(7400.0, "7000", zeros=False).agrees and not compare(7400.0, "7000").agrees
    assert compare(101.0, "100", within=0.02).agrees and not compare(103.0, "100", within=0.02).agrees


def test_all_agree_and_it_says_so_with_source_tolerance_and_limits():
    shown = verify()
    assert shown.exit_code == 0
    for words in ("16th", "difference", "tolerance", "Known limits", "iron of coils", "All 29 figures agree", "Caution: "):
        assert words in shown.stdout, words
    assert "FAIL" not in shown.stdout


def changed(name, number, **change):
    """The topics with one check of one topic altered."""
    made = []
    for topic in checks.topics():
        given = list(topic.checks)
        if topic.name == name:
            given[number] = given[number].model_copy(update=change)
        made.append(checks.Topic(topic.name, topic.title, tuple(given)))
    return made


def test_a_false_figure_fails_and_is_named_at_the_end():
    found = run.run_checks(changed("wear", 6, printed={"share": "0.57"}))
    (failed,) = rows.failed_checks(found)
    text = verification_text(found, width=100)
    assert (failed.what, failed.word) == ("share", "FAIL") and "1 of 29 figures do not agree" in text
    assert "Do not rely on this" in text and "printed 0.57, calculated 0.551" in text.replace("\n", " ")


def test_a_wrong_figure_that_comes_out_fails():
    found = run.run_checks(changed("wear", 6, wrong={"share": "0.55"}))
    assert [o.word for o in rows.failed_checks(found)] == ["FAIL: it comes out"]
    other = run.run_checks(changed("wear", 6, wrong={"share": "0.75"}))
    assert not rows.failed_checks(other) and [o.word for r in other for o in r.outcomes if o.trap] == ["does not come out"]


def test_own_checks_run_beside_the_others(tmp_path):
    (tmp_path / "right.toml").write_text(OWN.format(small="240.0"), encoding="utf-8")
    (tmp_path / "wrong.toml").write_text(OWN.format(small="230"), encoding="utf-8")
    good, bad = (verify("--checks", tmp_path / name) for name in ("right.toml", "wrong.toml"))
    assert good.exit_code == 0 and "Bench" in good.stdout and "All 31 figures agree" in good.stdout and "not stated" in good.stdout
    assert bad.exit_code == 1 and "two lamps, voltage of small, V: printed 230, calculated 240" in bad.stdout
    assert re.search(r"^  voltage of small, V +230 +240\.0 +1e\+01 +0\.5 +FAIL$", bad.stdout, re.MULTILINE)


def test_every_fault_of_own_checks_has_its_place():
    with pytest.raises(CaseError) as raised:
        checks.own_checks(b'''[[check]]
id = "a"
source = "s"
ask = "star"
given = { loads = ["5 ohm"], volts = 3, neutral = "x" }
printed = { "voltage of A" = "1,5", "colour of A" = "3" }
[[check]]
id = "a"
source = "s"
case = "title = 'x'\\n[supply]\\n[[load]]\\nname = 'y'\\n"
printed = { "voltage of y" = "3" }
[[check]]
id = "b"
source = "s"
ask = "stars"
printed = { x = "1" }
[[check]]
source = "s"
printed = { x = 1 }
surplus = 1
''', "mine.toml")
    faults = raised.value.faults
    assert [fault.split(": ", 2)[0] for fault in faults] == [
        "mine.toml:5:30", "mine.toml:5:51", "mine.toml:6:30", "mine.toml:6:37", "mine.toml:8:6", "mine.toml:10:8", "mine.toml:10:8",
        "mine.toml:15:7", "mine.toml:17:1", "mine.toml:19:17", "mine.toml:20:1"], faults
    said = "\n".join(faults)
    for words in ("volts: does not belong to \"star\"", '"1,5" is not a figure', '"colour of A" cannot be asked', "is the name of another check",
                  "of the case: load[1].kind: is missing", 'did you mean "star"?', "check[4].id: is missing", "surplus: unknown key"):
        assert words in said, (words, said)


@pytest.mark.parametrize(("printed", "figure"), [  # a formula has a finite real value; what begins like a figure is one, or wrong
    ("= 230*20/45", True), ("= sqrt(3)*pi**2", True), ("= -2", True), ("= 1e999", False), ("= 10**400", False), ("= 1/0", False), ("= (-2)**0.5", False),
    ("= 1 > 0", False), ("= open(1)", False), ("= ", False), ("12.30", True), ("1,5", False), ("14 to 16", True), ("would operate", True), (".x", False)])
def test_what_is_a_figure(printed, figure):
    assert is_figure(printed) is figure


@pytest.mark.parametrize(("text", "words"), [("", "empty"), ("x = ", "not TOML"), ("title = 'x'", "check: is missing"),
                                             ("check = 3", "check: 3 is a whole number"), ("check = []", "0 entries")])
def test_a_file_that_holds_no_checks(tmp_path, text, words):
    (tmp_path / "c.toml").write_text(text, encoding="utf-8")
    shown = verify("--checks", tmp_path / "c.toml")
    assert shown.exit_code == 2 and words in shown.stderr and "c.toml:1:" in shown.stderr


def test_the_record(tmp_path, monkeypatch):
    own = OWN.format(small="240.0").encode()
    (tmp_path / "own.toml").write_bytes(own)
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1764547200")
    shown = [verify("--checks", tmp_path / "own.toml", "-o", tmp_path / name) for name in ("a.pdf", "b.pdf")]
    assert [x.exit_code for x in shown] == [0, 0]
    first, second = ((tmp_path / name).read_bytes() for name in ("a.pdf", "b.pdf"))
    assert first == second
    text = " ".join(" ".join(page_texts(first)).split())
    for words in ("All 31 figures agree", f"lostneutral {__version__}", "2025-12-01", "Signature", "Known limits", "numpy",
                  "two lamps", "240.00", "data/checks/wear.toml"):
        assert words in text, words

    squeezed = text.replace(" ", "").replace("\u200b", "")
    assert hashlib.sha256(own).hexdigest() in squeezed
    _, tables = record.hashes()
    assert tables["data/checks/wear.toml"] in squeezed
    assert verify("-o", tmp_path / "a.pdf").exit_code == 2  # there already


def test_hashes_are_those_of_the_files():
    from importlib.resources import files

    program, tables = record.hashes()
    assert program["cli/verify.py"] == hashlib.sha256(files("lostneutral").joinpath("cli/verify.py").read_bytes()).hexdigest()
    assert "data/harm.toml" in tables and not set(program) & set(tables) and not any("__pycache__" in name for name in program)


def test_the_checks_in_the_readme_run_and_agree():
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    (block,) = re.findall(r"^```toml\n(\[\[check\]\].*?)^```$", readme, re.DOTALL | re.MULTILINE)
    found = [o for check in checks.own_checks(block.encode(), "README.md").checks for o in run.compared(check)]
    assert [(o.what, o.trap, o.passed) for o in found] == [
        ("voltage of A", False, True), ("voltage of B", False, True), ("voltage of A", True, True)]


def test_the_readme_does_not_promise_more_figures_than_there_are():
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    promised = int(re.search(r"against (\d+) published figures", readme)[1])
    there = sum(len(check.printed) + len(check.wrong or {}) for name in WHOLE for check in checks.topic(name).checks)
    assert promised <= there < promised + 100
