"""What is kept of a case: its result file, its documents by their words, its drawings, and what each other command says of it."""

import json
from contextlib import contextmanager
from dataclasses import fields, replace
from functools import cache
from pathlib import Path
from unittest.mock import patch

import casebook_results
from drawn import drawn as drawn_axes
from outline import BELOW, axes_outline, drawings, outline

from lostneutral import analyse, read_case, result_json
from lostneutral.consequences.cautions import open_cautions
from lostneutral.evidence.ranges import ranges as sampled
from lostneutral.page.content import content
from lostneutral.report.base.drawing import styled
from lostneutral.report.course.film import _draw as draw_incident
from lostneutral.report.course.text import course_text
from lostneutral.report.damage.items_file import items_csv
from lostneutral.report.documents.document import AUDIENCES, blocks, report_pdf
from lostneutral.report.documents.investigator import data_checksum
from lostneutral.report.earth.figures import wiring_tree
from lostneutral.report.evidence.section import deduction as section
from lostneutral.report.evidence.where_text import where_text
from lostneutral.report.ranges.file import ranges_dict
from lostneutral.report.ranges.section import ranges as ranges_section
from lostneutral.report.ranges.text import ranges_text
from lostneutral.report.result.file import result_dict
from lostneutral.report.screen.compare_text import compare_text
from lostneutral.report.screen.short_answers import (
    course_in_short,
    deduction_on_screen,
    ranges_in_short,
    where_in_short,
)
from lostneutral.report.screen.short_text import short_text
from lostneutral.report.screen.terminal import terminal_text
from lostneutral.teaching.exercises import exercises, sheet, solutions
from lostneutral.teaching.film import draw_step, opening_joint
from lostneutral.teaching.handout import handout
from lostneutral.teaching.key import key
from lostneutral.teaching.lesson import lesson as made_lesson
from lostneutral.teaching.look import Look
from lostneutral.teaching.pack import handout_pdf, key_pdf
from lostneutral.teaching.sheets import answers_csv, key_of_sheets_pdf, sheets, sheets_pdf

OWN = Path(__file__).parent / "everything.toml"


@cache
def result(name):
    """The result of a case of the casebook, or of the one beside this file that has one of everything."""
    return analyse(read_case(OWN)) if name == "everything" else casebook_results.result(name)


WIDTH = 400  #: letters a line of the screen


def figures(made):
    """The figures of a result file, without the words that stand in the documents."""
    file = _bare({k: v for k, v in result_dict(made).items() if k not in _ELSEWHERE})
    claims = [[c.kind.value, int(c.rank), c.about.name, len(c.where), c.value, c.span, c.yardstick and c.yardstick.value] for c in made.claims]
    states = [[s["name"], s.get("arrival"), s.get("cycle"), len(s.get("solutions", ())), s.get("solutions", ())[:2]] for s in file.pop("states")]
    states[0][4] = [{k: v for k, v in s.items() if k in ("points", "runs")} for s in states[0][4]]
    if "inlets" in file["studies"]:
        file["studies"] = file["studies"] | {"inlets": file["studies"]["inlets"][:3]}
    if "course" in file:
        file["course"] = {k: v for k, v in file["course"].items() if k not in ("early", "late")}
    return {"claims": outline(claims, entries=16), "verdicts": outline(file.pop("verdicts"), entries=12),
            "states": outline(states, entries=4)} | {k: outline(v, 4, 3) for k, v in file.items()}


_ELSEWHERE = {"software", "cautions", "format", "case", "findings", "claims", "sine_wave_states", "assumptions"}
_WORDS = {"source", "known", "basis", "because", "residual", "confidence", "why", "connect", "on", "ratio", "verdict"}


def _rounding(value):
    return isinstance(value, float) and abs(value) < BELOW  # one machine's 0 is another's 1e-17


def _bare(value):
    if isinstance(value, dict):
        if value.keys() == {"voltage", "angle"} or value.keys() == {"current", "angle"}:
            return list(value.values())
        return {k: _bare(v) for k, v in value.items() if k not in _WORDS and v not in (None, [], {}, False) and not _rounding(v)}
    return [_bare(x) for x in value] if isinstance(value, list) else value


DATA = "the checksum of the data files as they are"
"""What is kept of it, so that a change of data changes the record only where the data is used."""


