"""The figures of earth and place: each function draws one and returns (SVG text, alternative text)."""

from textwrap import wrap

from lostneutral import data
from lostneutral.circuit.wiring import terminal_names
from lostneutral.consequences.touch import touch_voltages
from lostneutral.report.base.drawing import BAND, INK, SOFT, WIDTH, bare, label, svg
from lostneutral.report.base.words import after_names, number, shown

MOST_BARS = 40  #: earth terminals of one figure; of more, as many as fit are picked evenly along the wiring
MOST_PARTS = 60  #: points of one wiring tree
LOOKS = {  # word -> hatch and fill of a part; the word itself stands beside it, so that no look carries it alone
    "high": ("////", "white"), "low": ("....", "white"), "dead": ("", "#bdbdbd"), "floating": ("oo", "white"),
    "live": ("xxxx", "white"), "whole": ("", "white")}
WORDS = {"high": "above limits", "low": "below limits", "dead": "no voltage to neutral, not proved dead",
         "floating": "no defined potential", "live": "live metalwork", "whole": "unaffected"}
"""What is printed for each word of `evidence.effects.WORDS`."""


def earth_potentials(result):
    """Draw the voltage of every earth terminal to remote earth, before and after, in the order of the wiring."""
    case = result.case
    points = _picked([p for p in case.points if "PE" in terminal_names(case, p)], MOST_BARS)
    states = [("before", s) for s in shown(result.before)[:1]]
    states += list(zip(after_names(shown(result.after)), shown(result.after)))
    touch = {name: touch_voltages(case, s) for name, s in states}
    volts = {name: [found.get(p.name) for p in points] for name, found in touch.items()}
    limit = data.load("touch")["limit_normal"]["value"]

    def draw(figure):
        axes = figure.add_subplot()
        axes.axhline(limit, color=SOFT, lw=0.8, ls=(0, (2, 2)))
        axes.annotate(f"{limit:g} V, conventional limit", (1.0, limit), xycoords=("axes fraction", "data"), ha="right",
                      va="bottom", fontsize=7.5, color=SOFT)
        for (name, values), mark, fill in zip(volts.items(), "os^Dv", ("white", INK, BAND, "white", INK)):
            at = [i for i, v in enumerate(values) if v is not None]
            axes.plot(at, [values[i] for i in at], mark, ls="-" if len(at) > 1 else "", lw=0.7, color=INK,
                      markerfacecolor=fill, ms=4.5, label=name, gid=f"earth-{name}")
        axes.set_xticks(range(len(points)), [label(p.name, 18) for p in points], rotation=90 if len(points) > 6 else 0,
                        fontsize=7 if len(points) > 20 else 8)
        axes.set_ylabel("V to remote earth")
        axes.set_ylim(bottom=0)
        axes.legend(frameon=False, fontsize=8, loc="upper left")
        bare(axes, "left", "bottom")

    words = "; ".join(f"{p.name}: " + ", ".join(f"{name} {'no defined potential' if v[i] is None else number(v[i]) + ' V'}"
                                               for name, v in volts.items()) for i, p in enumerate(points))
    alternative = f"Earth terminals to remote earth. {words}."
    return svg(draw, 2.9, alternative)


