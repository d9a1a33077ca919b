"""Every figure of the reports by what is drawn: texts and where they stand, lengths of bars, ends of lines, discs. Kinds beside each."""

from cmath import exp
from dataclasses import replace
from math import inf, pi, sqrt
from types import SimpleNamespace

import handmade
import numpy as np
import pytest
from drawn import arrows, bars, drawn, level, line, marks, names, texts, upright
from handmade_star import settled, star_case, state

from lostneutral.case.model import Break, Point
from lostneutral.circuit.record import Course, Occurrence
from lostneutral.circuit.waveform.waves import LoadWave, Wave, Waveforms, WaveState
from lostneutral.evidence.spans import Span
from lostneutral.report.course import figures as course_figures
from lostneutral.report.course.film import _draw
from lostneutral.report.damage import figures as damage
from lostneutral.report.earth import figures as earth
from lostneutral.report.evidence import figures as evidence
from lostneutral.report.ranges import figures as ranges
from lostneutral.report.star import figures as star
from lostneutral.report.waveform import figures as waves
from lostneutral.studies.joint import JointSweep

TURN = exp(2j * pi / 3)
LINES = {"L1": 230 + 0j, "L2": 230 * TURN**2, "L3": 230 * TURN}
NAMES = ["Cooker", "Hall lamp", "Boiler"]
STAR = handmade.star([100.0, 200.0, 300.0], names=NAMES)
# closed form of resistances: the star point, and lines to neutral √(19/12), √(13/12), √(7/12) times 230 V
SHIFT = 230 * (1 / 6 + TURN**2 / 3 + TURN / 2)
VOLTS = [230 * sqrt(k / 12) for k in (19, 13, 7)]  # 289.4, 239.4, 175.7 V


# Voltages and currents

def test_voltages_stand_at_their_values_before_band_and_root_three():
    (axes,) = drawn(star.voltages, STAR)
    assert upright(axes) == [pytest.approx(230 * sqrt(3))]
    band = axes.patches[0].get_extents()
    assert (axes.transData.inverted().transform(band)[:, 0]) == pytest.approx([207.0, 253.0])
    said = texts(axes)
    assert said["√3·U0 = 398 V"][0] == pytest.approx(398.37, abs=0.01) and said["EN 50160"][0] == pytest.approx(230.0)
    for row, (volts, word, mark) in enumerate(zip(VOLTS, ("above", "within", "below"), "^ov")):
        assert said[f"{volts:.1f} V: {word} limits"][1] == row
        assert complex(volts, row) == pytest.approx(min(marks(axes, mark), key=lambda z: abs(z - complex(volts, row))))
        assert complex(230, row) in marks(axes, "o")
        assert [230.0, pytest.approx(volts)] in [list(x.get_xdata()) for x in axes.lines]
    assert names(axes) == [(0, "intake  L1"), (1, "intake  L2"), (2, "intake  L3")]


def test_a_split_phase_supply_has_its_line_to_line_voltage_and_no_root():
    (axes,) = drawn(star.voltages, handmade.star([100.0, 400.0], handmade.split_phase()))
    # arithmetic: 240 V divide as 4 to 1
    assert upright(axes) == [240.0] and texts(axes)["line to line = 240 V"][0] == 240.0
    assert [s for s in texts(axes) if "limits" in s] == ["192.0 V: above limits", "48.0 V: below limits"]


