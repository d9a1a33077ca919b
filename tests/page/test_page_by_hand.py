"""What the page takes together, leaves out and says, of small cases worked out by hand. Kind of all: arithmetic, or behaviour laid down."""

from dataclasses import replace
from math import inf
from types import SimpleNamespace

import handmade
import numpy as np
import pytest
from page_cases import LAMPS, PHASORS

from lostneutral import parse_case
from lostneutral.case.model import Break, Case, Cross, Load, Path, Point, Supply
from lostneutral.circuit.wiring import wiring
from lostneutral.errors import UsageError
from lostneutral.page import content, laws, lumped, outcomes
from lostneutral.page.curves import hermite, packed, read
from lostneutral.page.star_alone import star_content


def lamp(name, point="a", power=60.0, line="L1", **more):
    return Load(name, "lamp", (line, "N"), point, 230.0, parameters={"power": power}, **more)


def test_resistances_in_parallel():
    assert [lumped._parallel(x) for x in ((), (0.0, 5.0), (20.0, 30.0), (7.0,))] == [None, 0.0, pytest.approx(12.0), pytest.approx(7.0)]


def test_like_loads_are_taken_together():
    said = lambda *loads: [(x.name, x.count, x.on) for x in lumped._together(loads)]
    assert said(lamp("x", count=2), lamp("y", count=3)) == [("x, 2 together", 5, True)]
    assert said(lamp("x"), lamp("y", on=False)) == [("x", 1, True)]  # of those some of which are on, the others go
    assert said(lamp("x", on=False), lamp("y")) == [("y", 1, True)]
    assert said(lamp("x", on=False), lamp("y", on=False)) == [("x, 2 together", 2, False)]
    assert said(lamp("Lamp, cottage 1"), lamp("Lamp, cottage 2")) == [("Lamp, 2 together", 2, True)] and said(lamp("Lamp, cottage 1")) == [("Lamp", 1, True)]
    for other in (lamp("y", power=40.0), lamp("y", "b"), lamp("y", line="L2"), replace(lamp("y"), kind="resistive"), replace(lamp("y"), voltage=240.0)):
        assert len(said(lamp("x"), other)) == 2
    # names stay unique
    assert [name for name, *_ in said(lamp("Lamp, 1"), lamp("Lamp, 2", line="L2"), lamp("Heat", power=9.0))] == ["Lamp (L1-N)", "Lamp (L2-N)", "Heat"]


TREE = (Point("a", "joint", phases=("L1",), electrode=5.0), Point("b", "joint", "a", electrode=None), Point("c", "intake", "b", electrode=20.0),
        Point("d", "intake", "a", electrode=5.0), Point("e", "intake", "b", electrode=30.0), Point("f", "joint", "supply", electrode=1.0))
STREET = Case("Street", Supply(PHASORS, earthing="TN-C-S"), TREE,
              tuple(lamp(f"{at} {n}", at, 20.0 + n) for at in "ce" for n in range(13)) + (lamp("d", "d", on=False), lamp("f", "f")),
              paths=(Path("c", "d", 8.0), Path("c", "earth", 9.0), Path("c", "e", 1.0), Path("c", "f", 1.0)), crosses=(Cross("c", ("L1", "N")), Cross("b", ("L1", "N"))),
              breaks=(Break("e", "L1", inf), Break("b", "N", 3.0)))


def test_a_street_is_put_at_the_two_ends_of_its_joint():
    made = lumped.lumped(STREET)
    assert [(p.name, p.kind, p.phases, p.electrode and round(p.electrode, 9)) for p in made.points] == [
        ("a", "intake", ("L1", "L2", "L3"), round(1 / 1.4, 9)), ("b", "intake", ("L1", "L2", "L3"), 12.0)]  # 5, 5 and 1; 20 and 30 ohm in parallel
    assert [(x.name, x.point, x.count, x.parameters["power"]) for x in made.loads[:2]] == [("c 0, 2 together", "b", 2, 20.0), ("c 1, 2 together", "b", 2, 21.0)]
    assert {x.point for x in made.loads[:13]} == {"b"} and [(x.name, x.point, x.count) for x in made.loads[13:]] == [("f", "a", 1)]  # "d" is alike and off
    assert made.paths == (Path("b", "a", 8.0), Path("b", "earth", 9.0), Path("b", "a", 1.0))
    assert made.crosses == (Cross("b", ("L1", "N")),) and made.breaks == (Break("b", "N", 3.0),)


