"""Every figure of a lesson beside its constructions by what is drawn: texts and where they stand, ends of phasors, discs. Kinds beside each."""

from cmath import exp, rect
from math import inf, pi, sqrt

import handmade
import pytest
from drawn import bars, drawn, line, marks, texts

from lostneutral.data import load
from lostneutral.teaching import figures
from lostneutral.teaching.bench import Bench, plain_star
from lostneutral.teaching.drawing import box_of, panel_mm, round_length
from lostneutral.teaching.film import Opening, draw_step
from lostneutral.teaching.look import Look

TURN = exp(2j * pi / 3)
CORNERS = {"L1": 24 + 0j, "L2": 24 * TURN**2, "L3": 24 * TURN}
OHMS = {"L1": 180.0, "L2": 82.0, "L3": 56.0}
# closed form: the node-voltage formula of 180, 82 and 56 ohm on 24 V
NEUTRAL = sum(CORNERS[x] / r for x, r in OHMS.items()) / sum(1 / r for r in OHMS.values())


def board(kind="resistive", joint=inf, ohms=OHMS):
    rated = {x: 24**2 / r for x, r in ohms.items()}
    return Bench("three-phase", kind, "", (), rated, dict.fromkeys(rated, ""), plain_star("three-phase", 24.0, rated, kind, joint))


LAMPS = board("lamp", ohms={"L1": 24**2 / 5, "L2": 24**2 / 10, "L3": 24**2 / 10})


def test_the_wiring_of_the_bench_has_its_parts_in_each_line():
    left, right = drawn(figures.bench_wiring, board())
    assert left.get_title(loc="left") == "Link in" and right.get_title(loc="left") == "Link out"
    for axes, link in ((left, "link in"), (right, "link out")):
        said = texts(axes)
        for y, name in ((3, "L1"), (2, "L2"), (1, "L3"), (0, "N")):
            assert said[name] == (-0.25, y)
        # by the closed form no resistor of these takes more than a few watts at 24 V; ratings leave a margin of two (lesson.toml)
        for y, ohms in ((3, "180 Ω"), (2, "82 Ω"), (1, "56 Ω")):
            (part,) = [at for text, at in said.items() if text.startswith(f"{ohms}, ")]
            assert part == (4.0, pytest.approx(y + 0.28))
        assert said[link] == (1.05, -0.34) and said["star point"] == (5.6, -0.25)
        assert len([t for t in axes.texts if t.get_text() == "A"]) == 4  # an ammeter in each line and the neutral
    assert any([*x.get_xdata()] == [0.7, 1.4] and [*x.get_ydata()] == [0, 0] for x in left.lines)  # the link closed
    assert any([*x.get_xdata()] == [0.7, 1.25] and [*x.get_ydata()] == [0, 0.42] for x in right.lines)  # and open


def test_a_resistor_in_the_place_of_the_link_and_a_line_that_is_not_used():
    made = board(joint=33.0, ohms={"L1": 180.0, "L3": 56.0})
    _, right = drawn(figures.bench_wiring, made)
    said = texts(right)
    assert right.get_title(loc="left") == "Resistor in" and said["not used"] == (0.4, 2)
    (instead,) = [text for text in said if text.startswith("33 Ω, ")]
    # Ohm: N at Σ U/R over Σ 1/R + 1/33
    at = sum(CORNERS[x] / r for x, r in (("L1", 180), ("L3", 56))) / (1 / 180 + 1 / 56 + 1 / 33)
    watts = abs(at) ** 2 / 33
    assert made.joint_watts == pytest.approx(watts) and float(instead.split()[2]) >= watts
    assert made.ohms("L1") == pytest.approx(180.0) and made.volt("L1", made.after) == pytest.approx(abs(24 - at))
    lamps = texts(drawn(figures.bench_wiring, LAMPS)[0])
    assert lamps["lamp, 5 W"][1] == pytest.approx(3.28) and {t for t in lamps if t.startswith("lamp")} == {"lamp, 5 W", "lamp, 10 W"}