def test_bars_of_currents_are_as_long_as_their_amperes():
    (axes,) = drawn(star.currents, STAR)
    # Ohm: watts over 230 V before, times the share of 230 V after; the neutral carries 230 / 230² times the shift's sum before
    before = [w / 230 for w in (100, 200, 300)] + [abs(SHIFT) * 600 / 230**2]
    after = [w * v / 230**2 for w, v in zip((100, 200, 300), VOLTS)] + [0.0]
    found = bars(axes)
    assert [width for _, width, _ in found] == pytest.approx([x for pair in zip(before, after) for x in pair], abs=1e-9)
    assert all(left == 0 for left, *_ in found)
    # two bars a conductor, and nine tenths of a bar between conductors: 2.9
    assert [y for *_, y in found] == pytest.approx([2.9 * n + k for n in range(4) for k in (0, 1)])
    said = [(t.get_text(), t.get_position()) for t in axes.texts]
    assert [text for text, _ in said] == [f"{when}: {amps}" for pair in zip(
        ("0.435 A", "0.870 A", "1.30 A", "0.753 A"), ("0.547 A", "0.905 A", "0.996 A", "0 A")) for when, amps in zip(("before", "after"), pair)]
    assert [at for _, at in said] == [pytest.approx((width + 0.012 * max(before), y)) for _, width, y in found]
    assert names(axes) == [(pytest.approx(2.9 * n + 0.5), c) for n, c in enumerate(("L1", "L2", "L3", "N"))]


def test_a_current_that_is_not_determined_has_no_bar():
    after = STAR.after.solutions[0]
    floating = replace(after, currents=after.currents | {("intake", "N"): None})
    (axes,) = drawn(star.currents, replace(STAR, after=replace(STAR.after, solutions=(floating,))))
    assert "after: not determined" in texts(axes) and bars(axes)[-1][1] == 0.0


def test_the_picture_of_page_one_names_each_item_and_ends_at_its_share_of_rated():
    (axes,) = drawn(star.picture, STAR)
    assert names(axes) == [(n, name) for n, name in enumerate(NAMES)]
    assert [t for _, t in names(axes, "x")] == ["0 %", "50 %", "100 %"] and [x for x, _ in names(axes, "x")] == [0, 50, 100]
    starts, ends = zip(*arrows(axes))
    assert starts == pytest.approx([complex(100, n) for n in range(3)]) == marks(axes, "o")
    assert ends == pytest.approx([complex(100 * v / 230, n) for n, v in enumerate(VOLTS)]) and upright(axes) == [100.0]
    words = texts(axes)
    right = 148.0  # arithmetic: 140 % at the least, 8 beside it
    for n, told in enumerate(("289 V: above limits", "239 V: within limits", "176 V: below limits")):
        assert words[told] == (right + 2, n)
    assert words["within"][0] == pytest.approx(100.0) and words["below limits"][0] == pytest.approx(79.0) and words["above limits"][0] == pytest.approx(121.0)
    band = axes.transData.inverted().transform(axes.patches[0].get_extents())[:, 0]
    assert band == pytest.approx([90.0, 110.0])


@pytest.mark.parametrize("result", [STAR, handmade.star([1.0, 2000.0, 5.0])])
def test_phasors_have_their_figures_beside_them(result):
    before, after = drawn(star.phasors, result)
    for axes, name, neutral in ((before, "before", 0j), (after, "after", result.after.solutions[0].nodes["intake", "N"])):
        assert axes.get_title(loc="left") == name.capitalize()
        assert line(axes, f"{name}-triangle") == pytest.approx([*LINES.values(), LINES["L1"]])
        for conductor, corner in LINES.items():
            assert line(axes, f"{name}-{conductor}") == pytest.approx([neutral, corner])
            told = [t for t in axes.texts if t.get_text() == f"{abs(corner - neutral):.1f} V"]
            middle = neutral + 0.6 * (corner - neutral)
            assert min(abs(complex(*t.get_position()) - middle) for t in told) < 12.0  # beside its middle
            at = complex(*texts(axes)[conductor])
            assert abs(at) > 230 and abs(at / abs(at) - corner / abs(corner)) < 1e-9  # beyond its corner
        assert (f"N {abs(neutral):.1f} V" in texts(axes)) == (abs(neutral) > 1)
    assert line(after, "after-shift") == pytest.approx([0j, result.after.solutions[0].nodes["intake", "N"]])


def test_a_label_takes_the_way_that_is_clearest():
    # geometry: of sixteen ways the one in the middle of the widest gap, whatever the lengths
    assert star.clearest([1 + 0j, 200j, -3 + 0j]) == pytest.approx(-1j) and star.clearest([5 + 0j]) == pytest.approx(-1)
    assert star.clearest([1 + 0j, -1 + 0j, -0.1j]) == pytest.approx(1j)


