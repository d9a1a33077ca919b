"""A record of what the program makes, as short plain values: figures to five digits, long rows thinned, of a drawing what it draws.

Kind: pins behaviour. It validates nothing; it makes sure that nothing moves unseen. A change that is meant to move it makes it anew by

    RENEW=1 python -m pytest -n 0 -m "" tests/record tests/cli/test_casebook.py tests/evidence/test_casebook_agrees.py

and its differences (`git diff tests/record/kept`) are looked at as closely as the change itself.
"""

import json
import os
import re
from contextlib import contextmanager
from dataclasses import fields, is_dataclass
from math import isfinite
from pathlib import Path

import numpy as np
import pytest
from drawn import unwritten

KEPT = Path(__file__).parent / "kept"
MOST = 9  #: figures kept of a longer row
ENTRIES = 12  #: entries kept of a longer list
BELOW = 1e-7  #: what is smaller is written as 0: it may be rounding
PLACES = re.compile(r"[-−]?\d+(?:[.,]\d+)?(?:e[-+]?\d+)?")


LONG = 44  #: letters beyond which a text is cut, but for its figures


def held(name, made, within=1e-4):
    """Hold `made` (an outline) to what is kept under `name`, figures `within` that share of their size, or with RENEW keep it."""
    file = KEPT / f"{name}.json"
    if os.environ.get("RENEW"):
        file.parent.mkdir(exist_ok=True)
        file.write_text(_written(made), encoding="utf-8")
        pytest.skip("kept anew")
    wrong = list(differing(json.loads(file.read_text(encoding="utf-8")), json.loads(_written(made)), name, within))
    assert not wrong, "\n".join([*wrong[:20], f"{len(wrong)} in all"])


def _written(made):
    """Return the text of a record: an entry of each of its parts a line."""
    short = lambda x: json.dumps(x, ensure_ascii=False, separators=(",", ":"))
    parts = []
    for key, part in made.items():
        rows = [f"{short(k)}: {short(v)}" for k, v in part.items()] if isinstance(part, dict) else [short(v) for v in part] if isinstance(part, list) else None
        ends = "{}" if isinstance(part, dict) else "[]"
        parts.append(f"{short(key)}: " + (short(part) if not rows else ends[0] + "\n" + ",\n".join(rows) + ends[1]))
    return "{" + ",\n".join(parts) + "}\n"


