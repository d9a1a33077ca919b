"""The report read back: nothing is missing, the standards' marks are there, the same bytes come out twice."""

import io
import re
from dataclasses import replace
from math import inf

import handmade
import pypdf
import pytest
from daily import daily
from read_back import alternatives, check_fonts, check_marks, page_texts, squeezed

from lostneutral.case.model import Break, Event, Load, Observation, Path, Unknown
from lostneutral.case.seen import Spread
from lostneutral.circuit.solution import State
from lostneutral.data import KNOWN
from lostneutral.errors import UsageError
from lostneutral.report.base.pdf import MISSING_NOTE
from lostneutral.report.documents.document import AUDIENCES, report_pdf, write_report
from lostneutral.report.documents.investigator import data_checksum
from lostneutral.report.star import figures
from lostneutral.words.items import OUTCOMES


@pytest.fixture(autouse=True)
def no_epoch(monkeypatch):
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)


def read(content):
    return pypdf.PdfReader(io.BytesIO(content))


def text_of(content):
    return squeezed(" ".join(page_texts(content)))


@pytest.fixture(scope="module")
def result():
    return handmade.star([100.0, 200.0, 300.0], date="2024-03-14", description="A stair in an invented house.")


@pytest.fixture(scope="module")
def reports(result):
    """Each reader's report in full: a client's with its annex."""
    return {audience: report_pdf(result, audience, annex=True) for audience in AUDIENCES}


@pytest.mark.parametrize("audience", AUDIENCES)
def test_every_load_finding_and_caution_is_in_the_text(result, reports, audience):
    text = text_of(reports[audience])
    for load in result.case.loads:
        assert squeezed(load.name) in text
    for finding in result.findings:
        assert squeezed(finding.message) in text and squeezed(finding.subject) in text
    for verdict in result.verdicts:
        assert squeezed(OUTCOMES[verdict.outcome]) in text
    limits = [f.limit for f in result.findings if f.limit]
    assert any(limit.known == KNOWN["M"] for limit in limits)
    for limit in limits:  # what was not checked against its source is no limit to a client
        assert (squeezed(limit.source) in text) is not (audience == "client" and limit.known == KNOWN["M"])
    for said in (*result.cautions, "read in a secondary source", result.case.sha256, f"--for {audience}", *(a.value for a in result.assumptions)):
        assert squeezed(said) in text
    for figure in ("289.4", "239.4", "175.7"):
        assert figure in text


def test_the_investigator_gets_everything(result, reports):
    text = text_of(reports["investigator"])
    for part in ("1  Instruction and hypotheses", "2  Summary of opinion", "3  Facts given", "4  Observations and exhibits",
                 "5  Method and its limits", "6  Calculation under H1", "7  Observations held against the calculation", "8  Competing causes",
                 "9  What would change the opinion", "10  Statement of truth and of independence", "Appendix A", "Appendix B", "Appendix C",
                 data_checksum(), result.case.description, "66.4 V at 150.0°", "under 1 nA"):
        assert squeezed(part) in text


@pytest.mark.parametrize("audience", AUDIENCES)
def test_page_one_answers_alone(reports, audience):
    pages = [squeezed(page) for page in page_texts(reports[audience])]
    for part in ("Danger: what to do until the supply has been made safe", "can give a fatal shock",
                 "By calculation L1 at intake would be at about 289 V to neutral (above limits)"):
        assert squeezed(part) in pages[0]
    # A hypothesis, and nothing that states it as a fact.
    assert "hypothesis" in pages[0] and not re.search("(TheneutralinthecabletointakeisopenT|wasfound)", pages[0])


@pytest.mark.parametrize("audience", AUDIENCES)
def test_marks_of_an_accessible_and_lasting_document(result, reports, audience):
    pdf = read(reports[audience])
    check_marks(pdf, result.case.title)
    titles = [entry.title for entry in flat(pdf.outline)]
    wanted = {"Danger: what to do until the supply has been made safe, and why"}
    wanted |= {"10  Statement of truth and of independence"} if audience == "investigator" else {"Concluded", "Expected effect on each item"}
    assert wanted <= set(titles)


def flat(outline):
    for entry in outline:
        if isinstance(entry, list):
            yield from flat(entry)
        else:
            yield entry


@pytest.mark.usefixtures("figures_unwritten")
def test_every_figure_has_its_alternative(result, reports):
    wanted = {draw(result)[1] for draw in (figures.phasors, figures.voltages, figures.currents, figures.picture)}
    assert {squeezed(text) for text in wanted} <= alternatives(read(reports["investigator"]))


def test_fonts_are_embedded(reports):
    check_fonts(read(reports["investigator"]))


@pytest.mark.parametrize("audience", daily(AUDIENCES))
def test_the_same_result_gives_the_same_bytes(result, reports, audience):
    assert report_pdf(result, audience, annex=True) == reports[audience]


@pytest.mark.usefixtures("figures_unwritten")
def test_date_from_the_case_or_the_environment_or_none(result, reports, monkeypatch):
    assert "2024-03-14" in text_of(reports["client"])
    undated = report_pdf(replace(result, case=replace(result.case, date=None)))
    assert "notdated" in text_of(undated) and read(undated).metadata.creation_date.year == 1970
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "86400")
    dated = report_pdf(result)
    assert "1970-01-02" in text_of(dated) and read(dated).metadata.creation_date.day == 2
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "soon")
    with pytest.raises(UsageError, match="SOURCE_DATE_EPOCH"):
        report_pdf(result)


