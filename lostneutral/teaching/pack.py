"""What a trainer takes to class: handout and key as PDFs, the figures alone for slides, each as bytes."""

import json

from lostneutral.report.base.blocks import heading, new_page
from lostneutral.report.base.glyphs import font_folder
from lostneutral.report.base.heading import translated
from lostneutral.report.base.pdf import date_words, set_pdf
from lostneutral.teaching.handout import handout
from lostneutral.teaching.key import key
from lostneutral.teaching.lesson import FIGURES
from lostneutral.words.language import tell

ALTERNATIVES = "alternatives.txt"
DOTS = 200  #: an inch, of the figures for slides
_DRAWN = ("svg", "alternative", "kind")


def handout_pdf(lesson, tasks=()) -> bytes:
    """Return the handout of `lesson` as a PDF, with the sheet of the exercises `tasks`."""
    made = handout(lesson)
    if tasks:
        from lostneutral.teaching.exercises import sheet

        made += [new_page(), heading(tell("Exercises")), *sheet(tasks)]
    return _pdf(lesson, [*made, *translated()], tell("Handout"))


def key_pdf(lesson, tasks=()) -> bytes:
    """Return the tutor's key of `lesson` as a PDF, with the solutions of the exercises `tasks`."""
    made = key(lesson)
    if tasks:
        from lostneutral.teaching.exercises import solutions

        made += [new_page(), heading("Exercises: solutions"), *solutions(tasks)]
    return _pdf(lesson, made, "Tutor's key")


def _pdf(lesson, blocks, what):
    result = lesson.result
    dated = date_words(result.case.date)
    return set_pdf(
        f"{what}: {result.case.title}",
        _named(blocks, lesson.look),
        date=result.case.date,
        paper=result.case.document.paper,
        under_title=tell("A lesson on the loss of the neutral · {date}", date=dated),
        footer=tell("{what} · computed by {program} · {date} · case {case}", what=what, date=dated,
                    program=f"lostneutral {result.software.get('version', '')}", case=result.case.sha256[:12] or tell("without a file")),
        description=result.case.title,
    )


def _named(value, look, key_=""):
    """Return blocks with the lines' names as the class knows them; drawings have them already."""
    if isinstance(value, dict):
        return {k: _named(v, look, k) for k, v in value.items()}
    if isinstance(value, list):
        return [_named(v, look, key_) for v in value]
    return look.name(value) if isinstance(value, str) and key_ not in _DRAWN else value


def figure_files():
    """Return the names of all files that `figure_pictures` may give, known before any is drawn."""
    return tuple(f"{name}.{kind}" for name in FIGURES for kind in ("svg", "png")) + (ALTERNATIVES,)


def figure_pictures(lesson) -> dict[str, bytes]:
    """Return {file name: content} of every figure as SVG and PNG, and a text file with their alternatives."""
    made, said = {}, []
    for name, (svg, alternative) in lesson.drawn.items():
        made |= {f"{name}.svg": svg.encode("utf-8"), f"{name}.png": _png(svg)}
        said.append(f"{name}: {FIGURES[name]}\n{alternative}\n")
    said += [f"Left out: {part}: {why}.\n" for part, why in lesson.left_out.items()]
    caution = "While a broken neutral is possible: treat neutral and earthed metal as live.\n"
    return made | {ALTERNATIVES: "\n".join([*said, caution]).encode("utf-8")}


_PAGE = b"""#set page(width: auto, height: auto, margin: 3mm)
#image(bytes(json(bytes(sys.inputs.data)).svg), format: "svg", width: 165mm)
"""


def _png(svg):
    import typst

    return typst.compile(
        _PAGE,
        font_paths=[font_folder()],
        ignore_system_fonts=True,
        format="png",
        ppi=DOTS,
        sys_inputs={"data": json.dumps({"svg": svg})},
    )