def touch_against_electrode(found):
    """Draw touch voltage against the resistance of a point's own electrode, from a `TouchRange`."""
    limits = [(e["value"], words) for e, words in ((data.load("touch")["limit_normal"], "conventional limit"),
                                                   (data.load("touch")["open_pen"], "charging points"))]

    def draw(figure):
        axes = figure.add_subplot()
        axes.semilogx(found.ohms, found.volts, color=INK, lw=1.6, gid="touch")
        for value, words in limits:
            axes.axhline(value, color=SOFT, lw=0.8, ls=(0, (2, 2)))
            axes.annotate(f"{value:g} V, {words}", (0.0, value), xycoords=("axes fraction", "data"), va="bottom",
                          fontsize=7.5, color=SOFT)
        axes.set_xlabel(f"own electrode at {label(found.point)}, Ω")
        axes.set_ylabel("V to remote earth")
        axes.set_ylim(bottom=0)
        axes.xaxis.set_major_formatter("{x:g}")
        bare(axes, "left", "bottom")

    picked = range(0, len(found.ohms), max(len(found.ohms) // 6, 1))
    alternative = (f"Touch voltage at {found.point} with the PEN broken, against its own electrode: "
                   + "; ".join(f"{found.ohms[i]:.3g} ohm {found.volts[i]:.0f} V" for i in picked) + ".")
    return svg(draw, 2.7, alternative)


def wiring_tree(case, words, place=None, foot=""):
    """Draw the wiring as a tree from the supply, each point as a strip hatched and worded by its outcome.

    `words` maps a point to its outcomes ("high", "low", "dead", "floating", "live", "whole"); `place` (see
    `lostneutral.evidence.places`) marks the cables with a fault; `foot` is what a drawing by itself says below it.
    """
    rows = _rows(case)[:MOST_PARTS]
    at = {"supply": (0, 0)} | {p.name: (depth, i + 1) for i, (depth, p) in enumerate(rows)}
    broken = {b.feeding for b in place.breaks} | {c.point for c in place.crosses} if place else set()

    def draw(figure):
        axes = figure.add_subplot()
        axes.set_xlim(-0.2, 10.0)
        axes.set_ylim(len(rows) + 0.7, -0.7)
        axes.set_axis_off()
        step = min(0.8, 4.0 / max((depth for depth, _ in rows), default=1))
        _strip(axes, 0.0, 0, "supply", ())
        for point in (p for _, p in rows):
            depth, row = at[point.name]
            x, up = depth * step, at[point.fed_from][1]
            stem = x - step + 0.12
            axes.plot([stem, stem, x], [up + 0.28, row, row], color=INK, lw=1.0)
            if point.name in broken:
                axes.plot([(stem + x) / 2], [row], marker="x", ms=8, mew=2.0, color=INK, zorder=5)
            _strip(axes, x, row, point.name, words.get(point.name, ()))
        if foot:
            figure.supxlabel("\n".join(wrap(foot, 100)), fontsize=7.5)

    more = len(case.points) - len(rows)
    alternative = ((f"Wiring with {place.words}: " if place else "Wiring: ")
                   + "; ".join(f"{p.name} {', '.join(WORDS[w] for w in words.get(p.name, ())) or 'not known'}"
                               for _, p in rows)
                   + (f"; and {more} more points." if more else ".") + (f" {foot}" if foot else ""))
    return svg(draw, 0.27 * (len(rows) + 1.5) + 0.14 * len(wrap(foot, 100)), alternative, WIDTH)


def _strip(axes, x, row, name, words):
    told = ": " + " and ".join(map(WORDS.get, words)) if words else ""
    axes.text(x + 0.06 + 0.55 * max(len(words), 1), row, label(name, 30) + told,
              va="center", fontsize=8, fontweight="normal" if words in ((), ("whole",)) else "bold")
    for k, word in enumerate(words or ("whole",)):
        hatch, fill = LOOKS[word]
        axes.fill([x + 0.55 * k, x + 0.55 * k + 0.5, x + 0.55 * k + 0.5, x + 0.55 * k],
                  [row - 0.28, row - 0.28, row + 0.28, row + 0.28], facecolor=fill, edgecolor=INK, hatch=hatch, lw=0.8,
                  zorder=3)


def _rows(case):
    """Return (depth, point) of every point, each behind what feeds it."""
    fed = {}
    for point in case.points:
        fed.setdefault(point.fed_from, []).append(point)
    rows, waiting = [], [(1, p) for p in reversed(fed.get("supply", ()))]
    while waiting:
        depth, point = waiting.pop()
        rows.append((depth, point))
        waiting += [(depth + 1, p) for p in reversed(fed.get(point.name, ()))]
    return rows


def _picked(points, most):
    if len(points) <= most:
        return points
    return [points[round(i * (len(points) - 1) / (most - 1))] for i in range(most)]
