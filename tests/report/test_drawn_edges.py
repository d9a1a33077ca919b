"""Figures of the reports where something is missing, long, or more than one: what is drawn then. Kinds beside each."""

from dataclasses import replace
from math import inf, sqrt
from types import SimpleNamespace

import handmade
import numpy as np
import pytest
import test_drawn
from drawn import arrows, bars, drawn, line, marks, names, texts, unwritten, upright
from handmade_star import settled, star_case, state
from test_drawn import LINES, STAR, span

from lostneutral.case.model import Break, Event, Point
from lostneutral.case.seen import Logged, Recording
from lostneutral.report.course import figures as course_figures
from lostneutral.report.damage import figures as damage
from lostneutral.report.earth import figures as earth
from lostneutral.report.evidence import figures as evidence
from lostneutral.report.evidence import recorded
from lostneutral.report.ranges import figures as ranges
from lostneutral.report.star import figures as star
from lostneutral.report.waveform import figures as waves

UNDECIDED = handmade.undecided(2)


def said(axes, text):
    """The one label of `axes` that says `text`."""
    (found,) = [t for t in axes.texts if t.get_text() == text]
    return found


# Voltages and currents

def test_every_settled_state_has_its_mark_in_the_row_of_its_line():
    (axes,) = drawn(star.voltages, UNDECIDED)
    assert axes.get_xlim() == (0.0, pytest.approx(1.5 * 230 * sqrt(3)))  # room for the words of two states, 1.3 for one
    (one,) = drawn(star.voltages, STAR)
    assert one.get_xlim()[1] == pytest.approx(1.3 * 230 * sqrt(3))
    after = [[abs(u - n.nodes["intake", "N"]) for n in UNDECIDED.after.solutions] for u in LINES.values()]
    drawn_at = [z for mark in "^ovs" for z in marks(axes, mark)]
    for row, volts in enumerate(after):
        for v in volts:
            assert any(abs(z - complex(v, row)) < 1e-6 for z in drawn_at)
    assert any(" to " in text and " or " in text for text in texts(axes))


def test_a_bold_word_stands_beside_what_leaves_its_limits():
    (axes,) = drawn(star.picture, STAR)
    weights = {t.get_text(): t.get_fontweight() for t in axes.texts if "limits" in t.get_text() and " V" in t.get_text()}
    assert weights == {"289 V: above limits": "bold", "239 V: within limits": "normal", "176 V: below limits": "bold"}


def test_an_item_that_hardly_moves_has_a_mark_and_no_arrow():
    (axes,) = drawn(star.picture, handmade.star([100.0, 100.0, 100.0]))
    assert arrows(axes) == [] and marks(axes, "o") == pytest.approx([z for n in range(3) for z in (complex(100, n), complex(100, n))])
    near = replace(STAR.after.solutions[0], loads=tuple(replace(x, ratio=r, voltage=230 * r + 0j) for x, r in zip(STAR.after.solutions[0].loads, (1.011, 1.009, 1.0))))
    (axes,) = drawn(star.picture, replace(STAR, after=replace(STAR.after, solutions=(near,))))
    assert len(arrows(axes)) == 1  # a hundredth of the rated voltage is the least


def test_the_picture_reaches_as_far_as_the_furthest_item():
    (axes,) = drawn(star.picture, handmade.star([1.0, 2000.0, 5.0]))
    far = max(end.real for _, end in arrows(axes))
    assert far > 140 and axes.get_xlim()[1] == pytest.approx(1.62 * (far + 8.0)) and [t for _, t in names(axes, "x")] == ["0 %", "50 %", "100 %", "150 %"]


def test_a_star_point_without_potential_is_said():
    floating = replace(STAR.after.solutions[0], nodes=STAR.after.solutions[0].nodes | {("intake", "N"): None})
    before, after = drawn(star.phasors, replace(STAR, after=replace(STAR.after, solutions=(floating,))))
    assert "N has no defined potential" in texts(after) and not [t for t in texts(after) if t.endswith(" V")] and "N" in texts(before)


def test_a_neutral_that_hardly_moved_has_no_arrow():
    moved = lambda volts: drawn(star.phasors, replace(STAR, after=replace(STAR.after, solutions=(handmade.solution(STAR.case, volts + 0j),))))[1]
    # a fiftieth of the margin, which is a fifth of 398.4 V: 1.59 V
    assert "N" in texts(moved(1.55)) and "N 1.6 V" not in texts(moved(1.55)) and "N 1.6 V" in texts(moved(1.63))


