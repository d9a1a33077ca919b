"""No text that a reader sees uses a withdrawn word. Kind of all checks: practice, the trade's own usage.

To watch over more of the package, add its folder to `WATCHED`, and take it out of `NOT_YET`.
"""

import ast
import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
WATCHED = ("README.md", "casebook", "lostneutral/cli", "lostneutral/case", "lostneutral/data", "lostneutral/errors.py",
           "lostneutral/consequences/cautions.py", "lostneutral/evidence", "lostneutral/circuit/incident.py",
           "lostneutral/report", "lostneutral/words")
NOT_YET = ()
WITH_DOCSTRINGS = ("lostneutral/cli", "lostneutral/case/schema.py", "lostneutral/case/load_schema.py",
                   "lostneutral/case/sources_schema.py", "lostneutral/case/exhibits_schema.py")
"""Where a docstring is printed: as help, or in the schema."""
FILES = sorted(path.relative_to(ROOT).as_posix() for place in WATCHED
               for path in ([ROOT / place] if (ROOT / place).is_file() else (ROOT / place).rglob("*"))
               if path.suffix in (".md", ".toml", ".py") and path.relative_to(ROOT).as_posix() not in NOT_YET
               and not (path.parent.name == "words" and path.suffix == ".toml"))  # other languages

WITHDRAWN = (  # pattern, what is said instead, a sentence in which it must be found
    (r"as usual\b", "within limits, normal", "Every voltage was as usual."),
    (r"bad joints?\b", "high-resistance joint", "It holds by a bad joint."),
    (r"dead\b", "no voltage to neutral, still live to earth; failed", "Line L1 went dead (0 V); dead everywhere"),
    (r"share of the support", "probability with the prior weights listed", "has 99.9 % of the share of the support"),
    (r"no single danger", "the calculation shows no shock hazard", "No single danger was found."),
    (r"(tears?|torn?) .{0,20}\bapart", "the phase voltages have collapsed", "The star is torn apart."),
    (r"holds? .{0,20}\bstar\b", "keep the phase voltages near normal", "Pulses hold the star."),
    (r"exchanged", "transposed, reversed", "What is broken or exchanged"),
    (r"come(s|) to\b", "effect, result, outcome", "Show what CASE comes to."),
    (r"beforehand", "prior", "With the likelihoods beforehand that are listed"),
    (r"of no use (to|here)", "does not apply", "power is of no use here"),
    (r"runs? (to|that feeds?|feeding)\b", "cable", "N of the run to cottage"),
    (r"(in|of|each|every) (the|a|each|every|which|different )?\s*runs?\b(?! of| on)", "cable", "Currents in every run"),
    (r"licen[cs]ed", "competent electrician", "the judgement of a licensed electrician"),
    (r"fault line", "emergency number", "the network operator's fault line"),
    (r"from memory|remembered", "not checked against the source", "0.82 at 120 V (from memory)"),
    (r"hang(s|) on\b", "depends on", "It hangs on capacitors."),
    (r"stands? at\b", "is at", "The neutral stands at 155 V."),
    (r"worked out", "calculated", "worked out from its nameplate"),
    (r"name ?plate", "rating, rating plate", "worked out from its nameplate"),
    (r"cuts? off\b", "shut down, drop out", "Loads warm up, cut off, stall."),
    (r"(let|lets) go\b", "opened, broke", "when the neutral let go"),
    (r"(was|is) whole\b", "intact, unaffected", "that conductor was whole"),
    (r"no faults\b", "no errors", "t1.toml: no faults; 7 loads"),
    (r"(rival|weighs? the)\b", "competing causes, compared", "weighs the rival causes"),
    (r"case to start from", "example case file", "a case to start from"),
    (r"(ties|tied|tie) .{0,20}\bdown", "has no defined potential", "nothing ties the conductor down"),
    (r"(died|dies|breathes?|tore|glare[ds]?|glaring)\b", "failed, flickers, damaged, too bright", "the till died with a crack"),
)
SAID_OF_AN_INSTALLATION = re.compile(r"(prove[sd]?|proves it) dead\b|dead installation", re.IGNORECASE)
"""Where "dead" stays: isolated and proved so."""
CONTRACT = {"bad joint", "dead", "glaring", "cut off", "rival"}
"""Values of keys that other programs write or read: as a whole string they stay (the words printed for them do not)."""


def found(text):
    """Return "word (say: …)" for each withdrawn word in `text`."""
    text = SAID_OF_AN_INSTALLATION.sub("", " ".join(text.split()))
    return [f"{match[0]!r} in {text[max(0, match.start() - 40):match.end() + 20]!r} (say: {instead})"
            for pattern, instead, _ in WITHDRAWN for match in [re.search(rf"\b(?:{pattern})", text, re.IGNORECASE)] if match]


def texts(name):
    """Yield the texts of a file that a reader may see: the whole of it, or the strings of a program or data file."""
    content = (ROOT / name).read_text(encoding="utf-8")
    if name.endswith(".py"):
        yield from strings_of(ast.parse(content), name.startswith(WITH_DOCSTRINGS))
    elif name.startswith("lostneutral/data/"):
        yield from strings_in(tomllib.loads(content))
    else:
        yield from re.split(r"\n\s*\n|(?<=\|)\n", content)


def strings_of(tree, with_docstrings):
    """Yield every string of a program, an f-string as one with … for what is put in."""
    inner = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and not with_docstrings:
            inner.add(node.value)
        elif isinstance(node, ast.JoinedStr):
            inner.update(part for part in node.values if isinstance(part, ast.Constant))
            yield "".join(part.value if isinstance(part, ast.Constant) else "…" for part in node.values)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and node not in inner:
            yield node.value


def strings_in(value):
    """Yield every string value of parsed TOML; keys are names for programs."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, (dict, list)):
        for part in value.values() if isinstance(value, dict) else value:
            yield from strings_in(part)


@pytest.mark.parametrize("name", FILES)
def test_no_withdrawn_word(name):
    assert not [said for text in texts(name) if text not in CONTRACT for said in found(text)]


@pytest.mark.parametrize(("pattern", "example"), [(row[0], row[2]) for row in WITHDRAWN])
def test_the_search_finds_what_it_is_for(pattern, example):
    assert re.search(rf"\b(?:{pattern})", example, re.IGNORECASE)
    assert found(example)


def test_what_stays_is_left_alone():
    assert not found("Isolate and prove dead: work only on a dead installation; its colour never proves it dead.")
    assert {"README.md", "casebook/bakery.toml", "lostneutral/cli/shell.py", "lostneutral/data/cautions.toml"} <= set(FILES)
