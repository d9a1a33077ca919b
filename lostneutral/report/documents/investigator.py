"""The investigator's report: numbered paragraphs, hypotheses by name, facts apart from calculation and opinion."""

import hashlib
from importlib.resources import files

from lostneutral import data
from lostneutral.claims.model import Kind
from lostneutral.consequences.limits import band
from lostneutral.report.base.blocks import box, bullets, fields, heading, new_page, numbered, paragraph, table
from lostneutral.report.base.heading import fields_of, signature
from lostneutral.report.course.section import course
from lostneutral.report.damage import section as damage
from lostneutral.report.documents import computed, concluded, given
from lostneutral.report.documents.advice import advice, cautions_apart
from lostneutral.report.documents.exhibits import exhibits
from lostneutral.report.documents.page_one import TO_DO, picture, to_do
from lostneutral.report.documents.sensitivity import what_would_change
from lostneutral.report.earth.section import earth
from lostneutral.report.evidence import rows as deduction_rows
from lostneutral.report.evidence.recorded import beginning_words, recordings
from lostneutral.report.evidence.section import deduction
from lostneutral.report.evidence.verdict import verdict_on_cause
from lostneutral.report.ranges.section import ranges
from lostneutral.report.waveform.section import sines, waves_in_full, waves_method
from lostneutral.studies.recorded import all_observations
from lostneutral.words.amounts import counted, listed
from lostneutral.words.conclusion import conclusion, dangers, faults, not_explained, not_known
from lostneutral.words.english import said
from lostneutral.words.observed import observation

NOT_WEIGHED = (
    "The hypotheses were not weighed against one another: the case gives no unknown quantities and no prior weights,"
    " without which likelihoods of the observations cannot be calculated."
)


def investigator(result):
    """Return the blocks of the whole report."""
    parts = [
        ("Instruction and hypotheses", _instruction(result)),
        ("Summary of opinion", _summary(result)),
        ("Facts given", _facts(result)),
        ("Observations and exhibits", _observations(result)),
        ("Method and its limits", _method(result)),
        ("Calculation under H1", _calculation(result)),
        ("Observations held against the calculation", _held(result)),
        ("Competing causes", _competing(result)),
        ("What would change the opinion", _changes(result)),
        ("Statement of truth and of independence", _statement(result)),
    ]
    made = [*fields_of(result.case)]
    for number, (title, blocks) in enumerate(parts, 1):
        made += _section(str(number), title, blocks)
        if number == 2:
            made += [box(TO_DO, dangers(result), heavy=True, first=to_do(result)), *_further(result)]
    appendices = [
        ("Assumptions, each with its grade", _below(given.assumed(result))),
        ("Sources, and how each is known", _below(concluded.source_list(result))),
        ("To repeat the calculation", _repeat(result)),
        ("The case file", _below(concluded.case_text(result))),
    ]
    made.append(new_page())
    for letter, (title, blocks) in zip("ABCD", appendices):
        made += _section(letter, title, blocks, "Appendix ")
    return made


def _section(number, title, blocks, before=""):
    """Return a section with its number; its paragraphs are numbered, tables, figures and findings are not."""
    made, count = [heading(f"{before}{number}  {title}")], 0
    for block in blocks:
        if block["kind"] in ("paragraph", "labelled"):
            count += 1
            text = block["text"] if block["kind"] == "paragraph" else f"{block['label']} {block['text']}"
            block = numbered(f"{number}.{count}", text)
        made.append(block)
    return made


def _below(blocks):
    """Return the blocks of a section without its own heading, further headings one level down."""
    own = blocks and blocks[0]["kind"] == "heading" and blocks[0]["level"] == 1
    return _lower(blocks[1:] if own else blocks)


def _lower(blocks):
    """Return the blocks with every heading one level below that of a section."""
    return [b | {"level": 2} if b["kind"] == "heading" else b for b in blocks]


def _further(result):
    return [heading("Further precautions", 2), bullets(cautions_apart(result)[1])]


def hypotheses(result):
    """Return (name, hypothesis, what would show it) of each, H1 that of the case."""
    found = faults(result.case)
    first = listed(found) if found else "no conductor was open or of high resistance"
    rivals = [(row["text"], row["signs"]) for row in data.load("document")["competing"]]
    rivals += [(row[0], row[1]) for row in deduction_rows.not_weighed_rows()]
    return [("H1", first, "the calculation of section 6")] + [
        (f"H{n}", text, signs) for n, (text, signs) in enumerate(rivals, 2)
    ]


def _instruction(result):
    d = result.case.document
    found = hypotheses(result)
    return [
        (
            paragraph(f"Instruction received: {d.instruction}")
            if d.instruction
            else fields([("Instruction received", None)], 1)
        ),
        paragraph(
            f"H1 is the hypothesis that {found[0][1]}. It is the hypothesis for which this report calculates; that it"
            f" is true is not assumed. The competing hypotheses H2 to {found[-1][0]} are named in section 8."
        ),
        paragraph(
            "In this report “given” is what the case file states, “observed” what somebody read or saw, “calculated”"
            " what follows from the given under a hypothesis, “opinion” what the author concludes."
        ),
    ]


def _summary(result):
    told = [paragraph(text) for text in conclusion(result)]
    made = [
        paragraph("If H1 is true, then by calculation what follows in the next paragraphs holds."),
        *told,
        *map(paragraph, not_known(result)),
        *map(paragraph, not_explained(result)),
        *map(paragraph, beginning_words(result.case)),
    ]
    if result.deduction:
        made += [
            paragraph(" ".join(verdict_on_cause(result.deduction))),
            paragraph(deduction_rows.beside_the_case(result)),
        ]
    else:
        made.append(
            paragraph(
                "Agreement with H1 does not show that H1 is true, since competing hypotheses may agree as well."
                f" {_why_not_weighed(result)}"
            )
        )
    return [*made, fields([("Opinion of the author", None)], 1)]