def test_a_street_whose_joint_is_the_first_point_leaves_out_what_is_not_behind():
    made = lumped.lumped(replace(STREET, breaks=(Break("a", "N", inf),)))
    assert [p.name for p in made.points] == ["a"] and made.points[0].electrode == pytest.approx(1 / (2 / 5 + 1 / 20 + 1 / 30))
    assert {x.point for x in made.loads} == {"a"} and "f" not in {x.name for x in made.loads} and made.paths == (Path("a", "earth", 9.0),)


def test_no_more_than_there_is_room_for():
    loads = tuple(lamp(f"x{n}", "a", 20.0 + n) for n in range(25))
    few = replace(STREET, points=TREE[:1], paths=(), crosses=(), breaks=(Break("a", "N", inf),))
    whole = replace(few, loads=loads[:24])
    assert lumped.lumped(whole) is whole
    with pytest.raises(UsageError, match="25 different loads — a page shows at most 24"):
        lumped.lumped(replace(few, loads=loads))
    alike = lumped.lumped(replace(few, loads=(*loads[:23], lamp("y"), lamp("z")), observations=("seen",)))
    assert len(alike.loads) == 24 and alike.points == few.points and alike.observations == ()


def test_the_joint_of_a_page():
    assert lumped.lumped_joint(STREET) == ("b", 3.0) and lumped.lumped_joint(replace(STREET, breaks=STREET.breaks[:1])) == ("a", 0.0)
    assert list(lumped.fed_through(STREET, "e")) == ["e", "b", "a"]
    assert content._joint(STREET, "b", 3.0) == {"words": "PEN in the cable to b", "pen": True, "given": 3.0}
    assert content._joint(LAMPS, "intake", inf) == {"words": "neutral in the cable to intake", "pen": False, "given": None}


def test_a_motor_is_three_impedances_that_take_its_power():
    motor = Load("pump", "motor", ("L1", "L2", "L3"), "intake", 400.0, parameters={"power": 3000.0, "power_factor": 0.8})
    made, names = lumped.as_impedances(replace(LAMPS, loads=(*LAMPS.loads, motor)))
    assert names == ("pump",) and made.loads[:3] == LAMPS.loads and made.loads[3].kind == "impedance" and made.loads[3].connect == ("L1", "L2", "L3")
    z = complex(made.loads[3].parameters["resistance"], made.loads[3].parameters["reactance"])
    taken = 3 * 400**2 / z.conjugate()  # three branches between lines, by Ohm's law
    assert taken.real == pytest.approx(3000.0, rel=1e-3) and taken.real / abs(taken) == pytest.approx(0.8, rel=2e-3)


@pytest.mark.parametrize(("earthing", "ohms"), [("TT", 500.0), ("TN-C-S", None)])
def test_an_electrode_of_tt_that_is_left_out_is_there(earthing, ohms):  # stated: the highest of the range that reports give
    taken, _ = content.shown_as(replace(LAMPS, supply=replace(LAMPS.supply, earthing=earthing)), False)
    assert [p.electrode for p in taken.points] == [ohms]


@pytest.mark.parametrize(("earthing", "run", "at"), [(None, "b", []), ("TN-S", "b", ["c", "e"]), ("TT", "b", ["b", "c", "e"]), ("TN-C-S", "a", ["a", "c", "d"]), ("TN-S", "d", ["d"])])
def test_electrodes_that_a_page_can_change(earthing, run, at):
    assert content._electrode_points(replace(STREET, supply=replace(STREET.supply, earthing=earthing)), run) == at  # behind the joint, three at most


def test_what_else_is_wrong_is_told():
    said = content._also(replace(STREET, breaks=(*STREET.breaks, Break("c", "L1", 2.5))), "b", ("pump",))
    assert len(said) == 5 and said[0].endswith(" is open-circuit") and said[1].endswith(" has a high-resistance joint (2.5 Ω)")
    assert said[2:] == ["pump: taken on this page as a fixed impedance, which holds on balanced lines only", "L1 and N are transposed at c", "L1 and N are transposed at b"]


def test_the_wiring_of_a_page_has_its_joint_apart():
    case = replace(LAMPS, points=(replace(LAMPS.points[0], electrode=20.0, phases=("L1", "L2", "L3")),), loads=(replace(LAMPS.loads[0], on=False), *LAMPS.loads[1:]))
    held, number = content._wiring(case, "intake")
    assert held["terminals"] == len(number) and held["joint"] == held["joint_before"] == [number["supply", "N"], number["intake", "N"], 0.0, 0.0]
    assert "before" not in held and [e["at"] for e in held["electrodes"]] == ["intake"] and held["electrodes"][0]["given"] == 20.0
    assert held["branches"] == [[number["intake", line], number["intake", "N"], n] for n, line in enumerate(("L1", "L2", "L3"))]  # also of what is off
    rows = {tuple(row[:2]) for row in held["after"]}
    assert (number["supply", "N"], number["intake", "N"]) not in rows and len(rows) == len(wiring(case).elements) - 2  # nor the electrode
    bad, _ = content._wiring(replace(case, breaks=(Break("intake", "N", 5.0), Break("intake", "L1", inf))), "intake")
    assert bad["joint_before"] and "before" in bad and len(bad["before"]) == len(bad["after"]) + 1  # the line that is open as well