# Lamps, joints

def test_lamps_are_discs_of_their_light():
    case = star_case()
    # +30 V: the light put into a state by hand is the ratio to the power 3.4
    at = {name: (abs(LINES[name[-2:]] - 30) / 230) ** 3.4 for name in ("on L1", "on L2", "on L3")}
    result = SimpleNamespace(before=state(settled(case), name="before"), after=state(settled(case, 30 + 0j)))
    assert damage.lamps_of(result) == tuple((name, pytest.approx(v), pytest.approx(v)) for name, v in at.items())
    (axes,) = drawn(damage.lamps, result)
    discs = [p for p in axes.patches if p.get_gid()]
    assert [p.radius for p in discs] == pytest.approx([0.6 * sqrt(v) for v in at.values()])
    assert [p.center[0] for p in discs] == pytest.approx([0.0, 2.6, 5.2])
    assert [p.radius for p in axes.patches if not p.get_gid()] == [0.6] * 6  # the light before, twice drawn
    # arithmetic: (200/230)^3.4 = 0.62; (246.4/230)^3.4 = 1.26
    for x, (name, word, times) in zip((0.0, 2.6, 5.2), (("on L1", "dimmer", "0.62"), ("on L2", "brighter", "1.3"), ("on L3", "brighter", "1.3"))):
        column = sorted(t.get_text() for t in axes.texts if t.get_position()[0] == pytest.approx(x))
        assert column == sorted((name, word, f"{times} times"))


def test_a_joint_is_drawn_from_sound_to_open():
    ohms = np.array([0.0, 1.0, 10.0, 100.0, inf])
    sweep = JointSweep(Break("intake", "N", 10.0), ohms, np.array([5.0, 4.0, 2.0, 0.3, 0.0]), np.array([0.0, 16.0, 40.0, 9.0, 0.0]),
                       np.array([0.0, 4.0, 20.0, 30.0, 66.4]), {"L1": np.array([230.0, 234.0, 250.0, 260.0, 289.4])})
    upper, lower = drawn(damage.joint, sweep, 10.0)
    at = [1 / 3, 1.0, 10.0, 100.0, 300.0]  # the ends stand a third and three times beyond
    assert line(upper, "joint-L1") == pytest.approx([complex(x, y) for x, y in zip(at, sweep.phases["L1"])])
    assert line(upper, "joint-N") == pytest.approx([complex(x, y) for x, y in zip(at, sweep.shifts)])
    assert line(lower, "joint-heat") == pytest.approx([complex(x, y) for x, y in zip(at, sweep.heats)])
    assert texts(upper)["L1 289 V"] == pytest.approx((360.0, 289.4)) and texts(upper)["N 66 V"] == pytest.approx((360.0, 66.4))
    assert texts(lower)[" can shed 10 W"] == pytest.approx((1 / 3, 10.0)) and level(lower) == [10.0]
    assert upright(upper) == upright(lower) == [10.0]
    assert [t for _, t in names(lower, "x")] == ["sound", "1", "10", "100", "open"]


# Earth

def test_earth_terminals_stand_at_their_volts():
    case = replace(star_case(earthing="TN-C-S"), points=(Point("first"), Point("second"), Point("third")), loads=())
    base = settled(star_case())

    def at(*volts):
        nodes = {("earth", ""): 0j} | {(p.name, "PE"): v for p, v in zip(case.points, volts)}
        return replace(base, nodes=nodes, loads=())

    result = SimpleNamespace(case=case, before=state(at(0j, 1 + 0j, 2j), name="before"), after=state(at(30 + 40j, None, 80 + 0j)))
    (axes,) = drawn(earth.earth_potentials, result)
    assert line(axes, "earth-before") == [0j, 1 + 1j, 2 + 2j] and line(axes, "earth-after") == [50j, 2 + 80j]  # |30 + 40j| = 50 V
    assert level(axes) == [50.0] and "50 V, conventional limit" in texts(axes)
    assert names(axes, "x") == [(0, "first"), (1, "second"), (2, "third")]


