"""What each command writes, where, with which of its options, and what it says of it. Kind of all: behaviour laid down for the command line.

What is calculated and rendered stands in as words that name it, so that this is the commands alone.
"""

import io
import webbrowser
from dataclasses import dataclass, replace
from importlib import import_module
from pathlib import Path
from types import SimpleNamespace

import click
import pytest
from click.testing import CliRunner

from lostneutral.cli import main, output
from lostneutral.cli.options import Number
from lostneutral.errors import UsageError
from lostneutral.evidence.answers import TAKES_LONG
from lostneutral.words.language import tell

CASE = 'title = "t"\n[supply]\n[[load]]\nname = "a"\nkind = "resistive"\nconnect = "L1-N"\npower = 40\n'


@dataclass(frozen=True)
class Made:
    """Stands for a result: how it was made."""

    case: object
    how: str
    ranges: str = ""
    deduction: object = None
    cautions: tuple = ()
    not_weighed: str = ""

    @property
    def words(self):
        return " ".join(filter(None, (self.how, self.ranges, self.deduction and self.deduction.how)))


def sampled(case, samples, seed, done):
    return f"{samples} from {seed}"


def weighed(case, samples, seed, done):
    return SimpleNamespace(how=f"{samples} from {seed}", complete=True)


def lesson(result, labels, colours, system):
    return SimpleNamespace(result=result, look=None, how=f"{labels} {colours} {system}")


def named(function, *shown):
    """What stands for a rendering: its name, what it is of, and what it was given."""
    return lambda of, *given, **by_name: " ".join([function, getattr(of, "words", ""), *map(str, given), *(f"{k}={by_name.get(k)}" for k in shown)])


def as_bytes(function):
    return lambda *given, **by_name: function(*given, **by_name).encode()


SCREEN = "lostneutral.report.screen"
INSTEAD = {
    "lostneutral.analysis.analyse": lambda read, waveforms=None: Made(read, f"analysed {waveforms}"),
    "lostneutral.analysis.follow": lambda read, end=None, waveforms=None: Made(read, f"followed {end} {waveforms}"),
    "lostneutral.evidence.ranges.sample_count": lambda case, samples: 1,
    "lostneutral.evidence.ranges.ranges": sampled,
    "lostneutral.evidence.deduce.work": lambda case: 1,
    "lostneutral.evidence.deduce.deduce": weighed,
    "lostneutral.evidence.where.where": lambda read: SimpleNamespace(outcomes=[SimpleNamespace(points={}, place="there")]),
    "lostneutral.evidence.answers.with_answers": lambda result, sampled, weighed: result,
    "lostneutral.report.result.file.result_json": named("json"),
    "lostneutral.report.damage.items_file.items_csv": named("items"),
    "lostneutral.report.evidence.section.deduction_pdf": as_bytes(named("pdf")),
    "lostneutral.report.documents.document.report_pdf": as_bytes(named("pdf")),
    "lostneutral.report.course.film.incident_film": lambda result, shown: f"film {result.words} {list(shown([1, 2]))}".encode(),
    "lostneutral.report.evidence.where_text.where_json": named("json"),
    "lostneutral.report.evidence.where_text.consequence": lambda read, first: "something",
    "lostneutral.report.earth.figures.wiring_tree": lambda read, points, place, foot: (f"tree {place} {foot[:30]}", ""),
    "lostneutral.report.evidence.where_text.where_text": lambda *_: "all", f"{SCREEN}.short_answers.where_in_short": lambda *_: "short",
    f"{SCREEN}.terminal.terminal_text": lambda result, colour, width: f"all {result.words} {colour} {width}",
    f"{SCREEN}.short_text.short_text": lambda result, colour, width: f"short {result.words} {colour} {width}",
    "lostneutral.report.ranges.text.ranges_text": named("all"), f"{SCREEN}.short_answers.ranges_in_short": named("short"),
    "lostneutral.report.evidence.text.deduction_text": named("all"), f"{SCREEN}.short_answers.deduction_on_screen": named("short"),
    "lostneutral.report.course.text.course_text": named("all"), f"{SCREEN}.short_answers.course_in_short": named("short"),
    "lostneutral.page.page_html": named("page", "for_class", "colours"),
    "lostneutral.teaching.lesson.lesson": lesson,
    "lostneutral.teaching.pack.handout_pdf": lambda made, tasks: f"{tell('Handout')} {made.how} {tasks}".encode(),
    "lostneutral.teaching.pack.key_pdf": lambda made, tasks: f"key {tell('Handout')} {made.how} {tasks}".encode(),
    "lostneutral.teaching.pack.figure_pictures": lambda made: {"wiring.svg": b"drawn", "alternatives.txt": b"words"},
    "lostneutral.teaching.slides.slides": lambda made: f"slides {made.how}".encode(),
    "lostneutral.teaching.film.neutral_film": lambda result, look, shown: f"film {result.words} {list(shown([1, 2]))}".encode(),
    "lostneutral.teaching.exercises.exercises": lambda number, seed, labels, **choice: f"{number} of {seed} {labels} {choice}",
    "lostneutral.teaching.sheets.sheets": lambda count, number, seed, labels, **choice: f"{count} times {number} of {seed} {labels} {choice}",
    "lostneutral.teaching.sheets.sheets_pdf": lambda made: f"sheets {made}".encode(),
    "lostneutral.teaching.sheets.key_of_sheets_pdf": lambda made: f"key {made}".encode(),
    "lostneutral.teaching.sheets.answers_csv": lambda made: f"table {made}".encode(),
    "lostneutral.verify.run.run_checks": lambda topics: topics, "lostneutral.verify.checks.topics": lambda: ("topic",),
    "lostneutral.verify.checks.own_checks": lambda content, name: f"{content.decode()} of {name}",
    "lostneutral.report.verification.text.verification_text": lambda runs, colour, width: f"{runs}",
    "lostneutral.report.verification.record.record_pdf": lambda runs, own: f"record {runs} {own}".encode(),
    "lostneutral.report.verification.rows.failed_checks": lambda runs: [],
}


