"""`lostneutral teach`: which files come, that nothing is overwritten or half done, and what a wrong call is told."""

from pathlib import Path

import pypdf
import pytest
from click.testing import CliRunner
from read_back import page_texts

from lostneutral.cli import main
from lostneutral.teaching.labels import LABEL_SETS, relabel
from lostneutral.teaching.pack import figure_files

FOLDER = Path(__file__).parents[2] / "casebook"
CASE = str(FOLDER / "evening-class.toml")


def teach(*options, case=CASE, text=None):
    return CliRunner().invoke(main, ["teach", case, *map(str, options)], input=text)


def files(folder):
    return sorted(str(p.relative_to(folder)) for p in folder.rglob("*") if p.is_file())


def test_handout_key_slides_and_figures(tmp_path):
    done = teach(
        "-o", tmp_path / "a.pdf", "--slides", tmp_path / "s.pdf", "--figures", tmp_path / "slides", "--labels", "A/B/C", "--colours", "UK old"
    )
    assert done.exit_code == 0, done.output
    drawn = {name for name in figure_files() if not name.startswith("case-")}  # the case itself is built
    assert files(tmp_path) == sorted(["a.pdf", "a-key.pdf", "s.pdf", *(f"slides/{name}" for name in drawn)])
    titles = [pypdf.PdfReader(tmp_path / name).metadata.title for name in ("a.pdf", "a-key.pdf")]
    assert titles[0].startswith("Handout: ") and titles[1].startswith("Tutor's key: ")
    pages = pypdf.PdfReader(tmp_path / "s.pdf").pages
    assert all(float(page.mediabox.width) / float(page.mediabox.height) == pytest.approx(16 / 9, rel=1e-3) for page in pages)
    text = " ".join(page_texts(tmp_path / "s.pdf"))
    assert "Predict first" in text and text.count("treat neutral and earthed metal as live") == len(pages)
    assert "A 30.5 V" in (tmp_path / "slides" / "alternatives.txt").read_text(encoding="utf-8")


def test_a_film_is_1280_wide_and_nothing_in_it_is_cut():
    import io

    from matplotlib.figure import Figure
    from PIL import Image

    from lostneutral import analyse, read_case
    from lostneutral.report.course.film import moving
    from lostneutral.teaching import film
    from lostneutral.teaching.look import Look

    result = analyse(read_case(CASE))
    way = film.opening_joint(result)
    # invariant: from the middle to the open star point, ever further
    moved = [abs(z) for z in way.neutral]
    assert moved == sorted(moved) and moved[0] < 1e-9 and way.neutral[-1] == pytest.approx(result.after.reached.nodes["intake", "N"])
    figure = Figure(figsize=(film.WIDE, film.HIGH), dpi=film.DOTS)
    film.draw_step(figure, result, way, Look("U/V/W"), len(way.resistances) - 1)
    figure.canvas.draw()
    labels = [t for axes in (figure, *figure.axes) for t in axes.texts if t.get_text()]
    assert {"U: Small lamp", "V: Middle lamp", "W: Large lamp", "N", "Joint in the neutral: open"} <= {t.get_text() for t in labels}
    for t in labels:
        box = t.get_window_extent()
        assert 0 <= box.x0 and box.x1 <= 1280 and 0 <= box.y0 and box.y1 <= 720, t.get_text()
    made = moving([0, 5], lambda figure, at: film.draw_step(figure, result, way, Look(), at), size=(film.WIDE, film.HIGH), dots=film.DOTS)
    assert Image.open(io.BytesIO(made)).size == (1280, 720)


@pytest.mark.thorough
@pytest.mark.usefixtures("figures_unwritten")
def test_exercises_alone_and_numbered_sheets(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert CliRunner().invoke(main, ["teach", "--exercises", "2", "--grade", "1"]).exit_code == 0
    assert files(tmp_path) == ["reports/exercises-key.pdf", "reports/exercises.csv", "reports/exercises.pdf"]
    done = teach("-o", "a.pdf", "--exercises", 2, "--sheets", 2, "--topic", "series", "--topic", "joint")
    assert done.exit_code == 0, done.output
    assert {"a.pdf", "a-key.pdf", "a-sheets.pdf", "a-sheets-key.pdf", "a-sheets.csv"} <= set(files(tmp_path))
    assert "Exercises" not in [e.title for e in pypdf.PdfReader("a.pdf").outline if not isinstance(e, list)]


@pytest.mark.thorough
@pytest.mark.usefixtures("figures_unwritten")
def test_exercises_stand_in_the_handout_and_their_solutions_in_the_key(tmp_path):
    pytest.importorskip("lostneutral.teaching.exercises")
    for name, seed in (("a", 1), ("b", 1), ("c", 2)):
        assert teach("-o", tmp_path / f"{name}.pdf", "--exercises", 1, "--seed", seed).exit_code == 0
    a, b, c = ((tmp_path / f"{name}.pdf").read_bytes() for name in "abc")
    assert a == b != c
    headings = [
        [entry.title for entry in pypdf.PdfReader(tmp_path / name).outline if not isinstance(entry, list)]
        for name in ("a.pdf", "a-key.pdf")
    ]
    assert "Exercises" in headings[0] and "Exercises: solutions" in headings[1]


@pytest.mark.thorough
def test_default_names_and_standard_input(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert teach(case="-", text=Path(CASE).read_text(encoding="utf-8")).exit_code == 0
    assert files(tmp_path) == [f"reports/case-handout{end}" for end in ("-key.pdf", ".html", ".pdf")]


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
        (["-o", "file/a.pdf"], "cannot be written: "),
        (["--labels", "X/Y/Z"], "R/Y/B"),
        (["--exercises", "-1"], "from 0 to 200"),
        (["--colours", "Utopia"], "IEC 60445, UK, UK old"),
        (["--sheets", "3"], "give --exercises too"),
        (["--exercises", "2", "--topic", "cooking"], "one of: series"),
        (["--exercises", "2", "--grade", "4"], "from 1 to 3"),
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


@pytest.mark.parametrize(("options", "said"), [([], "give a CASE"), (["--exercises", "2", "--slides", "s.pdf"], "belong to a lesson")], ids=str)
def test_without_a_case_only_exercises_can_be_written(tmp_path, monkeypatch, options, said):
    monkeypatch.chdir(tmp_path)
    done = CliRunner().invoke(main, ["teach", *options])
    assert done.exit_code == 2 and said in done.output and files(tmp_path) == []


def test_names_of_lines_stand_alone():  # invariant: what is no line's name stays
    assert LABEL_SETS["U/V/W"] == ("U", "V", "W")
    for labels, (one, two, three) in LABEL_SETS.items():
        assert relabel("L1-N, “L2” and L3–L1", labels) == f"{one}-N, “{two}” and {three}–{one}"
        assert relabel("HL1 L10 L1a L4", labels) == "HL1 L10 L1a L4"