@pytest.mark.parametrize(("result", "inches"), [(handmade.star([100.0, 400.0], handmade.split_phase()), 1.6), (replace(UNDECIDED, after=replace(UNDECIDED.after, solutions=UNDECIDED.after.solutions * 2)), 8.0)])
def test_phasors_are_neither_too_low_nor_too_high_for_a_page(result, inches):
    first, *_ = drawn(star.phasors, result)
    assert first.figure.get_size_inches() == pytest.approx([6.5, inches])


def test_currents_of_several_runs_stand_under_their_names():
    two = replace(STAR.case, points=(STAR.case.points[0], replace(STAR.case.points[0], name="shed")), breaks=(Break("intake", "N", inf), Break("shed", "N", inf)))
    more = lambda s: replace(s, solutions=tuple(replace(x, currents=x.currents | {("shed", c): i for (_, c), i in x.currents.items()}) for x in s.solutions))
    (axes,) = drawn(star.currents, replace(STAR, case=two, before=more(STAR.before), after=more(STAR.after)))
    assert [t for _, t in names(axes)] == [f"{run}  {c}" for run in ("intake", "shed") for c in ("L1", "L2", "L3", "N")]
    assert axes.get_ylim() == (pytest.approx(8 * 2.9 - 0.6), -0.9) and axes.get_xlim()[1] == pytest.approx(1.28 * 300 / 230)


# Lamps and joints

def test_a_lamp_that_may_be_brighter_or_dimmer_has_a_ring_round_its_disc():
    result = SimpleNamespace(before=state(settled(star_case()), name="before"), after=state(*(replace(settled(star_case(), z), reached=False) for z in (30 + 0j, 60 + 0j))))
    (axes,) = drawn(damage.lamps, result)
    (low, high), *_ = [(low, high) for _, low, high in damage.lamps_of(result)]
    radii = [p.radius for p in axes.patches]
    # light as the power 3.4 of the voltage: 200 V and 170 V of 230
    assert (high, low) == (pytest.approx((200 / 230) ** 3.4), pytest.approx((170 / 230) ** 3.4))
    assert radii[:4] == pytest.approx([0.6 * sqrt(high), 0.6 * sqrt(low), 0.6, 0.6]) and "0.36 to 0.62 times" in texts(axes)
    assert [p.get_linewidth() for p in axes.patches[:4]] == [1.0, 1.2, 2.6, 1.1]


def test_a_row_of_many_lamps_is_as_high_as_its_discs():
    six = replace(star_case(), loads=tuple(replace(x, name=f"{x.name} {n}") for n in range(2) for x in star_case().loads))
    made = lambda at: replace(settled(star_case(), at), loads=tuple(replace(x, name=f"{x.name} {n}") for n in range(2) for x in settled(star_case(), at).loads))
    (axes,) = drawn(damage.lamps, SimpleNamespace(case=six, before=state(made(0j), name="before"), after=state(made(30 + 0j))))
    # 3.9 units high and 15.8 wide, on 6.5 inches
    assert axes.figure.get_size_inches()[1] == pytest.approx(6.5 * 3.9 / 15.8) and axes.get_xlim() == (-1.4, pytest.approx(14.4))


def test_names_of_two_lines_move_the_words_down():
    wide = lambda *names_: drawn(damage.lamps, SimpleNamespace(
        before=state(settled(star_case()), name="before"),
        after=state(replace(settled(star_case(), 30 + 0j), loads=tuple(replace(x, name=n) for x, n in zip(settled(star_case(), 30 + 0j).loads, names_))))))[0]
    short, long_ = wide("a", "b", "c"), wide("a lamp with a long name", "b", "c")
    assert sorted({t.get_position()[1] for t in short.texts}) == pytest.approx([-2.05, -1.7, -1.35])
    assert sorted({t.get_position()[1] for t in long_.texts}) == pytest.approx([-2.37, -2.02, -1.35]) and long_.get_ylim()[0] == pytest.approx(-2.82)


# Earth

def test_names_of_many_points_stand_upright():
    def of(count):
        case = replace(star_case(earthing="TN-C-S"), points=tuple(Point(f"p{n}") for n in range(count)), loads=())
        at = lambda volts: replace(settled(star_case()), nodes={("earth", ""): 0j} | {(p.name, "PE"): volts for p in case.points}, loads=())
        (axes,) = drawn(earth.earth_potentials, SimpleNamespace(case=case, before=state(at(0j), name="before"), after=state(at(80 + 0j))))
        first = axes.get_xticklabels()[0]
        return first.get_rotation(), first.get_fontsize()

    assert [of(n) for n in (6, 7, 21)] == [(0.0, 8.0), (90.0, 8.0), (90.0, 7.0)]