@pytest.fixture
def run(tmp_path, monkeypatch):
    """Call the program in a folder with a case; `worked` has the results that were made, `files()` what is there beside the case."""
    monkeypatch.chdir(tmp_path)
    Path("c.toml").write_text(CASE)
    worked = []
    for place in INSTEAD:  # before any stands in for another: a module imported meanwhile would keep what it found
        import_module(place.rpartition(".")[0])
    for place, function in INSTEAD.items():
        monkeypatch.setattr(place, function)
    for place in ("lostneutral.analysis.analyse", "lostneutral.analysis.follow", "lostneutral.evidence.where.where", "lostneutral.verify.run.run_checks"):
        monkeypatch.setattr(place, lambda *given, of=INSTEAD[place], **by_name: worked.append(given) or of(*given, **by_name))

    def call(line, **options):
        return CliRunner().invoke(main, line.split(), **options)

    call.worked = worked
    call.files = lambda: {str(p.relative_to(tmp_path)): p.read_text() for p in tmp_path.rglob("*") if p.is_file() and p.name != "c.toml"}
    return call


PAGE = "page analysed None for_class={} colours={}"
ALL = "{'grades': (), 'topics': (), 'system': None}"
LESSON = {"reports/c-handout.pdf": "Handout L1/L2/L3 None None ()", "reports/c-handout-key.pdf": "key Handout L1/L2/L3 None None ()",
          "reports/c-handout.html": PAGE.format(True, None)}
