"""How long the page takes to answer and draw a change with twelve loads, and how often it draws in motion.

Times are printed, none passes or fails: the machine decides. Wanted on an ordinary laptop: 16 ms a change, 60 frames a second.
`python -m pytest -m browser -n 0 -s tests/benchmarks/test_explore_speed.py` prints them.
"""

from statistics import median

import pytest
from page_cases import star

from lostneutral import analyse
from lostneutral.page import page_html

pytestmark = pytest.mark.browser
POWERS = (25.0, 60.0, 150.0, 40.0, 100.0, 75.0)
TIME_A_CHANGE = """what => { const spent = [];
    for (let k = 0; k < 120; k++) { const begun = performance.now();
        lostneutral.change((s) => { if (what === "joint") s.ohms = 0.5 + k; else s.times[5] = 1 + k / 100; }, false);
        document.body.getBoundingClientRect(); spent.push(performance.now() - begun); }
    return spent; }"""
FRAMES = """async () => { lostneutral.setPace(60); lostneutral.resist({ ohms: Infinity }, true); let frames = 0;
    const begun = performance.now();
    return await new Promise((done) => { const next = () => { frames += 1;
        if (performance.now() - begun > 2000) done(frames / (performance.now() - begun) * 1000); else requestAnimationFrame(next); };
        requestAnimationFrame(next); }); }"""


@pytest.mark.parametrize("kinds", [("lamp", "lamp"), ("lamp", "electronic")], ids=["twelve lamps", "six lamps, six power supplies"])
def test_a_change_and_a_second_of_motion(visit, kinds):
    first, second = (star(kind, *POWERS, more={"front_end": "corrected"} if kind == "electronic" else None) for kind in kinds)
    from dataclasses import replace

    loads = (*first.loads, *(replace(load, name=f"{load.name} more") for load in second.loads))
    page = visit(page_html(analyse(replace(first, loads=loads), waveforms=False)), viewport={"width": 1280, "height": 900})
    said = []
    for what in ("joint", "power"):
        spent = sorted(page.evaluate(TIME_A_CHANGE, what))
        said.append(f"{what} {median(spent):.1f} ms, 95 % within {spent[int(0.95 * len(spent))]:.1f} ms")
        assert len(spent) == 120
    frames = page.evaluate(FRAMES)
    assert frames > 0
    print(f"\n{'; '.join(said)}; in motion {frames:.0f} frames a second")