@pytest.mark.usefixtures("figures_unwritten")
def test_forty_loads_break_their_tables_and_repeat_the_heading():
    few = handmade.star([100.0, 200.0, 300.0])
    loads = tuple(Load(f"Circuit number {n}", "resistive", ("L1", "N"), "intake", 230.0, parameters={"power": 10.0 + n})
                  for n in range(40))
    case = replace(few.case, loads=loads)
    before, after = (State(s.name, (handmade.solution(case, s.reached.nodes["intake", "N"]),))
                     for s in (few.before, few.after))
    content = report_pdf(handmade.of_states(case, before, after), "investigator")
    pages = [squeezed(page) for page in page_texts(content)]
    assert squeezed("Danger: what to do") in pages[0]
    listed = [page for page in pages if "loadconnectedbeforeafterofratedverdict" in page]
    assert len(listed) >= 2
    text = "".join(pages)
    for load in loads:
        assert text.count(squeezed(load.name)) >= 3


HARD = ['= *not bold* _x_ $y$ #sys.version `raw` \\ // <label> @ref "q" \'s\' ~ -- ---', "שלום עולם", "مرحبا", "Ωμέγα ½ ≤",
        "</svg><script>", "#import \"x\": *", "a" * 90]


@pytest.mark.parametrize("name", daily(HARD, HARD[::6]), ids=range(len(HARD)))
def test_texts_come_out_as_written(name):
    result = handmade.star([100.0, 200.0, 300.0], title=name, names=[name, "b", "c"], description=name)
    content = report_pdf(result, "investigator")
    assert read(content).metadata.title == name
    text = text_of(content)
    if re.search("[א-תء-ي]", name):  # order on the page is checked by picture; here only that the letters are there
        assert set(squeezed(name)) <= set(unshaped(text))
    else:
        assert text.count(squeezed(name)) >= 3
    assert squeezed(MISSING_NOTE) not in text


def unshaped(text):
    import unicodedata

    return unicodedata.normalize("NFKC", text)


@pytest.mark.usefixtures("figures_unwritten")
def test_letters_that_no_font_has_are_written_as_their_number():
    result = handmade.star([100.0, 200.0, 300.0], title="Lamp \U0001f4a1 灯", names=["灯", "b\x07", "c"])
    text = text_of(report_pdf(result, "client"))
    assert "LampU+1F4A1U+706F" in text and "bU+0007" in text and squeezed(MISSING_NOTE) in text


@pytest.mark.usefixtures("figures_unwritten")
def test_everything_that_a_case_can_give_is_printed():
    result = handmade.star([100.0, 200.0, 300.0], handmade.supply(old_colours="UK"))
    case = replace(
        result.case, paths=(Path("intake", "earth", 8.0),), events=(Event(5.0, Break("intake", "L1", inf)),
                                                                   Event(9.0, load="Lamp L1", on=False)),
        unknowns=(Unknown(load="Lamp L2", on=0.3), Unknown(feeding="intake", resistance=Spread(0.1, 1e4, scale="log"))),
        observations=(Observation("intake", ("L1", "N"), 304.0, 5.0, details={"instrument": "two-pole"}),
                      Observation(load="Lamp L3", seen="failed", within=60.0)),
        source='title = "Three lamps"\n[supply]\n', warnings=("Something was accepted.",))
    text = text_of(report_pdf(replace(result, case=case), "investigator"))
    for said in ("8 ohm", "on with a probability of 30 %", "0.1 Ω to 10 kΩ, uniform on a logarithmic scale", "304 V", "± 5.0 V", "two-pole",
                 "failed", "within 60 s", "Lamp L1 switched off", 'title = "Three lamps"', "Something was accepted.",
                 "Conductor colours old and new: UK", "until 31 March 2006", "line L1 in the cable to intake"):
        assert squeezed(said) in text


@pytest.mark.usefixtures("figures_unwritten")
def test_several_settled_states_are_all_reported():
    text = text_of(report_pdf(handmade.undecided(), "client", annex=True))
    for said in ("the loads alone do not decide which of them the circuit takes", "after A", "after B", "after C", "278.7"):
        assert squeezed(said) in text


@pytest.mark.usefixtures("figures_unwritten")
def test_a_before_without_solution_still_gives_a_report(result):
    text = text_of(report_pdf(replace(result, before=State("before", (), "undecided", "a dead short")), "investigator"))
    assert "adeadshort" in text and "289.4" in text


def test_an_existing_file_is_kept_unless_force(result, tmp_path):
    path = tmp_path / "there.pdf"
    path.write_text("mine")
    with pytest.raises(UsageError, match="force"):
        write_report(result, path)
    assert path.read_text() == "mine"
    write_report(result, path, force=True)
    assert path.read_bytes().startswith(b"%PDF")
    assert [p.name for p in tmp_path.iterdir()] == ["there.pdf"]


def test_an_unknown_audience_is_refused(result):
    with pytest.raises(UsageError, match="client, trainer, investigator"):
        report_pdf(result, "jury")