def test_a_foot_stands_below_the_wiring():
    case = replace(star_case(), points=(Point("house"), Point("shed", fed_from="house")))
    figures = []
    with unwritten(lambda figure: figures.append(figure) or ""):
        _, alternative = earth.wiring_tree(case, {"house": ("whole",)}, None, "Calculated, not measured.")
        earth.wiring_tree(case, {})
    assert figures[0].get_supxlabel() == "Calculated, not measured." and figures[1].get_supxlabel() == ""
    assert [f.get_size_inches()[1] for f in figures] == pytest.approx([0.27 * 3.5 + 0.14, 0.27 * 3.5])
    assert alternative == "Wiring: house unaffected; shed not known. Calculated, not measured."
    assert {t.get_text(): t.get_fontweight() for t in figures[0].axes[0].texts} == {"supply": "normal", "house: unaffected": "normal", "shed": "normal"}


# Courses

def lasting(seconds, **nodes):
    """The course of `test_drawn`, stretched to so many seconds."""
    result = test_drawn.course()
    made = result.courses.central
    return SimpleNamespace(**vars(result) | {"courses": SimpleNamespace(central=replace(
        made, times=made.times * seconds / 3, nodes=made.nodes | nodes, moments=tuple(replace(m, time=m.time * seconds / 3) for m in made.moments)))})


def test_time_is_drawn_evenly_up_to_ten_seconds_and_by_ratio_beyond():
    def axis(seconds):
        (axes,) = drawn(course_figures.voltages_in_time, lasting(seconds))
        return axes.get_xscale(), [t for _, t in names(axes, "x")]

    assert axis(10.0) == ("linear", ["0 s", "2 s", "4 s", "6 s", "8 s", "10 s"])
    assert axis(10.5) == ("symlog", ["0 s", "10 ms", "100 ms", "1 s", "10.5 s"])  # none within the last third
    assert axis(90000.0) == ("symlog", ["0 s", "10 ms", "100 ms", "1 s", "10 s", "60 s", "10 min", "60 min", "10 h", "25 h"])


def test_a_line_that_floats_all_the_time_has_no_name_at_the_end():
    result = lasting(3.0)
    nodes = result.courses.central.nodes
    nodes["intake", "L2"] = np.full(6, np.nan + 0j)
    (axes,) = drawn(course_figures.voltages_in_time, result)
    assert "L2" not in texts(axes) and {"L1", "L3"} <= set(texts(axes)) and axes.get_ylim() == (0.0, pytest.approx(1.08 * 230 * sqrt(3)))
    nodes["intake", "L1"] = LINES["L1"] + np.array([0, 0, 300, 300, 400, np.nan])
    (axes,) = drawn(course_figures.voltages_in_time, result)
    assert axes.get_ylim()[1] == pytest.approx(1.08 * abs(630 + 10j))  # the highest of the course, where that is more


def test_moments_at_one_place_share_a_mark():
    result = lasting(3.0)
    made = result.courses.central
    still = SimpleNamespace(central=replace(made, nodes=made.nodes | {("intake", "N"): np.array([0j, 0j, 100 + 0j, 100 + 0j, 105.9 + 0j, 105.9 + 0j])}))
    (axes,) = drawn(course_figures.track, SimpleNamespace(**vars(result) | {"courses": still}))
    assert "2, 3" in texts(axes)  # within 6 % of the largest shift
    apart = SimpleNamespace(central=replace(made, nodes=made.nodes | {("intake", "N"): np.array([0j, 0j, 100 + 0j, 100 + 0j, 106.9 + 0j, np.nan])}))
    (axes,) = drawn(course_figures.track, SimpleNamespace(**vars(result) | {"courses": apart}))
    assert {"1", "2", "3"} <= set(texts(axes))


# Evidence and ranges

@pytest.mark.parametrize(("against", "inside"), [(9500.0, True), (10500.0, False)])
def test_a_figure_stands_in_its_bar_where_that_is_long_enough(against, inside):
    found = SimpleNamespace(rivals=[SimpleNamespace(words=w, against=a) for w, a in (("best", 1.0), ("other", against))])
    (axes,) = drawn(evidence.rival_causes, found)
    label = said(axes, "1 to 9500" if inside else "1 to 10000")
    assert label.get_ha() == ("right" if inside else "left") and label.get_position()[0] == pytest.approx((0.8 if inside else 1.3) / against)