GOES = [
    # line, files, standard output (None: not looked at), standard error
    ("analyse c.toml", {}, "short analysed None False 80", ""),
    ("analyse c.toml --full --waveforms", {}, "all analysed True False 80", ""),
    ("analyse c.toml --json j --items i", {"j": "json analysed None", "i": "items analysed None"}, "short analysed None False 80", ""),
    ("analyse c.toml --json j --items -", {"j": "json analysed None"}, "items analysed None", ""),
    ("analyse c.toml --json - --items i", {"i": "items analysed None"}, "json analysed None", ""),
    ("bound c.toml --samples 16 --seed 0 --json j --items i",
     {"j": "json analysed None 16 from 0", "i": "items analysed None 16 from 0"}, "short analysed None 16 from 0 80", None),
    ("bound c.toml --full", {}, "all analysed None None from 1 80", None),
    ("bound c.toml --json -", {}, "json analysed None None from 1", None),
    ("bound c.toml --items -", {}, "items analysed None None from 1", None),
    ("deduce c.toml --samples 32 --seed 7 --json j --items i -o o", dict.fromkeys(("j", "i", "o"), "analysed None 32 from 7"),
     "short analysed None 32 from 7 80", None),
    ("deduce c.toml --full", {}, "all analysed None None from 1 80", None),
    ("deduce c.toml -o -", {}, "pdf analysed None None from 1", None),
    ("follow c.toml --end 0.001 --waveforms --json j --items i -o o",
     dict.fromkeys(("j", "i", "o"), "followed 0.001 True"), "short followed 0.001 True 80", ""),
    ("follow c.toml --full", {}, "all followed None None 80", ""),
    ("follow c.toml --film f", {"f": "film followed None None [1, 2]"}, "short followed None None 80", None),
    ("follow c.toml --film -", {}, "film followed None None [1, 2]", None),
    ("where c.toml --json j --items i --figure f", {"j": "json", "i": "items analysed None", "f": "tree there By calculation: something."},
     "short", ""),
    ("where c.toml --full", {}, "all", ""),
    ("where c.toml --figure -", {}, "tree there By calculation: something.", ""),
    ("explore c.toml -o p.html --class --colours UK", {"p.html": PAGE.format(True, "UK")}, "", "Wrote p.html\n"),
    ("explore c.toml -o -", {}, PAGE.format(False, None), ""),
    ("report c.toml", {"reports/c.pdf": "pdf analysed None client False"}, "", "Wrote reports/c.pdf\n"),
    ("report c.toml -o o --for trainer --annex --waveforms --items i --page p",
     {"o": "pdf analysed True trainer True", "i": "items analysed True", "p": "page analysed True"}, "", "Wrote o and p\n"),
    ("report c.toml -o -", {}, "pdf analysed None client False", ""),
    ("report c.toml -o o --items -", {"o": "pdf analysed None client False"}, "items analysed None", "Wrote o\n"),
    ("teach c.toml", LESSON, "", "Wrote " + ", ".join(LESSON) + "\n"),
    ("teach c.toml -o h --labels A/B/C --colours UK --supply split-phase", {
        "h": "Handout A/B/C UK split-phase ()", "h-key.pdf": "key Handout A/B/C UK split-phase ()", "h.html": PAGE.format(True, "UK")},
     "", "Wrote h, h-key.pdf, h.html\n"),
    ("teach c.toml --supply three-phase", LESSON, "", None),
    ("teach c.toml --slides s --film f --figures d", LESSON | {
        "s": "slides L1/L2/L3 None None", "f": "film analysed None [1, 2]", "d/wiring.svg": "drawn", "d/alternatives.txt": "words"},
     "", "Filming\nWrote " + ", ".join(LESSON) + ", s, f, and the figures in d\n"),
    ("teach c.toml --exercises 3", LESSON | {
        "reports/c-handout.pdf": f"Handout L1/L2/L3 None None 3 of 1 L1/L2/L3 {ALL}",
        "reports/c-handout-key.pdf": f"key Handout L1/L2/L3 None None 3 of 1 L1/L2/L3 {ALL}"}, "", None),
    ("teach c.toml --exercises 3 --sheets 2 --seed 5 -o h.pdf", {
        "h.pdf": "Handout L1/L2/L3 None None ()", "h-key.pdf": "key Handout L1/L2/L3 None None ()", "h.html": PAGE.format(True, None),
        "h-sheets.pdf": f"sheets 2 times 3 of 5 L1/L2/L3 {ALL}", "h-sheets-key.pdf": f"key 2 times 3 of 5 L1/L2/L3 {ALL}",
        "h-sheets.csv": f"table 2 times 3 of 5 L1/L2/L3 {ALL}"}, "", "Wrote h.pdf, h-key.pdf, h.html, h-sheets.pdf, h-sheets-key.pdf, h-sheets.csv\n"),
    ("teach --exercises 3 --grade 1 --grade 3 --topic joint --supply split-phase", {
        f"reports/exercises{end}": f"{what} 1 times 3 of 1 L1/L2/L3 {{'grades': (1, 3), 'topics': ('joint',), 'system': 'split-phase'}}"
        for what, end in (("sheets", ".pdf"), ("key", "-key.pdf"), ("table", ".csv"))}, "", None),
    ("verify", {}, "('topic',)", ""),
    ("verify -o o", {"o": "record ('topic',) None"}, "('topic',)", ""),
    ("verify -o -", {}, "record ('topic',) None", ""),
]


