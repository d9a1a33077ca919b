"""The slides of a lesson: pages of 16:9 with the same figures, questions before answers."""

import json
from importlib.resources import files

from lostneutral.consequences.cautions import cautions
from lostneutral.report.base.glyphs import font_folder, printable
from lostneutral.report.base.pdf import STANDARDS, date_words, timestamp
from lostneutral.teaching import handout, questions
from lostneutral.teaching.constructions import star_point
from lostneutral.teaching.lesson import FIGURES, Lesson

ORDER = (
    "wiring",
    "phasors",
    "neutral-current",
    "star-point",
    "star-point-readings",
    "light",
    "lamp-curve",
    "star-point-settled",
    "case-readings",
)
WORDS = {
    "wiring": "Nothing else changes.",
    "lamp-curve": "A lamp for 220 V, measured, and a fixed resistor of the same rated power.",
    "phasors": "Arrows from N to the lines, true to scale. The cross is the supply's N.",
    "light": "The area of the disc is the light afterwards, the broken circle the light before.",
}


def slides(lesson: Lesson) -> bytes:
    """Return the slides of `lesson` as a PDF: aims, wiring, the questions, then the figures that answer them."""
    import typst

    case = lesson.result.case
    pages = [{"title": "Aims", "items": [e["words"] for e in handout.fitting(lesson, "aim")]}]
    shown = dict(lesson.drawn)
    if "star-point" in shown:
        shown["star-point"] = star_point(lesson.nameplate, lesson.look, columns=4)
    drawn = [
        {
            "title": FIGURES[name][0].upper() + FIGURES[name][1:],
            "svg": shown[name][0],
            "alternative": shown[name][1],
            "words": WORDS.get(name, "True to scale."),
        }
        for name in ORDER
        if name in shown
    ]
    pages += [
        drawn[0],
        {"title": "Predict first", "items": [q.text for q in questions.predicting(lesson)]},
        *drawn[1:],
        {"title": "To take away", "items": [e["words"] for e in handout.fitting(lesson, "takeaway")]},
    ]
    dated = date_words(case.date)
    data = {
        "title": f"Slides: {case.title}",
        "under_title": f"A lesson on the loss of the neutral · {dated}",
        "footer": "While a broken neutral is possible: treat neutral and earthed metal as live.",
        "cautions": cautions(case, "short"),
        "slides": [{"svg": "", "alternative": "", "words": "", "items": []} | page for page in pages],
    }
    # Drawings have the class's names already.
    named = _each(data, lambda text: printable(lesson.look.name(text)))
    return typst.compile(
        files("lostneutral.teaching").joinpath("slides.typ").read_bytes(),
        font_paths=[font_folder()],
        ignore_system_fonts=True,
        sys_inputs={"data": json.dumps(named)},
        pdf_standards=list(STANDARDS),
        timestamp=timestamp(case.date),
    )


def _each(value, change, key=""):
    if isinstance(value, dict):
        return {k: _each(v, change, k) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [_each(v, change, key) for v in value]
    return value if key in ("svg", "alternative") else change(value)