def test_touch_against_electrode_is_drawn_to_scale_with_both_limits():
    found = SimpleNamespace(point="house", ohms=np.array([10.0, 100.0, 500.0]), volts=np.array([20.0, 90.0, 180.0]))
    (axes,) = drawn(earth.touch_against_electrode, found)
    assert line(axes, "touch") == [10 + 20j, 100 + 90j, 500 + 180j] and axes.get_xscale() == "log"
    assert level(axes) == [50.0, 70.0] and {s: at[1] for s, at in texts(axes).items()} == {"50 V, conventional limit": 50.0, "70 V, charging points": 70.0}
    assert axes.get_xlabel() == "own electrode at house, Ω"


def test_the_wiring_has_each_point_behind_what_feeds_it():
    case = replace(star_case(), points=(Point("joint", "joint"), Point("house", fed_from="joint"), Point("shed", fed_from="house"), Point("next", fed_from="joint")))
    place = SimpleNamespace(breaks=(Break("house", "N"),), crosses=(), words="a break")
    (axes,) = drawn(earth.wiring_tree, case, {"house": ("high", "low"), "shed": ("live",)}, place)
    said = texts(axes)
    assert [said[t][1] for t in ("supply", "joint", "house: above limits and below limits", "shed: live metalwork", "next")] == [0, 1, 2, 3, 4]
    step = 0.8
    # the text begins behind as many strips as the point has outcomes
    assert [said[t][0] for t in ("supply", "joint", "house: above limits and below limits", "shed: live metalwork", "next")] == pytest.approx(
        [0.61, step + 0.61, 2 * step + 1.16, 3 * step + 0.61, 2 * step + 0.61])
    (cross,) = marks(axes, "x")
    assert cross.imag == 2 and step < cross.real < 2 * step  # in the cable to the house
    assert [p.get_hatch() for p in axes.patches if p.get_hatch()] == ["////", "....", "xxxx"]


# Courses

def course():
    """A second of 230 V, then the star of 100, 200, 300 W; the boiler fails after another second."""
    case = STAR.case
    times = np.array([0.0, 1.0, 1.0, 2.0, 2.0, 3.0])
    neutral = np.array([0j, 0j, SHIFT, SHIFT, -10j, -10j])
    nodes = {("intake", name): np.full(6, u) for name, u in LINES.items()} | {("intake", "N"): neutral}
    volts = {name: np.abs(u - neutral) for name, u in zip(NAMES, LINES.values())}
    volts["Boiler"][4:] = np.nan
    moments = tuple(Occurrence(t, kind, "", what, {("intake", name): float(abs(u - n)) for name, u in LINES.items()}) for t, kind, what, n in (
        (0.0, "start", "all is sound", 0j), (1.0, "break", "N opens", SHIFT), (2.0, "failure", "Boiler fails", -10j), (3.0, "end", "end", -10j)))
    made = Course(times, nodes, volts, {}, {}, {}, {}, moments, "time", {"Boiler": (2.0, "element")})
    return SimpleNamespace(case=case, verdicts=STAR.verdicts, courses=SimpleNamespace(central=made))


def test_the_track_of_the_star_point_is_numbered_where_it_stood():
    (axes,) = drawn(course_figures.track, course())
    assert line(axes, "triangle") == pytest.approx([*LINES.values(), LINES["L1"]])
    assert line(axes, "track") == pytest.approx([0j, 0j, SHIFT, SHIFT, -10j, -10j])
    at = {text: complex(*where) for text, where in texts(axes).items()}
    assert (at["1"], at["2"], at["3"]) == (0j, pytest.approx(SHIFT), -10j) and "4" not in at  # the end has no number
    for name, corner in LINES.items():
        assert abs(at[name] / abs(at[name]) - corner / 230) < 1e-9 and abs(at[name]) > 230