def test_the_picture_of_a_star_alone():
    result = handmade.star([100.0, 200.0, 300.0])
    made = star_content(result.case, result.after.reached)
    neutral = result.after.reached.nodes["intake", "N"]
    (seen,) = made["view"]["reading"]["points"]
    assert made["point"] == "intake" and made["view"]["share"] == pytest.approx([1 / 6, 1 / 3, 1 / 2])  # 100, 200 and 300 W at one rated voltage
    assert seen["shift"] == pytest.approx(abs(neutral)) and seen["star"] == pytest.approx([neutral.real, neutral.imag])
    assert seen["metal"] == pytest.approx(abs(neutral)) and seen["lines"] == pytest.approx({x: abs(v - neutral) for x, v in handmade.PHASORS.items()})
    assert seen["alive"] == pytest.approx(dict.fromkeys(handmade.PHASORS, 230.0)) and seen["corners"]["L1"] == [230.0, 0.0]
    floating = replace(result.after.reached, nodes={k: None if k == ("intake", "N") else v for k, v in result.after.reached.nodes.items()})
    (seen,) = star_content(result.case, floating)["view"]["reading"]["points"]
    assert seen["star"] is seen["shift"] is seen["lines"]["L1"] is None and seen["alive"]["L1"] == pytest.approx(230.0)


def test_the_star_alone_is_seen_from_behind_the_joint_where_loads_stand():
    boards = '[[point]]\nname = "a"\n[[point]]\nname = "b"\nfed_from = "a"\n'
    text = 'title = "t"\n[supply]\n' + boards + '[[load]]\nname = "x"\nkind = "resistive"\nconnect = "L1-N"\npoint = "b"\npower = 9\n[[break]]\nfeeding = "{}"\n'
    bare = SimpleNamespace(nodes={}, loads=(), between=lambda a, b: None)
    for feeding, at in (("a", "b"), ("b", "b")):
        assert star_content(parse_case(text.format(feeding)), bare)["point"] == at
    assert star_content(parse_case(text.format("a").replace('point = "b"', 'point = "a"')), bare)["point"] == "a"
    assert star_content(parse_case(text.format("a")), bare)["view"]["share"] == [0.0, 0.0, 0.0]


def test_what_lasts_of_several_reasons():
    assert outcomes._lasting(["tested; 5 s at 230 V; new", "tested; 6 s at 240 V; new"]) == "tested; new"
    assert outcomes._lasting(["it fails at 230 V", "it fails at 240 V"]) == "it fails"
    assert [outcomes._log(x) for x in (None, 1000.0, 0.0)] == [None, 3.0, -6.0]


def test_what_a_page_does_not_hold_is_refused():
    solar = Load("roof", "source", ("L1", "N"), "intake", 230.0, parameters={"power": 3000.0})
    loads = tuple(replace(solar, name=f"roof {n}") for n in range(4))
    with pytest.raises(UsageError, match=r"\(roof 0, roof 1, roof 2 …\): use analyse"):
        content.shown_as(replace(LAMPS, loads=(*LAMPS.loads, *loads)), False)
    with pytest.raises(UsageError, match=r"\(roof 0, roof 1, roof 2\): use analyse"):
        content.shown_as(replace(LAMPS, loads=(*LAMPS.loads, *loads[:3])), False)


def test_colours_of_a_country():
    assert content.palette_of(None) == "" and content.palette_of("US").startswith("US, present")
    with pytest.raises(UsageError, match="Utopia"):
        content.palette_of("Utopia")
    assert all(set(p) == {"L1", "L2", "L3"} and all(css in content.CSS.values() for css, _ in p.values()) for p in content.palettes().values())


# Curves

