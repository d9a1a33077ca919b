"""How often the exploration window is redrawn with twelve loads, as a ratio to drawing the whole canvas once.

No time passes or fails. Seen on a machine of two slow cores: some 30 redraws a second where every load changes at
each, as when the joint is dragged, solving included; a whole canvas takes five times as long.
"""

from cmath import rect
from math import inf, radians
from time import perf_counter

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from lostneutral.case.model import Break, Case, Load, Point, Supply
from lostneutral.report.drawing import styled
from lostneutral.teaching.window import settings as moves
from lostneutral.teaching.window.window import Window

REDRAWS = 20


def case():
    """Return a star of twelve loads, lamps and heaters, all different."""
    loads = tuple(Load(f"load {k}", ("lamp", "heater")[k % 2], (f"L{k % 3 + 1}", "N"), "intake", 230.0,
                       parameters={"power": 40.0 + 20.0 * k}) for k in range(12))
    supply = Supply({f"L{k + 1}": rect(230.0, radians(-120.0 * k)) for k in range(3)})
    return Case("benchmark", supply, (Point("intake"),), loads, breaks=(Break("intake", "N", inf),))


def joint(window, at):
    window.act("ohms", 1.0 + at)


def power(window, at):
    window.act("factor", (5, 1.0 + 0.02 * at))


def time(window, at):
    window.tick(0.04)


@pytest.mark.parametrize("what", [joint, power, time], ids=["the joint is dragged", "a power is dragged", "filaments warm up"])
def test_redraws_against_the_whole_canvas(benchmark, what):
    with styled():
        figure = Figure(figsize=(19.0, 10.1), dpi=100)
        FigureCanvasAgg(figure)
        window = Window(case(), figure)
        figure.canvas.draw()
        start = perf_counter()
        figure.canvas.draw()
        whole = perf_counter() - start
        if what is time:
            window.take(moves.with_ohms(window.settings, 0.0))
            window.take(moves.next_pace(window.settings))
            window.take(moves.switch_neutral(window.settings))
        start = perf_counter()
        for at in range(REDRAWS):
            what(window, at)
        each = (perf_counter() - start) / REDRAWS
        benchmark.pedantic(what, (window, 0), rounds=1)
    benchmark.extra_info["ratio"] = round(each / whole, 2)
    print(f"\n{what.__name__}: {1 / each:.0f} redraws a second, each {each / whole:.2f} of a whole canvas ({1000 * whole:.0f} ms)")