@pytest.mark.parametrize(("line", "files", "out", "said"), GOES, ids=[row[0] for row in GOES])
def test_what_is_asked_for_goes_where_it_should(run, line, files, out, said):
    done = run(line)
    assert done.exit_code == 0, done.output
    there = run.files()
    assert there.keys() == files.keys() and all(words in there[name] for name, words in files.items()), there
    shown, caution, _ = done.stdout.partition("\nCaution: ")
    shown = shown.strip()
    assert bool(caution) is (line in ("verify", "verify -o o"))
    assert (shown.startswith if "tree" in out else shown.__eq__)(out)
    assert said is None or done.stderr == said


WRITE = [("analyse c.toml", ("--json", "--items")), ("bound c.toml", ("--json", "--items")), ("deduce c.toml", ("--json", "-o", "--items")),
         ("follow c.toml", ("--json", "-o", "--film", "--items")), ("where c.toml", ("--json", "--figure", "--items")),
         ("report c.toml", ("-o", "--items", "--page")), ("explore c.toml", ("-o",)), ("teach c.toml", ("-o", "--slides", "--film")),
         ("verify", ("-o",))]
EACH = [(line, option) for line, options in WRITE for option in options]


@pytest.mark.parametrize(("line", "option"), EACH)
def test_what_is_there_is_kept_before_any_work_and_given_up_to_force(run, line, option):
    Path("there").write_text("mine")
    refused = run(f"{line} {option} there")
    assert refused.exit_code == 2 and "--force" in refused.stderr and not run.worked and run.files() == {"there": "mine"}
    assert run(f"{line} {option} there --force").exit_code == 0 and run.files()["there"] != "mine"
    if line != "verify":
        run.worked.clear()
        kept = run(f"{line} {option} c.toml --force")
        assert kept.exit_code == 2 and "the case file itself" in kept.stderr and not run.worked and Path("c.toml").read_text() == CASE


@pytest.mark.parametrize(("line", "one", "two"), [
    (line, a, b) for line, options in WRITE if line.split()[0] not in ("explore", "teach", "verify")
    for a, b in zip(options, options[1:]) if b != "--page"], ids=str)
def test_standard_output_takes_one_result(run, line, one, two):
    done = run(f"{line} {one} - {two} -")
    assert done.exit_code == 2 and "one result at a time" in done.stderr and not done.stdout and not run.worked


@pytest.mark.parametrize(("line", "one", "two"), [
    (line, a, b) for line, options in WRITE if line.split()[0] not in ("explore", "teach", "verify") for a, b in zip(options, options[1:])], ids=str)
def test_two_results_do_not_go_into_one_file(run, line, one, two):
    for name in ("o", "./o"):
        done = run(f"{line} {one} o {two} {name} --force")
        assert done.exit_code == 2 and "each its own name" in done.stderr and "o" not in run.files() and not run.worked


def test_a_result_that_cannot_be_made_leaves_none_of_the_others(run, monkeypatch):
    def none(*given, **by_name):
        raise UsageError("there is none")

    for make, line in (("lostneutral.page.page_html", "report c.toml -o o --page p --items i"), ("lostneutral.cli.follow._film", "follow c.toml -o o --film p --json i")):
        monkeypatch.setattr(make, none)
        done = run(line)
        assert done.exit_code == 2 and "there is none" in done.stderr and not {"o", "p", "i"} & run.files().keys()


def test_half_a_comparison_is_written_only_where_it_is_marked(run, monkeypatch):
    monkeypatch.setattr("lostneutral.evidence.deduce.deduce", lambda *_: SimpleNamespace(how="half", complete=False))
    assert run("deduce c.toml --json j").exit_code == 130 and "half" in run.files()["j"]
    monkeypatch.setattr("lostneutral.evidence.answers.with_answers", lambda result, sampled, weighed: replace(result, deduction=weighed(result.case)))
    assert run("report c.toml -o o").exit_code == 130 and "o" not in run.files()


def test_a_report_follows_events_and_has_ranges_and_causes(run, monkeypatch):
    Path("e.toml").write_text(CASE + '[[event]]\ntime = 1\nload = "a"\non = false\n')
    monkeypatch.setattr("lostneutral.evidence.answers.with_answers",
                        lambda result, sampled, weighed: replace(result, ranges=sampled(result.case), deduction=weighed(result.case)))
    assert run("report e.toml -o o").exit_code == 0
    assert run.files()["o"] == "pdf followed None None None from 1 None from 1 client False"


@pytest.mark.parametrize(("why", "said"), [("They are alike.", "The report does not compare possible causes. They are alike.\nWrote o\n"),
                                           (TAKES_LONG, "Wrote o\n")])
