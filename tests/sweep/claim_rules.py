"""The rules of what is said, over random cases: each is `rule(result, texts) -> list of faults in words`, as in `rules`.

All are invariants: whatever the case, no sentence may contradict a figure, another sentence, or what is known.
"""

import re

from lostneutral.circuit.wiring import pen_run
from lostneutral.claims.model import Kind, Rank
from lostneutral.claims.verdicts import GOOD, ORDER
from lostneutral.report.damage.section import harm_rows
from lostneutral.words import conclusion
from lostneutral.words.english import said
from lostneutral.words.items import OUTCOMES

READERS = ("terminal", "short", "client", "trainer", "investigator")
WITHDRAWN = re.compile(r"as usual|bad joint|went dead|torn apart|No single danger|look for another cause|was not the cause|"
                       r"Nothing is broken|share of the support|holds the star|at \d+ more places|\bNone\b")
DEAD = re.compile(r"(?<!prove )(?<!proved )(?<!proves )(?<!prove it )(?<!proves it )(?<!work only on a )\bdead\b", re.IGNORECASE)
EVENT_MOOD = re.compile(r"\b(fell from|rose from|went to|was damaged|was destroyed|has failed because)\b")


def _own_words(result, text):
    """Return `text` without what the case itself says: its title, description, names and file."""
    case = result.case
    own = [case.title, case.description, *case.source.splitlines(), *(x.name for x in (*case.points, *case.loads))]
    for words in sorted(filter(None, {w.strip() for w in own}), key=len, reverse=True):
        text = text.replace(words, "·") if len(words) > 3 else text
    return text


def one_verdict_an_item(result, texts):
    """Every load has one verdict, the same in claims, table, page one's counts and result file."""
    found = []
    if [v.item for v in result.verdicts] != [load.name for load in result.case.loads]:
        found.append("the verdicts are not one an item, in the case's order")
    found += [f"{v.item}: {v.outcome} is no outcome" for v in result.verdicts if v.outcome not in ORDER]
    told = [c for c in result.claims if c.kind is Kind.ITEM]
    on = [v for v in result.verdicts if v.outcome != "was off"]
    if sorted(c.about.name for c in told) != sorted(v.item for v in on):
        found.append("not one claim an item that was on")
    rows = {row[0]: row[3] for row in harm_rows(result)}
    for v in result.verdicts:
        if not rows[v.item].startswith(OUTCOMES[v.outcome]):
            found.append(f"{v.item}: {v.outcome} in the verdict, {rows[v.item]} in the table")
    return found


def nothing_follows_from_a_state_that_is_not_there(result, texts):
    """Where no state is arrived at, nor a cycle, no outcome is given as good and nothing is said to survive."""
    if result.after.reached is not None or result.after.cycle:
        return []
    found = [f"{v.item}: {v.outcome} though no state is arrived at" for v in result.verdicts
             if v.outcome in GOOD and v.outcome != "was off"]
    return found + [f"{name} says that something is not expected to be damaged" for name in READERS
                    if "not expected to damage" in texts[name]]


def the_worst_counts(result, texts):
    """No state of the incident has a line further off than the claims say, and a verdict is of the worst."""
    case, found = result.case, []
    above = {c.about.name: c.value for c in result.claims if c.kind is Kind.LINE_ABOVE}
    states = [m.solution for m in result.incident.moments]
    for line in case.supply.lines:
        top = max((abs(v) for s in states for p in case.points if line in p.phases
                   and (v := s.voltage(p.name, line)) is not None), default=0.0)
        if above.get(line, top) < top - 0.01 * case.supply.nominal and top > above.get(line, 0) and line in above:
            found.append(f"{line} is at up to {top:.1f} V, and {above[line]:.1f} V is said")
    broken = any(c.kind is Kind.NOTHING_BROKEN for c in result.claims)
    if broken == result.incident.ever:
        found.append("'nothing broken' is said exactly where something was")
    return found


def danger_first(result, texts):
    """The danger box has every danger and fire risk, or counts them; where there is none it does not call anything safe."""
    grave = list(dict.fromkeys(said(c, result.case).lead for c in result.claims if c.rank in (Rank.DANGER, Rank.FIRE)))
    box, found = conclusion.dangers(result), []
    if bool(grave) == (conclusion.NO_DANGER in box):
        found.append("'no danger' stands beside a danger, or is missing")
    left = [lead for lead in grave if lead not in box]
    if left and not any(text.startswith(f"… and {len(left)} more") for text in box):
        found.append(f"{len(left)} dangers are neither in the box nor counted")
    ranks = [c.rank for c in result.claims]
    if ranks != sorted(ranks):
        found.append("the claims are not in the order of their rank")
    final = result.case.at_the_end()
    opened = [b for b in final.breaks_after() if b.conductor == "N" and b.resistance == float("inf")]
    # The cable from the supply to a point that is on its generator leads to no source: the neutral of its loads is the generator's.
    live = [b for b in opened if b.part == "contact" or final.generator_of(b.feeding) is None]
    if live and result.after.solutions and not any(c.kind is Kind.NEUTRAL_LIVE for c in result.claims):
        found.append("an open neutral is not said to be live")
    for b in (b for b in opened if b not in live):
        for s in result.after.solutions:
            volts = s.between((b.feeding, "N"), ("star", final.generator_of(b.feeding).name))
            if (volts is None or abs(volts) > 50) and not any(c.kind is Kind.NEUTRAL_LIVE and b.feeding in c.where for c in result.claims):
                found.append(f"the neutral of {b.feeding} is not at the star point of its generator, and is not said to be live")
    open_pen = any(pen_run(final, final.point(b.feeding)) for b in live)
    if open_pen and result.case.supply.earthing == "TN-C-S" and result.after.solutions and not any(
            c.kind in (Kind.METALWORK, Kind.ELECTRODE_RANGE) and c.rank is Rank.DANGER for c in result.claims
    ) and any(p.kind == "intake" for p in result.case.points):
        found.append("an open PEN, and metalwork is no danger")
    return found


