"""The exploration window, driven by simulated events on a canvas without a screen."""

import os
import subprocess
import sys
from cmath import rect
from dataclasses import replace
from math import inf, radians
from pathlib import Path
from time import sleep

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.backend_bases import KeyEvent, MouseEvent
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from lostneutral import analyse, data, read_case
from lostneutral.case.model import Break, Case, Load, Point, Supply
from lostneutral.cli import main
from lostneutral.consequences import cautions
from lostneutral.report.drawing import styled
from lostneutral.teaching.window import settings as moves
from lostneutral.teaching.window.frame import LAMP_WORDS, LOAD_WORDS, TOLD, words
from lostneutral.teaching.window.session import Session
from lostneutral.teaching.window.view import KEYS, SMALLEST
from lostneutral.teaching.window.window import LONGEST_TICK, Window

PHASORS = {f"L{k + 1}": rect(230.0, radians(-120.0 * k)) for k in range(3)}


OPEN = (Break("intake", "N", inf),)
CASEBOOK = Path(__file__).parents[2] / "casebook"


def star(kind, *powers, breaks=OPEN, more=None):
    loads = tuple(Load(f"{kind} {n}", kind, (f"L{n + 1}", "N"), "intake", 230.0,
                       parameters={"power": power, **(more or {})}) for n, power in enumerate(powers))
    return Case("by hand", Supply(PHASORS, earthing="TN-S"), (Point("intake"),), loads, breaks=breaks)


LAMPS = star("lamp", 25.0, 60.0, 150.0)
#: by hand: each of three equal constant powers can be the one that is held low, the others high
MIRRORED = star("electronic", 100.0, 100.0, 100.0, more={"front_end": "corrected"})


@pytest.fixture
def opened():
    with styled():
        yield lambda case, size=(10.0, 7.0): drawn(case, size)


def drawn(case, size):
    figure = Figure(figsize=size, dpi=100)
    FigureCanvasAgg(figure)
    window = Window(case, figure)
    figure.canvas.draw()
    return window


def press(window, *keys):
    for key in keys:
        window.canvas.callbacks.process("key_press_event", KeyEvent("key_press_event", window.canvas, key))


def mouse(window, name, x, y):
    window.canvas.callbacks.process(name, MouseEvent(name, window.canvas, x, y, button=1))


def click(window, axes, across=0.5, up=0.5):
    x, y = axes.transAxes.transform((across, up))
    mouse(window, "button_press_event", x, y)
    mouse(window, "button_release_event", x, y)


def drag(window, slider, to):
    at, up = slider.ax.transData.transform((slider.val, 0.5))
    there = slider.ax.transData.transform((to, 0.5))[0]
    mouse(window, "button_press_event", at, up)
    mouse(window, "motion_notify_event", there, up)
    mouse(window, "button_release_event", there, up)


def texts(window):
    return [t.get_text() for axes in window.figure.axes for t in axes.texts if t.get_visible()]


def same(found, expected):
    """The window's solution against one of `analyse`: kind independent, from a cold start instead of the last state."""
    for terminal, volts in expected.nodes.items():
        assert found.nodes[terminal] == (None if volts is None else pytest.approx(volts, abs=1e-6))
    for mine, other in zip(found.loads, expected.loads):
        assert mine.power == pytest.approx(other.power, rel=1e-7, abs=1e-7)
        assert mine.details.get("light", 0.0) == pytest.approx(other.details.get("light", 0.0), rel=1e-7)


MOVES = st.lists(st.one_of(
    st.builds(lambda ohms: lambda s: moves.with_ohms(s, ohms), st.sampled_from([0.0, 0.05, 2.0, 80.0, inf])),
    st.builds(lambda n: lambda s: moves.switch_load(s, n % len(s.on)), st.integers(0, 9)),
    st.builds(lambda n, f: lambda s: moves.with_factor(s, n % len(s.on), f), st.integers(0, 9), st.floats(0.25, 4.0))),
    min_size=1, max_size=6)


