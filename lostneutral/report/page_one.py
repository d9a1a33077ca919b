"""Page one: the hypothesis, the dangers, what the voltages would be and which items would suffer, for someone who is no electrician."""

from lostneutral.claims.model import Kind, Rank
from lostneutral.claims.verdicts import CANNOT, STRESSED
from lostneutral.consequences.pulses import trusted
from lostneutral.report import figures, rows
from lostneutral.report.blocks import box, bullets, figure, heading, paragraph
from lostneutral.report.deduction_rows import beside_the_case
from lostneutral.report.waveform_words import outcome as waveform_outcome
from lostneutral.report.words import faults, shown
from lostneutral.words.amounts import listed, volts
from lostneutral.words.english import said
from lostneutral.words.items import OUTCOMES, time_words

MOST = 6  #: sentences of one list on page one; what is left out is counted and stands in full further on
MOST_ITEMS = 8  #: items that a list names; fewer where the page would not hold them
LEAST = 5  #: lines that the precautions need at least
#: for reckoning what fits: characters in a line, lines on the page, lines a block costs beside its text
LINE, LINES, GAP, INCHES_A_LINE = 88, 58, 1.2, 0.165
DANGER = "Dangers to assume until the supply has been made safe"
NO_DANGER = ("The calculation shows no danger of shock or fire. This does not mean that the installation is safe: have it "
             "tested first.")

_WHY = ("The neutral is the common return conductor. Beyond an open neutral, loads on different lines are in series across the "
        "line-to-line voltage: lightly loaded lines rise, heavily loaded lines fall.")
_SPLIT = ("The neutral is the common return conductor. Beyond an open neutral, the two halves of a split-phase supply divide its "
          "full voltage between their loads: the lightly loaded half rises, the heavily loaded half falls.")


