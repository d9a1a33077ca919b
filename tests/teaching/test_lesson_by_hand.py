"""Parts of lessons by small hand-made values: labels that keep clear, looks, words of constructions, what a key says. Kinds beside each."""

from dataclasses import replace
from math import inf, pi
from types import SimpleNamespace

import handmade
import pytest
from matplotlib.figure import Figure

from lostneutral import data
from lostneutral.errors import UsageError
from lostneutral.report.base.blocks import strong
from lostneutral.teaching import constructed, drawing, handout, key, labels, look, questions, timetable
from lostneutral.teaching.bench import Bench, plain_star
from lostneutral.teaching.look import Look
from lostneutral.teaching.quiz import statements

# Labels and drawings

def panel(points=1.0):
    axes = Figure().add_subplot()
    axes.lostneutral = drawing._Labels(points, [])
    return axes


def test_a_label_takes_the_room_of_its_letters():
    # arithmetic: a letter is 0.64 of its size wide; five of 10 points, a point beside them, 2 points a unit: 17 to each side
    low, high = drawing._Labels(2.0, []).box(1 + 1j, "12345", 10)
    assert (low, high) == (pytest.approx(-7.5 - 2j), pytest.approx(9.5 + 4j))


def test_labels_that_touch_are_free_and_those_that_overlap_are_not():
    taken = drawing._Labels(1.0, [(0j, 10 + 4j)])
    boxes = {(10, 0): True, (9.9, 0): False, (-10, 0): True, (-9.9, 0): False, (0, 4): True, (0, 3.9): False, (0, -4): True, (0, -3.9): False, (3, 1): False, (12, 9): True}
    assert {at: taken.free((complex(*at), complex(*at) + 10 + 4j)) for at in boxes} == boxes
    taken.taken.append((20 + 0j, 30 + 4j))
    assert not taken.free((25 + 0j, 26 + 1j))  # of all labels none may be in the way


def test_a_label_moves_aside_for_one_that_is_there():
    axes = panel()
    for _ in range(3):
        drawing.write_label(axes, 0j, "abc", 1j, 20.0)
    first, *others = [complex(*t.get_position()) for t in axes.texts]
    assert first == pytest.approx(20j) and all(abs(abs(z) - 20) < 1e-9 for z in others)  # turned, as far away
    assert [z.real > 0 for z in others] == [False, True]  # by eighths of half a turn, to one side and then the other
    boxes = axes.lostneutral.taken
    assert len(boxes) == 3 and all(drawing._Labels(1.0, [a]).free(b) for n, a in enumerate(boxes) for b in boxes[:n])
    free = panel()
    drawing.write_label(free, 3 + 4j, "a", 0j, 20.0)
    assert complex(*free.texts[0].get_position()) == 3 + 4j  # without a direction where it is
    plain = Figure().add_subplot()
    drawing.write_label(plain, 0j, "a", 2j, 5.0), drawing.write_label(plain, 0j, "a", 2j, 5.0)
    assert [t.get_position() for t in plain.texts] == [(0.0, 5.0)] * 2


def test_a_lamp_has_rays_where_it_is_brighter():
    def drawn(light):
        axes = Figure().add_subplot()
        drawing.lamp(axes, 1 + 1j, light, 2.0)
        return axes

    assert [len(drawn(light).lines) for light in (0.5, 1.1, 1.11, 3.0)] == [0, 0, 12, 12]
    # light by area: 4 times is the most, 3 thousandths the least; the second circle is the usual light
    assert [[p.radius for p in drawn(light).patches] for light in (0.25, 9.0, 0.0)] == [[1.0, 2.0], [4.0, 2.0], [pytest.approx(2 * 0.003**0.5), 2.0]]
    assert [drawn(light).patches[0].get_facecolor()[:3] == (1.0, 1.0, 1.0) for light in (0.89, 0.9)] == [True, False]
    first = drawn(4.0).lines[0]
    assert list(first.get_xdata()) == pytest.approx([1 + 4 + 0.24, 1 + 4 + 0.8]) and list(first.get_ydata()) == pytest.approx([1, 1])


def test_an_arc_reaches_to_both_sides():
    axes = Figure().add_subplot()
    drawing.arc(axes, 1 + 0j, 2.0, 3j, pi / 4, "L1")
    points = [complex(x, y) - 1 for x, y in zip(axes.lines[-1].get_xdata(), axes.lines[-1].get_ydata())]
    assert len(points) == 49 and all(abs(abs(z) - 2) < 1e-9 for z in points)
    assert points[0] == pytest.approx(2**0.5 * (1 + 1j)) and points[24] == pytest.approx(2j) and points[-1] == pytest.approx(2**0.5 * (-1 + 1j))