def test_phasors_of_the_bench_end_where_they_should():
    left, right = drawn(figures.bench_phasors, board())
    for number, (axes, neutral) in enumerate(((left, 0j), (right, NEUTRAL))):
        assert line(axes, f"phasor-{number}-triangle") == pytest.approx([*CORNERS.values(), CORNERS["L1"]])
        for name, corner in CORNERS.items():
            assert line(axes, f"phasor-{number}-{name}") == pytest.approx([neutral, corner])
            told = f"{abs(corner - neutral):.1f} V"
            at = [complex(*t.get_position()) for t in axes.texts if t.get_text() == told]
            assert min(abs(z - (neutral + 0.55 * (corner - neutral))) for z in at) < 0.4 * 24
        assert pytest.approx(neutral) in marks(axes, "o") and {"N", "L1", "L2", "L3"} <= texts(axes).keys()
    assert "24.0 V" in texts(left) and "24.0 V" not in texts(right)


def test_the_scale_to_measure_by_is_a_round_number_of_its_unit():
    # arithmetic: 42 V across with margins of 15 % of the larger side, three tenths of the width at most
    low, high, margin = box_of([*CORNERS.values(), 0j])
    assert (high - low) == pytest.approx(36 + 24 * sqrt(3) * 1j) and margin == pytest.approx(0.15 * 24 * sqrt(3))
    (axes,) = drawn(figures.blank, CORNERS)
    assert line(axes, "blank-triangle") == pytest.approx([*CORNERS.values(), CORNERS["L1"]])
    across = 36 + 2 * margin
    length = round_length(0.3 * across)
    assert length == 10.0 and [round_length(x) for x in (1.0, 1.99, 2.0, 4.9, 5.1, 99.0, 0.3)] == pytest.approx([1, 1, 2, 2, 5, 50, 0.2])
    at = complex(*texts(axes)["10 V"])
    bar = next(x for x in axes.lines if len(x.get_xdata()) == 2 and x.get_ydata()[0] == x.get_ydata()[1] == pytest.approx(at.imag))
    assert bar.get_xdata()[1] - bar.get_xdata()[0] == pytest.approx(10.0)
    # 165 mm of page for that width, or 5.7 inches for the height with 2.8 margins
    assert panel_mm([*CORNERS.values(), 0j]) == pytest.approx(25.4 * min(6.5 / across, 5.7 / (24 * sqrt(3) + 2.8 * margin)))


def test_an_empty_point_shows_the_directions_of_the_currents_alone():
    amps = {"L1": 0.5 + 0j, "L2": 0.2 * TURN**2, "L3": 0.8 * TURN}
    (axes,) = drawn(figures.blank_currents, amps)
    for name, i in amps.items():  # all of one length, so that it gives nothing away
        assert line(axes, f"direction-{name}") == pytest.approx([0j, 1.15 * 0.8 * i / abs(i)])
    assert not any("A" == text.split()[-1] and text != "0.5 A" for text in texts(axes)) and "0.5 A" in texts(axes)  # the scale
    assert {"L1", "L2", "L3"} <= texts(axes).keys()


def test_light_is_drawn_by_area_with_its_word():
    (axes,) = drawn(figures.light, LAMPS)
    said = [(t.get_text(), t.get_position()) for t in axes.texts]
    for n, name in enumerate(LAMPS.lines):
        times = LAMPS.load(name, LAMPS.after).details["light"] / LAMPS.load(name, LAMPS.before).details["light"]
        disc = next(p for p in axes.patches if p.get_gid() == f"lamp-{name}")
        assert disc.radius == pytest.approx(0.6 * sqrt(min(times, 4.0))) and disc.center == pytest.approx((3.2 * n, 0.0))
        assert (f"{name}: lamp, {LAMPS.rated[name]:g} W", (pytest.approx(3.2 * n), -1.75)) in said
        word = "too bright" if times > 1.5 else "dimmer"
        assert any(text.startswith(f"{word}, ") and at == (pytest.approx(3.2 * n), -2.15) for text, at in said)
        rays = [x for x in axes.lines if abs(complex(x.get_xdata()[0], x.get_ydata()[0]) - 3.2 * n) < 1.4]
        assert len(rays) == (12 if times > 1.1 else 0)
    # symmetry, 5 W beside twice 10 W: the small lamp gets more than the others, which get alike
    lights = [LAMPS.load(name, LAMPS.after).details["light"] for name in LAMPS.lines]
    assert lights[0] > 1.5 and lights[1] == pytest.approx(lights[2]) and lights[1] < 1


