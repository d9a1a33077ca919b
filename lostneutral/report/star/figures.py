"""The figures of voltages and currents. Each function draws one figure and returns (SVG text, alternative text)."""

from cmath import pi, rect

from lostneutral.report.base import drawing, rows
from lostneutral.report.base.drawing import BAND, DASHES, HATCHES, INK, MARKERS, SOFT, bare, colour, label, svg
from lostneutral.report.base.words import after_names, angle, number, shown, significant, size
from lostneutral.words.language import tell
from lostneutral.words.terms import supply_neutral

MOST_ROWS = 24  #: a figure with more rows cannot be read; the tables have them all
MOST_RUNS = 3


def phasors(result, point=None):
    """Draw the voltages of one point as phasors, before and after the breaks, true to scale.

    The supply's star point is the origin, the real axis points right, every panel has one scale. The voltage triangle
    (split-phase: the line) joins the point's lines; the arrow from the origin to N is the star point's move. `point`
    is a name; default: the point whose voltages moved most. Panels that nothing ties down say so.
    """
    case = result.case
    where = case.point(point) if point else most_moved(result)
    panels = _panels(result)
    at = [{c: s.nodes.get((where.name, c)) for c in (*where.phases, "N")} for _, s in panels]
    every = [z for volts in at for z in (*volts.values(), 0j) if z is not None]
    low, high = min(z.real for z in every), max(z.real for z in every)
    bottom, top = min(z.imag for z in every), max(z.imag for z in every)
    margin = 0.2 * max(high - low, top - bottom, 1.0)
    columns = min(len(panels), 2)
    lines = -(-len(panels) // columns)
    across = high - low + 2 * margin
    upright = top - bottom + 2 * margin
    height = max(lines * (0.95 * drawing.WIDTH / columns * upright / across + 0.25), 1.6)

    def draw(figure):
        for number_, ((name, _), volts) in enumerate(zip(panels, at)):
            axes = figure.add_subplot(lines, columns, number_ + 1)
            axes.set_aspect("equal")
            axes.set_xlim(low - margin, high + margin)
            axes.set_ylim(bottom - margin, top + margin)
            axes.set_title(_title(name), fontsize=9, loc="left", fontweight="bold", y=1.0)
            axes.set_axis_off()
            _phasor_panel(axes, volts, name.replace(" ", "-"), margin)

    return svg(draw, min(height, 8.0), _phasor_words(case, where, panels, at))


def most_moved(result):
    """Return the point whose line-to-neutral voltages moved most, floating ones first."""
    before = next(iter(shown(result.before)), None)

    def moved(point):
        worst = 0.0
        for after in shown(result.after):
            for row in (r for r in rows.point_rows(result.case, before, after) if r.place == point.name):
                was = result.case.supply.nominal if row.before is None else row.before
                worst = max(worst, result.case.supply.nominal if row.after is None else abs(row.after - was))
        return worst

    return max(result.case.points, key=lambda point: round(moved(point), 6))


def _panels(result):
    afters = shown(result.after)
    return [("before", s) for s in shown(result.before)[:1]] + list(zip(after_names(afters), afters))


def _phasor_panel(axes, volts, name, margin):
    neutral, corners = volts["N"], {line: z for line, z in volts.items() if line != "N" and z is not None}
    ends = list(corners.values())
    outline = [*ends, ends[0]] if len(ends) > 2 else ends
    axes.plot([z.real for z in outline], [z.imag for z in outline], color=SOFT, lw=0.8, gid=f"{name}-triangle")
    near = []
    for line, z in corners.items():
        if neutral is not None:
            _arrow(axes, neutral, z, line, f"{name}-{line}")
        out = z / (abs(z) or 1.0) * margin * 0.45
        axes.text(z.real + out.real, z.imag + out.imag, line, ha="center", va="center", fontweight="bold",
                  color=colour(line))
        if neutral is not None:
            middle, side = neutral + 0.6 * (z - neutral), 1j * (z - neutral)
            _beside(axes, middle, side, margin * 0.12, f"{abs(z - neutral):.1f} V")
            near.append(middle + side / (abs(side) or 1.0) * margin * 0.35 - neutral)  # not to be written over
    axes.plot([0], [0], marker="+", ms=8, color=INK, gid=f"{name}-origin")
    if neutral is None:
        axes.text(0, -margin * 0.4, "N has no defined potential", ha="center", va="top", fontsize=8, color=colour("N"))
    elif abs(neutral) > 0.02 * margin:
        _arrow(axes, 0j, neutral, "N", f"{name}-shift")
        clear = clearest([*(z - neutral for z in ends), *near, -neutral])
        _beside(axes, neutral, clear, margin * 0.2, f"N {abs(neutral):.1f} V", fontweight="bold", color=colour("N"))
    else:
        _beside(axes, 0j, clearest(ends), margin * 0.2, "N", fontweight="bold", color=colour("N"))


def _beside(axes, at, direction, distance, text, **style):
    """Write `text` so that it begins `distance` away from `at` in `direction` and runs away from it."""
    unit = direction / (abs(direction) or 1.0)
    to = at + distance * unit
    across = "left" if unit.real > 0.35 else "right" if unit.real < -0.35 else "center"
    upright = "bottom" if unit.imag > 0.35 else "top" if unit.imag < -0.35 else "center"
    axes.text(to.real, to.imag, text, ha=across, va=upright, fontsize=8, zorder=5, **style,
              bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.4, "alpha": 0.8})