def documents(names):
    """The words of each reader's report on each case, those that none before it has, how they are laid out, what figures draw, and the screen."""
    seen, laid, made, checksum = set(), set(), {}, data_checksum()
    for name in names:
        with drawings() as drawn:
            set_ = {audience: blocks(result(name), audience) for audience in AUDIENCES}
        said = {audience: [DATA if w == checksum else w for w in _words(of)] for audience, of in set_.items()}
        said |= {"short": _lines(short_text(result(name), width=WIDTH)), "full": _lines(terminal_text(result(name), width=WIDTH))}
        made |= {f"{name}: {part}": _new(words, seen) for part, words in said.items()}
        made |= {f"{name}: layout": _layout(list(set_.values()), laid), f"{name}: drawings": _distinct(drawn)}
    return made


def _new(words, seen):
    words = list(dict.fromkeys(outline(w) for w in words))
    kept = [w for w in words if w not in seen]
    seen |= set(words)
    return [f"{len(words)} texts", *kept]


def _distinct(drawn):
    return [x for n, x in enumerate(drawn) if x not in drawn[:n]]


def by_hand(*modules):
    """All that stands in the figures that tests draw of hand-made values (`drawn`), also where these do not ask for it: by test."""
    made = {}
    for module in modules:
        for name, test in vars(module).items():
            marks = {mark.name: mark.args for mark in getattr(test, "pytestmark", ())}
            names, values = marks.get("parametrize", ((), [()]))
            names = (names,) if isinstance(names, str) else names
            if name.startswith("test_") and callable(test) and "drawn" in test.__code__.co_names and test.__code__.co_argcount == len(names):
                first, figures = values[0] if len(names) > 1 else values[:1], []
                with patch.object(module, "drawn", lambda *given, into=figures, **keys: _kept(into, given, keys)):
                    test(**dict(zip(names, first)))
                made |= {name: figures} if figures else {}
    return made


def _kept(into, given, keys):
    axes = drawn_axes(*given, **keys)
    into.append([outline([float(x) for x in axes[0].figure.get_size_inches()]), *(axes_outline(x, 40, 40) for x in axes)])
    return axes


def _words(value, key=""):
    if isinstance(value, dict):
        return [w for k, v in value.items() for w in _words(v, k)]
    if isinstance(value, (list, tuple)):
        return [w for v in value for w in _words(v, key)]
    return [value] if isinstance(value, str) and value and key not in ("svg", "kind", "align") else []


def _layout(value, seen):
    """How blocks are laid out, each way once: sides and shares of columns, bold cells, widths of figures, heavy boxes, what stays together."""
    if isinstance(value, (list, tuple)):
        return [x for v in value for x in _layout(v, seen)]
    if not isinstance(value, dict):
        return []
    kind, columns = value.get("kind"), value.get("wide") or {}
    bold = sum(isinstance(c, dict) and "strong" in c for row in value.get("rows", ()) for c in row)
    own = ["".join(value.get("align", ())), " ".join(f"{k}:{v}" for k, v in columns.items()), bold and f"{bold} bold", value.get("heavy") and "heavy",
           *(f"{k} {value[k]}" for k, usual in (("width", 100), ("columns", 0)) if value.get(k, usual) != usual),
           " ".join(block["kind"] for block in value["blocks"]) if kind == "together" else ""]
    name = next((t for k in ("caption", "title", "text", "head") if (t := value.get(k))), "")
    told = f"{kind} {''.join(name)[:16]}: {', '.join(filter(None, own))}"
    new = any(own) and told not in seen
    seen.add(told)
    return [told] * new + [x for v in value.values() for x in _layout(v, seen)]


def lessons(names):
    seen, laid, made = set(), set(), {}
    for name in names:
        with drawings() as drawn:
            of = made_lesson(result(name))
            pages = [handout(of), key(of)]
            said = {"handout": _words(pages[0]), "key": _words(pages[1]), "left out": [f"{k}: {v}" for k, v in of.left_out.items()]}
        made |= {f"{name}: {part}": _new(words, seen) for part, words in said.items()}
        made |= {f"{name}: layout": _layout(pages, laid), f"{name}: drawings": _distinct(drawn)}
    return made


def tasks(number):
    with drawings() as drawn:
        made = exercises(number, 1)
        pages = [sheet(made), solutions(made)]
        words = {"sheet": _words(pages[0]), "solutions": _words(pages[1]), "layout": _layout(pages, set())}
    return {"answers": [outline([e.grade, e.system, [[a.name, a.value, a.unit, a.decimals] for a in e.answers]]) for e in made],
            **{k: outline(v, entries=999) for k, v in words.items()}, "drawings": drawn}


def page(name):
    return outline(content(result(name)), 5, 6)


def located(found):
    """What `where` found, with what it works out of each cause when that is asked for."""
    given = lambda one: {f.name: getattr(one, f.name) for f in fields(one) if f.name not in ("settles", "asks")}
    causes = [{"place": o.place, "points": o.points, "solution": o.solution} | given(o) | {"asked": o.asked} for o in found.outcomes]
    return outline(given(found) | {"outcomes": causes}, 4, 3)