def test_lengths_to_measure_by():
    assert [drawing.round_length(x) for x in (1.0, 1.99, 2.0, 4.99, 5.0, 9.9, 0.049, 730.0)] == pytest.approx([1, 1, 2, 2, 5, 5, 0.02, 500])
    low, high, margin = drawing.box_of([1 + 2j, -3 + 10j])
    assert (low, high, margin) == (-3 + 2j, 1 + 10j, pytest.approx(1.2))
    # 6.5 inches for 100 units and two margins of 15; 5.7 for 2.8 margins of 15 and 100 upright
    assert drawing.panel_mm([0j, 100 + 0j]) == pytest.approx(6.5 * 25.4 / 130) and drawing.panel_mm([0j, 100j]) == pytest.approx(5.7 * 25.4 / 142)


# How a class knows the conductors

def test_names_and_colours_that_there_are_not():
    with pytest.raises(UsageError, match=r"there are no labels 'X' — one of: L1/L2/L3, R/Y/B, A/B/C, U/V/W"):
        labels.relabel("L1", "X")
    case = handmade.star([1.0, 2.0, 3.0]).case
    with pytest.raises(UsageError, match="there are no colours 'pink' — one of: IEC 60445, "):
        look.look_for(case, colours="pink")
    with pytest.raises(UsageError, match="no labels"):
        look.look_for(case, "X")


def test_colours_are_those_of_the_country_unless_others_are_asked_for():
    case = handmade.star([1.0, 2.0, 3.0]).case
    uk = replace(case, supply=replace(case.supply, old_colours="UK"))
    usual = data.load("lesson")["colours"]["usual"]
    assert look.look_for(case) == Look("L1/L2/L3", usual["three-phase"]) and look.look_for(uk, "R/Y/B") == Look("R/Y/B", "UK")
    assert look.look_for(uk, colours="IEC 60445").colours == "IEC 60445"
    split = handmade.star([1.0, 2.0], handmade.split_phase()).case
    assert look.look_for(split).colours == usual["split-phase"]
    # published: the colours of the UK before 2004 and since
    assert [Look(colours=c).word("L1") for c in ("UK", "UK old")] == ["brown", "red"] and look.country_of("UK old") == "UK" and look.country_of("IEC 60445") is None


# Words of constructions

def lesson(weights, joint=inf, system="three-phase", kind="resistive", **more):
    lines = tuple(weights)
    star = plain_star(system, 24.0, weights, kind, joint=joint)
    made = Bench(system, kind, "", (), weights, dict.fromkeys(weights, ""), star)
    from lostneutral.circuit.states import before_and_after
    from lostneutral.teaching.bench import star_of
    from lostneutral.teaching.terms import terms

    fixed = plain_star(system, 24.0, weights, joint=joint)
    return SimpleNamespace(bench=made, terms=terms(system), nameplate=star_of(fixed, before_and_after(fixed)[1].reached), drawn={}, left_out={}, lines=lines, **more)


def test_the_weights_of_a_construction():
    said = constructed.weights_words(lesson({"L1": 5.0, "L2": 10.0, "L3": 20.0}))
    assert "in W: L1 5, L2 10, L3 20. N lies where the triangle would balance on a point with these weights at its corners." in said and "resistor in" not in said
    # arithmetic: 24² / 57.6 = 10 W
    back = constructed.weights_words(lesson({"L1": 5.0, "L2": 10.0, "L3": 20.0}, joint=57.6))
    assert back.endswith("The resistor in the link's place counts as a weight of 10 at the middle: (24 V)² / 57.6 Ω.")
    two = constructed.weights_words(lesson({"L1": 5.0, "L2": 10.0}, system="split-phase"))
    assert "N lies where the line would balance on a point with these weights at its ends." in two


def test_the_steps_of_a_construction():
    one = constructed.star_steps(lesson({"L1": 5.0, "L2": 10.0}, system="split-phase"))
    assert len(one) == 1 and one[0].startswith("Divide the line L1–L2: draw an auxiliary line from L1.") and one[0].endswith("meets the line in N.")
    three = constructed.star_steps(lesson({"L1": 5.0, "L2": 10.0, "L3": 20.0}))
    assert len(three) == 3 and three[0].endswith("meets the side in P.") and three[1].endswith("in the same way: Q.") and three[2].endswith("They cross in N.")
    back = constructed.star_steps(lesson({"L1": 5.0, "L2": 10.0, "L3": 20.0}, joint=57.6))
    assert len(back) == 4 and back[2].endswith("They cross in N open.") and back[3].startswith("Divide the line from N open to the cross in the same way")
    single = constructed.star_steps(lesson({"L1": 5.0, "L2": 10.0}, joint=57.6, system="split-phase"))
    assert len(single) == 2 and single[0].endswith("meets the line in N open.")