def clearest(taken):
    """Return the direction, of sixteen, that is furthest from every direction taken."""
    return max((rect(1.0, k * pi / 8) for k in range(16)),
               key=lambda d: round(min((abs(d - t / abs(t)) for t in taken if t), default=0.0), 6))


def _title(name):
    return name[0].upper() + name[1:]


def _arrow(axes, start, end, conductor, gid):
    ink, along = colour(conductor), end - start
    axes.plot([start.real, end.real], [start.imag, end.imag], color=ink, lw=1.8, ls=DASHES[conductor], gid=gid)
    near = end - 0.02 * along
    axes.annotate("", (end.real, end.imag), (near.real, near.imag),
                  arrowprops={"arrowstyle": "-|>", "color": ink, "lw": 1.2, "shrinkA": 0, "shrinkB": 0})


def _phasor_words(case, where, panels, at):
    shape = {1: "its one line", 2: "a line from L1 to L2"}.get(len(where.phases), "the voltage triangle")
    said = [f"Phasor diagram of {where.name}, true to scale, with {shape}."]
    for (name, solution), _volts in zip(panels, at):
        neutral = solution.nodes.get((where.name, "N"))
        moved = ("the neutral has no defined potential" if neutral is None else
                 f"the neutral is {number(abs(neutral))} V from {supply_neutral(case)}"
                 + (f" at {number(angle(neutral), 0)} degrees" if abs(neutral) >= 0.05 else ""))
        each = ", ".join(f"{line} {number(size(solution.voltage(where.name, line)))} V" for line in where.phases)
        said.append(f"{_title(name)}: {moved}; to neutral: {each}.")
    return " ".join(said)


def voltages(result):
    """Draw every line-to-neutral voltage before and after against the supply band and the line-to-line voltage."""
    case = result.case
    before = next(iter(shown(result.before)), None)
    afters = shown(result.after)
    tables = [rows.point_rows(case, before, after) for after in afters]
    kept = worst(tables[0] if tables else (), MOST_ROWS)
    low, high = rows.outer_limits(case)
    bound = case.supply.nominal_line_to_line
    most = max([bound, *(v for t in tables for r in t for v in (r.before, r.after) if v is not None)])

    def draw(figure):
        axes = figure.add_subplot()
        axes.axvspan(low, high, facecolor=BAND, edgecolor=SOFT, hatch="..", lw=0, alpha=0.8)
        axes.axvline(bound, color=INK, ls=(0, (4, 2)), lw=0.9)
        for at, index in enumerate(kept):
            found = [table[index] for table in tables]
            for row in found:
                _dot_row(axes, at, row)
            axes.text(most * 1.05, at, _range_words(found, 1), va="center", fontsize=7.5)
        axes.set_ylim(len(kept) - 0.4, -1.35)
        axes.set_xlim(0, most * (1.3 if len(tables) < 2 else 1.5))
        axes.text((low + high) / 2, -0.85, label(case.supply.limits), ha="center", va="center", fontsize=7.5,
                  color=SOFT, bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5})
        axes.text(bound, -0.85, ("√3·U0" if case.supply.system == "three-phase" else "line to line") +
                  f" = {bound:.0f} V", ha="center", va="center", fontsize=7.5, color=SOFT,
                  bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5})
        axes.set_yticks(range(len(kept)), [f"{label(tables[0][i].place, 24)}  {tables[0][i].line}" for i in kept])
        axes.set_xlabel("line to neutral, V     (○ before, filled after)")
        bare(axes, "bottom")

    return svg(draw, 1.05 + 0.3 * len(kept), _voltage_words(case, tables, kept))