def test_voltages_in_time_are_those_of_the_course():
    (axes,) = drawn(course_figures.voltages_in_time, course())
    for name, u in LINES.items():
        assert line(axes, f"course-{name}") == pytest.approx([complex(t, abs(u - n)) for t, n in zip((0, 1, 1, 2, 2, 3), (0, 0, SHIFT, SHIFT, -10j, -10j))])
        assert texts(axes)[name][0] == 1.0  # at the right edge, each no nearer to the next than 6 % of the height
    assert level(axes) == [pytest.approx(230 * sqrt(3))] and upright(axes) == [0.0, 1.0, 2.0, 3.0]
    heights = sorted(texts(axes)[name][1] for name in LINES)
    assert min(b - a for a, b in zip(heights, heights[1:])) >= 0.06 * 398.37 - 1e-9
    assert heights[0] == pytest.approx(min(abs(u + 10j) for u in LINES.values()))


def test_strips_are_as_long_as_a_condition_lasts():
    result = course()
    (axes,) = drawn(course_figures.strips, result)
    assert names(axes) == [(0, "Cooker"), (1, "Hall lamp"), (2, "Boiler")]
    # resistors: 289.4 V is too high, 175.7 V too low; L2 keeps within 253 V; -10j V leaves all within
    rows = {y: [(left, width) for left, width, at in bars(axes) if at == y] for y in (0, 1, 2)}
    assert rows == {0: [(0.0, 1.0), (1.0, 1.0), (2.0, 1.0)], 1: [(0.0, 3.0)], 2: [(0.0, 1.0), (1.0, 1.0), (2.0, 1.0)]}
    words = [(t.get_text(), t.get_position()[1]) for t in axes.texts]
    assert words == [("running", 0), ("above limits", 0), ("running", 0), ("running", 1), ("running", 2), ("below limits", 2), ("failed", 2)]
    assert course_figures.changing(result) == ["Cooker", "Boiler"]
    (few,) = drawn(course_figures.strips, result, only=["Hall lamp"])
    assert names(few) == [(0, "Hall lamp")]


def test_a_frame_of_the_film_shows_its_moment():
    from matplotlib.figure import Figure

    figure = Figure()
    _draw(figure, course(), 3)
    told = [t.get_text() for t in figure.texts]
    assert told[:2] == ["2 s", "Boiler fails"] and told[2] == "L1 289 V   L2 239 V   L3 176 V"
    ends = [[complex(x, y) for x, y in zip(found.get_xdata(), found.get_ydata())] for found in figure.axes[0].lines]
    for corner in LINES.values():
        assert [pytest.approx(SHIFT), pytest.approx(corner)] in ends


# Evidence and ranges

def test_rivals_have_bars_by_their_likelihood():
    found = SimpleNamespace(rivals=[SimpleNamespace(words=w, against=a) for w, a in (("open neutral", 1.0), ("joint", 5.0), ("swap", 2e7), ("weak", 400.0))])
    (axes,) = drawn(evidence.rival_causes, found)
    # the best on top; 1 to 2e7 lies beyond the axis, which ends at a millionth
    assert [t for _, t in names(axes)] == ["swap", "weak", "joint", "open neutral"]
    assert [left + width for left, width, _ in bars(axes)] == pytest.approx([1.2e-6, 1 / 400, 1 / 5, 1.0])
    assert all(left == 1e-6 for left, *_ in bars(axes)) and [y for *_, y in bars(axes)] == pytest.approx([0, 1, 2, 3])
    said = texts(axes)
    assert [said[t][1] for t in ("less than 1 to a million", "1 to 400", "1 to 5.0", "fits best")] == [0, 1, 2, 3]
    assert said["1 to 5.0"][0] == pytest.approx(0.16) and said["less than 1 to a million"][0] == pytest.approx(1.3e-6)
    edges = [1.0, 1 / 2, 1 / 10, 1 / 100, 1e-3, 1e-4, 1e-6]
    assert [x for x, _ in names(axes, "x")] == pytest.approx(edges)
    # published scale: weak support from 2 to 10, in the middle of its band
    for word, left, right in (("no", 1, 0), ("weak", 2, 1), ("moderate", 3, 2), ("moderately\nstrong", 4, 3), ("strong", 5, 4), ("very\nstrong", 6, 5)):
        assert said[word][0] == pytest.approx(sqrt(edges[left] * edges[right]))