def page_one(result):
    """Return the blocks of page one; what it says is repeated with every figure further on."""
    drawn = figures.picture(result)
    for most in (MOST_ITEMS, MOST_ITEMS // 2, MOST_ITEMS // 4):
        made = [heading("Summary"), *_hypothesis(result), box(DANGER, dangers(result), heavy=True),
                paragraph(" ".join(outcome(result))), *_items(result, most), *_observed(result), *_hangs(result),
                figure(drawn, _caption(result, most), floats=False)]
        if _room(made, result) >= LEAST:
            break
    return [*made, box("Precautions", _cautions(result.cautions, _room(made, result)))]


def _room(made, result):
    """Return how many lines are left on the page for the cautions, reckoned on the safe side."""
    texts = [text for block in made for text in (block.get("text", ""), block.get("title", ""), block.get("caption", ""),
                                                 *block.get("items", ())) if text]
    used = sum(-(-len(text) // LINE) for text in (*texts, result.case.title))
    return LINES - used - GAP * len(made) - figures.picture_height(result) / INCHES_A_LINE


def _hypothesis(result):
    case = result.case
    open_ = any(b.conductor == "N" for b in case.breaks_after())
    why = (_SPLIT if case.supply.system == "split-phase" else _WHY) if open_ else ""
    made = [paragraph(" ".join(["Fault considered (a hypothesis, calculated, not measured):", *faults(case), *unknown(case), why]).strip())]
    return [*made, *([paragraph(beside_the_case(result))] if result.deduction else [])]


def unknown(case):
    """Return in a sentence what the case itself calls unknown; nothing if it calls nothing so."""
    if not case.unknowns:
        return ()
    loads = {u.load for u in case.unknowns if u.load} | {name for u in case.unknowns for name in u.one_of}
    what = [f"which of {len(loads)} items were on, or their power"] if loads else []
    what += [f"the resistance of the joint in the cable to {u.feeding}" for u in case.unknowns if u.resistance]
    what += ["the supply's voltage"] if any(u.supply_voltage for u in case.unknowns) else []
    return (f"Not known: {listed(what)}. For this page they are taken as the case gives them; the range is under “Range of "
            "voltages”.",)


def outcome(result):
    """Return what the voltages would do, in sentences."""
    case, afters = result.case, shown(result.after)
    if not afters:
        return [f"No settled state after the fault was found. {result.after.reason}".strip()]
    made = []
    if result.after.reached is None:
        made.append(rows.undecided(result.after))
    elif len(result.after.solutions) > 1:
        made.append(rows.several(result.after))
    lines = [c for c in result.claims if c.kind in (Kind.LINE_ABOVE, Kind.LINE_BELOW, Kind.LINE_NONE)]
    if lines:
        made.append("By calculation: " + " ".join(said(c, case).lead for c in lines[:MOST]) +
                    (f" And {len(lines) - MOST} more." if len(lines) > MOST else ""))
    elif result.incident.ever:
        made.append("By calculation every line stays within limits" + _why_within(result) + ".")
    else:
        made.append("By calculation every line is within limits.")
    if trusted(result):
        made.append(waveform_outcome(case, result.waveforms))
    return made


def _why_within(result):
    if trusted(result):
        return ""
    if any(0 < b.resistance < float("inf") for b in result.case.breaks_after()):
        return " as long as the joint conducts as well as assumed"
    return ", because the loads happen to be balanced: switching any of them will upset this"


def dangers(result):
    """Return the sentences of the danger box: shock and fire, and why metalwork is taken as not live where it is."""
    grave = [c for c in result.claims if c.rank in (Rank.DANGER, Rank.FIRE)]
    made = list(dict.fromkeys(said(c, result.case).lead for c in grave))
    if not made:
        made = [NO_DANGER]
    elif len(made) > MOST:
        made = [*made[:MOST], f"… and {len(made) - MOST} more under “Concluded”."]
    if not any(c.kind in (Kind.METALWORK, Kind.METALWORK_UNKNOWN) for c in grave):
        made += [said(c, result.case).lead for c in result.claims if c.kind is Kind.METALWORK][:1]
    return made


def _items(result, most):
    suffer = [(c, c.facts["verdict"]) for c in result.claims if c.kind is Kind.ITEM and c.rank < Rank.NOTE]
    rest = [c.facts["verdict"] for c in result.claims if c.kind is Kind.ITEM and c.rank is Rank.NOTE]
    off = [v for v in result.verdicts if v.outcome == "was off"]
    made = []
    if suffer:
        told = [f"{_item(c, v)}." for c, v in suffer]
        more = [f"And {len(told) - most} more, under “Expected effect on each item”."] if len(told) > most else []
        made += [paragraph("Equipment at risk or affected:"), bullets([*told[:most], *more])]
    by_outcome = {}
    for v in rest:
        by_outcome.setdefault(OUTCOMES[v.outcome], []).append(v.item)
    told = [f"{word}: {_named(names, most)}" for word, names in by_outcome.items() if word != OUTCOMES["unharmed"]]
    fine = by_outcome.get(OUTCOMES["unharmed"], [])
    if told:
        made.append(paragraph("Not expected to be damaged, but affected: " + "; ".join(told) + "."))
    if fine:
        if_failed = "it" if len(fine) == 1 else "any of them"
        made.append(paragraph(f"Not explained by this condition alone: damage to {_named(fine, most)}. If {if_failed} has failed, other "
                              "causes should be investigated."))
    if off:
        made.append(paragraph(f"Switched off, and not judged: {_named([v.item for v in off], most)}."))
    return made


def _named(names, most):
    """Return up to `most` of `names`, the others counted: each stands in the table of effects."""
    left = len(names) - most
    return f"{', '.join(names[:most])} and {left} more" if left > 0 else listed(names)


def _item(claim, verdict):
    soon = f": {time_words(verdict)}" if verdict.fails and time_words(verdict) else ""
    worst = {CANNOT: "; in the worst state: ", STRESSED: "; had it persisted: "}.get(verdict.outcome)
    worst = f"{worst}{OUTCOMES[verdict.worst]}" if worst and verdict.worst else ""
    at = "" if verdict.volts is None else f", about {volts(verdict.volts)}"
    return f"{verdict.item}{at}, {OUTCOMES[verdict.outcome]}{worst}{soon}"


def _observed(result):
    against = [c for c in result.claims if c.kind is Kind.OBSERVED]
    if not against:
        return []
    wrong = [said(c, result.case) for c in against if c.facts["agrees"] is False]
    agree = sum(c.facts["agrees"] is True for c in against)
    open_ = len(against) - len(wrong) - agree
    counted = f"Of {len(against)} observation{'s' * (len(against) != 1)}, {agree} agree{'s' * (agree == 1)} with this calculation"
    counted += f" and of {open_} it cannot be said" if open_ else ""
    told = " Not in agreement: " + " ".join(w.lead for w in wrong[:3]) if wrong else ""
    more = f" And {len(wrong) - 3} more." if len(wrong) > 3 else ""
    return [paragraph(f"{counted}.{told}{more}")]


def _hangs(result):
    found = [c for c in result.claims if c.kind is Kind.HANGS_ON and c.facts["changes"]]
    found.sort(key=lambda c: not c.facts["danger"])
    if not found:
        return []
    more = f" And {len(found) - 2} more such quantities, under “Concluded”." if len(found) > 2 else ""
    return [paragraph("The answer depends on what was assumed. " + " ".join(said(c, result.case).lead for c in found[:2]) + more)]


def _caption(result, most):
    left = figures.left_out(result)
    more = f" Not drawn, as nearer to normal: {_named(left, most)}." if left else ""
    return ("Voltage at each item of equipment before (circle) and after the fault (arrow), as a percentage of its rated voltage. "
            f"Shaded: {rows.band_words(result.case)}.{more}")


def _cautions(cautions, room):
    kept = []
    for text in cautions:
        room -= -(-len(text) // LINE)
        if len(kept) >= 2 and room < 1:
            break
        kept.append(text)
    left = len(cautions) - len(kept)
    return [*kept, f"{left} further precaution{'s are' if left != 1 else ' is'} given under “Cautions”."] if left else kept