def test_bands_of_the_verbal_scale_are_grey_in_turn():
    found = SimpleNamespace(rivals=[SimpleNamespace(words="best", against=1.0), SimpleNamespace(words="none", against=0.0)])
    (axes,) = drawn(evidence.rival_causes, found)
    grey = [p.get_extents().width > 0 and p.get_facecolor()[:3] for p in axes.patches if p not in [b for c in axes.containers for b in c]]
    assert len(grey) == 6 and grey[0] == (1.0, 1.0, 1.0) == grey[2] == grey[4] and grey[1] == grey[3] == grey[5] != grey[0]
    assert [left + width for left, width, _ in bars(axes)] == pytest.approx([1.0, 1.0])


def test_no_more_than_ten_causes_are_drawn():
    found = SimpleNamespace(rivals=[SimpleNamespace(words=f"cause {n}", against=1.0 + n) for n in range(12)])
    (axes,) = drawn(evidence.rival_causes, found)
    assert len(bars(axes)) == 10 and names(axes)[0] == (0, "cause 9")


def test_contours_hold_half_and_nine_tenths_of_the_samples():
    spread = np.random.default_rng(3).normal(size=(2, 4000))
    cloud = 20.0 * (spread[0] + 1j * spread[1])
    (axes,) = drawn(ranges.star_cloud, SimpleNamespace(case=STAR.case, ranges=SimpleNamespace(star=cloud, star_weight=np.ones(4000), point="intake")))
    # independent: of a round normal cloud half lies within 1.177, nine tenths within 2.146 standard deviations; two of 160 cells are smoothed over
    deviation = np.hypot(20.0, 2 * np.ptp(axes.get_xlim()) / 160)
    radii = []
    for contour in axes.collections:
        points = np.concatenate([p.vertices for p in contour.get_paths()])
        radii.append(np.abs(points[:, 0] + 1j * points[:, 1]).mean())
    assert radii == pytest.approx([1.177 * deviation, 2.146 * deviation], rel=0.03)
    assert [t.get_text() for t in axes.get_legend().get_texts()] == ["50 % of the samples inside", "90 % of the samples inside"]


def test_a_narrow_range_is_still_a_bar():
    found = SimpleNamespace(phases=(span("intake", "L1", 230.0, 230.0, 230.1, 229.0, 231.0),), loads=(), guarantee=SimpleNamespace(highest=None))
    (axes,) = drawn(ranges.range_bars, SimpleNamespace(case=STAR.case, ranges=found))
    assert bars(axes)[0][:2] == (230.0, pytest.approx(0.004 * 230 * sqrt(3))) and axes.get_xlim()[1] == pytest.approx(1.3 * 230 * sqrt(3))
    assert texts(axes)["230 · 230 · 230 V"][0] == pytest.approx(1.03 * 230 * sqrt(3))


def test_shares_of_a_range_have_room_of_ten_per_cent_at_least():
    made = lambda share: SimpleNamespace(ranges=SimpleNamespace(influences=[SimpleNamespace(name="a", share=share, width=100.0, width_known=40.0)]))
    assert [drawn(ranges.influence_chart, made(share))[0].get_xlim()[1] for share in (0.05, 0.5)] == pytest.approx([10.0, 67.5])
    assert drawn(ranges.influence_chart, made(0.5))[1].get_xlim()[1] == pytest.approx(135.0)


# Recordings

def recording(**more):
    return Recording("m.csv", "", "intake", ("L1", "N"), (0.0, 60.0, 120.0), (230.0, 231.0, 260.0), **more)


EVENTS = (Logged(30.0, "high", ("L1", "N"), "more than", 253.0), Logged(90.0, "high", ("L1", "N"), "more than", 253.0), Logged(60.0, "low", ("L2", "N"), "up to", 207.0),
          Logged(70.0, "note", ("L1", "N"), "", 0.0))


def test_events_that_were_logged_stand_at_their_voltage():
    made = replace(STAR.case, breaks=(), recordings=(replace(recording(), events=EVENTS),))
    (axes,) = drawn(recorded.recorded_over_calculated, made, {}, "a cause")
    assert marks(axes, "^") == [30 + 253j, 90 + 253j] and marks(axes, "v") == [60 + 207j]
    named = [(t.get_text(), t.xy) for t in axes.texts if t.get_text() in ("L1-N", "L2-N")]
    assert sorted(named) == [("L1-N", (90.0, 253.0)), ("L2-N", (60.0, 207.0))]  # once each, at the last
    assert axes.get_ylim() == (195.0, 272.0) and axes.get_xlabel().endswith("\n▲ above, ▼ below the voltage at which it stands: an event that was logged")
    assert "full line: recorded; " in axes.get_xlabel()
    alone = replace(made, recordings=(replace(recording(), times=(), volts=(), events=EVENTS[:3]),))
    (axes,) = drawn(recorded.recorded_over_calculated, alone, {}, "a cause")
    assert axes.get_xlim() == (-30.0, 150.0) and "full line" not in axes.get_xlabel()  # a minute beside the first and the last, where nothing else was recorded


