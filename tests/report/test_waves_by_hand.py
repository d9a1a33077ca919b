"""What is said of waveforms, from links and waves put in by hand: at which figure the words change. Kind of all: behaviour laid down, arithmetic where it says so."""

from dataclasses import replace
from math import inf
from types import SimpleNamespace

import pytest
from handmade_star import star_case
from test_drawn import pulses, wave

from lostneutral.case.model import Break
from lostneutral.consequences.waves import CUT, OVER, RUNS
from lostneutral.report.base.words import NOTHING
from lostneutral.report.waveform import rows, rule, section, words
from lostneutral.report.waveform.rows import LinkRow


def star_of(*watts, **parameters):
    case = star_case(kind="electronic", parameters={"power": 60.0, "front_end": "rectifier", "capacitor_rating": 400.0} | parameters)
    return replace(case, loads=tuple(replace(x, parameters=dict(x.parameters) | {"power": w}) for x, w in zip(case.loads, watts)))


CASE = star_of(60.0, 60.0, 60.0)


def link(name="on L1", line="L1", after=330.0, before=310.0, verdict=RUNS):
    return LinkRow(name, f"{line}-N", line, before, after, after - 5, after + 5, 400.0, 127.0, verdict)


def became(monkeypatch, *links, ends="settled", stars=(0.0,), case=CASE, neutral=""):
    monkeypatch.setattr(words, "link_rows", lambda *_: links), monkeypatch.setattr(words, "_neutral", lambda *_: neutral)
    state = lambda rms: SimpleNamespace(stars=dict(enumerate(rms)), ends=ends)
    rest = [SimpleNamespace(rms=0.0, harmonics=(0.0,))]
    return words.what_became(case, SimpleNamespace(before=state(rest), after=state([SimpleNamespace(rms=r, harmonics=(r,)) for r in stars])))


def test_what_becomes_of_power_supplies(monkeypatch):
    assert became(monkeypatch, ends="cycle").startswith("The power supplies would shut down and restart again and again")
    assert became(monkeypatch, ends="undecided") == "The voltages did not reach a steady state in the time that was calculated."
    assert became(monkeypatch) == "No rectifier with a capacitor is among the loads that are on." and became(monkeypatch, neutral="Much.") == "Much."
    assert became(monkeypatch, link()) == "The power supplies would run: their d.c. links would be at 330 V instead of 310 V."  # no star point moved
    assert became(monkeypatch, link(before=None)) == "The power supplies would run: their d.c. links would be at 330 V."
    assert became(monkeypatch, link(), neutral="Much.") == "Much."
    held = became(monkeypatch, link(), link(after=320.0), stars=(10.0,))
    assert held.startswith("The rectifiers would keep the voltages of the three lines near normal: their d.c. links would be at 320 to 330 V instead of 310 V, none above")
    moved = became(monkeypatch, link(), stars=(100.0,))
    assert moved == "The power supplies would go on running although the voltages of the three lines are unbalanced: their d.c. links would be at 330 V instead of 310 V."
    assert "would collapse" in became(monkeypatch, link(verdict=CUT), stars=(100.0,)) and "No power supply would shut down" in became(monkeypatch, link(verdict=OVER))
    elsewhere = replace(CASE, loads=tuple(replace(x, name=f"{x.name} too") for x in CASE.loads))
    assert became(monkeypatch, link(), case=elsewhere) == "No rectifier with a capacitor is among the loads that are on."


@pytest.mark.parametrize(("rms", "near"), [(0.0999, True), (0.1001, False)])
def test_a_star_is_held_below_a_tenth_of_nominal(rms, near):
    stars = {"a": SimpleNamespace(harmonics=(rms * 230.0,)), "b": None}
    assert words._held(CASE, SimpleNamespace(after=SimpleNamespace(stars=stars))) is near
    assert words._held(star_of(60.0, 60.0, 0.0), SimpleNamespace(after=SimpleNamespace(stars=stars))) is False  # a line without rectifiers holds nothing