@settings(max_examples=12, deadline=None, derandomize=True)
@given(st.sampled_from(["three-unequal-lamps", "split-phase-house", "marina", "leaves-the-triangle"]), MOVES)
def test_after_any_moves_the_answer_is_that_of_analyse(name, made):
    session = Session(read_case(CASEBOOK / f"{name}.toml"))
    for move in made:
        session.change(move(session.settings))
    if session.problem:
        return
    assert session.complete
    same(session.solution, analyse(session.case).after.reached)


def test_where_several_states_are_possible_the_whole_search_takes_over():
    session = Session(MIRRORED, whole=False)
    assert not session.complete
    session.search()
    after = analyse(session.case).after
    assert session.complete and len(session.solutions) == sum(s.attracting for s in after.solutions) >= 3  # independent
    same(session.solution, session.solutions[0])


def test_the_search_beside_comes_with_the_clock():
    session = Session(star("electronic", 100.0, breaks=(), more={"front_end": "corrected"}), whole=False)
    for _ in range(600):
        if session.complete:
            break
        session.tick(0.1)
        sleep(0.02)
    same(session.solution, analyse(session.case).after.reached or session.solutions[0])


def test_what_has_no_answer_is_said_and_not_raised(opened):
    ideal = star("impedance", 1.0, breaks=())
    short = replace(ideal, loads=(replace(ideal.loads[0], parameters={"resistance": 0.0, "reactance": 0.0}),))
    window = opened(short)
    assert window.frame.star is None and any("No answer" in note for note in window.frame.notes)
    press(window, " ")
    assert window.frame.volts["L1"] == pytest.approx(230.0)  # practice: without the short the supply stands


def test_the_lamps_of_the_lesson(opened):  # practice: the smallest lamp glares, the largest dims; equal ones stay
    bars = opened(LAMPS).frame.bars
    assert [bar.word for bar in bars] == ["glaring", "glaring", "dim"]
    assert bars[0].times > bars[1].times > bars[2].times
    assert {bar.word for bar in opened(star("lamp", 60.0, 60.0, 60.0)).frame.bars} == {"unchanged"}


def test_the_neutral_is_switched_by_click_and_by_key(opened):
    window = opened(LAMPS)
    click(window, window.view.buttons[0].ax)
    assert window.settings.ohms == 0 and window.frame.volts["L1"] == pytest.approx(230.0)
    press(window, "n")
    assert window.settings.ohms == inf and window.frame.volts["L1"] > 300


def test_the_joint_is_dragged_and_stepped(opened):
    window = opened(LAMPS)
    drag(window, window.view.joint, moves.place(10.0))
    assert window.settings.ohms == pytest.approx(10.0, rel=0.1)  # within a dot of the slider
    assert "ohm" in window.view.joint_said.get_text()
    press(window, "right")
    assert window.settings.ohms in (10.0, 20.0)
    drag(window, window.view.joint, 1.0)
    assert window.settings.ohms == inf
    press(window, "left")
    assert window.settings.ohms == 1e4
    for _ in range(30):
        press(window, "left")
    assert window.settings.ohms == 0


@given(st.floats(0.01, 1e4))
@settings(derandomize=True, max_examples=50)
def test_a_place_of_the_slider_stands_for_one_resistance(ohms):  # invariant
    assert moves.ohms_at(moves.place(ohms)) == pytest.approx(ohms, rel=1e-9)


def test_a_load_is_switched_and_set(opened):
    window = opened(LAMPS)
    click(window, window.view.switches.ax, 0.045, 0.5)
    assert window.settings.on == (True, False, True) and window.frame.bars[1].word == "off"
    press(window, "up", " ")
    assert window.settings.on == (False, False, True)
    press(window, "r")
    assert window.settings.on == (True, True, True)
    drag(window, window.view.rows[2][-1], 1.0)
    assert window.settings.factors[2] == pytest.approx(2.0, rel=0.05) and window.frame.bars[2].factor > 1.9
    press(window, *["-"] * 4)
    assert window.settings.factors[2] == pytest.approx(1.0, rel=0.05)
    assert window.frame.bars[2].rated.endswith(" W")


