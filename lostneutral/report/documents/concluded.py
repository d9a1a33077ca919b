"""What follows from the figures, what would change it, and what a reader needs to check it."""

from collections import Counter
from math import isnan

from lostneutral import data
from lostneutral.report.base import blocks, rows
from lostneutral.report.base.blocks import bullets, heading, mono, paragraph, table
from lostneutral.report.base.words import remaining, shown
from lostneutral.words.terms import RANKS
from lostneutral.words.unverified import unverified


def concluded_for_client(result):
    """Return the findings as `concluded` does, but for limits that were not checked against their source: these are no limits there."""
    return concluded(result, expert=False)


def concluded(result, expert=True):
    """Return the findings, danger first, each with its figure, limit, source, how sure it is, and what was not checked."""
    if not result.findings:
        return [heading("Concluded"), paragraph("Nothing follows from the figures that needs to be said.")]
    numbers = {text: n for n, text in enumerate(sources(result, expert), 1)}
    usual = usual_sureness(result.findings)
    made = [heading("Concluded")]
    if usual:
        made.append(paragraph(f"How sure, unless a finding says otherwise: {usual}."))
    for f in result.findings:
        limit = "" if f.limit is None or not _shown(f.limit.known, expert) else f"{rows.limit_words(f.limit)} [{numbers[source_words(f.limit)]}]"
        made.append(blocks.finding(RANKS[f.rank], f.subject, f.message,
                                   [("Calculated", f.computed or ""), (_LIMIT[f.limit.edge == "reference"] if f.limit else "Limit", limit),
                                    ("How sure", "" if f.sure == usual else f.sure),
                                    ("Not checked", " ".join(text for c in f.claims for text in unverified(c)) if expert else "")]))
    return made


def _shown(known, expert):
    """Return whether a limit is printed: a client sees none that was not checked against its source."""
    return expert or known != data.KNOWN["M"]


_LIMIT = ("Limit", "Reference value")


def usual_sureness(findings):
    """Return how sure most findings are, or an empty text if there is no such majority."""
    common = Counter(f.sure for f in findings if f.sure).most_common(1)
    return common[0][0] if common and common[0][1] > 1 else ""


def source_words(limit):
    """Return where a limit stands and how it is known; of one that the case gives there is no more to say."""
    return f"{limit.source} — {limit.known}" if limit.known else limit.source


def sources(result, expert=True):
    """Return every distinct source that the findings and the verdicts rest on, in the order of their first use."""
    from lostneutral.consequences import limits

    band = limits.band(result.case.supply.limits)
    return tuple(dict.fromkeys([*(source_words(f.limit) for f in result.findings if f.limit and _shown(f.limit.known, expert)),
                                *([f"{band.source} — {band.known}"] if _shown(band.known, expert) else [])]))


def cautions(result):
    """Return the cautions, all of them."""
    return [heading("Cautions"), bullets(result.cautions)]


def method(result):
    """Return how the figures were worked out, in words."""
    s = result.case.supply
    none = 100 * data.load("yardsticks")["dead"]["below"]
    return [heading("Method"), *map(paragraph, (text.format(frequency=s.frequency, limits=s.limits, none=none)
                                                for text in _METHOD))]


_METHOD = (
    ("The wiring is written as nodal equations: every conductor of every cable is an impedance between two terminals, "
     "conductors without impedance join theirs into one node, an open conductor is left out."),
    ("Each load answers its own voltage with a current; its inner state (the temperature of a filament or an element, "
     "for instance) is taken where it no longer changes. The equations are solved by Newton's method, shortening each "
     "step until the imbalance falls; what is left of it is given beside each settled state as the remaining error."),
    ("“Before” is the same case with every conductor sound. “After” is the end of the incident: every "
     "break, transposition and event in force. Effects on items and dangers are those of the worst stage in between."),
    ("Voltages are r.m.s. phasors at {frequency:g} Hz. Harmonics, inrush and the first cycles after the break are "
     "not in these figures; a load that draws its current in pulses may differ."),
    "A terminal that nothing connects to the supply has no defined potential; no figure is made up for it.",
    ("Voltages are judged by the band “{limits}” for normal operation, as multiples of nominal, as a yardstick: the standard does not "
     "cover fault conditions. Below {none:g} % of nominal a line is said to have no voltage to neutral; it is not proved dead."),
)


def source_list_for_client(result):
    """Return the numbered sources of the limits that a client sees."""
    return source_list(result, expert=False)


def source_list(result, expert=True):
    """Return the numbered sources of the limits, with how each is known."""
    body = [(f"[{n}]", text) for n, text in enumerate(sources(result, expert), 1)]
    return [heading("Sources"), table("Sources of the limits, and how each is known", ("", "source"), body, "ll", {1: 1}),
            paragraph("A figure marked as not checked was not re-read at its source: verify it before relying on "
                      "it. Sources of assumptions are given beside them.")]


def repeat(result, audience, command=""):
    """Return what is needed to repeat the work; `command` is what `lostneutral` was asked for, if not a report."""
    software = ", ".join(f"{name} {version}" for name, version in result.software.items() if name != "version")
    residual = max((s.residual for state in (result.before, result.after) for s in shown(state)), default=0.0)
    left = [] if isnan(residual) else [("largest current imbalance left", remaining(residual))]  # waveforms have none
    pairs = [("SHA-256 of the case file", result.case.sha256 or "not known (the case was not read from a file)"),
             ("program", f"lostneutral {result.software.get('version', '')}".strip()), ("with", software),
             *left, ("command", f"lostneutral {command or f'report CASE.toml --for {audience}'}")]
    return [heading("To repeat this"), table("What is needed to repeat it", ("", "value"), pairs)]


def case_text(result):
    """Return the case file as it was read."""
    return [heading("The case file"), mono(result.case.source.rstrip("\n"))] if result.case.source else []