def test_the_measured_lamp_lies_on_the_model_s_line_and_off_the_resistor_s():
    (axes,) = drawn(figures.lamp_curve)
    table = load("lamps")["measured_220_volt"]
    assert line(axes, "lamp-measured") == [complex(v, i) for v, i in zip(table["voltage"], table["value"])]
    model, fixed = line(axes, "lamp-model"), line(axes, "lamp-fixed")
    # Ohm: 0.71 A at 220 V, in proportion
    assert all(z.imag == pytest.approx(0.71 * z.real / 220) for z in fixed) and fixed[-1].real == pytest.approx(1.3 * 220)
    for volts, amps in zip(table["voltage"], table["value"]):
        near = min(model, key=lambda z: abs(z.real - volts))
        # published table: 5 % from 60 V up, and half a step of the line; below, more than measured
        assert near.imag == pytest.approx(amps, rel=0.055) if volts >= 60 else near.imag > amps
    assert model[60].imag > 2 * fixed[60].imag  # at 43 V


@pytest.mark.parametrize(("ohms", "word"), [(0.0, "sound"), (38.0, "38 Ω"), (inf, "open")])
def test_a_frame_of_the_lesson_s_film(ohms, word):
    from matplotlib.figure import Figure

    result = handmade.star([100.0, 200.0, 300.0])
    corners = dict(result.case.supply.phasors)
    neutral = 66.4 * rect(1, pi * 5 / 6)
    loads = {load_.name: (abs(u - neutral), None if n else 2.25) for n, (load_, u) in enumerate(zip(result.case.loads, corners.values()))}
    way = Opening((0.0, ohms), (0j, neutral), (corners, corners), ({}, loads))
    figure = Figure()
    draw_step(figure, result, way, Look(), 1)
    told = [t.get_text() for t in figure.texts]
    # arithmetic: 289.4, 239.4, 175.7 V
    assert told[0] == f"Joint in the neutral: {word}" and told[1].split("      ") == ["L1–N 289 V", "L2–N 239 V", "L3–N 176 V"]
    star, side = figure.axes
    assert not star.axison and not side.axison
    assert complex(star.texts[-1].xy[0], star.texts[-1].xy[1]) == pytest.approx(neutral) and star.texts[-1].get_text() == "N"
    ends = [[complex(x, y) for x, y in zip(found.get_xdata(), found.get_ydata())] for found in star.lines]
    for corner in corners.values():
        assert [pytest.approx(neutral), pytest.approx(corner)] in ends
    said = texts(side)
    assert said["289 V, 126 % of rated"] == (1.7, -0.45) and said["176 V, 76 % of rated"][1] == pytest.approx(-5.65)
    assert [p.radius for p in side.patches if hasattr(p, "radius")] == pytest.approx([0.55 * 1.5, 0.55])  # 2.25 times the light
    assert [left for left, *_ in bars(side)] == [-0.9, -0.9]
    assert [width for _, width, _ in bars(side)] == pytest.approx([abs(corners[x] - neutral) / 230 for x in ("L2", "L3")])
    nothing = Opening((0.0, ohms), (0j, None), (corners, {}), ({}, {}))
    figure = Figure()
    draw_step(figure, result, nothing, Look(), 1)
    assert "no settled voltage of N" in texts(figure.axes[0]) and figure.texts[1].get_text() == ""