def test_every_key_does_something_and_is_in_the_list(opened):
    window = opened(LAMPS)
    listed = {" ": "space", "enter": "Enter", "left": "←", "right": "→", "up": "↑", "down": "↓", "-": "−",
              "pageup": "Page ↑", "pagedown": "Page ↑ ↓", "=": "+"}
    for key in ("down", *window.keys):
        assert listed.get(key, key) in KEYS, key
        if key in ("s", "r", "o", "pageup", "pagedown"):  # one settled state, point and page; nothing to go back to
            continue
        window.take(moves.with_ohms(window.settings, 5.0))
        before = window.settings
        press(window, key)
        assert window.settings != before, key
    before = window.settings
    press(window, "x", None)
    assert window.settings == before


def test_points_and_pages(opened):
    window = opened(read_case(CASEBOOK / "row-of-cottages.toml"))
    shown = {label.get_text() for label in window.view.switches.labels}
    first = window.frame.place
    press(window, "pagedown")
    assert len(shown) == 12 and shown.isdisjoint(label.get_text() for label in window.view.switches.labels)
    assert any("page 3 of 3" in text for text in texts(window))
    press(window, "o", "pageup")
    assert window.frame.place != first and any("page 2 of 3" in text for text in texts(window))


def test_predict_first_hides_every_reading_until_it_is_shown(opened):
    window = opened(LAMPS)
    press(window, "p", "n")
    view = window.view
    assert {text.get_text() for text in view.readings.values()} == {"?"}
    assert len(view.star.get_xdata()) == 0 and all(len(p.get_xdata()) == 0 for p in view.phasors.values())
    assert all(row[0].get_x() == 0 and row[2].get_text() == "?" for row in view.rows.values())
    assert "V from" not in "".join(texts(window)) and "V" not in words(window.frame, ()).replace("Voltage", "")
    press(window, "enter")
    assert view.readings["L1"].get_text() == "230 V" and len(view.star.get_xdata()) == 1
    press(window, "right")
    assert view.readings["L1"].get_text() == "?"  # the next change asks again


@pytest.mark.parametrize("size", [(10.13, 6.98), (19.0, 10.1)], ids=["for 1024 x 768", "for 1920 x 1080"])
@pytest.mark.parametrize("name", ["three-unequal-lamps", "leaves-the-triangle", "split-phase-house"])
def test_phasors_are_true_to_scale(opened, name, size):
    """Invariant: a dot is as many volts along every phasor, and as many as in the readings."""
    window = opened(read_case(CASEBOOK / f"{name}.toml"), size)
    scale = []
    for line, drawn_line in window.view.phasors.items():
        ends = window.view.plane.transData.transform(np.transpose(drawn_line.get_data()))
        scale.append(np.hypot(*(ends[1] - ends[0])) / window.frame.volts[line])
        assert window.view.plane.get_window_extent().containsx(ends[0][0])
    assert scale == pytest.approx([scale[0]] * len(scale), rel=1e-9)