# The rule

def test_the_rule_is_met_while_no_line_takes_more_than_the_others_together():
    met, broken = rule._here(star_of(30.0, 40.0, 70.0)), rule._here(star_of(30.0, 40.0, 70.1))
    assert "L1 30.0 W, L2 40.0 W, L3 70.0 W. The largest, on L3, is no more than the other two together (70.0 W): the rule is met." in met
    assert "is more than the other two together (70.0 W): the rule is broken." in broken
    # arithmetic: (30 + 40 - 70) / 2 = 0, (40 + 70 - 30) / 2 = 40, (70 + 30 - 40) / 2 = 30; half of √6 · 230 V is 282 V
    assert "The pairs' currents times U/2 are L1–L2 0 W, L2–L3 40.0 W, L3–L1 30.0 W. U/2 is 282 V," in met
    none = replace(CASE, loads=())
    assert rule._here(none) == "Here no rectifier lies between a line and the neutral beyond the break."


def test_what_the_rectifiers_were_taken_to_be():
    case = star_of(60.0, 30.0, 60.0)
    case = replace(case, loads=(replace(case.loads[0], parameters=dict(case.loads[0].parameters) | {"bridge_drop": 2.0}), replace(case.loads[1], count=2), replace(case.loads[2], on=False)))
    title, taken, values = rule.taken(SimpleNamespace(case=case))
    assert title["text"] == "Assumptions on the rectifiers" and [r[:2] for r in taken["rows"]] == [["on L1", "60.0 W"], ["on L2", "60.0 W"]]
    assert taken["rows"][0][2] == "1.00 µF/W" and taken["rows"][0][4] == "2.00 V" and taken["rows"][0][3] == taken["rows"][1][3]  # the inlet is that of one
    assert [r[1] for r in values["rows"]] == ["none", "none", "on L1", "none", "none"]
    assert rule.taken(SimpleNamespace(case=replace(case, loads=()))) == []
    given = [(replace(case.loads[0], parameters={"power": 1.0, "leakage": 1.0}), None)] * 2
    assert rule._given(given, "leakage") == "all" and rule._given([*given, (case.loads[1], None)], "leakage") == "on L1, on L1"


def test_what_other_inlets_and_capacitors_do(monkeypatch):
    told = lambda *links, ends="settled": (monkeypatch.setattr(rule, "links_in", lambda *_: links), rule._verdict(CASE, SimpleNamespace(ends=ends)))[1]
    assert told(link(), link(after=320.0), link(line="L2", after=300.0)) == ("near normal", "L1-N 320 to 330, L2-N 300")
    assert told(link(verdict=OVER))[0] == "runs, some above rating" and told(link(verdict=OVER), link(verdict=CUT))[0] == "collapsed"
    assert told(link(), ends="cycle")[0] == "shuts down and restarts again and again" and told(link(), ends="undecided")[0] == "no steady state"
    assert rule._other(CASE, SimpleNamespace(state=None, reason="too stiff")) == ("no result", "too stiff")
    assert rule.changed(SimpleNamespace(inlets=())) == []


# The section

def result_of(case, waveforms, solutions=()):
    return SimpleNamespace(case=case, waveforms=waveforms, after=SimpleNamespace(solutions=solutions, reached=None))


def test_the_section_is_there_with_waveforms_only():
    none = SimpleNamespace(waveforms=None)
    assert section.waves_in_short(none) == section.waves_in_full(none) == section.waves_method(none) == section.sines(none) == []
    assert [b["text"] for b in section.waves_method(SimpleNamespace(waveforms=1))] == [section._METHOD]


def test_waves_as_cells():
    assert section._wave(None) == ("no defined potential", *[NOTHING] * 4)
    # arithmetic: a sine of 230 V has its crest at 325.3 V
    assert section._wave(replace(wave(230.0), crest=310.04, average_reading=229.96)) == ("230.0", "230.0", "310.0", "325.3", NOTHING)
    assert section._wave(replace(wave(230.0), thd=0.254))[4] == "25 %"


