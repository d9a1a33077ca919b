"""The checks as lines for a terminal: by topic, every figure with its source; counts and the answer last."""

from lostneutral.report.base.words import visible
from lostneutral.report.screen.lines import painted, table_text, width_of, wrapped
from lostneutral.report.verification import rows


def verification_text(runs, colour: bool = False, width: int = 80) -> str:
    """Return every outcome of `runs` by topic, the known limits, the counts, and what follows, as text."""
    paint = painted if colour else lambda text, _: text
    parts = [_topic(run, width) for run in runs]
    limits = [line for of, within, beyond, source in rows.limit_rows()
              for line in wrapped(f"{of}: checked for {within}. Beyond it: {beyond}. Source: {source}.", width, "    ", "  ")]
    parts.append("\n".join(("Known limits", "------------", *limits)))
    counts = rows.count_rows(runs)
    parts.append(table_text(rows.COUNT_HEAD, counts, "lrrrrr", width, lambda text, _: text, wraps=(0, 4, 5)))
    failed = rows.failed_checks(runs)
    parts += ["\n".join([paint("FAIL", "danger"), *(_failure(o) for o in failed)])] if failed else []
    parts.append("\n".join(wrapped(f"{rows.how_many_agree(runs)} {rows.WHAT_IT_SAYS}", width)))
    return "\n\n".join(parts) + "\n"


def _topic(run, width):
    lines = [visible(run.topic.title), "-" * min(width, len(run.topic.title)), f"  {'  '.join(rows.HEAD).lower()}"]
    for outcomes in rows.by_check(run):
        check = outcomes[0].check
        lines += wrapped(visible(f"{check.id}: {rows.source(check)[0]}"), width, "    ")
        cells = [tuple(map(visible, rows.row(o))) for o in outcomes]
        widths = [max(width_of(row[n]) for row in cells) for n in range(5)]
        lines += ["  " + "  ".join([c + " " * (w - width_of(c)) for c, w in zip(row, widths)] + [row[5]]) for row in cells]
    return "\n".join(lines)


def _failure(outcome):
    cells = rows.row(outcome)
    return visible(f"  {outcome.check.id}, {cells[0]}: printed {cells[1]}, calculated {cells[2]} ({cells[3]})")
