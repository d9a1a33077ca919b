"""Every data file: each figure has its source, edition and code, and names nothing that may not be named."""

import re
from importlib.resources import files

import pytest

from lostneutral.data import KNOWN, load
from lostneutral.data.checking import check_table, tables
from lostneutral.data.reading import read_table
from lostneutral.errors import DataFileError

FILES = sorted(f"{folder}{path.name.removesuffix('.toml')}" for folder in ("", "checks/")
               for path in files("lostneutral.data").joinpath(folder).iterdir() if path.name.endswith(".toml"))

# Files from which dangers, failures and "within limits" are said.
DECIDING = ("touch", "protection", "stress", "supply_bands", "harm", "where", "yardsticks", "conductor_colours",
            "diverted")

CITED = {
    "authors": """
        A. Alexander Araneo Arecchi B. Barriga Beaty Bird Bokhari Branstetter C. Chase D. De F. Fink Forsythe G. Goldwasser Gupta H.
        Incropera J. Jones K. Koshel Kundur Kuphaldt Kusko L. Langmuir M. Mehta Messadi Minges Mitolo Mollera Mullin N. O. P. Q. R.
        Ramanathan Reis Richardson S. Sadiku Sevdari Shomate Tao T. Theraja Thompson Tolias V. Verret Vos W. White Worthing""",
    "words of titles": """
        AC Analysis Assessments Astrophysical Balanced Circuit Circuits Computer Conductors Continuity Control Delivery Diverses Electric
        Electrical Electrotècniques Electricity Energy Engineering Engineers Evaluative Experimental Field Forensic Fundamentals Guide Guideline Handbook Heat
        Illumination II International Journal Lessons Low-Voltage Mass Materials Monitors Network Notes Nuclear Physica Power
        Principles Quality Qüestions Regulations Renewable Repair Reporting Residential Safety Science Stability Standard
        Sustainable Synthesis State Supply Systems System Technologies Technology Theory Thermochemical Thermophysics Trans. Transfer Troubleshooting
        Video Voltage Wiring Work ZIP""",
    "standards and laws": """
        ANSI AS AS/NZS BS CBEMA CIE D-1088 DOE-HDBK-1011/3-92 E12 EN GB GB/T GS38 HD HSG85 IEC ITI NEC C84.1
        F47-0706 R0812 SEMI SI S2 H28 H29 H30 R1 US Code ISO European Directive SAE J2894/1 VDE-AR-N G98 G99 Recommendations
        Real Decreto NB/T CEI AS/NZS IEEE """,
    "places in them": "A.54.2 G.52.1 A.54.4 Annex Appendix B B.1 Fig. I III IV Table Tables",
    "countries": "America China France Germany Great Britain India Italy Japan North Spain New Zealand United Kingdom",
    "months": "January February March April May June July August September October November December",
    "terms": """
        A Blue C Colours Ct D E J/ LED R TR V_1mA W/K Common FeCrAl Hz IT K L1 L2 L3 L3. Maxima N NiCr Nusselt PEN
        Rayleigh Red Sources T TN TS TT U0 Units V W Yellow Z Ω P Q TN-C-S TN-S TN-C PE""",
    "beginnings of sentences": "The Where",
}
ALLOWED = {word for words in CITED.values() for word in words.split()}
TEXTS = ("source", "edition", "no_edition", "clause", "note", "spread", "differs", "law", "meaning", "condition",
         "fails", "also", "read_in")


def entries():
    """Yield (place, entry, the tables around it) of everything with a source."""
    for name in FILES:
        yield from ((where, table, above) for where, table, above in tables(load(name), name) if "source" in table)


GOOD = {"value": 230.0, "unit": "V", "source": "A standard", "edition": "2015", "known": "2"}


@pytest.mark.parametrize("name", FILES)
def test_every_file_keeps_the_rules(name):
    check_table(name, load(name), KNOWN)  # loading has checked it as well
    assert any("source" in table for _, table, _ in tables(load(name), name)) or name in ("synonyms", "everyday_words")


@pytest.mark.parametrize(("change", "fault"), [
    ({"source": None}, "has a figure and no source"), ({"source": " "}, "source is empty"),
    ({"known": None}, "source without known"), ({"known": "X"}, "known = 'X' is none of S, 2"),
    ({"clause_known": "Q"}, "clause_known = 'Q'"), ({"edition": None}, "source without edition"),
    ({"edition": "not noted"}, "source without edition"), ({"unit": None}, "value has no unit")])