def test_parts_that_are_not_drawn_are_told_with_their_reason_once():
    made = constructed.not_constructed(SimpleNamespace(left_out={"a": "too small", "b": "no figure", "c": "too small"}))
    assert [b["text"] for b in made] == ["Not drawn here: a; c, because too small.", "Not drawn here: b, because no figure."]


# The sheet

def test_currents_that_rounding_left_are_none():
    made = lesson({"L1": 24.0, "L2": 24.0, "L3": 24.0}).bench
    assert handout.amps_in_words(made, "L1", made.before) == "1.00 A" and handout.amps_in_words(made, "N", made.before) == "0 A"
    read = lambda amps: handout.amps_in_words(SimpleNamespace(amps=lambda *_: amps, largest_current=1.0), "N", None)
    assert (read(0.00101), read(0.00099)) == ("1.01 mA", "0 A")


def test_what_a_sheet_has_no_room_for():
    assert [[b["text"] for b in handout.more([0] * n)] for n in (12, 13, 15)] == [
        [], ["1 more load of the case, for which the sheet has no room."], ["3 more loads of the case, for which the sheet has no room."]]
    load = handmade.star([100.0, 200.0, 300.0]).case.loads[0]
    assert handout.rated(load) == "230 V, 100 W" and handout.rated(replace(load, count=3)) == "230 V, 3 × 100 W" and handout.rated(replace(load, parameters={})) == "230 V"


def test_instruments_of_the_bench_in_their_order():
    names = [name for name, _ in handout.instruments(lesson({"L1": 5.0, "L2": 10.0, "L3": 20.0}).bench)]
    assert names == ["L1 and N", "L2 and N", "L3 and N", "L1 and L2", "L2 and L3", "L3 and L1", "N of the loads and N of the supply", "current in L1", "current in L2", "current in L3",
                     "current in the neutral"]
    two = [name for name, _ in handout.instruments(lesson({"L1": 5.0, "L2": 10.0}, system="split-phase", kind="lamp").bench)]
    assert two == ["L1 and N", "L2 and N", "L1 and L2", "N of the loads and N of the supply", "current in L1", "current in L2", "current in the neutral", "brightness on L1", "brightness on L2"]


def test_the_colours_table_is_that_of_the_country():
    def table(colours, old=None):
        case = SimpleNamespace(supply=SimpleNamespace(old_colours=old))
        return handout.colours(SimpleNamespace(look=Look(colours=colours), result=SimpleNamespace(case=case)))[0]["blocks"][1]

    assert {row[0] for row in table("UK old")["rows"]} == {"UK"} == {row[0] for row in table("IEC 60445", "UK")["rows"]}
    assert {row[0] for row in table("IEC 60445")["rows"]} == set(data.load("lesson")["colours"]["countries"])
    # the name of the country and the period need the most room, green-yellow more than one word
    wide = table("UK")["wide"]
    assert wide["1"] == 1.4 == max(wide.values()) and wide["6"] == 1.1 and [wide[str(n)] for n in (2, 3, 4, 5)] == [0.8] * 4 and wide["0"] == 0.9


# Questions

def test_what_the_load_that_is_left_gets():
    two = questions.predicting(lesson({"L1": 5.0, "L2": 10.0}, system="split-phase"))
    assert [q.marks for q in two] == [2, 1, 2] and two[0].answer.startswith("The load on L1: 32.0 V, 1.33 × its rated voltage.")  # 48 V, 2 to 1
    assert two[2].answer == "No current flows in the other, on L2: it has no voltage. N is then at the voltage of L2, still live."
    three = questions.predicting(lesson({"L1": 5.0, "L2": 10.0, "L3": 20.0}))
    # arithmetic: L1 fails, 41.57 V divide as 2 to 1
    assert three[2].answer == "They share the voltage in a new ratio: L2 27.7 V, L3 13.9 V."
    alike = questions.predicting(lesson({"L1": 5.0, "L2": 5.0, "L3": 5.0}))
    assert len(alike) == 2 and alike[0].answer == "Zero: equal line currents cancel." and alike[1].answer == "They share the voltage in a new ratio: L2 20.8 V, L3 20.8 V."
    joint = questions.predicting(lesson({"L1": 5.0, "L2": 10.0}, joint=57.6, system="split-phase"))
    assert joint[2].answer.startswith("The resistor still conducts, so each keeps a voltage, which changes: L2 ")
    # arithmetic: weights 1, 1 and 2 about an equilateral triangle leave the first two alike; both are named
    twins = lesson({"L1": 5.0, "L2": 5.0, "L3": 10.0})
    assert questions.predicting(twins)[0].answer.endswith("× their rated voltage. They have the smallest rated power, so the highest resistance.")
    assert questions.predicting(twins)[0].answer.startswith("The loads on L1 and L2: ")