def worst(table, most):
    """Return the indices of the `most` rows that lie furthest from nominal, in the table's order."""
    far = sorted(range(len(table)), key=lambda i: (-abs((table[i].ratio or 0.0) - 1.0), i))[:most]
    return tuple(sorted(far))


def _dot_row(axes, at, row):
    ink = colour(row.line)
    if row.before is not None:
        axes.plot(row.before, at, marker="o", ms=6, mfc="white", mec=ink, mew=1.2, zorder=3)
    if row.after is None:
        return
    if row.before is not None:
        axes.plot([row.before, row.after], [at, at], color=ink, ls=DASHES[row.line], lw=1.2, zorder=2)
    axes.plot(row.after, at, marker=MARKERS[row.verdict], ms=7, mfc=ink, mec=ink, zorder=4)


def _range_words(found, decimals):
    """Return the voltages of one row in every settled state, and what they are, in words."""
    volts = [r.after for r in found if r.after is not None]
    said = _either([tell(verdict) for verdict in dict.fromkeys(r.verdict for r in found)])
    if not volts:
        return said
    low, high = number(min(volts), decimals), number(max(volts), decimals)
    return f"{low if low == high else tell('{low} to {high}', low=low, high=high)} V: {said}"


def _either(words):
    """Return "a or b or c"."""
    made = words[0]
    for word in words[1:]:
        made = tell("{a} or {b}", a=made, b=word)
    return made


def _voltage_words(case, tables, kept):
    said = [f"Line-to-neutral voltages against limits ({rows.band_words(case)})."]
    for name, table in zip(after_names(tables) if tables else (), tables):
        said += [f"{table[i].place} {table[i].line}: before {number(table[i].before)} V, {name} "
                 f"{number(table[i].after)} V, {table[i].verdict}." for i in kept]
    return " ".join(said)


def currents(result):
    """Draw the currents of the runs that are broken (else of the first run), before and after, neutral included."""
    case = result.case
    names = tuple(dict.fromkeys(b.feeding for b in case.breaks_after() if not b.at_supply))[:MOST_RUNS] or (case.points[0].name,)
    panels = _panels(result)
    bars = [(run, c, [(name, size(s.currents.get((run, c)))) for name, s in panels])
            for run in names for c in (*case.point(run).phases, "N", "PE")
            if any((run, c) in s.currents for _, s in panels)]
    most = max((a for _, _, values in bars for _, a in values if a), default=1.0)
    step = len(panels) + 0.9

    def draw(figure):
        axes = figure.add_subplot()
        for group, (_, conductor, values) in enumerate(bars):
            for number_, (name, amps) in enumerate(values):
                y = group * step + number_
                healthy = name == "before"
                axes.barh(y, amps or 0.0, height=0.82, facecolor="white" if healthy else BAND,
                          edgecolor=colour(conductor), lw=1.2, hatch="" if healthy else HATCHES[conductor])
                axes.text((amps or 0.0) + most * 0.012, y,
                          f"{name}: {significant(amps, 'A') if amps is not None else 'not determined'}", va="center",
                          fontsize=7.5)
        middle = (len(panels) - 1) / 2
        axes.set_yticks([g * step + middle for g in range(len(bars))],
                        [c if len(names) == 1 else f"{label(run, 20)}  {c}" for run, c, _ in bars])
        axes.set_ylim(len(bars) * step - 0.6, -0.9)
        axes.set_xlim(0, most * 1.28)
        axes.set_xlabel("current, A")
        bare(axes, "bottom")

    words = ["Currents in the cable to " + ", ".join(names) + "."]
    words += [f"{c if len(names) == 1 else f'{run} {c}'}: " + ", ".join(f"{n} {significant(a, 'A')}" for n, a in values)
              + "." for run, c, values in bars]
    return svg(draw, 0.55 + 0.17 * step * len(bars), " ".join(words))


