"""`lostneutral teach`: which files come, that nothing is overwritten or half done, and what a wrong call is told."""

from pathlib import Path

import pypdf
import pytest
from click.testing import CliRunner

from lostneutral.cli import main
from lostneutral.teaching.labels import LABEL_SETS, relabel
from lostneutral.teaching.pack import figure_files

FOLDER = Path(__file__).parents[2] / "casebook"
CASE = str(FOLDER / "evening-class.toml")


def teach(*options, case=CASE, text=None):
    return CliRunner().invoke(main, ["teach", case, *map(str, options)], input=text)


def files(folder):
    return sorted(str(p.relative_to(folder)) for p in folder.rglob("*") if p.is_file())


def test_handout_key_film_and_figures(tmp_path):
    done = teach(
        "-o", tmp_path / "a.pdf", "--film", tmp_path / "f.gif", "--figures", tmp_path / "slides", "--labels", "A/B/C"
    )
    assert done.exit_code == 0, done.output
    assert files(tmp_path) == sorted(["a.pdf", "a-key.pdf", "f.gif", *(f"slides/{name}" for name in figure_files())])
    titles = [pypdf.PdfReader(tmp_path / name).metadata.title for name in ("a.pdf", "a-key.pdf")]
    assert titles[0].startswith("Handout: ") and titles[1].startswith("Tutor's key: ")
    assert (tmp_path / "f.gif").read_bytes().startswith(b"GIF89a")
    assert "A 292.6 V" in (tmp_path / "slides" / "alternatives.txt").read_text(encoding="utf-8")


def test_exercises_stand_in_the_handout_and_their_solutions_in_the_key(tmp_path):
    pytest.importorskip("lostneutral.teaching.exercises")
    for name, seed in (("a", 1), ("b", 1), ("c", 2)):
        assert teach("-o", tmp_path / f"{name}.pdf", "--exercises", 3, "--seed", seed).exit_code == 0
    a, b, c = ((tmp_path / f"{name}.pdf").read_bytes() for name in "abc")
    assert a == b != c
    headings = [
        [entry.title for entry in pypdf.PdfReader(tmp_path / name).outline if not isinstance(entry, list)]
        for name in ("a.pdf", "a-key.pdf")
    ]
    assert "Exercises" in headings[0] and "Exercises: solutions" in headings[1]


def test_default_names_and_standard_input(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert teach(case="-", text=Path(CASE).read_text(encoding="utf-8")).exit_code == 0
    assert files(tmp_path) == ["reports/case-handout-key.pdf", "reports/case-handout.pdf"]


@pytest.mark.parametrize("there", ["a.pdf", "a-key.pdf", "f.gif", "slides/wiring.svg", "slides/alternatives.txt"])
def test_nothing_is_overwritten_and_nothing_else_is_written(tmp_path, there):
    (tmp_path / there).parent.mkdir(exist_ok=True)
    (tmp_path / there).write_text("mine")
    done = teach("-o", tmp_path / "a.pdf", "--film", tmp_path / "f.gif", "--figures", tmp_path / "slides")
    assert done.exit_code == 2 and "--force" in done.output
    assert files(tmp_path) == [there] and (tmp_path / there).read_text() == "mine"


def test_force_overwrites_but_never_the_case(tmp_path):
    case = tmp_path / "a-key.pdf"
    case.write_bytes(Path(CASE).read_bytes())
    done = teach("-o", tmp_path / "a.pdf", "--force", case=str(case))
    assert done.exit_code == 2 and "case file itself" in done.output
    assert files(tmp_path) == ["a-key.pdf"]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["-o", "-"], "several files"),
        (["-o", "a.pdf", "--film", "a.pdf"], "its own name"),
        (["-o", "a.pdf", "--film", "a-key.pdf"], "its own name"),
        (["-o", "a.pdf", "--figures", "file"], "this is a file"),
        (["-o", "file/a.pdf"], "cannot be written to"),
        (["--labels", "X/Y/Z"], "R/Y/B"),
        (["--exercises", "-1"], "from 0 to 200"),
        (["--seed", "one"], "one"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else None,
)
def test_wrong_calls_are_told_before_any_work(tmp_path, monkeypatch, options, said):
    monkeypatch.chdir(tmp_path)
    Path("file").write_text("mine")
    done = teach(*options)
    assert done.exit_code == 2 and said in done.output
    assert files(tmp_path) == ["file"]


def test_a_faulty_case_and_a_sound_neutral_leave_nothing_behind(tmp_path):
    for text, said in (
        ("title = 1", "title"),
        ((FOLDER / "full-neutral.toml").read_text(encoding="utf-8"), "[[break]]"),
    ):
        done = teach("-o", tmp_path / "a.pdf", case="-", text=text)
        assert done.exit_code == 2 and said in done.output and files(tmp_path) == []


def test_names_of_lines_stand_alone():  # invariant: what is no line's name stays
    for labels, (one, two, three) in LABEL_SETS.items():
        assert relabel("L1-N, “L2” and L3–L1", labels) == f"{one}-N, “{two}” and {three}–{one}"
        assert relabel("HL1 L10 L1a L4", labels) == "HL1 L10 L1a L4"