@pytest.mark.parametrize("size", [(10.13, 6.98), (19.0, 10.1)], ids=["for 1024 x 768", "for 1920 x 1080"])
def test_no_text_is_clipped_or_leaves_its_panel_or_is_too_small(opened, size):
    case = read_case(CASEBOOK / "row-of-cottages.toml")
    worst = replace(case, supply=replace(case.supply, earthing=None))  # has the most cautions
    longest = [max((*LAMP_WORDS.values(), *LOAD_WORDS.values(), "not working", *TOLD.values()), key=len)] * 36
    for case in (worst, LAMPS):
        window = opened(case, size)
        press(window, "left", "left")
        now = window.frame
        window.view.show(replace(now, notes=("A note that is longer than any line beside it has room for.",) * 4, volts={
            line: 388.0 for line in now.volts}, neutral_current=88.8, bars=tuple(
            replace(bar, word=word, times=8.88, rated="12000 W") for bar, word in zip(now.bars, longest))), window.settings)
        for *_, rated, slider in window.view.rows.values():
            assert rated.get_window_extent().x0 > slider.ax.get_window_extent().x1
        whole = window.figure.bbox
        renderer = window.canvas.get_renderer()
        least = SMALLEST * window.view.unit * 72 / 100
        for axes in window.figure.axes:
            for text in axes.texts:
                if text.get_visible() and text.get_text():
                    box = text.get_window_extent(renderer)
                    assert whole.x0 <= box.x0 and box.x1 <= whole.x1 and whole.y0 <= box.y0 and box.y1 <= whole.y1, text
                    assert text.get_fontsize() >= 0.999 * least
        for panel in window.view.panels:
            for text in (a for a in panel.artists if hasattr(a, "get_text") and a.get_visible() and a.get_text()):
                box = text.get_window_extent(renderer)
                assert panel.box.x0 - 1 <= box.x0 and box.x1 <= panel.box.x1 + 1, text
                assert panel.box.y0 - 2 <= box.y0 and box.y1 <= panel.box.y1 + 2, text


def test_drawing_what_changed_leaves_the_same_picture_as_drawing_all(opened):  # invariant
    window = opened(LAMPS)
    press(window, "n", "right", "right", "p", "enter", "down", " ", "+", "enter", "enter", "t", "p", "enter", "left")
    after_moves = np.array(window.canvas.buffer_rgba())
    window.canvas.draw()
    assert np.abs(after_moves.astype(int) - np.array(window.canvas.buffer_rgba())).max() <= 2


def test_other_settled_states_are_ghosts(opened):
    window = opened(MIRRORED)
    seen = window.frame.star
    assert len(window.frame.ghosts) == len(window.session.solutions) - 1 >= 2
    assert [mark.get_xdata()[0] for mark, _ in window.view.ghosts[:2]] == [z.real for _, z in window.frame.ghosts[:2]]
    sizes = [abs(z) for _, z in window.frame.ghosts] + [abs(seen)]
    assert sizes == pytest.approx([sizes[0]] * len(sizes), rel=1e-4)  # invariant: equal loads, mirror images
    press(window, "s")
    assert abs(window.frame.star - seen) > 10 and "shown: B" in " ".join(window.frame.notes)


def test_cautions_are_in_view_whatever_is_done(opened):
    window = opened(LAMPS)
    for keys in ((), ("p", "n"), ("right", "right", "enter")):
        press(window, *keys)
        wanted = cautions(window.session.case, "short")
        assert " ".join(wanted) in " ".join(window.view.warned.get_text().replace("⚠ ", "").split())
        assert len(wanted) == len(cautions(window.session.case))
    assert any("joint heats" in text for text in wanted)  # the joint is now a bad one


def test_every_caution_has_a_short_form():
    assert all(0 < len(c["short"]) <= 80 and c["short"].endswith(".") for c in data.load("cautions")["caution"])


def test_a_window_of_another_size_is_drawn_anew(opened):
    window = opened(LAMPS)
    before = window.view.unit
    window.figure.set_size_inches(16, 10)
    window.canvas.callbacks.process("resize_event", None)
    window.canvas.draw()
    press(window, "n")
    assert window.view.unit > before and window.view.readings["L1"].get_text() == "230 V"


def test_filaments_warm_up_in_time(opened):
    window = opened(replace(LAMPS, breaks=()))
    press(window, "t", "t", "n")  # real time; the neutral opens
    light = []
    for _ in range(60):
        window.tick(0.04)
        light.append(window.frame.bars[0].times)
    after = analyse(window.session.case).after.reached
    assert 1.0 < light[0] < 0.9 * after.loads[0].details["light"]  # on its way
    assert np.diff(light).min() > -1e-4  # invariant, to the tolerance of the course: the smallest lamp only grows brighter
    assert light[-1] == pytest.approx(after.loads[0].details["light"], rel=1e-3)  # independent: the settled state


