"""Pages of the reports by their blocks, from results put in by hand: what stands where, what is counted where room ends. Kind of all: behaviour laid down."""

from dataclasses import replace
from functools import cache
from types import SimpleNamespace

import handmade
import numpy as np
import pytest
from drawn import unwritten

from lostneutral.claims.model import Kind
from lostneutral.report.base import blocks
from lostneutral.report.course import film, section, text
from lostneutral.report.course.rows import Failure, Happening, Seen
from lostneutral.report.documents import document, page_one, page_two
from lostneutral.report.documents.investigator import investigator

STAR = handmade.star([100.0, 200.0, 300.0])
TITLES = ("Instruction and hypotheses", "Summary of opinion", "Facts given", "Observations and exhibits", "Method and its limits", "Calculation under H1",
          "Observations held against the calculation", "Competing causes", "What would change the opinion", "Statement of truth and of independence")


@cache
def investigated():
    with unwritten():
        return investigator(STAR)


# The investigator's report

def test_the_sections_of_an_investigators_report_in_their_order():
    made = investigated()
    first = [b["text"] for b in made if b["kind"] == "heading" and b["level"] == 1]
    assert first[:10] == [f"{n}  {title}" for n, title in enumerate(TITLES, 1)]
    assert [t[:13] for t in first[10:]] == ["Appendix A  A", "Appendix B  S", "Appendix C  T", "Appendix D  T"]
    (page,) = [n for n, b in enumerate(made) if b["kind"] == "new_page"]
    assert made[page + 1]["text"] == first[10]


def test_what_to_do_stands_once_behind_the_summary():
    made = investigated()
    (at,) = [n for n, b in enumerate(made) if b["kind"] == "box"]
    assert made[at]["title"] == page_one.TO_DO and made[at]["heavy"] is True and made[at]["first"] == page_one.to_do(STAR)
    assert [b["kind"] for b in made[at - 1:at + 4]] == ["fields", "box", "heading", "bullets", "heading"]
    assert made[at - 1]["pairs"] == [["Opinion of the author", ""]] and made[at + 1]["text"] == "Further precautions" and made[at + 3]["text"] == "3  Facts given"


def test_paragraphs_are_numbered_within_their_section():
    numbers = [b["number"] for b in investigated() if b["kind"] == "numbered"]
    assert not [b for b in investigated() if b["kind"] == "paragraph"]
    by = {}
    for number in numbers:
        by.setdefault(number.split(".")[0], []).append(int(number.split(".")[1]))
    assert list(by)[:3] == ["1", "2", "3"] and all(count == list(range(1, len(count) + 1)) for count in by.values())


def test_what_is_not_given_is_said():
    texts = [b.get("text") for b in investigated()]
    assert {"No date of an inspection is given.", "No observation is given.", "No test result and no photograph is given."} < set(texts)
    assert "There is no observation to hold against the calculation." in texts
    told = replace(STAR, case=replace(STAR.case, document=replace(STAR.case.document, inspection="2024-05-01", instruction="Find the cause.")))
    with unwritten():
        said = [b.get("text") for b in investigator(told)]
    assert "No date of an inspection is given." not in said and "Instruction received: Find the cause." in said
    (rows,) = [b["rows"] for b in investigated() if b["kind"] == "table" and ["start of the random sequence", "none: nothing was sampled"] in b["rows"]]
    assert rows[-1][0] == "band of voltages" and rows[-1][1].startswith("EN 50160: ") and len(rows[-3][1]) == 64


# The other reports

def test_a_clients_report_has_its_annex_behind_two_pages():
    with unwritten():
        whole, pages = document.blocks(STAR, "client"), document.blocks(STAR, "client", annex=False)
    assert whole[:len(pages)] == pages and whole[len(pages)]["kind"] == "new_page" and whole[len(pages) + 1]["text"] == "Annex"
    kinds = [b["kind"] for b in pages]
    assert kinds[0] == "fields" and kinds.count("new_page") == 1 and kinds.index("lead") < kinds.index("box") < kinds.index("new_page")


WAYS = [(kept, size) for kept, sizes in document._FITS for size in sizes]  # as they are wanted