def test_a_joint_that_conducts_does_not_put_the_loads_in_series():
    told = lambda **more: " ".join(s.because for s in statements(lesson({"L1": 5.0, "L2": 10.0}, system="split-phase", **more).bench))
    assert "The loads are in series between the lines." in told() and "in series, in phase" in told()
    assert "in series" not in told(joint=57.6) and "the resistor carries what does not balance" in told(joint=57.6)


def test_what_is_measured_in_the_construction():
    made = lesson({"L1": 5.0, "L2": 10.0}, system="split-phase")
    assert questions.drawing(made) == []
    made.drawn = {"star-point": 1}
    (asked,) = questions.drawing(made)
    assert (asked.marks, asked.lines, asked.answer) == (3, 2, "L1 32.0 V, L2 16.0 V; to the cross 8.0 V.")


# The key

def test_a_demonstration_at_mains_voltage_is_decided_with_its_bounds():
    no = key.if_at_mains(SimpleNamespace(mains=SimpleNamespace(offered=False, why_not=[SimpleNamespace(figures="the current is too large"), SimpleNamespace(figures="a PEN")])))
    assert no[1]["text"].startswith("No. Bounds: 400 V between lines, 1.4 × rated voltage, 200 W a load, 2 A a conductor, nothing that may fail within 15 minutes;")
    assert no[2]["items"] == ["The current is too large.", "A PEN."]
    _, yes = key.if_at_mains(SimpleNamespace(mains=SimpleNamespace(offered=True, current=0.5231)))
    assert yes["text"].startswith("Only as the handout says. Largest current 0.52 A. Bounds:")


def test_outcomes_and_voltages_of_the_case_in_words():
    result = SimpleNamespace(verdicts=[SimpleNamespace(item="a", outcome="runs hot"), SimpleNamespace(item="b", outcome="fails in hours")])
    assert [key._outcome(result, SimpleNamespace(name=n)) for n in "ab"] == ["overheating", "failure expected within hours"]
    assert key._change((230.0,), (240.0,), 230.0) == strong("higher")


def test_the_case_without_a_settled_state_has_no_voltages():
    result = handmade.star([100.0, 200.0, 300.0])
    told = lambda r: [b.get("text") for b in key.what_the_case_does(SimpleNamespace(result=r, drawn={}, bench=None, point="intake"))]
    none = "No settled state is known after the break, so no voltage can be given."
    assert none not in told(result) and none in told(replace(result, after=replace(result.after, solutions=())))
    assert "By calculation, for the case as its file gives it." in told(result)
    story = replace(result, case=replace(result.case, description="It was dark."))
    assert "The story, to be told afterwards: It was dark." in told(story)


def test_how_sure_names_what_is_a_guess():
    verdicts = [SimpleNamespace(item=i, confidence=c, outcome=o) for i, c, o in (("a", "poor", "fails"), ("b", "good", "fails"), ("c", "none", "was off"), ("d", "none", "dim"), ("a", "poor", "x"))]
    made = lambda kind, found: key._sure(SimpleNamespace(bench=SimpleNamespace(kind=kind), result=SimpleNamespace(verdicts=found)))
    assert made("lamp", verdicts)[2]["text"].endswith("little more than a guess: a, d.") and made("lamp", verdicts[1:3])[2] is None
    assert len(made("lamp", [])[1]["rows"]) > len(made("resistive", [])[1]["rows"])  # what is said of lamps only with lamps


def test_the_neutral_current_of_two_batteries_is_told_where_it_is_not_drawn():
    told = lambda made: [b["text"] for b in key._draw(made) if b["kind"] == "paragraph"]
    # Ohm: 10 and 5 W at 24 V
    assert told(lesson({"L1": 5.0, "L2": 10.0}, system="split-phase")) == ["The neutral current is the difference of the two line currents: 0.208 A."]
    assert told(lesson({"L1": 5.0, "L2": 10.0, "L3": 20.0})) == []


def test_marks_of_the_parts_of_a_lesson():
    result = handmade.star([100.0, 200.0, 300.0])
    made = lesson({"L1": 5.0, "L2": 10.0, "L3": 20.0}, result=result)
    found = timetable.marks_of_parts(made)
    assert found == {"readings": 4, "quiz": 2 * len(statements(made.bench)), "predict": 5, "case": 3}  # 2, 1 and 2 for predicting; a mark a load
    made.drawn = {"star-point": 1, "star-point-readings": 1, "case-readings": 1}
    assert timetable.marks_of_parts(made)["draw"] == 3 + 2 * constructed.DRAWING_MARKS and timetable.marks_of_parts(made)["case"] == constructed.DRAWING_MARKS