def outline(value, most=MOST, entries=ENTRIES):
    """Return `value` as dicts, lists, texts and figures of five digits, of longer rows `most` figures and `entries` of anything else."""
    inner = lambda x: outline(x, most, entries)
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, str):
        return value if len(value) <= LONG else f"{value[:LONG - 16].strip()}… {' '.join(PLACES.findall(value[LONG - 16:]))} ({len(value) // 4 * 4})"
    if isinstance(value, np.ndarray):
        return inner([value.item() if value.ndim == 0 else x for x in value])
    value = value.item() if hasattr(value, "item") else value
    if isinstance(value, complex):
        return [_figure(value.real), _figure(value.imag)]
    if isinstance(value, (int, float)):
        return _figure(value)
    if is_dataclass(value):
        return {f.name: inner(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, dict):
        return {k if isinstance(k, str) else " ".join(map(str, k)) if isinstance(k, tuple) else str(k): inner(v) for k, v in value.items()}
    return _as_table(thinned([inner(x) for x in value], most, entries))


def _as_table(rows):
    """Return dicts of the same keys as one row of keys and rows of values."""
    at = [x for x in rows if isinstance(x, dict)]
    if len(at) < 2 or any(x.keys() != at[0].keys() for x in at):
        return rows
    return [" ".join(at[0]), *(list(x.values()) if isinstance(x, dict) else x for x in rows)]


def thinned(row, most=MOST, entries=ENTRIES):
    """Return at most so many entries of `row`, evenly from first to last, and before them how many there were."""
    most = most if all(isinstance(x, (int, float)) or isinstance(x, list) and len(x) < 4 for x in row) else entries
    if len(row) <= most:
        return row
    return [f"{len(row)} entries", *(row[round(k * (len(row) - 1) / (most - 1))] for k in range(most))]


def _figure(x):
    if isinstance(x, bool) or not isfinite(x):
        return x if isinstance(x, bool) else str(x)
    x = float(f"{x:.5g}")
    return 0 if abs(x) < BELOW else int(x) if x == int(x) and abs(x) < 1e9 else x


def differing(kept, made, at="", within=1e-4):
    """Yield in words where `made` is not what is `kept`: figures `within` that share of their size, those in a text within one of their last place."""
    if isinstance(kept, (int, float)) and isinstance(made, (int, float)) and not isinstance(kept, bool) and not isinstance(made, bool):
        if abs(made - kept) > within * abs(kept) + 2e-6:
            yield f"{at}: {kept} was kept, {made} is made"
    elif type(kept) is not type(made):
        yield f"{at}: {kept!r} was kept, {made!r} is made"
    elif isinstance(kept, dict):
        for k in kept | made:
            if k not in made or k not in kept:
                yield f"{at}.{k}: only {'kept' if k in kept else 'made'}"
            else:
                yield from differing(kept[k], made[k], f"{at}.{k}", within)
    elif isinstance(kept, list):
        if len(kept) != len(made):
            yield f"{at}: {len(kept)} entries were kept, {len(made)} are made: {[x for x in made if x not in kept][:2]} for {[x for x in kept if x not in made][:2]}"
        else:
            for n, (a, b) in enumerate(zip(kept, made)):
                yield from differing(a, b, f"{at}[{n}]", within)
    elif kept != made and not (isinstance(kept, str) and _same_words(kept, made)):
        yield f"{at}: {kept!r} was kept, {made!r} is made"


def _same_words(kept, made):
    if PLACES.sub("#", kept) != PLACES.sub("#", made):
        return False
    return all(abs(_value(a) - _value(b)) <= 1.01 * max(_last(a), _last(b)) * ("." in a or len(a) > 3)
               for a, b in zip(PLACES.findall(kept), PLACES.findall(made)))


def _value(text):
    return float(text.replace("−", "-").replace(",", "."))


def _last(text):
    """Return one of the last place that `text` prints."""
    whole, _, power = text.replace(",", ".").partition("e")
    return 10.0 ** (int(power or 0) - len(whole.partition(".")[2]))


@contextmanager
def drawings():
    """Within this every figure is drawn, but not written out; yield the list that each comes to stand in."""
    made = []

    def keep(figure):
        made.append([[outline(float(x)) for x in figure.get_size_inches()], *(axes_outline(axes) for axes in figure.axes)])
        return len(made) - 1

    with unwritten(keep):
        yield made


def axes_outline(axes, most=MOST, entries=ENTRIES):
    """Return what stands in `axes`: texts, lines, patches with their places, limits, labels; of lines at most `most`, of others at most `entries`."""
    from matplotlib.colors import to_hex

    def ink(x):
        return to_hex(x, keep_alpha=True)[1:]

    def letters(t):
        frame = t.get_bbox_patch()
        framed = f" in {ink(frame.get_facecolor())} {frame.get_boxstyle().pad:.3g}" if frame else ""
        weight = "" if t.get_fontweight() == "normal" else f" {t.get_fontweight()}"
        return f"{t.get_fontsize():g} {ink(t.get_color())} {t.get_ha()[0]}{t.get_va()[0]}{weight}{framed}"

    def mark(x):
        return f"{x.get_marker()}{x.get_markersize():g} {ink(x.get_markerfacecolor())} {ink(x.get_markeredgecolor())} {x.get_markeredgewidth():g}"

    def area(x):
        ink_ = [ink(c[0]) for c in (x.get_facecolor(), x.get_edgecolor()) if len(c)]
        return " ".join([type(x).__name__, *ink_, *(f"{w:g}" for w in x.get_linewidth()[:1]), x.get_hatch() or ""])

    def pen(x):
        return f"{x.get_linestyle()} {ink(x.get_color())} {x.get_linewidth():g}"

    made = {"titles": [axes.get_title(loc=x) for x in ("left", "center")], "labels": [axes.get_xlabel(), axes.get_ylabel()],
            "limits": [*axes.get_xlim(), *axes.get_ylim()],
            "ticks": [[t.get_text() for t in ticks if t.get_text()] for ticks in (axes.get_xticklabels(), axes.get_yticklabels())],
            "texts": [[t.get_text(), *map(float, getattr(t, "xy", t.get_position())), letters(t)] for t in axes.texts],
            "tips": [[*map(float, t.xyann), *map(float, t.xy), f"{ink(t.arrow_patch.get_facecolor())} {t.arrow_patch.get_linewidth():g}"] for t in axes.texts if getattr(t, "arrow_patch", None)],
            "lines": [[" ".join([mark(x) if x.get_marker() != "None" else "", pen(x) if x.get_linestyle() != "None" else "", x.get_gid() or ""]),
                       thinned([float(v) for v in x.get_xdata()]), thinned([float(v) for v in x.get_ydata()])] for x in axes.lines],
            "patches": [[f"{ink(p.get_facecolor())} {ink(p.get_edgecolor())} {p.get_linewidth():g} {p.get_hatch() or ''} {p.get_gid() or ''}",
                         *axes.transData.inverted().transform(p.get_extents()).ravel().tolist()] for p in axes.patches],
            "others": [[area(c), *np.asarray(c.get_offsets()).ravel()[:4].tolist(), *(c.get_paths()[0].get_extents().extents.tolist() if c.get_paths() else [])]
                       for c in axes.collections],
            "sizes": [t.get_fontsize() for t in (*axes.get_xticklabels()[:1], *axes.get_yticklabels()[:1], axes.xaxis.label, axes.yaxis.label, axes._left_title) if t.get_text()],
            "place": [*axes.get_position().bounds], "sides": [f"{side} {spine.get_bounds() or ''}".strip() for side, spine in axes.spines.items() if spine.get_visible()],
            "legend": [t.get_text() for t in axes.get_legend().get_texts()] if axes.get_legend() else []}
    return outline({k: v for k, v in made.items() if v and any(v)}, most, entries)