@pytest.mark.parametrize("first", range(len(WAYS) + 1))
def test_the_first_way_that_keeps_to_two_pages_is_taken(monkeypatch, first):
    """From the way numbered `first` on everything keeps to two pages; of none that does the last is taken."""
    assert [size for _, size in WAYS] == [9.4, 9.4, 8.9, 8.4, 8.4, 8.0, 8.4, 8.0, 8.4, 8.0, 8.4, 8.0, 7.6]
    tried = []

    def way(pictures, kept, size):
        return {"drawn": "voltages" in pictures, "bars": "strips" in pictures, "flowing": False, "short": False, "others_only": False} | kept, size

    def count(title, made, size, **_):
        tried.append(way(*made, size))
        return 2 if tried[-1] in ways[first:] else 3

    ways = [way([name for name, key in (("voltages", "drawn"), ("strips", "bars")) if kept.get(key, True)],
                {k: v for k, v in kept.items() if k not in ("drawn", "bars")}, size) for kept, size in WAYS]
    monkeypatch.setattr(document, "page_count", count)
    monkeypatch.setattr(document, "picture", lambda *_, **__: "voltages")
    monkeypatch.setattr(document, "time_bars", lambda _: ["strips"])
    monkeypatch.setattr(document, "_two_pages", lambda result, pictures, **kept: (pictures, kept))
    made, size = document._client(STAR, annex=False)
    assert way(*made, size) == ways[min(first, len(ways) - 1)]
    assert len(tried) <= 8 and len(tried) <= max(first + 1, 4)  # never many more than one after the other


def test_the_settings_of_a_page_as_they_are_unless_said(monkeypatch):
    kept = {}
    monkeypatch.setattr(document, "set_pdf", lambda title, made, **keys: kept.update(keys, title=title) or b"pdf")
    monkeypatch.setattr(document, "page_count", lambda *_, **__: 2)
    with unwritten():
        assert document.report_pdf(STAR, "investigator") == b"pdf" and kept["size"] == 9.2 and kept["above_title"] == "Investigation report: loss of neutral"
        document.report_pdf(STAR)
    assert kept["size"] == 9.4 and kept["above_title"] == "Report on a suspected fault: loss of neutral" and kept["title"] == STAR.case.title


# Items on pages one and two

def row(n, items=("a",), outcome="fails", rank=1):
    return SimpleNamespace(items=items, voltage=f"{n} V", effect=f"effect {n}", why=f"why {n}", outcome=outcome, rank=rank, names=lambda most=99: f"row {n}")


@pytest.fixture
def listed(monkeypatch):
    def put(*rows):
        monkeypatch.setattr(page_one, "schedule", lambda *_: list(rows))
        monkeypatch.setattr(page_two, "schedule", lambda *_: list(rows))
    return put


@pytest.mark.parametrize(("rows", "told"), [(8, []), (9, ["1 more item would be affected: page two has all of them."]), (11, ["3 more items would be affected: page two has all of them."])])
def test_page_one_has_eight_rows_of_items(listed, rows, told):
    listed(*(row(n) for n in range(rows)))
    table, *more = page_one._items(STAR)
    assert [r[:2] for r in table["rows"]] == [[f"row {n}", f"{n}"] for n in range(min(rows, 8))] and [b["text"] for b in more] == told
    listed(*(row(n, outcome="unharmed", rank=4) for n in range(3)))
    assert page_one._items(STAR) == []


def test_items_in_one_row_count_each(listed):
    listed(*(row(n) for n in range(8)), row(8, ("x", "y")))
    assert page_one._items(STAR)[1]["text"].startswith("2 more items")


def test_page_two_counts_what_it_cannot_list(listed):
    listed(*(row(n, ("a", "b"), "fails" if n % 2 else "unharmed") for n in range(20)))
    heading, table = page_two._items(STAR, False)
    assert heading["text"] == "Every item of equipment" and len(table["rows"]) == 20 and table["rows"][3] == ["row 3", "3", "effect 3", "why 3"]
    listed(*(row(n, ("a", "b"), "dim" if n % 2 else "unharmed") for n in range(21)))
    heading, table, after = page_two._items(STAR, False)
    assert [r[1] for r in table["rows"]] == ["22", "20"] and after["text"] == "The annex lists each of them."


def test_page_two_may_have_only_what_page_one_has_not(listed):
    rows = [row(n) for n in range(9)] + [row(9, outcome="unharmed", rank=4)]
    listed(*rows)
    heading, table = page_two._items(STAR, True)
    assert heading["text"] == "Every other item of equipment" and [r[0] for r in table["rows"]] == ["row 8", "row 9"]
    listed(*rows[:8])
    assert page_two._items(STAR, True) == []


@pytest.mark.parametrize(("count", "told"), [(10, []), (11, ["1 more observation in the annex."]), (12, ["2 more observations in the annex."])])
def test_ten_observations_stand_on_page_two_those_that_contradict_first(monkeypatch, count, told):
    monkeypatch.setattr(page_two, "observation", lambda c: (str(c.facts["number"]), "", ""))
    claims = [SimpleNamespace(kind=Kind.OBSERVED, facts={"number": n, "agrees": {11: False, 5: False, 3: None}.get(n, True)}) for n in range(count)]
    heading, table, *more = page_two._observed(SimpleNamespace(claims=claims))
    first = [r[0] for r in table["rows"]]
    assert len(first) == 10 and first[:2] == (["5", "11"] if count == 12 else ["5", "0"]) and [b["text"] for b in more] == told
    assert page_two._observed(SimpleNamespace(claims=[])) == []