@pytest.mark.parametrize(("off", "told"), [(0.99, "agree within 1 V r.m.s."), (1.0, "differ by up to 1 V r.m.s."), (12.4, "differ by up to 12 V r.m.s.")])
def test_how_far_the_two_pictures_are_apart(monkeypatch, off, told):
    solution = SimpleNamespace(voltage=lambda place, line: {"L1": 230 + 0j, "L2": None, "L3": 230j}[line])
    phases = {("intake", "L1"): wave(230.0), ("intake", "L2"): wave(100.0), ("intake", "L3"): wave(230.0)}
    made = SimpleNamespace(after=SimpleNamespace(phases={k: replace(w, rms=230.0 + off * (k[1] == "L1")) for k, w in phases.items()}))
    monkeypatch.setattr(section, "shown", lambda state: (solution,))
    said = section._difference(SimpleNamespace(case=CASE, waveforms=made, after=None))
    assert said == f"Line to neutral after the break, the two pictures {told}"
    assert section._difference(SimpleNamespace(case=replace(CASE, breaks=()), waveforms=made, after=None)).startswith("Line to neutral, the two")
    monkeypatch.setattr(section, "shown", lambda state: ())
    assert section._difference(SimpleNamespace(case=CASE, waveforms=made, after=None)) == ""


def test_links_have_a_column_before_where_there_is_a_fault(monkeypatch):
    monkeypatch.setattr(section.waveform_figures, "links", lambda *_: ("<svg/>", "drawn"))
    case, made = pulses()
    _, table, figure = section._links(SimpleNamespace(case=case, waveforms=made))
    assert table["head"] == ["load", "connected", "before", "after", "over a cycle", "drops out at", "rated", "verdict"] and len(table["align"]) == 8
    assert table["rows"][0] == ["on L1", "L1-N", "310", "330", "320 to 338", table["rows"][0][5], "400", "runs"] and "strong" in table["rows"][1][7]
    assert "○ before, ● after; the bar reaches" in figure["caption"]
    sound = replace(case, breaks=())
    _, table, figure = section._links(SimpleNamespace(case=sound, waveforms=made))
    assert table["head"][2:4] == ["mean", "over a cycle"] and len(table["align"]) == 7 == len(table["rows"][0]) and ". The bar reaches" in figure["caption"]


def test_neutral_currents_and_their_third_harmonic():
    case, made = pulses()
    made = replace(made, before=replace(made.before, currents={("intake", "N"): wave(2.0, 0.0, 1.5), **{("intake", c): wave(4.0) for c in ("L1", "L2", "L3")}}))
    made = replace(made, before=replace(made.before, currents={k: replace(w, rms={"N": 2.0}.get(k[1], 4.0)) for k, w in made.before.currents.items()}), after=replace(made.after, currents={}))
    _, table, overlap = section._neutral(SimpleNamespace(case=case, waveforms=made))
    assert table["rows"] == [["intake", "before", "2.00", "4.00", "0.50", "1.50", "75 %"]] and overlap["text"] == section._OVERLAP
    assert section._neutral(SimpleNamespace(case=case, waveforms=replace(made, before=replace(made.before, currents={})))) == []


def test_points_with_their_star_point_furthest_off_come_first():
    case, made = pulses()
    more = replace(case, points=tuple(replace(case.points[0], name=n) for n in "abc"))
    stars = {"a": replace(wave(1.0), rms=1.0), "b": replace(wave(1.0), rms=5.0), "c": None}
    assert rows.by_star_point(more, replace(made, after=replace(made.after, stars=stars))) == ["b", "a", "c"]
    assert [s.name for s in rows.states(case, made)] == ["before", "after"] and [s.name for s in rows.states(replace(case, breaks=()), made)] == ["before"]
    assert rows.states(replace(case, breaks=(Break("intake", "N", inf),)), replace(made, before=None)) == [made.after]
