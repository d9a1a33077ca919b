"""The other languages: nothing is missing in any, nothing stands in the code that no catalogue could tell.

Kind of the checks, where none is named: invariant (a sentence is told in full or not at all).
"""

import ast
import io
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import pypdf
import pytest
from casebook_results import result as casebook
from daily import daily
from read_back import page_texts

from lostneutral import data
from lostneutral.circuit.incident import TURNS
from lostneutral.errors import LostNeutralError
from lostneutral.report.base import pdf as typesetting
from lostneutral.report.documents.document import blocks, report_pdf
from lostneutral.teaching.handout import handout
from lostneutral.teaching.lesson import lesson as lesson_on
from lostneutral.teaching.terms import terms
from lostneutral.words import language
from lostneutral.words.amounts import amount, between, volts
from lostneutral.words.items import OUTCOMES
from lostneutral.words.language import CATALOGUES, Language, language_of, speaking, tell
from lostneutral.words.observed import SEEN
from lostneutral.words.times import duration, span

pytestmark = pytest.mark.usefixtures("figures_unwritten")
PACKAGE = Path(language.__file__).parents[1]
OTHERS = tuple(CATALOGUES)


def constants(node, known):
    """Yield the texts that the first argument of `tell` or `to_tell` can be."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.Name) and node.id in known:
        yield from constants(known[node.id], known)
    elif isinstance(node, ast.IfExp):
        yield from constants(node.body, known)
        yield from constants(node.orelse, known)
    elif isinstance(node, ast.Dict):
        for value in node.values:
            yield from constants(value, known)


def sentences_of_the_code():
    for file in sorted(PACKAGE.rglob("*.py")):
        tree = ast.parse(file.read_text(encoding="utf-8"))
        known = {x.targets[0].id: x.value for x in tree.body if isinstance(x, ast.Assign) and isinstance(x.targets[0], ast.Name)}
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and node.args and isinstance(node.func, ast.Name) and node.func.id in ("tell", "to_tell"):
                yield from constants(node.args[0], known)


def values(table, key):
    """Yield every text under `key` in a data file."""
    for k, value in table.items() if isinstance(table, dict) else enumerate(table):
        if k == key and isinstance(value, str):
            yield value
        elif isinstance(value, (dict, list)):
            yield from values(value, key)


def sentences_of_the_data():
    for entry in data.load("cautions")["caution"]:
        yield from (entry["text"], entry["short"])
    for part in ("do", "before", "keep", "prevent"):
        yield from (entry["text"] for entry in data.load("document")[part])
    yield from values(data.load("harm"), "part")
    yield from values(data.load("appliances"), "fails")
    yield from data.load("evidence")["scale"]["words"]
    yield "winding"  # what overheats, where no law of wear names it
    lesson = data.load("lesson")
    for part in ("aim", "prior", "vocabulary"):
        for item in lesson[part]["item"]:
            yield from (item[key] for key in ("term", "words") if key in item)
    yield from (item["asks"] for item in lesson["takeaway"]["item"])
    for entry in lesson["demonstration"]:
        yield from (entry["who"], entry["what"], entry["how"])
    yield from (entry["says"] for entry in lesson["statement"])
    for system in ("three-phase", "split-phase"):
        yield from (lesson["bench"][system]["supply"], lesson["bench"][system]["each"])
        yield from (terms(system).common, terms(system).middle)
    yield from (lesson["bench"]["fuses"]["kind"], lesson["bounds"]["fuses"]["kind"], lesson["bench"]["nearest"]["title"])
    yield from ("link out", "resistor in")  # states of the bench version


VERB = r"(is|was|has|does|did|are|were|have|goes|[a-z]+s)"
NAMED = re.compile(r"(?<!of )\{(item|items|name|path|device)\}[”’]? " + VERB + r"\b")
"""A name before a verb that agrees with it; what a person calls an item may be one or many."""
IN_CODE = re.compile(r"\{[\w.\[\]]*(name|load)\}[”’']? " + VERB + r"\b")


def test_no_verb_agrees_with_the_name_of_an_item():
    # practice: “Loft lamps was dimmer” is no English; nor does any outcome begin with a verb of one
    assert [text for text in english() if NAMED.search(text)] == []
    code = [(file.name, found[0]) for part in ("circuit", "words", "report", "claims", "studies", "evidence", "teaching", "page", "desk")
            for file in (PACKAGE / part).rglob("*.[pj][ys]") for found in IN_CODE.finditer(file.read_text(encoding="utf-8"))]
    assert code == []
    told = [*OUTCOMES.values(), *SEEN.values(), *TURNS.values()]
    assert [words for words in told if re.match(r"(is|was|does|has|goes|runs|stalls|overheats|works|gives|shuts|restarts|trips)\b", words)] == []


@cache
def english():
    return {text for text in (*sentences_of_the_code(), *sentences_of_the_data()) if text}


@pytest.mark.parametrize("code", OTHERS)
def test_no_sentence_is_missing_and_none_is_left_over(code):
    told = language_of(code).sentences
    assert sorted(english() - set(told)) == []
    assert sorted(set(told) - english()) == []
    assert len(english()) > 450


@pytest.mark.parametrize("code", OTHERS)
def test_a_translation_is_of_the_language(code):
    # A line that was forgotten would stand there in English: what is alike are names, symbols and short words.
    alike = [e for e, t in language_of(code).sentences.items() if e == t and len(re.findall(r"[a-z]{3,}", re.sub(r"\{\w+\}", "", e))) > 2]
    assert alike == []


def test_a_catalogue_with_other_places_is_refused(monkeypatch, tmp_path):
    (tmp_path / "german.toml").write_text('[language]\nname = "Deutsch"\ndecimal = ","\n[sentences]\n"about {amount}" = "etwa"\n')
    monkeypatch.setattr(language, "FOLDER", tmp_path)
    with pytest.raises(LostNeutralError, match="amount"):
        language_of.__wrapped__("de")


def test_figures_take_the_decimal_mark_and_the_words_of_the_language():
    with speaking("de"):  # practice: decimal comma, "etwa", "bis"
        assert volts(9.5) == "9,5 V" and amount(0.123, "A") == "0,12 A"
        assert between(80.0, 332.0, "V") == "etwa 80 bis 332 V"
        assert duration(9000.0) == "2,5 Stunden" and span(5.0, 50.0) == "5 bis 50 Sekunden"
    with speaking("fr"):
        assert duration(9000.0) == "2,5 heures" and span(5.0, 50.0) == "5 à 50 secondes"
    with speaking("es"):
        assert span(600.0, 7200.0) == "10 minutos a 2 horas"
    assert volts(9.5) == "9.5 V" and duration(9000.0) == "2.5 hours"


@pytest.mark.parametrize("code", OTHERS)
def test_the_trades_terms_are_used_as_the_vocabulary_has_them(code):
    # memory: IEC 60050, the terms of its language versions as the language file lists them
    import tomllib

    table = tomllib.loads((PACKAGE / "words" / f"{CATALOGUES[code]}.toml").read_text(encoding="utf-8"))
    terms = {k: v for k, v in table["terms"].items() if isinstance(v, dict)}
    assert len(terms) > 10 and table["terms"]["known"] == "M"
    told = " ".join(table["sentences"].values())
    for word in {"de": ("Neutralleiter", "PEN-Leiter", "Außenleiter", "Schutzleiter", "Bezugserde", "Bemessungsspannung"),
                 "fr": ("neutre", "conducteur PEN", "conducteur de protection", "terre de référence", "tension assignée"),
                 "es": ("neutro", "conductor PEN", "conductor de protección", "tierra de referencia", "tensión asignada")}[code]:
        assert word in told


class _Struck(dict):
    """A language that has every sentence, its letters struck out: what can be read has not passed through `tell`."""

    def get(self, english, default=None):
        return re.sub(r"\{\w+(?::\w+)?\}|[^\W\d_]", lambda m: m[0] if m[0][0] == "{" else "·", english)


STRUCK = Language("xx", "struck out", ",", True, _Struck())
SYMBOLS = {"V", "A", "W", "K", "Ω", "MΩ", "mA", "mm", "Hz", "N", "PE", "PEN", "L", "EN", "TN", "TT", "C", "S", "earth", "lostneutral", "ANSI",
           "Range", "U", "h", "min", "s"}


def readable(value, key=""):
    """Yield the words of a block that a reader would see."""
    if isinstance(value, dict):
        for k, inner in value.items():
            yield from readable(inner, k)
    elif isinstance(value, (list, tuple)):
        for inner in value:
            yield from readable(inner, key)
    elif isinstance(value, str) and key not in ("kind", "svg", "align", "logo"):
        yield from re.findall(r"[^\W\d_]+", value)


@pytest.mark.parametrize("name", ["bakery", "corner-shop", "farm-lane", "bad-joint", "lamps-one-by-one", "split-phase-house", "upstairs-flat"])
def test_nothing_in_a_clients_pages_is_told_but_through_the_catalogue(name):
    result = casebook(name)
    case = result.case
    own = {w for text in (case.title, *(p.name for p in case.points), *(x.name for x in case.loads),
                          *(str(v) for v in vars(case.document).values())) for w in re.findall(r"[^\W\d_]+", text)}
    with speaking(STRUCK):
        words = set(readable(blocks(result, "client", annex=False)))
    assert sorted(words - own - SYMBOLS) == []


@pytest.mark.parametrize("name", ["evening-class", "split-phase-house", "hotel-kitchen"])
def test_nothing_on_a_handout_is_told_but_through_the_catalogue(name):
    result = casebook(name)
    case = result.case
    own = {w for text in (case.title, *(x.name for x in case.loads)) for w in re.findall(r"[^\W\d_]+", text)}
    with speaking(STRUCK):
        blocks_ = [b for b in handout(lesson_on(result)) if not _of_colours(b)]
        words = set(readable(blocks_))
    assert sorted(words - own - SYMBOLS - {"P", "Q", "kΩ"}) == []


def _of_colours(block):
    """The table of conductor colours has countries and colour words as its source gives them."""
    return any("L1" in b.get("head", ()) and "PE" in b.get("head", ()) for b in block.get("blocks", ()))


def in_language(result, code, **more):
    return replace(result, case=replace(result.case, document=replace(result.case.document, language=code, **more)))


def pages_of(content):
    return page_texts(content)


@pytest.mark.parametrize("name", ["corner-shop"])  # named, so that it runs where the case has been worked out
@pytest.mark.parametrize("code, page, reviewed", daily([
    ("de", "Seite 1 von 2", "Muttersprache"), ("fr", "page 1 sur 2", "langue maternelle"), ("es", "página 1 de 2", "lengua materna")], several=True))
def test_a_clients_report_in_another_language(name, code, page, reviewed):
    content = report_pdf(in_language(casebook(name), code))
    pages = pages_of(content)
    whole = " ".join(" ".join(pages).split())
    assert len(pages) == 2 and page in whole and reviewed in whole
    assert pypdf.PdfReader(io.BytesIO(content)).trailer["/Root"]["/Lang"] == code
    assert "call the emergency services" in pages[0] and "switch off the main switch" in whole  # English stands beside it
    assert "Considered here" not in whole and "Conclusion." not in whole.replace("Conclusion. Selon", "")


@pytest.mark.thorough
@pytest.mark.parametrize("name", ["corner-shop"])
def test_a_reviewed_language_prints_no_english_beside_it(name, monkeypatch):
    german = replace(language_of("de"), reviewed=True)
    monkeypatch.setattr(language, "language_of", lambda code: german)
    whole = " ".join(pages_of(report_pdf(in_language(casebook(name), "de"))))
    assert "emergency services" not in whole and "Muttersprache" not in whole and "Notruf" in whole


@pytest.mark.thorough
@pytest.mark.parametrize("name", ["farm-lane"])
def test_the_emergency_number_goes_by_country_not_by_language(name):
    # published: Directive (EU) 2018/1972, article 109 (112); United Kingdom 999 as well
    for code, country, number in (("en", "DE", "112"), ("de", "GB", "999 or 112"), ("es", "US", "911")):
        page = pages_of(report_pdf(in_language(casebook(name), code, country=country)))[0]
        assert f": {number}." in page.replace(" :", ":")
    assert "Emergency number" not in pages_of(report_pdf(casebook(name)))[0]


@pytest.mark.thorough
@pytest.mark.parametrize("name", ["farm-lane"])
def test_what_is_told_in_english_stays_english_for_programs_and_other_readers(name):
    result = in_language(casebook(name), "de")
    report_pdf(result)
    assert tell("within limits") == "within limits"
    assert any("would be at" in f.lead for f in result.findings)
    assert "page 1 of" in pages_of(typesetting.set_pdf("t", []))[0]