@pytest.mark.parametrize(("changing", "all_", "told"), [(2, 2, ""), (2, 3, " 1 other item: see the list above."), (9, 12, " 4 other items: see the list above.")])
def test_bars_of_items_that_change(monkeypatch, changing, all_, told):
    drawn = []
    monkeypatch.setattr(page_two.course_figures, "changing", lambda result: list("abcdefghijkl"[:changing]))
    monkeypatch.setattr(page_two.course_figures, "strips", lambda result, names: drawn.append(names) or ("<svg/>", "drawn"))
    (figure,) = page_two.time_bars(SimpleNamespace(courses=1, verdicts=[0] * all_))
    assert figure["caption"] == f"Items whose condition would change over the period, by calculation.{told}" and drawn == [list("abcdefgh"[:changing])]
    assert page_two.time_bars(SimpleNamespace(courses=None, verdicts=[])) == []


@pytest.mark.parametrize(("assumed", "told"), [(0, "Nothing had to be assumed beyond what was given."), (1, "Assumed: 1 value that was not given; the annex lists them."),
                                               (2, "Assumed: 2 values that were not given; the annex lists them.")])
def test_the_basis_counts_what_was_assumed(assumed, told):
    result = replace(STAR, assumptions=STAR.case.assumptions[:1] * assumed)
    given, then, how, *_ = page_two.basis(result)
    assert then == told and "230 V line to neutral, 50 Hz, earthing TN-C-S; 1 point of the wiring, 3 items of equipment" in given and "with sine waves" in how
    unknown = replace(result, case=replace(STAR.case, supply=replace(STAR.case.supply, earthing=None), points=STAR.case.points * 2))
    assert "earthing not known; 2 points" in page_two.basis(unknown)[0]
    assert "of the waveforms, because rectifier loads decide" in page_two.basis(replace(result, waveforms=SimpleNamespace(trusted=True)))[2]
    assert page_two.basis(result)[3] == "Compared with the limits of EN 50160 for normal operation (207 to 253 V), as a yardstick only."


def test_the_picture_names_what_it_does_not_draw(monkeypatch):
    with unwritten():
        assert "Not drawn" not in page_one.picture(STAR)["caption"]
        monkeypatch.setattr(page_one.figures, "left_out", lambda result: ("Urn", "TV"))
        assert page_one.picture(STAR)["caption"].endswith(" Not drawn, as nearer to normal: Urn, TV.")
    blank = page_one.picture(STAR, drawn=False)
    assert blank["alternative"] == "nothing" and 'height="126pt"' in blank["svg"]  # three items: 0.85 and 3 × 0.3 inches


# Courses

def happened(n, time=None, what=None):
    return Happening(float(n) if time is None else time, what or f"event {n}", (Seen("intake", "L1", 230.0, 230.4, "within limits"),))


@pytest.fixture
def forty(monkeypatch):
    def put(count, **more):
        for place in (section, text):
            monkeypatch.setattr(place, "happenings", lambda case, course: tuple(happened(n, **more) for n in range(count)))
    return put


@pytest.mark.parametrize(("count", "last"), [(40, ["40", "39 s", "event 39", "L1 230 V, within limits"]), (43, ["", "", "… and 3 more, in the result file", ""])])
def test_the_table_of_a_course_ends_after_forty_rows(forty, count, last):
    forty(count)
    table = section._time_line(STAR.case, None)
    assert table["rows"][-1] == last and len(table["rows"]) == min(count, 41) and table["rows"][0] == ["1", "0 s", "event 0", "L1 230 V, within limits"]
    assert section.course(SimpleNamespace(courses=None)) == []


def test_the_course_on_the_screen_ends_after_sixty(forty):
    forty(62)
    told = text._time_line(STAR.case, None)
    assert told[1:3] == ["         0 s  event 0", "              L1 230 V, within limits"] and told[-1] == "              … and 2 more, in the result file" and len(told) == 122
    forty(60)
    assert len(text._time_line(STAR.case, None)) == 121
    forty(3, time=5.0)  # of what happens at one time only the last is followed by its voltages, but for the beginning
    assert [line.strip() for line in text._time_line(STAR.case, None)[1:]] == ["5 s  event 0", "L1 230 V, within limits", "5 s  event 1", "5 s  event 2", "L1 230 V, within limits"]


def test_failures_on_the_screen(monkeypatch):
    told = lambda *found, early=1: (monkeypatch.setattr(text, "failures_told", lambda *_: found), text._failures(None, SimpleNamespace(early=early)))[1]
    assert told(early=None) == [] and told() == ["Expected failures: none within the period, in any of the courses."]
    found = told(Failure("Lamp", "", 30.0, 20.0, 60.0), Failure("TV", "supply", None, 100.0, None))
    assert found[1] == "- Lamp: about 30 s (early course: about 20 s; late course: about 60 s)"
    assert found[2] == "- TV: supply: not within the period (early course: about 100 s)"