def evidence(name, found, weighed):
    """What `where` and `deduce` found of a case, and how it is told and drawn."""
    case = result(name).case
    # causes that are equally likely change places by rounding
    weighed = replace(weighed, rivals=tuple(sorted(weighed.rivals, key=lambda r: (-round(r.posterior, 3), r.words))))
    told = replace(result(name), deduction=weighed, cautions=open_cautions(case))
    with drawings() as drawn:
        pages = section(told)
        words = _words(pages)
        wiring_tree(case, found.outcomes[0].points, found.outcomes[0].place, "foot")
    return {"where": located(found), "deduce": outline(weighed, 4, 5), "section": outline(words, entries=99), "layout": _layout(pages, set()),
            "text": _lines(where_text(case, found, WIDTH)), "short": _lines(where_in_short(case, found, WIDTH)),
            "screen": _lines(deduction_on_screen(told, WIDTH)), "drawings": drawn}


def ranges(name):
    case = result(name).case
    found = replace(result(name), ranges=sampled(case, 64, 1))
    with drawings() as drawn:
        pages = ranges_section(found)
        words = _words(pages)
    return {"found": outline(ranges_dict(found.ranges), 5, 8), "section": outline(words, entries=99), "layout": _layout(pages, set()),
            "drawings": drawn, "text": _lines(ranges_text(found, WIDTH)), "short": _lines(ranges_in_short(found, WIDTH))}


def course(name):
    return {"full": _lines(course_text(result(name), WIDTH)), "short": _lines(course_in_short(result(name), WIDTH)),
            "items": items_csv(result(name)).split("\n")}


@contextmanager
def _set():
    """Within this a PDF is not set; yield the list that what would be set comes to stand in."""
    made = []

    def keep(title, blocks, **settings):
        made.append([title, *(f"{k}: {v}" for k, v in settings.items() if v), *_words(blocks)])
        return b""

    with patch("lostneutral.teaching.sheets.set_pdf", keep), patch("lostneutral.teaching.pack.set_pdf", keep), \
            patch("lostneutral.report.documents.document.set_pdf", keep), patch("lostneutral.report.documents.document.page_count", lambda *_, **__: 2):
        yield made


def sets(name):
    """What is taken to class, and the client's report, as they go to be set; sheets for two pupils."""
    of = sheets(2, 4, 3, grades=(2,))
    with _set() as made, drawings():
        report_pdf(result(name), "client", annex=True)
        lesson = made_lesson(result(name), colours="UK")
        tasks = exercises(2, 5)
        handout_pdf(lesson, tasks), key_pdf(lesson, tasks), sheets_pdf(of), key_of_sheets_pdf(of)
    seen = set()
    return {"answers": answers_csv(of).decode().split("\n")} | {f"{n} {words[0]}": _new(words, seen) for n, words in enumerate(made)}


def films(name):
    """The steps of the films, as they are drawn."""
    from matplotlib.figure import Figure

    way, made = opening_joint(result(name)), {}
    for kind, steps, draw in (("joint", (0, 17, len(way.resistances) - 1), lambda f, at: draw_step(f, result(name), way, Look(), at)),
                              ("incident", (0, 40), lambda f, at: draw_incident(f, result(name), at))):
        for at in steps:
            with styled():
                figure = Figure(figsize=(6, 4))
                draw(figure, at)
                made[f"{kind} {at}"] = [[t.get_text(), *t.get_position()] for t in figure.texts] + [axes_outline(axes) for axes in figure.axes]
    return {"way": outline(way), **{k: outline(v, entries=20) for k, v in made.items()}}


def compared(old, new):
    old, new = (json.loads(result_json(result(name))) for name in (old, new))
    return _lines(compare_text(old, new))


def altered(name):
    """What is told of a result file and one with other figures, each a little above and below what counts as the same."""
    old, new = (json.loads(result_json(result(name))) for _ in range(2))
    for n, phase in enumerate(p for s in new["states"] for x in s["solutions"] for point in x["points"] for p in point["phases"]):
        phase["voltage"] *= 1 + (-0.004, -0.0019, 0.0019, 0.004, 0.1)[n % 5]
    for n, verdict in enumerate(new["verdicts"]):
        if verdict["central"] is not None:
            verdict["central"] *= (1.019, 1.05)[n % 2]
        verdict["voltage"] *= (1.0, 1.0, 1.03)[n % 3]
    new["findings"], new["software"]["version"] = new["findings"][1:], "0.0"
    return _lines(compare_text(old, new))


def _lines(text):
    return [outline(" ".join(line.split())) for line in text.split("\n") if line.strip()]
