"""What no other test holds, found by changing the program in one place after another: each by hand, its kind beside it."""

from math import sqrt
from types import SimpleNamespace

import numpy as np
import pytest
from casebook_results import FOLDER, result
from click.testing import CliRunner
from handmade_star import star_case

from lostneutral import parse_case, read_case
from lostneutral.case.model import Observation
from lostneutral.circuit.states import before_and_after
from lostneutral.circuit.waveform.steady import Repeating
from lostneutral.claims import observed, protective
from lostneutral.claims.model import Condition
from lostneutral.cli import main
from lostneutral.cli.teach import _tasks
from lostneutral.consequences.devices import MAY, WOULD
from lostneutral.consequences.limits import band
from lostneutral.errors import CaseError
from lostneutral.evidence.ranges import _tests
from lostneutral.page.star_alone import _shares, star_content
from lostneutral.report.documents.given import given
from lostneutral.studies.electrode_range import touch_range
from lostneutral.teaching.bench import _line_powers
from lostneutral.teaching.exercises.stars import neutral_current_lagging
from lostneutral.teaching.exercises.task import Unclear
from lostneutral.teaching.handout import vocabulary
from lostneutral.teaching.star import NotAStar
from lostneutral.verify.checks import own_checks


def case_of(*loads):
    """The case of `loads` at one intake, each (line, kind, further keys)."""
    return parse_case('title = "t"\nsupply = {}\n' + "".join(
        f'[[load]]\nname = "{n}"\nconnect = "{line}-N"\nkind = "{kind}"\n' + "".join(f"{k} = {v}\n" for k, v in keys.items())
        for n, (line, kind, keys) in enumerate(loads)))


LAMP = ("L1", "resistive", {"power": 100})


def test_a_stage_that_is_over_sooner_than_a_device_has_to_act_leaves_it_open(monkeypatch):
    # behaviour laid down: what lasts for less than the device has before it needs to act may or may not be met by it
    entry = {"need_not_act_before": 1.0}
    device = SimpleNamespace(poles=())
    monkeypatch.setattr(protective, "judged", lambda *_: SimpleNamespace(answer=WOULD, value=90.0, device=device))
    monkeypatch.setattr(protective.devices, "open_pen_devices", lambda *_: (device, device))
    met = lambda *when: protective._met(SimpleNamespace(case=star_case(), solution=None, condition=Condition("stage", *when)),
                                        SimpleNamespace(point="intake"), entry)["touch"]
    assert met(100.0, 100.5) == MAY and met(100.0, 101.5) == WOULD and met(0.0, 0.9) == MAY


def test_shares_of_the_lines_go_by_conductance_to_the_neutral():
    # arithmetic: P / U², of what is on and between a line and the neutral
    case = case_of(LAMP)
    loads = [SimpleNamespace(on=on, connect=connect, voltage=volts, power=power) for on, connect, volts, power in (
        (True, ("L1", "N"), 200j, 100.0), (True, ("L2", "N"), 100.0, 75.0), (False, ("L3", "N"), 230.0, 900.0), (True, ("L3", "L1"), 400.0, 800.0),
        (True, ("L1", "N"), 0j, 0.0), (True, ("L2", "N"), None, None), (True, ("L1", "L2", "L3"), 400.0, 5000.0))]
    a, b = 100 / 200**2, 75 / 100**2
    assert _shares(case, SimpleNamespace(loads=loads)) == pytest.approx([a / (a + b), b / (a + b), 0.0])
    assert _shares(case, SimpleNamespace(loads=[])) == [0.0, 0.0, 0.0]


def test_a_star_by_itself_is_shown_and_stands_still():
    made = result("three-unequal-lamps")
    shown = star_content(made.case, made.after.reached)
    view, (seen,) = shown["view"], shown["view"]["reading"]["points"]
    assert (view["hidden"], view["moving"], view["point"], view["ghosts"], view["kept"]) == (False, False, 0, [], None)
    neutral = made.after.reached.nodes["intake", "N"]
    assert seen["shift"] == pytest.approx(abs(neutral)) and seen["star"] == pytest.approx([neutral.real, neutral.imag])
    assert seen["lines"] == pytest.approx({x: abs(made.after.reached.voltage("intake", x)) for x in ("L1", "L2", "L3")})


def test_no_resistor_is_bought_for_a_coil_and_none_for_a_surge_part():
    assert _line_powers(case_of(LAMP, ("L2", "resistive", {"power": 300}), ("L3", "varistor", {"rating": 275}))) == pytest.approx({"L1": 100.0, "L2": 300.0})
    with pytest.raises(NotAStar, match="coil or capacitor"):
        _line_powers(case_of(LAMP, ("L2", "impedance", {"reactance": 50})))


def test_what_is_just_at_a_limit_is_not_beyond_it():
    # published: 207 to 253 V (EN 50160) of 230 V; a line that takes exactly √3 · 230 V is not beyond what insulation is tested for
    case, edges = case_of(LAMP), (207.0, 253.0, 230 * sqrt(3))
    limits = band("EN 50160")
    for at in edges:
        for name, _, holds in _tests(case, limits, np.array([at]), 230.0, True):
            assert not holds[0] or (name == "too high" and at > 300), (at, name)
    beyond = {name: holds[0] for name, _, holds in _tests(case, limits, np.array([230 * sqrt(3) + 0.01]), 230.0, True)}
    assert beyond == {"too high": True, "beyond insulation": True, "too low": False, "dead": False}
    low = {name: holds[0] for name, _, holds in _tests(case, limits, np.array([206.99]), 230.0, True)}
    assert low == {"too high": False, "beyond insulation": False, "too low": True, "dead": False}


