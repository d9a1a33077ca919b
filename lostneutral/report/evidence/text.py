"""A deduction as text for a terminal."""

from lostneutral.consequences.cautions import open_cautions
from lostneutral.report.base.cautions import in_short
from lostneutral.report.base.words import visible
from lostneutral.report.evidence import rows
from lostneutral.report.evidence.recorded import recorded_in_short, recording_words
from lostneutral.report.evidence.verdict import verdict_on_cause
from lostneutral.report.ranges.text import _items as items
from lostneutral.report.ranges.text import _lines as lines
from lostneutral.report.ranges.text import _tabled as tabled
from lostneutral.report.screen.lines import width_of

COLUMNS = ("Prior and posterior: probability, resting on the prior weights under “Assumed”. LR: likelihood ratio of the best "
           "fitting cause to this one. Support: in words, for the best fitting cause.")


def deduction_text(result, width: int = 80) -> str:
    """Return the deduction of `result` as lines of at most `width` columns where the words allow."""
    case, found = result.case, result.deduction
    names, beside = rows.item_rows(found)
    parts = [
        lines([case.title, "=" * min(width, width_of(visible(case.title))), rows.PURPOSE], width),
        lines([in_short(open_cautions(case, "short"))], width),
        lines(["Concluded from the observations", *verdict_on_cause(found), *recorded_in_short(case)], width),
        tabled("Given: evidence log", ("observation", "when", "who", "with what", "kept"), rows.log_rows(case),
               "lllll", width, (0, 3, 4, 2)),
        "Recordings\n" + items(recording_words(case), width) if case.recordings else "",
        tabled("Computed: possible causes", ("cause", "prior", "posterior", "LR", "support"), rows.rival_rows(found),
               "lrrrl", width),
        lines([COLUMNS], width),
        tabled("Kinds of cause, each against all others", ("kind", "prior", "posterior", "LR", "in words"),
               rows.kind_rows(found), "lrrrl", width),
        lines(["Observation by observation: predicted value from the other observations, and whether the item fits",
               *(f"[{n}] {name}" for n, name in enumerate(names, 1))], width) + "\n"
        + tabled("", ("observation", *(f"[{n}]" for n in range(1, len(names) + 1))), beside, "l" * (1 + len(names)), width,
                 (0, 1, 2, 3)[: 1 + len(names)]).removeprefix("\n"),
        tabled("Given everything observed: lowest and highest line-to-neutral voltage of any phase, and metalwork to earth, "
               "V: middle (5 to 95 %)", ("under", "lowest", "highest", "metalwork"), rows.asked_rows(found), "lrrr", width, (0,)),
        tabled("Line-to-neutral voltages given the observations, V", ("line", "at", "5 %", "50 %", "95 %"),
               rows.voltage_rows(found), "llrrr", width, (1,)),
        tabled("Unknown quantities", ("unknown", "prior", "posterior"), rows.known_rows(found), "lll", width),
        lines([rows.together_words(found)], width) if rows.together_words(found) else "",
        tabled("Effect of omitting each observation", ("omitted", "leading cause", "probability", "with all"),
               rows.left_out_rows(found), "llrr", width, (0, 1)),
        "Effect of the priors\n" + items(rows.prior_words(found), width),
        "Assumptions that would turn the conclusion\n" + items(rows.turning_words(found), width),
        "Next steps, in this order\n" + items(rows.next_steps(found), width),
        "Most useful further reading\n" + items(rows.next_words(found), width),
        "Missing\n" + items(rows.missing(case, found), width) if rows.missing(case, found) else "",
        lines(["Causes not considered", rows.not_weighed_words()], width) + "\n"
        + items([f"{cause}. For: {signs}. Against: {none}." for cause, signs, none in rows.not_weighed_rows()], width),
        "Assumed\n" + items([f"{what}: {much}. Source: {why}." for what, much, why in rows.assumed_rows(case, found)],
                            width),
        "Notes\n" + items(rows.method_words(found), width), "Cautions\n" + items(result.cautions, width)]
    return "\n\n".join(part for part in parts if part) + "\n"
