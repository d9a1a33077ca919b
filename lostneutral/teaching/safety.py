"""What may be shown, by whom and at which voltage, and what to do about a real installation."""

from lostneutral import data
from lostneutral.consequences.cautions import cautions
from lostneutral.report.base.blocks import box, heading, paragraph, table, together
from lostneutral.report.base.words import number
from lostneutral.report.documents.advice import both
from lostneutral.teaching.bench import POINT
from lostneutral.words.amounts import plain
from lostneutral.words.language import tell


def voltage_words(bench):
    """Return the voltages of a bench version in words."""
    entry = data.load("lesson")["bench"][bench.system]
    between = abs(bench.before.voltage(POINT, *bench.case.supply.lines[:2]))
    return tell("{volts} V to N, {between} V between lines, {kind}", volts=plain(bench.volts),
                between=number(between, 0 if between % 1 < 0.05 else 1), kind=tell(entry["each"]))


def insulated(bench):
    """Return what the terminals need, from the largest voltage between any two conductors; "" below the limit."""
    limit = data.load("lesson")["bench"]["basic_protection"]["value"]
    largest = max(
        abs(s.voltage(POINT, a, b))
        for s in bench.states
        for a in bench.case.supply.lines
        for b in (*bench.case.supply.lines, "N")
    )
    if largest <= limit:
        return ""
    return tell("insulated (shrouded) terminals and leads, because {largest} V a.c. is above {limit} V a.c.; ", largest=number(largest),
                limit=plain(limit))


def first(lesson):
    """Return what may be shown, by whom, at which voltage; and what to do about a real installation."""
    bench, made = lesson.bench, []
    supply, table_ = lesson.result.case.supply, data.load("lesson")
    words = {
        "insulated": insulated(bench),
        "fused": tell("battery's lead, at its terminal") if bench.system == "split-phase" else tell("line"),
        "rated": table_["bounds"]["line_to_line"]["value"],
        "fuse": lesson.mains.fuse,
        "fuse_kind": tell(table_["bounds"]["fuses"]["kind"]),
    }
    for entry in table_["demonstration"]:
        if entry.get("mains") and not lesson.mains.offered:
            continue
        volts = tell("any")
        if entry.get("mains"):
            volts = tell("{volts} V to N, {between} V between lines", volts=plain(supply.nominal),
                         between=number(supply.nominal_line_to_line, 0))
        elif not made:
            volts = voltage_words(bench)
        how = tell(entry["how"], **words)
        made.append((tell(entry["who"]), tell(entry["what"]), volts, how[0].upper() + how[1:] + "."))
    blocks = [
        heading(tell("Safety")),
        table(
            tell("Permitted demonstrations"), (tell("who"), tell("what"), tell("voltage"), tell("how")), made, "llll", {0: 1, 1: 1.2, 2: 1.2, 3: 2.4}
        ),
    ]
    if not lesson.mains.offered:
        blocks.append(
            paragraph(
                tell("This case is not shown at mains voltage. Reasons: {reasons}.",
                     reasons="; ".join(why.words for why in lesson.mains.why_not))
            )
        )
    return [
        *blocks,
        together(
            [
                box(
                    tell("In a real installation with a suspected broken neutral"),
                    both(cautions(lesson.result.case, "short")),
                    heavy=True,
                )
            ]
        ),
    ]