def test_why_causes_are_not_compared_is_said_unless_nobody_asked(run, monkeypatch, why, said):
    monkeypatch.setattr("lostneutral.evidence.answers.with_answers", lambda result, sampled, weighed: replace(result, not_weighed=why))
    assert run("report c.toml -o o").stderr == said


@pytest.mark.parametrize(("shown", "words"), [(True, "Opened "), (False, "No browser was found here; open this file in one: ")])
def test_a_page_without_a_name_is_opened(run, monkeypatch, tmp_path, shown, words):
    monkeypatch.setattr("tempfile.mkdtemp", lambda prefix: str(tmp_path))
    asked = []
    monkeypatch.setattr(webbrowser, "open", lambda address: asked.append(address) or shown)
    for line, name in (("explore c.toml", "c.html"), ("explore -", "case.html")):
        assert run(line, input=CASE).stderr == f"{words}{tmp_path / name}\n"
        assert asked.pop() == (tmp_path / name).as_uri() and run.files()[name] == PAGE.format(False, None)


def test_a_lesson_without_a_page_says_why(run, monkeypatch):
    def refused(*_, **__):
        raise UsageError("It cannot be.")

    monkeypatch.setattr("lostneutral.page.page_html", refused)
    done = run("teach c.toml -o h.pdf")
    assert done.exit_code == 0 and done.stderr == "No page for the class. It cannot be.\nWrote h.pdf, h-key.pdf\n"


def test_learners_get_the_language_of_the_case_and_the_tutor_english(run):
    Path("c.toml").write_text(CASE + '[document]\nlanguage = "de"\n')
    assert run("teach c.toml -o h.pdf").exit_code == 0
    assert run.files()["h.pdf"].startswith("Arbeitsblatt ") and run.files()["h-key.pdf"].startswith("key Handout ")


@pytest.mark.parametrize(("system", "asked", "drawn"), [("split-phase", "", "split-phase"), ("three-phase", "", None),
                                                       ("split-phase", "--supply three-phase", "three-phase")])
def test_exercises_are_on_the_kind_of_supply_of_the_case(run, system, asked, drawn):
    Path("c.toml").write_text(CASE.replace("[supply]", f'[supply]\nsystem = "{system}"'))
    assert run(f"teach c.toml -o h.pdf --exercises 1 {asked}").exit_code == 0
    assert f"'system': {drawn!r}}}" in run.files()["h.pdf"]


@pytest.mark.parametrize(("line", "said"), [
    ("teach", "nothing to write"), ("teach c.toml --sheets 2", "how many exercises on each?"), ("teach c.toml -o -", "several files"),
    ("teach c.toml -o a --film a", "its own name"), ("teach c.toml -o a.pdf --slides a-key.pdf", "its own name"),
    ("teach c.toml --figures c.toml", "this is a file"), ("teach c.toml -o c.toml/a.pdf", "cannot be written: "), ("teach c.toml --colours Utopia", "UK old")])
def test_a_lesson_that_cannot_be_is_refused_before_the_work(run, line, said):
    done = run(line)
    assert done.exit_code == 2 and said in done.stderr and not run.worked and not run.files()


@pytest.mark.parametrize("option", ["--slides s", "--film f", "--figures d", "--colours UK"])
def test_what_belongs_to_a_lesson_asks_for_a_case(run, option):
    done = run(f"teach --exercises 2 {option}")
    assert done.exit_code == 2 and "belong to a lesson" in done.stderr and not run.files()


def test_own_checks_come_from_a_file_or_standard_input_and_a_wrong_figure_ends_with_1(run, monkeypatch):
    Path("mine").write_text("own")
    assert run("verify --checks mine").stdout.startswith("('topic', 'own of mine')")
    assert run("verify --checks -", input="own").stdout.startswith("('topic', 'own of <stdin>')")
    assert run("verify --checks mine -o mine --force").exit_code == 2
    monkeypatch.setattr("lostneutral.report.verification.rows.failed_checks", lambda runs: ["one"])
    assert run("verify").exit_code == 1


@pytest.mark.parametrize(("text", "counts"), [
    (CASE, "1 load, 1 break"), ("break = []\n" + CASE, "1 load, 0 breaks"),
    (CASE + CASE[CASE.index("[[load]]"):].replace('"a"', '"b"') + "[[break]]\n[[break]]\nconductor = \"L1\"\n", "2 loads, 2 breaks"),
    (CASE + '[[break]]\n[[event]]\ntime = 9\nbreak = "intake"\nresistance = 0\n', "1 load, 1 break")])  # one that is mended later