def test_a_cubic_is_kept_with_the_first_points_and_read_back():
    curve = hermite(lambda x: (x**3)[:, None], 0.0, 2.4, np.array([1e-6]))
    assert curve[0] == pytest.approx(np.linspace(0.0, 2.4, 25)) and curve[1][:, 0] == pytest.approx(curve[0] ** 3) and curve[2][1:-1, 0] == pytest.approx(3 * curve[0][1:-1] ** 2)
    assert read(curve, [-1.0, 0.123, 1.777, 9.0])[:, 0] == pytest.approx([0.0, 0.123**3, 1.777**3, 2.4**3], abs=1e-6)
    known = hermite(lambda x: np.column_stack([x**2, 5 - x]), 0.0, 2.4, np.array([1e-9, 1e-9]), slopes=lambda x: np.column_stack([2 * x, 0 * x - 1]))
    assert len(known[0]) == 25 and np.array_equal(known[2][:, 0], 2 * known[0]) and set(known[2][:, 1]) == {-1.0}


def test_a_jump_becomes_a_ramp_no_shorter_than_is_asked():
    # 3 / 24 is 0.125; halved while longer than twice 0.01: 0.0625, 0.03125, 0.015625
    curve = hermite(lambda x: (x > 1.01)[:, None] * 1.0, 0.0, 3.0, np.array([0.1]), 0.01)
    assert np.diff(curve[0]).min() == pytest.approx(0.015625) and len(curve[0]) == 28 and (np.diff(curve[0]) > 0).all()
    of_share = lambda share: len(hermite(lambda x: np.exp(3 * x)[:, None], 0.0, 3.0, np.array([1e-9]), share=share)[0])
    assert of_share(1e-2) == 25 < of_share(1e-6)


def test_a_curve_is_packed_in_few_digits():
    curve = np.array([0.0, 1.0]), np.array([[5.0, 1.23456789], [5.0, 2.0]]), np.array([[0.0, 1.23456789], [0.0, 1.0]])
    assert packed(curve) == [[0.0, 1.0], [5.0, [[1.23457, 2.0], [1.2346, 1.0]]]]
    assert packed((curve[0], curve[1][:, :1], curve[2][:, 1:]))[1] == [[[5.0, 5.0], [1.2346, 1.0]]]  # it keeps its value and has a slope


SIDES = [  # while it lasts; what ends it: (state, volts) of each
    (lambda x, v: v - 100.0, [(None, ["below", 100.0])]), (lambda x, v: 100.0 - v, [(None, ["above", 100.0])]),
    (lambda x, v: 5.0 - x, [(["above", 5.0], None)]), (lambda x, v: x - 5.0, [(["below", 5.0], None)]),
    (lambda x, v: max(5.0 - x, 100.0 - v), [(["above", 5.0], ["above", 100.0])]), (lambda x, v: max(x - 5.0, v - 100.0), [(["below", 5.0], ["below", 100.0])]),
    (lambda x, v: min(5.0 - x, v - 100.0), [(["above", 5.0], None), (None, ["below", 100.0])])]


@pytest.mark.parametrize(("margin", "ends"), SIDES)
def test_what_ends_a_mode_is_read_off_its_margin(margin, ends):
    asked = []
    model = SimpleNamespace(modes=("on", "off"), settled=lambda v: 0.0 * v, margin=margin, next_mode=lambda x, v: asked.append((x, v)) or "off")
    found = laws.exits(model, 600.0)
    assert [(e["state"] and [e["state"][0], pytest.approx(e["state"][1])], e["volts"] and [e["volts"][0], pytest.approx(e["volts"][1])]) for e in found] == ends
    assert {e["to"] for e in found} == {"off"} and all(margin(x, v) <= 0 for x, v in asked)  # asked just beyond the edge
    assert laws.exits(SimpleNamespace(modes=("on",)), 600.0) == []


def test_a_mode_begins_in_a_state_of_its_own_or_goes_on():
    assert laws._entered(SimpleNamespace(entered=lambda x: np.float64(5.0))) == 5.0 and laws._entered(SimpleNamespace(entered=lambda x: x)) is None
    assert list(laws._log_life([], None, np.array([1.0, 2.0]), None)) == [laws.NO_WEAR] * 2
    law = lambda central: SimpleNamespace(rates=lambda volts, model, state: (0 * volts, central + 0 * volts, 9 + 0 * volts))
    assert list(laws._log_life([law(1.0), law(np.e), law(0.0)], None, np.array([1.0]), None)) == pytest.approx([1.0])
    assert list(laws._log_life([law(0.0)], None, np.array([1.0]), None)) == pytest.approx([laws.NO_WEAR])


def test_a_lamp_moves_and_a_resistor_does_not():
    from lostneutral.loads import load_model

    assert laws.moves(load_model(LAMPS.loads[0], LAMPS.supply)[0], 230.0) is True
    assert laws.moves(load_model(replace(LAMPS.loads[0], kind="resistive"), LAMPS.supply)[0], 230.0) is False