def test_what_is_calculated_never_reaches_below_nothing():
    over = {0: [recorded.Calculated(0.0, 60.0, -5.0, 1.0, 4.0, ("N", "PE")), recorded.Calculated(60.0, 120.0, 200.0, 210.0, 220.0, ("L1", "N"))]}
    (axes,) = drawn(recorded.recorded_over_calculated, replace(STAR.case, breaks=(), recordings=(recording(),)), over, "a cause")
    low = axes.collections[0].get_paths()[0].vertices[:, 1]
    assert (low.min(), low.max()) == (-1.0, 5.0) and not [t for t in texts(axes) if "-" in t]  # one pair of terminals needs no name


def test_recordings_with_a_clock_are_drawn_by_it():
    made = replace(STAR.case, breaks=(), events=(Event(60.0, Break("intake", "N")),), recordings=(recording(zero="2025-11-08 14:00:30"),))
    (axes,) = drawn(recorded.recorded_over_calculated, made, {}, "a cause")
    assert axes.get_xlabel().startswith("time of day, from 2025-11-08 14:00 on\n") and axes.xaxis.get_major_formatter()(45.0, 0) == "14:01:15"
    assert upright(axes) == [60.0]
    with unwritten():
        _, words = recorded.recorded_over_calculated(made, {}, "a cause")
    assert " The dotted line is the beginning of the fault, at 2025-11-08 14:01." in words


def test_recordings_beyond_those_that_have_room_are_counted(monkeypatch):
    monkeypatch.setattr(recorded, "MOST", 3)
    made = replace(STAR.case, breaks=(), recordings=tuple(recording() for _ in range(4)))
    figures = drawn(recorded.recorded_over_calculated, made, {}, "a cause")
    assert len(figures) == 3 and figures[0].figure.get_size_inches()[1] == pytest.approx(0.75 + 3 * 1.05)
    (alone,) = drawn(recorded.recorded_over_calculated, replace(made, recordings=made.recordings[:1]), {}, "a cause")
    assert alone.figure.get_size_inches()[1] == pytest.approx(0.75 + 2.4)
    with unwritten():
        assert recorded.recorded_over_calculated(made, {}, "a cause")[1].endswith(" 1 more recording not drawn.")


# Waveforms

def test_the_courses_of_a_case_without_a_fault_have_one_column():
    case, made = test_drawn.pulses()
    upper, lower = drawn(waves.courses, replace(case, breaks=()), made)
    assert upper.get_title(loc="left") == "settled" and upright(upper) == [] and lower.get_xlabel() == "ms"
    assert line(upper, "course-L1") == [0 + 100j, 10 + 101j, 20 + 100j, 30 + 101j]
    slow = replace(made, after=replace(made.after, duration=0.05))
    assert line(drawn(waves.courses, replace(case, breaks=()), slow)[0], "course-L1") == [0 + 100j, 10 + 101j]  # a cycle that lasts is drawn once


def test_a_star_point_that_floats_has_no_spectrum():
    case, made = test_drawn.pulses()
    current, volts = drawn(waves.spectrum, case, replace(made, after=replace(made.after, stars={"intake": None})))
    assert "floats: no figure" in texts(volts) and len(current.containers) == 1
    (alone,) = drawn(waves.spectrum, case, replace(made, before=None))
    assert alone.get_title(loc="left") == "Star point after the break, V"


def test_what_does_not_run_is_bold():
    case, made = test_drawn.pulses()
    (axes,) = drawn(waves.links, case, made)
    assert {t.get_text(): t.get_fontweight() for t in axes.texts} == {"415 V, above its rating": "bold", "330 V, runs": "normal", "111 V, at its cut-off": "bold"}
    assert axes.get_xlim()[1] == pytest.approx(1.55 * 422) and said(axes, "330 V, runs").get_position()[0] == pytest.approx(1.03 * 422)
    assert [t for _, t in names(axes, "x")] == ["0", "100", "200", "300", "400"]