def test_a_checked_file_is_counted(run, text, counts):
    Path("c.toml").write_text(text)
    assert run("check c.toml").stderr == f"c.toml: no errors in the file; {counts}.\n"
    warned = run("check -", input=text.replace("[supply]", "[supply]\nelectrode = 1"))
    assert warned.stderr.startswith("Warning: supply.electrode is not used") and warned.stderr.endswith(f"standard input: no errors in the file; {counts}.\n")


def test_colours_that_there_are_not_are_told_before_the_work(run):
    done = run("explore c.toml --colours Utopia")
    assert done.exit_code == 2 and "UK" in done.stderr and not run.worked


def test_what_was_withdrawn_says_what_to_use(run):
    done = run("explore c.toml --still f")
    assert done.exit_code == 2 and "-o page.html" in done.stderr and not run.worked


def test_a_comparison_shows_no_control_characters(run, monkeypatch):
    monkeypatch.setattr(f"{SCREEN}.compare_text.read_result", lambda content, name: f"{content.decode()} of {name}")
    monkeypatch.setattr(f"{SCREEN}.compare_text.compare_text", lambda old, new: f"{old}, {new}\n\x1b[2J")
    Path("old").write_text("1")
    out = run("compare old -", input="2").stdout
    assert out.startswith("1 of old, 2 of -\n") and "\x1b" not in out and "Caution: " in out


# What numbers and the terminal may be

@pytest.mark.parametrize(("number", "words"), [(Number(int, 1, 9999), "1 to 9999"), (Number(int, 0, 10_000), "0 to 10 000"),
                                               (Number(float, 1e-3, 1e9), "0.001 to 1 000 000 000")])
def test_a_range_is_told_in_digits_and_holds_both_its_ends(number, words):
    assert number.words == words
    assert [number.convert(str(x), None, None) for x in (number.low, number.high)] == [number.low, number.high]
    for wrong in (number.low - 1, number.high + 1):
        with pytest.raises(Exception, match=f"{wrong} is out of range"):
            number.convert(str(wrong), None, None)


class Terminal(io.TextIOWrapper):
    def isatty(self):
        return True


@pytest.mark.parametrize(("columns", "width"), [(60, 60), (120, 120), (300, 120)])
@pytest.mark.parametrize(("environment", "colour"), [({}, True), ({"NO_COLOR": "1"}, False), ({"NO_COLOR": ""}, True), ({"TERM": "dumb"}, False)], ids=str)
def test_a_terminal_gets_its_width_and_colour(monkeypatch, columns, width, environment, colour):
    monkeypatch.setattr("shutil.get_terminal_size", lambda: SimpleNamespace(columns=columns))
    for name in ("NO_COLOR", "TERM"):
        monkeypatch.delenv(name, raising=False)
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    written = io.BytesIO()
    monkeypatch.setattr("sys.stdout", Terminal(written, encoding="ascii"))
    output.show_text(lambda *given: f"{given} Ω")
    assert written.getvalue() == f"{(colour, width)} ?".encode()
    monkeypatch.setattr("sys.stdout", io.TextIOWrapper(io.BytesIO()))
    output.show_text(lambda colour, _: str(colour))


@pytest.mark.parametrize(("there", "said"), [(["a"], "Removed the draft of a\n"), (["a", "b"], "Removed the drafts of a, b\n"), ([], "There is no draft here\n")])
def test_what_was_forgotten_is_named(run, monkeypatch, there, said):
    monkeypatch.setattr("lostneutral.desk.store.drafts_in", lambda folder: [Path(x) for x in (*there, "gone")] if folder == Path.cwd() else [])
    monkeypatch.setattr("lostneutral.desk.store.forget", lambda path: path.name in there)
    assert run("desk --forget").stderr == said
    assert run("desk --forget a").stderr == ("Removed the draft of a\n" if there else said)


def test_help_says_which_choice_is_taken_by_default():
    # reading: every option with a list of choices shows the default in its help, or says it in words
    seen = 0
    for name in main.list_commands(None):
        command = main.get_command(None, name)
        for option in command.params:
            if isinstance(option.type, click.Choice) and isinstance(option.default, str):
                _, told = option.get_help_record(click.Context(command))
                assert f"[default: {option.default}]" in told or "Default" in option.help, (name, option.opts)
                seen += 1
    assert seen