def no_line_is_dead(result, texts):
    """The word is for what is isolated and proved so; a line without voltage to the neutral is still live to earth, or not proved dead."""
    found = []
    for name in READERS:
        words = " ".join(_own_words(result, texts[name]).split())
        found += [f"{name}: {words[max(0, m.start() - 50):m.end() + 20]!r}" for m in DEAD.finditer(words)]
        without = [c for c in result.claims if c.kind is Kind.LINE_NONE]
        needed = "STILL LIVE" if any(c.facts["live"] for c in without) else "not proved dead"
        if without and needed not in words:
            found.append(f"{name} does not say that a line without voltage to neutral is {needed}")
    return found


def in_the_mood_of_a_calculation(result, texts):
    """Nothing calculated is told as an event, and no withdrawn word is left."""
    found = []
    for name in READERS:
        words = _own_words(result, texts[name])
        found += [f"{name}: {words[max(0, m.start() - 40):m.end() + 30]!r}"
                  for pattern in (WITHDRAWN, EVENT_MOOD) for m in pattern.finditer(words)]
    return found


def every_observation_is_answered(result, texts):
    """Each observation of the case has its claim, and the terminal names each of them."""
    numbers = sorted(c.facts["number"] for c in result.claims if c.kind is Kind.OBSERVED)
    return [] if numbers == list(range(len(result.case.observations) + len(result.case.operated))) else [f"observations answered: {numbers}"]


def a_yardstick_is_of_the_same_quantity(result, texts):
    """A figure is held against its own unit, by the edge that is crossed; below it a danger has a reference value only."""
    found = []
    for c in result.claims:
        limit = c.yardstick
        if limit is None or c.value is None:
            continue
        if limit.unit != c.unit:
            found.append(f"{c.kind}: {c.unit} against {limit.unit}")
        if limit.edge == "high" and c.value < limit.value * (1 - 1e-6) or limit.edge == "low" and c.value > limit.value * (1 + 1e-6):
            found.append(f"{c.kind} {c.about}: {c.value} does not cross {limit.edge} {limit.value}")
        if not limit.edge:
            found.append(f"{c.kind}: no edge")
    return found


def devices_are_judged_by_currents(result, texts):
    """Independent: the residual current told is the largest sum of a cable's conductors in the states that count."""
    found = []
    for c in (c for c in result.claims if c.kind is Kind.FAULT_DEVICES and c.value is not None):
        sums = []
        for m in result.incident.moments:
            for p in m.case.points:
                parts = [m.solution.currents.get((p.name, x)) for x in (*p.phases, "N")]
                if p.kind != "joint" and not pen_run(m.case, p) and None not in parts:
                    sums.append(abs(sum(parts)))
        if sums and abs(max(sums) - c.value) > 1e-6 + 0.02 * max(sums):
            found.append(f"residual current {c.value:.4g} A is told, {max(sums):.4g} A is the largest")
    return found


def figures_are_rounded(result, texts):
    """Whole volts in the sentences of page one, from ten volts on; no share of a hundred per cent."""
    lines = [said(c, result.case).lead for c in result.claims if c.kind not in (Kind.READER, Kind.OBSERVED)]
    found = [f"{line[:80]}" for line in lines if re.search(r"(?<![\d.])\d{2,}\.\d+ V\b", _own_words(result, line))]
    return found + [f"{name} says 100.0 %" for name in READERS if "100.0 %" in texts[name]]


def sentences_are_whole(result, texts):
    """Every claim in words is a sentence that ends, with no gap where a value was missing."""
    found = []
    for c in result.claims:
        words = said(c, result.case)
        if not words.lead.rstrip().endswith((".", "…")) and c.kind is not Kind.READER:
            found.append(f"{c.kind}: {words.lead[-60:]!r}")
        if re.search(r"\bnan\b|\binf\b|  |\( \)|\(\)|: \.|, \.", _own_words(result, words.message)):
            found.append(f"{c.kind}: {words.message[:120]!r}")
    return found


def cautions_are_everywhere(result, texts):
    """Every rendering carries every caution."""
    return [f"{name} lacks {text[:50]!r}" for text in result.cautions for name in ("client", "trainer", "investigator", "file")
            if text not in texts[name]]


CLAIM_RULES = [one_verdict_an_item, nothing_follows_from_a_state_that_is_not_there, the_worst_counts, danger_first, no_line_is_dead,
               in_the_mood_of_a_calculation, every_observation_is_answered, a_yardstick_is_of_the_same_quantity,
               devices_are_judged_by_currents, figures_are_rounded, sentences_are_whole, cautions_are_everywhere]