def test_a_file_that_breaks_a_rule_is_refused_with_the_place(change, fault):
    entry = {key: value for key, value in (GOOD | change).items() if value is not None}
    check_table("made", {"limit": GOOD}, KNOWN)
    with pytest.raises(DataFileError, match=re.escape("made.toml: limit[1]: ") + ".*" + re.escape(fault)):
        check_table("made", {"limit": [GOOD, entry]}, KNOWN)


def test_equipment_data_of_one_make_says_so_and_decides_nothing_alone():
    # graded below a secondary source, never the only ground of a danger or of an exculpation
    assert list(KNOWN).index("E") > list(KNOWN).index("2")
    found = [(where, entry) for where, entry, _ in entries()
             if "E" in [value for key, value in entry.items() if "known" in key]]
    assert found
    for where, entry in found:
        assert where.split(".")[0].split("[")[0] not in DECIDING, where
        assert re.search(r"equipment data, one make, read [A-Z][a-z]+ \d{4}", entry["source"]), where


def texts(value, key=""):
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from texts(inner, name)
    elif isinstance(value, list):
        for inner in value:
            yield from texts(inner, key)
    elif isinstance(value, str) and key in TEXTS:
        yield value


def remarks(name):
    """Yield the comments of a data file, each without its first word, which begins a sentence."""
    for line in files("lostneutral.data").joinpath(f"{name}.toml").read_text(encoding="utf-8").splitlines():
        if "#" in line:
            yield re.sub(r"(^|[.:;] )\W*[A-Z]\w*", r"\1", line.split("#", 1)[1].strip())


@pytest.mark.parametrize("name", FILES)
def test_nothing_is_named_but_authors_titles_standards_and_laws(name):
    # A firm, brand, institute, program, web site or repository would show as a capital or an address that is in no list
    # above: who adds a citation adds its words there, and looks at what they are.
    for text in (*texts(load(name)), *remarks(name)):
        assert not re.search(r"https?:|www\.|\.(com|org|net|io|edu)\b|\bdoi\b|zenodo", text), text
        words = re.findall(r"[^\W\d_][\w.&/-]*", text)
        named = [w for w in words if w[0].isupper() and w not in ALLOWED and w.rstrip(".") not in ALLOWED]
        assert not named, (text, named)


def test_no_word_of_the_lists_is_left_over():
    # else the lists grow into leave for anything
    words = {w for name in FILES for text in (*texts(load(name)), *remarks(name))
             for w in re.findall(r"[^\W\d_][\w.&/-]*", text)}
    used = words | {w.rstrip(".") for w in words}
    lists = [key for key in CITED if key not in ("months", "countries", "terms")]
    assert sorted({w for key in lists for w in CITED[key].split()} - used) == []


def test_a_file_is_read_and_checked_again_once_it_has_changed(tmp_path, monkeypatch):
    """Between two changes what came of it is kept as Python keeps what it makes of a module. Kind: behaviour laid down."""
    monkeypatch.setattr("sys.dont_write_bytecode", False)
    monkeypatch.setattr("sys.pycache_prefix", str(tmp_path / "kept"))
    file = tmp_path / "made.toml"
    sound = 'limit = { value = 230.0, unit = "V", source = "A standard", edition = "2015", known = "2", none = inf }\n'
    file.write_text(sound)
    first = read_table("made", file, KNOWN)
    assert first["limit"]["none"] == float("inf") and list((tmp_path / "kept").rglob("made.*.pyc"))
    with monkeypatch.context() as at_rest:
        at_rest.setattr("lostneutral.data.checking.check_table", None)  # nothing is checked where nothing has changed
        assert read_table("made", file, KNOWN) == first
    file.write_text(sound.replace("230.0", "23.0"))
    assert read_table("made", file, KNOWN)["limit"]["value"] == 23.0
    file.write_text(sound.replace('unit = "V", ', ""))
    for _ in range(2):  # what is refused is not kept
        with pytest.raises(DataFileError, match="has no unit"):
            read_table("made", file, KNOWN)