def test_failures_as_a_table(monkeypatch):
    monkeypatch.setattr(section, "failures_told", lambda *_: (Failure("Lamp", "filament", 30.0, None, 60.0),))
    assert section._failures(None, None)[0]["rows"] == [["Lamp", "filament", "about 30 s", "not within the period", "about 60 s"]]
    monkeypatch.setattr(section, "failures_told", lambda *_: ())
    assert section._failures(None, None) == []


def test_a_film_has_its_frames_and_stands_at_the_last(monkeypatch):
    made = []
    monkeypatch.setattr(film, "moving", lambda frames, draw, each: made.append((frames, each)) or b"gif")
    course = SimpleNamespace(times=np.arange(161.0))
    assert film.incident_film(SimpleNamespace(courses=SimpleNamespace(central=course))) == b"gif"
    (frames, each), = made
    assert frames[:2] == [0, 2] and frames[78:81] == [157, 160, 160] and len(frames) == 92 and each(frames) is frames  # every other of 161 times, then a second and a half


def test_frames_are_drawn_anew_one_after_the_other():
    from io import BytesIO

    from PIL import Image

    seen = []

    def draw(figure, frame):
        assert not figure.axes and not figure.texts  # nothing of the frame before
        figure.text(0.1 * frame, 0.5, "x"), seen.append(frame)

    told = []
    content = film.moving([1, 2, 5], draw, lambda frames: (told.append(f) or f for f in frames), size=(2.0, 1.0), dots=50)
    with Image.open(BytesIO(content)) as image:
        assert image.format == "GIF" and image.n_frames == 3 and image.size == (100, 50) and image.info["duration"] == pytest.approx(125, abs=6)  # eight a second
    assert seen[-3:] == told == [1, 2, 5]


def test_a_neutral_without_potential_is_said_in_the_film():
    from matplotlib.figure import Figure

    nodes = {("intake", name): np.array([u, u]) for name, u in handmade.PHASORS.items()} | {("intake", "N"): np.array([0j, np.nan])}
    course = SimpleNamespace(times=np.array([0.0, 1.0]), nodes=nodes, voltages={}, failures={}, repetitions=(),
                             moments=(SimpleNamespace(time=0.0, kind="start", what="sound", phases={}), SimpleNamespace(time=1.0, kind="end", what="end", phases={})))
    told = []
    for at in (0, 1):
        figure = Figure()
        film._draw(figure, SimpleNamespace(case=STAR.case, courses=SimpleNamespace(central=course)), at)
        told.append([t.get_text() for t in figure.axes[0].texts])
    assert "N floating" not in told[0] and "N floating" in told[1]


# Blocks

def test_lists_side_by_side_are_of_like_height():
    texts = ["x" * 60] * 3 + ["y" * 240]
    made = blocks.side_by_side([("One", texts)])
    assert [[b["items"] for b in half] for half in made["halves"]] == [[texts[:3]], [texts[3:]]] and made["over"] == [blocks.heading("One", 2)]
    assert blocks.side_by_side([(None, texts)])["over"] == []
    two = blocks.side_by_side([("A", ["x"]), ("B", ["x"]), ("C", ["x" * 600]), ("D", [])])
    assert [[b["text"] for b in half if b["kind"] == "heading"] for half in two["halves"]] == [["A", "B"], ["C"]]
    # a text with its English beneath takes the lines of both: 2 of 60 letters, 3 of 66
    assert blocks._lines(blocks.beneath("x" * 100, "y" * 190)) == pytest.approx(5.3) and blocks._lines("x" * 60) == pytest.approx(1.3) and blocks._lines("x" * 61) == pytest.approx(2.3)
    assert blocks._middle([3, 1, 1, 1]) == 1 and blocks._middle([1, 1, 1, 3]) == 3


def test_blocks_hold_what_they_are_given():
    assert blocks.box("T", ["a"])["heavy"] is False and blocks.box("T", ["a"], heavy=True)["heavy"] is True
    assert blocks.mono("a\n\tb\n  c")["lines"] == ["a", "\u00a0" * 4 + "b", "\u00a0\u00a0c"]
    assert blocks.finding("l", "t", "x", [("a", "1"), ("b", "")])["details"] == [["a", "1"]]
    assert blocks.table("c", ("a", "b"), [(1, 2)])["align"] == ["l", "l"] and blocks.table("c", ("a",), [], "r", {0: 1.5})["wide"] == {"0": 1.5}
    assert blocks.fields([("a", None), ("b", "x")])["pairs"] == [["a", ""], ["b", "x"]]