def test_ranges_given_evidence_are_bars_from_5_to_95():
    found = SimpleNamespace(voltages=[("house", "L1", 280.0, 300.0, 340.0), ("house", "L2", 180.0, 200.0, 210.0), ("house", "L3", None, None, None)])
    (axes,) = drawn(evidence.voltages_given_evidence, STAR.case, found)
    assert bars(axes) == [(180.0, 30.0, pytest.approx(0)), (280.0, 60.0, pytest.approx(1))]
    assert names(axes) == [(0, "L2 at house"), (1, "L1 at house")] and upright(axes) == [230.0]
    assert texts(axes) == {"180 – 200 – 210": (216.0, 0), "280 – 300 – 340": (346.0, 1)}
    assert [x.get_xdata()[0] for x in axes.lines if len(set(x.get_ydata())) == 2 and x.get_xdata()[0] in (200.0, 300.0)] == [200.0, 300.0]


def span(name, line_, low, middle, high, least, most):
    return Span(name, line_, low, middle, high, (1.0, 1.0, 1.0), least, most, 1.0)


def test_bars_of_ranges_and_what_is_certain():
    found = SimpleNamespace(phases=(span("intake", "L1", 220.0, 260.0, 330.0, 200.0, 390.0), span("intake", "L2", None, None, None, None, None)),
                            loads=(span("Hall lamp", "", 150.0, 180.0, 240.0, 120.0, 260.0),), guarantee=SimpleNamespace(highest=395.0))
    (axes,) = drawn(ranges.range_bars, SimpleNamespace(case=STAR.case, ranges=found))
    assert bars(axes) == [(220.0, 110.0, pytest.approx(0)), (150.0, 90.0, pytest.approx(1))]
    assert names(axes) == [(0, "L1 at intake"), (1, "Hall lamp  L2-N")] and upright(axes) == [pytest.approx(230 * sqrt(3)), 395.0]
    said = texts(axes)
    assert said["220 · 260 · 330 V"][1] == 0 and said["150 · 180 · 240 V"][1] == 1 and said["certain: at most 395 V"][0] == 395.0
    ends = [[*x.get_xdata()] for x in axes.lines]
    assert [200.0, 390.0] in ends and [120.0, 260.0] in ends and [260.0, 260.0] in ends and [180.0, 180.0] in ends
    open_ = SimpleNamespace(**{**vars(found), "guarantee": SimpleNamespace(highest=None)})
    (axes,) = drawn(ranges.range_bars, SimpleNamespace(case=STAR.case, ranges=open_))
    assert texts(axes)["line to line 398 V"][0] == pytest.approx(398.37, abs=0.01) and len(upright(axes)) == 1


def test_influences_are_bars_of_their_share():
    made = [SimpleNamespace(name=n, share=s, width=100.0, width_known=w) for n, s, w in (("power of boiler", 0.6, 40.0), ("electrode", 0.002, 99.0))]
    shares, widths = drawn(ranges.influence_chart, SimpleNamespace(ranges=SimpleNamespace(influences=made)))
    assert [(width, y) for _, width, y in bars(shares)] == [(60.0, pytest.approx(0)), (pytest.approx(0.2), pytest.approx(1))]
    assert texts(shares) == {"60 %": (61.5, 0), "below 0.5 %": (pytest.approx(1.7), 1)}
    assert names(shares) == [(0, "power of boiler"), (1, "electrode")] and marks(widths, "D") == [40 + 0j, 99 + 1j]
    assert texts(widths)["40 V"] == (43.0, 0) and texts(widths)["with the unknowns 100 V"][0] == 100.0 and upright(widths) == [100.0]