MOST_CIRCUITS = 10


def picture_height(result):
    """Return the height of `picture`, inches."""
    on = len((_pictured(result)[0] or [()])[0])
    return 0.85 + 0.3 * min(on, MOST_CIRCUITS)


def left_out(result):
    """Return the names of the items that are on and that `picture` does not draw."""
    tables, kept = _pictured(result)
    return tuple(row.name for i, row in enumerate(tables[0] if tables else ()) if i not in kept)


def _pictured(result):
    before = next(iter(shown(result.before)), None)
    told = {v.item for v in result.verdicts}  # of the client's premises alone, where the case names them
    tables = [[r for r in rows.load_rows(result.case, before, after) if r.verdict != "off" and (r.name in told or not told)]
              for after in shown(result.after)]
    return tables, worst(tables[0] if tables else (), MOST_CIRCUITS)


def picture(result):
    """Draw the voltage at each item before and after, as a share of its rated voltage: the picture for page one.

    With more than ten items on, those that are furthest off are drawn.
    """
    case = result.case
    tables, kept = _pictured(result)
    low, high = (edge / case.supply.nominal * 100.0 for edge in rows.outer_limits(case))
    ends = [[100.0 * t[i].ratio for t in tables if t[i].ratio is not None] for i in kept]
    right = max([140.0, *(p for e in ends for p in e)]) + 8.0
    room = 0.62 * right  # for the words beside the scale

    def draw(figure):
        axes = figure.add_subplot()
        axes.axvspan(low, high, facecolor=BAND, edgecolor=SOFT, hatch="..", lw=0, alpha=0.8, ymax=1.0)
        axes.axvline(100.0, color=SOFT, lw=0.8)
        for at, (index, percent) in enumerate(zip(kept, ends)):
            _picture_row(axes, at, [t[index] for t in tables], percent, right)
        axes.set_ylim(len(kept) - 0.45, -1.1)
        axes.set_xlim(0, right + room)
        axes.set_xticks([0, 50, 100, 150, 200][:int(right // 50) + 1])
        axes.set_xticklabels([f"{x:.0f} %" for x in axes.get_xticks()])
        centre, aside = (low + high) / 2, max((high - low) / 2, 18.0) + 3.0
        for x, word, side in ((centre, tell("within"), "center"), (centre - aside, tell("below limits"), "right"),
                              (centre + aside, tell("above limits"), "left")):
            axes.text(x, -0.75, word, ha=side, va="center", fontsize=8)
        axes.set_yticks(range(len(kept)), [label(tables[0][i].name, 30, 2) for i in kept])
        axes.set_xlabel(tell("voltage, share of rated"), loc="left", fontsize=8)
        bare(axes, "bottom")
        axes.spines["bottom"].set_bounds(0, right)

    return svg(draw, picture_height(result), _picture_words(case, tables, kept))


def _picture_row(axes, at, results, percent, right):
    was = results[0].before
    if percent:
        start = 100.0 if was is None or results[0].after in (None, 0) else percent[0] * was / results[0].after
        axes.plot([start], [at], marker="o", ms=6, mfc="white", mec=INK, mew=1.1, zorder=3)
        for end, row in zip(percent, results):
            if abs(end - start) > 1.0:
                axes.annotate("", (end, at), (start, at), zorder=4, arrowprops={
                    "arrowstyle": "-|>", "color": INK, "lw": 1.8, "shrinkA": 3, "shrinkB": 0, "mutation_scale": 11})
            else:
                axes.plot([end], [at], marker=MARKERS[row.verdict], ms=6, color=INK, zorder=4)
    usual = {r.verdict for r in results} == {"within limits"}
    axes.text(right + 2, at, _range_words(results, 0), va="center", fontsize=8.5,
              fontweight="normal" if usual else "bold")


def _picture_words(case, tables, kept):
    said = [tell("Voltage at each item, before and after ({band}).", band=rows.band_words(case))]
    for index in kept:
        results = [t[index] for t in tables]
        then = _either([f"{number(r.after)} V, {tell(r.verdict)}" for r in results])
        said.append(tell("{item}: before {before} V, after {after}.", item=results[0].name, before=number(results[0].before), after=then))
    return " ".join(said)