def test_time_stands_while_the_class_predicts_and_never_jumps(opened):
    window = opened(replace(LAMPS, breaks=()))
    press(window, "t", "p", "n")
    window.tick(5.0)
    press(window, "enter")
    assert window.frame.bars[0].times == pytest.approx(1.0, abs=1e-6)
    window.tick(5.0)  # counts as LONGEST_TICK, ten times slower
    slow = window.frame.bars[0].times
    other = Session(replace(LAMPS, breaks=()))
    other.change(replace(other.settings, pace=0.1))
    other.change(moves.switch_neutral(other.settings))
    other.tick(LONGEST_TICK)
    assert slow == pytest.approx(other.solution.loads[0].details["light"], rel=1e-9)
    press(window, "t", "t", "t")
    assert window.frame.pace == "settled"
    assert window.frame.volts["L1"] == pytest.approx(abs(analyse(window.session.case).after.reached.voltage("intake", "L1")))


def test_a_still_is_a_picture_with_its_words(tmp_path):
    picture = tmp_path / "frame.png"
    arguments = ["explore", str(CASEBOOK / "three-unequal-lamps.toml"), "--still", str(picture)]
    done = CliRunner().invoke(main, arguments)
    assert done.exit_code == 0 and picture.read_bytes().startswith(b"\x89PNG")
    result = analyse(read_case(CASEBOOK / "three-unequal-lamps.toml"))
    for line in ("L1", "L2", "L3"):
        assert f"{line} to neutral: {abs(result.after.reached.voltage('intake', line)):.1f} V" in done.stdout
    assert all(caution in done.stdout for caution in result.cautions) and "Clock lamp" in done.stdout
    first = picture.read_bytes()
    again = CliRunner().invoke(main, arguments)
    assert again.exit_code == 2 and "--force" in again.stderr
    assert CliRunner().invoke(main, [*arguments, "--force"]).exit_code == 0 and picture.read_bytes() == first
    vector = CliRunner().invoke(main, ["explore", str(CASEBOOK / "split-phase-house.toml"), "--still", str(tmp_path / "f.svg")])
    assert vector.exit_code == 0 and "<svg" in (tmp_path / "f.svg").read_text(encoding="utf-8")


@pytest.mark.parametrize(("arguments", "said"), [
    ([str(CASEBOOK / "bakery.toml"), "--still", "frame.gif"], ".png or .svg"), (["nowhere.toml"], "nowhere.toml")])
def test_faults_end_in_words_and_2(arguments, said):
    done = CliRunner().invoke(main, ["explore", *arguments])
    assert done.exit_code == 2 and said in done.stderr and not done.stdout


def test_a_faulty_case_is_told_with_its_place(tmp_path):
    (tmp_path / "bad.toml").write_text('title = "x"\n[supply]\n[[load]]\nname = "a"\nkind = "lmp"\nconnect = "L1-N"\n')
    done = CliRunner().invoke(main, ["explore", str(tmp_path / "bad.toml"), "--still", str(tmp_path / "f.png")])
    assert done.exit_code == 2 and "bad.toml:5:" in done.stderr and not (tmp_path / "f.png").exists()


@pytest.mark.parametrize("backend", ["agg", "tkagg"])
def test_without_a_screen_the_command_says_what_to_do(backend):
    if backend == "tkagg" and not sys.platform.startswith("linux"):
        pytest.skip("a screen is always there")
    surroundings = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "WAYLAND_DISPLAY")}
    done = subprocess.run([sys.executable, "-c", "from lostneutral.cli import main; main()", "explore", str(CASEBOOK / "three-equal-lamps.toml")],
                          check=False, env=surroundings | {"MPLBACKEND": backend}, capture_output=True, text=True, timeout=60)
    assert done.returncode == 2 and "Traceback" not in done.stderr
    assert "--still" in done.stderr and "tkinter" in done.stderr