def _facts(result):
    case = result.case
    told = [
        paragraph(
            "This section repeats what the case file states. Its author answers for it; what was read or seen, and by"
            " whom, is in section 4."
        )
    ]
    blocks = [
        b
        for b in _below(given.given(result, observed=False))
        if b.get("text") != "What the case says, as it was entered."
    ]
    return [
        *told,
        *([] if case.document.inspection else [paragraph("No date of an inspection is given.")]),
        *blocks,
        *_lower(given.old_colours(result)),
    ]


def _observations(result):
    case = result.case
    made = []
    if all_observations(case):
        made.append(
            table(
                "Observations, by source",
                ("no.", "observation", "when", "by whom", "with what", "kept"),
                [(f"O{n}", *row) for n, row in enumerate(deduction_rows.log_rows(case), 1)],
                "llllll",
                {1: 2, 2: 1, 3: 1, 4: 1.4, 5: 1.2},
            )
        )
    else:
        made.append(paragraph("No observation is given."))
    made += exhibits(case) or [paragraph("No test result and no photograph is given.")]
    return [*made, paragraph("To be kept as evidence:"), bullets(advice(result, "keep"))]


def _method(result):
    texts = data.load("document")["method"]
    return [
        *map(paragraph, texts["texts"]),
        heading("Limits", 2),
        *map(paragraph, texts["limits"]),
        heading("For the technical reader", 2),
        *_below(concluded.method(result)),
        *_below(waves_method(result)),
    ]


def _calculation(result):
    of_sines = result.sines or result
    made = [picture(result), *_below(damage.item_by_item(result)), *_lower(waves_in_full(of_sines))]
    made += [
        *sines(of_sines),
        *computed.star_point_section(of_sines),
        *computed.voltages(of_sines),
        *computed.currents(of_sines),
        *computed.loads(of_sines),
        *damage.joint(of_sines),
        *computed.settled_states(of_sines),
    ]
    for section in (earth, course, recordings):
        made += section(result)
    made += ranges(of_sines)
    return [
        *_lower(made),
        heading("Findings", 2),
        *_below(concluded.concluded(result)),
    ]


def _held(result):
    found = sorted((c for c in result.claims if c.kind is Kind.OBSERVED), key=lambda c: c.facts["number"])
    if not found:
        return [paragraph("There is no observation to hold against the calculation.")]
    agree = sum(c.facts["agrees"] is True for c in found)
    return [
        paragraph(
            f"{counted(len(found), 'observation')}: {agree} in agreement with H1. A reading agrees if it lies within"
            " twice its uncertainty of what is calculated."
        ),
        table(
            "Observations held against the calculation under H1",
            ("no.", "observed", "calculated under H1", "agreement"),
            [(f"O{c.facts['number'] + 1}", *observation(c)) for c in found],
            "llll",
            {1: 1.2, 2: 1.2},
        ),
        *(paragraph(said(c, result.case).message) for c in found if c.facts["agrees"] is not True),
        *map(paragraph, not_explained(result)[:1]),
    ]


def _why_not_weighed(result):
    if result.not_weighed:
        return f"The observations could not be compared with possible causes. {result.not_weighed}"
    return NOT_WEIGHED


def _competing(result):
    made = [
        table("Hypotheses", ("name", "hypothesis", "what would show it"), hypotheses(result), "lll", {1: 1.3, 2: 1.6})
    ]
    if result.deduction is None:
        return [
            paragraph(_why_not_weighed(result)),
            *made,
            paragraph("Each has to be excluded, or kept, by evidence of its own."),
        ]
    return [
        paragraph(
            "Likelihood ratios, which rest on the observations, are kept apart from prior weights, which do not."
        ),
        *made,
        *_below(deduction(result)),
    ]


def _changes(result):
    hinges = [said(c, result.case).message for c in result.claims if c.kind is Kind.HANGS_ON]
    of = result.sines or result
    return [
        *_below(what_would_change(of)),
        *map(paragraph, hinges),
        paragraph(
            "A reading outside what is calculated for it, an item found intact that would be expected to fail, or one"
            " found failed that is not expected to be damaged, would speak against H1."
        ),
    ]


def _statement(result):
    form = data.load("document")["statement"]
    return [
        paragraph(
            "A form, to be completed by the author; it is not a statement of the program that calculated the figures."
        ),
        bullets(form["truth"]),
        bullets(form["independence"]),
        fields([("", None)], 1),
        *signature(result.case),
    ]


def _repeat(result):
    blocks = concluded.repeat(result, "investigator")
    seed = next(
        (str(found.seed) for found in (result.deduction, result.ranges) if found is not None),
        "none: nothing was sampled",
    )
    rows = [
        ("SHA-256 of the program's data files, in order of their names", data_checksum()),
        ("start of the random sequence", seed),
        ("band of voltages", f"{result.case.supply.limits}: {band(result.case.supply.limits).source}"),
    ]
    return [b | {"rows": [*b["rows"], *map(list, rows)]} if b["kind"] == "table" else b for b in _below(blocks)]


def data_checksum() -> str:
    """Return the SHA-256 of all data files, one after the other in the order of their names."""
    folder = files("lostneutral.data")
    names = sorted(entry.name for entry in folder.iterdir() if entry.name.endswith(".toml"))
    return hashlib.sha256(b"".join(folder.joinpath(name).read_bytes() for name in names)).hexdigest()
