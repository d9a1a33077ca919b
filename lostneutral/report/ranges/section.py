"""The report's section on what unknown loads leave open."""

from lostneutral.report.base.blocks import bullets, figure, heading, paragraph, table
from lostneutral.report.ranges import figures as range_figures
from lostneutral.report.ranges import rows


def ranges(result):
    """Return the blocks of the ranges; nothing if they were not worked out."""
    if result.ranges is None:
        return []
    found = result.ranges
    made = [heading("Range of voltages"), paragraph(rows.likely_words(found)),
            paragraph("Certain, whatever the loads: " + rows.guarantee_words(found)),
            table("Unknown quantities and assumed distributions", ("unknown", "assumed"),
                  rows.unknown_rows(result.case), "ll", {0: 1, 1: 1.6})]
    if found.highest.middle is None:
        return [*made, bullets(rows.range_notes(result))]
    heads, chances = rows.phase_chances(found)
    made += [
        figure(range_figures.range_bars(result), "Bars reach from 5 to 95 % of the samples, the bar mark is the "
                                                 "median, the "
               "thin line spans all of them; each load while it is on. The dotted band is the supply band, a broken "
               "line what is "
               "certain."),
        table("Probability of exceeding a limit", heads, chances, "llrrrr", {1: 1}), bullets(rows.range_limit_words(found)),
        table("Each load while it is on, V across it",
              ("load", "on", "5 %", "50 %", "95 %", "above limits", "below limits"), rows.range_load_rows(found), "lrrrrrr", {0: 1}),
        table("Outcome for each load while on", ("load", "fails", "outcomes"), rows.outcome_rows(found), "lrl",
              {0: 1, 2: 3}),
        figure(range_figures.star_cloud(result), "Possible positions of the "
                                                 f"{range_figures.neutral_words(result.case)} at “{found.point}”: "
                                                 "one dot "
               "for each sample, true to scale.")]
    if found.influences and found.influences[0].width > 0:
        made += [figure(range_figures.influence_chart(result), "Left: share of the variance of the highest "
                                                               "line-to-neutral "
                        "voltage that each unknown explains alone; the rest is due to unknowns together. Right: "
                        "width of the "
                        "range, on average, if it were known."),
                 table("Facts that would narrow the range of the highest voltage",
                       ("unknown", "share", "range if known", "5 to 95 % then"), rows.influence_rows(found), "lrrl", {0: 1, 3: 1.6})]
    return [*made, bullets(rows.range_notes(result))]