def test_a_neutral_current_of_nought_makes_no_exercise():
    with pytest.raises(Unclear):  # arithmetic: three alike cancel
        neutral_current_lagging(None, [(20, 1.0, "lag")] * 3)
    assert neutral_current_lagging(None, [(20, 1.0, "lag"), (20, 1.0, "lag"), (5, 1.0, "lag")]).answers[0].value == pytest.approx(15.0)


def test_a_three_phase_case_has_exercises_on_every_supply_and_a_split_phase_one_on_its_own(monkeypatch):
    asked = []
    monkeypatch.setattr("lostneutral.teaching.exercises.exercises", lambda number, seed, labels, **choice: asked.append(choice["system"]) or ())
    for system, given_ in (("three-phase", None), ("split-phase", None), ("split-phase", "three-phase"), ("three-phase", "split-phase")):
        _tasks((3, 1, {"system": given_}), "L1/L2/L3", system)
    assert asked == [None, "split-phase", "three-phase", "split-phase"]


def test_a_check_that_takes_the_case_of_none_is_told_once():
    with pytest.raises(CaseError) as caught:
        own_checks(b'[[check]]\nid = "a"\nask = "settled"\nsource = "s"\nplace = "p"\nknown = "S"\ncase_of = "b"\n'
                   b'[check.printed]\n"voltage" = "1"\n', "own.toml")
    assert sum("case_of" in fault for fault in caught.value.faults) == 1 and not any(".given" in f or "printed" in f for f in caught.value.faults), \
        caught.value.faults


def test_a_changeover_is_in_the_table_of_what_is_given():
    case = read_case(FOLDER / "farm-generator.toml")
    (table,) = [b for b in given(SimpleNamespace(case=case)) if b.get("caption") == "Changeovers"]
    assert table["rows"] == [["dairy changeover", "dairy", "tractor generator", "L1, L2, L3, N", "on the supply"]]
    (second,) = [b for b in given(SimpleNamespace(case=case)) if b.get("caption") == "Second supplies"]
    assert second["rows"][0][:3] == ["tractor generator", "generator", "20.0 kVA"] and second["rows"][0][4:] == ["bonded", "60 ohm"]


@pytest.mark.parametrize("connect, key, value, refused", [("L1-N", "torque", 0.5, True), ("L1-N", "torque_exponent", 1.0, True),
                                                          ("L1-L2-L3", "torque", 0.5, False), ("L1-N", "stalls_below", 0.7, False)])
def test_keys_of_a_three_phase_machine_are_refused_on_one_phase(connect, key, value, refused):
    text = f'title = "t"\nsupply = {{}}\n[[load]]\nname = "m"\nkind = "motor"\nconnect = "{connect}"\npower = 900\n{key} = {value}\n'
    if not refused:
        assert parse_case(text).loads
        return
    with pytest.raises(CaseError, match=f"{key}.*does not apply to a motor on L1-N") as caught:
        parse_case(text)
    assert len(caught.value.faults) == 1


@pytest.mark.parametrize("what, agrees", [("brighter", True), ("dimmer", False), ("unchanged", False)])
def test_what_was_seen_is_held_against_the_same_load_before(what, agrees, monkeypatch):
    # arithmetic: from 150 to 200 V is brighter by a third, whatever another load did
    loads = lambda a, b: SimpleNamespace(loads=[SimpleNamespace(name=n, ratio=v / 230, voltage=v, together=v, on=True) for n, v in (("b", b), ("a", a))])
    monkeypatch.setattr(observed, "_solutions", lambda *_: [loads(200.0, 210.0)])
    found = observed._item(None, Observation("intake", load="a", seen=what), None, loads(150.0, 240.0))
    assert found[:2] == (agrees, 200.0)


def test_what_stays_as_it_is_counts_as_attracting():
    # documented: the link of a supply that has cut off keeps its charge, which neither comes nearer nor leaves
    told = lambda radius: Repeating.attracting.fget(SimpleNamespace(radius=radius))
    assert told(0.3) and told(1.0) and not told(1.001)


@pytest.mark.parametrize("system, lines, said", [("split-phase", ("L1", "L2"), "L1 and L2"), ("three-phase", ("L1", "L2", "L3"), "L1, L2 and L3")])
def test_words_of_a_lesson_name_the_lines_that_it_has(system, lines, said):
    made = SimpleNamespace(bench=SimpleNamespace(system=system, case=SimpleNamespace(supply=SimpleNamespace(lines=lines))), drawn={})
    words = str(vocabulary(made))
    assert said in words and ("L3" in words) == ("L3" in lines)


def test_touch_voltage_over_an_electrode_is_that_of_the_case_with_it():
    # independent: the case solved anew with each resistance given; the electrode of the supply raises remote earth as well
    text = ('title = "t"\n[supply]\nearthing = "TN-C-S"\nelectrode = 20\n[[point]]\nname = "house"\n{}[[break]]\nfeeding = "house"\nconductor = "PEN"\n'
            '[[load]]\nname = "a"\nkind = "resistive"\nconnect = "L1-N"\npower = 2000\n[[load]]\nname = "b"\nkind = "resistive"\nconnect = "L2-N"\npower = 500\n')
    found = touch_range(parse_case(text.format("")), ohms=(10.0, 80.0))
    wanted = []
    for ohms in (10.0, 80.0):
        state = before_and_after(parse_case(text.format(f"electrode = {ohms}\n")))[1].reached
        wanted.append(abs(state.between(("house", "PE"), ("earth", ""))))
    assert found.volts == pytest.approx(wanted) and wanted[0] < wanted[1]


def test_a_folder_is_no_case_of_the_desk(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    ended = CliRunner().invoke(main, ("desk", "."))
    assert ended.exit_code == 2 and "is a directory" in ended.stderr and "Traceback" not in ended.output