def test_a_cloud_of_star_points_lies_where_the_samples_are():
    points = np.array([10 + 5j, 20 - 5j, np.nan, -30j])
    found = SimpleNamespace(star=points, star_weight=np.ones(4), point="intake")
    (axes,) = drawn(ranges.star_cloud, SimpleNamespace(case=STAR.case, ranges=found))
    assert marks(axes, ".") == [10 + 5j, 20 - 5j, -30j] and line(axes, "triangle") == pytest.approx([*LINES.values(), LINES["L1"]])


# Waveforms

def wave(*harmonics):
    return Wave(230.0, 300.0, 230.0, (*harmonics, *[0.0] * (40 - len(harmonics))), (0.0,) * 40, None)


def pulses():
    case = star_case(kind="electronic", parameters={"power": 60.0, "front_end": "rectifier", "capacitor_rating": 400.0})
    links = {"on L1": (330.0, 320.0, 338.0), "on L2": (415.0, 410.0, 422.0), "on L3": (111.0, 100.0, 120.0)}

    def of(name, times, shift):
        seen = tuple(LoadWave(x.name, x.connect, True, wave(230.0), None, 60.0, links[x.name] if name == "after" else (310.0, 300.0, 320.0)) for x in case.loads)
        traces = {("volts", "intake", c): np.array([k, k + 1.0]) + shift for k, c in enumerate(LINES)} | {("star", "intake"): np.array([7.0, 8.0]) + shift}
        return WaveState(name, "settled", True, 0.02, {"intake": wave(1.0, 0.0, 50.0)}, {("intake", c): wave(230.0) for c in LINES},
                         {("intake", "N"): wave(2.0, 0.0, 3.0)}, seen, np.array(times), traces)

    before, after = of("before", [0.0, 0.01], 0.0), of("after", [0.0, 0.01], 100.0)
    return case, Waveforms("", 1.0, True, before, after, np.array([-0.01, 0.01]), before.traces)


def test_links_stand_at_their_volts_with_cut_off_and_rating():
    (axes,) = drawn(waves.links, *pulses())
    assert [t for _, t in names(axes)] == ["on L2  L2-N", "on L1  L1-N", "on L3  L3-N"]  # the highest on top
    said = texts(axes)
    assert [said[t][1] for t in ("415 V, above its rating", "330 V, runs", "111 V, at its cut-off")] == [0, 1, 2]
    ends = [([*x.get_xdata()], [*x.get_ydata()]) for x in axes.lines]
    for row, (mean, low, high) in enumerate(((415.0, 410.0, 422.0), (330.0, 320.0, 338.0), (111.0, 100.0, 120.0))):
        assert ([low, high], [row, row]) in ends and complex(mean, row) in marks(axes, "o") and complex(310.0, row) in marks(axes, "o")
        for edge in (90 * sqrt(2), 400.0):
            assert any(x == pytest.approx([edge, edge]) and y == pytest.approx([row - 0.35, row + 0.35]) for x, y in ends)


def test_spectra_have_bars_as_high_as_their_orders():
    current, volts = drawn(waves.spectrum, *pulses())
    assert current.get_title(loc="left") == "Neutral current before the break, A" and volts.get_title(loc="left") == "Star point after the break, V"
    for axes, first, third in ((current, 2.0, 3.0), (volts, 1.0, 50.0)):
        heights = {p.get_x() + p.get_width() / 2: (p.get_height(), p.get_hatch()) for c in axes.containers for p in c}
        assert heights[1.0] == (first, None) and heights[3.0] == (third, "xxxx") and heights[2.0] == (0.0, None) and len(heights) == 25


def test_courses_of_waveforms_are_drawn_in_milliseconds():
    upper, then, lower, last = drawn(waves.courses, *pulses())
    assert line(upper, "course-L1") == [-10 + 0j, 10 + 1j] and line(upper, "course-L3") == [-10 + 2j, 10 + 3j] and line(lower, "course-N") == [-10 + 7j, 10 + 8j]
    # two turns of 20 ms
    assert line(then, "course-L1") == [0 + 100j, 10 + 101j, 20 + 100j, 30 + 101j] and line(last, "course-N")[0] == 107j
    assert upright(upper) == upright(lower) == [0.0] and upper.get_title(loc="left") == "before and after the break"
