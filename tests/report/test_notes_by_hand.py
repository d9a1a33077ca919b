"""What is noted beside ranges and deductions, and when, from values put in by hand. Kind of all: behaviour laid down."""

from dataclasses import replace
from math import inf
from types import SimpleNamespace

import handmade
import pytest

from lostneutral.case.model import Assumption, Break, Event
from lostneutral.case.seen import Observation, Spread, Unknown
from lostneutral.evidence.deduction import Fit, Weighed
from lostneutral.evidence.spans import Chance, Span
from lostneutral.report.evidence import file, recorded, rows, section, text, verdict
from lostneutral.report.ranges import rows as ranges

STAR = handmade.star([100.0, 200.0, 300.0])
CASE = STAR.case


def span(name, high, line=""):
    return Span(name, line, 200.0, 220.0, high, (1.0, 1.0, 1.0), 190.0, 400.0, 1.0)


def noted(case=CASE, waveforms=None, **more):
    found = SimpleNamespace(**{"samples": 512, "scramblings": 8, "seed": 3, "phases": (), "loads": (), "highest": SimpleNamespace(there=1.0), "falling": (), "several": 0.0,
                               "unsolved": 0.0} | more)
    return ranges.range_notes(SimpleNamespace(case=case, ranges=found, waveforms=waveforms))


def added(**more):
    """The notes that these values bring, beside those that always stand."""
    usual = noted()
    return [note for note in noted(**more) if note not in usual]


def test_notes_that_always_stand_with_ranges():
    first, *rest = noted()
    assert first.startswith("512 samples of the unknown quantities (8 scrambled Sobol sequences, seed 3).") and len(rest) == 3
    assert rest[1] == "All other results use the loads exactly as given."


def test_notes_that_ranges_bring_with_them():
    many = tuple(span(f"load {n}", 300.0 + n) for n in range(33))
    assert added(phases=many, loads=many[:31]) == ["The tables show the lines and loads with the highest possible voltages; 4 more are in the result file."]
    for unknown, told in ((Unknown(point="intake", phases=("L1", "L2")), True), (Unknown(feeding="intake", capacitance=Spread(1e-9, 2e-9)), True), (Unknown(load="Lamp L1", on=0.5), False)):
        assert [note.startswith("Unknown lines of a point and capacitances") for note in added(case=replace(CASE, unknowns=(unknown,)))] == [True] * told
    (floating,) = added(highest=SimpleNamespace(there=0.96))
    assert floating.startswith("In 4 % of the samples the neutral is floating") and added(highest=SimpleNamespace(there=1 - 1e-12)) == []
    falls = lambda *names: added(falling=names)[0].split(" may fall")[0]
    assert falls(*"abcd") == "The current of a, b, c, d" and falls(*"abcde") == "The current of a, b, c, d and others"
    (several,), (unsolved,) = added(several=0.02), added(unsolved=0.03)
    assert several.startswith("In 2 % of the samples there is more than one stable solution") and unsolved.startswith("For 3 % of the samples no stable solution")
    assert added(several=1e-12, unsolved=1e-12) == [] == added(waveforms=SimpleNamespace(trusted=False))
    assert added(waveforms=SimpleNamespace(trusted=True))[0].startswith("Rectifier loads here draw their current in pulses.")
    evening = replace(CASE, assumptions=(Assumption("Lamp L1", "probability that it was on", "0.4", "an evening"),))
    assert added(case=evening)[0].startswith("Probabilities of a typical evening: ")


def test_observations_do_not_narrow_ranges():
    seen = Observation("intake", ("L1", "N"), 290.0)
    told = lambda *given: ranges.not_used_words(replace(CASE, observations=given))
    assert told() == () and told(seen)[0].startswith("The observation of the case") and told(seen, seen)[0].startswith("The observations of the case")


def test_the_fault_of_which_ranges_are():
    assert ranges.fault_words(CASE) and not any("high-resistance joint" in x for x in ranges.fault_words(CASE))
    unknown = replace(CASE, unknowns=(Unknown(feeding="intake", conductor="N", resistance=Spread(1.0, 5.0)),))
    assert ranges.fault_words(unknown) == ("The PEN in the cable to intake is taken as open-circuit or as a high-resistance joint: its resistance is not known.",)
    other = replace(unknown, breaks=(*CASE.breaks, Break("intake", "L1", inf)))
    assert len(ranges.fault_words(other)) == 2


def test_limits_of_ranges_are_told_once_with_their_side():
    limit = SimpleNamespace(value=253.04, source="a standard", known="read")
    chances = (Chance("too high", 0.5, 0.01, limit), Chance("too low", 0.5, 0.01, limit), Chance("dead", 0.5, 0.01, limit), Chance("beyond insulation", 0.5, 0.01, limit), Chance("", 0.1, 0.1))
    of = replace(span("house", 300.0, "L1"), chances=chances)
    said = ranges.range_limit_words(SimpleNamespace(phases=(of, of), loads=(of,)))
    assert said == tuple(f"{what}: {side} 253.0 V for a line, by a standard; read." for what, side in (
        ("Above limits", "above"), ("Below limits", "below"), ("No voltage to neutral (a line is not proved dead by it)", "below"), ("Above insulation rating", "above")))


def test_parts_of_an_influence_are_four_or_the_ends():
    parts = lambda n: ranges._parts(SimpleNamespace(parts=[SimpleNamespace(words=str(k), low=200.0 + k, high=300.0 + k) for k in range(n)]))
    assert parts(4).count(";") == 3 and parts(5) == "0: 200 to 300 V; 4: 204 to 304 V"


# The cause that a report is on

def weighed(words, kind="open neutral", at="intake", against=1.0, **more):
    return Weighed(kind, words, at, 0.1, 1.0, 0.0, 100.0, more.get("posterior", 0.5), 0.0, against, more.get("fits", ()))


def beside(*rivals, case=CASE):
    return rows.beside_the_case(SimpleNamespace(case=case, deduction=SimpleNamespace(rivals=rivals)))


def test_the_case_is_held_against_the_cause_that_fits_best():
    own, other = weighed("own"), weighed("other", "bad joint")
    assert "the observations fit this one best." in beside(own, replace(other, against=3.0))
    assert "do not distinguish between this one and “other”." in beside(replace(own, against=1.9), other)
    assert "fit another better: “other” (likelihood ratio about 2.0, " in beside(replace(own, against=2.0), other)
    assert "fit another better: “other”. See" in beside(other, weighed("else", at="shed", against=3.0))  # the case's own is none of them
    joint = replace(CASE, breaks=(Break("intake", "N", 4.0),))
    assert "the observations fit this one best." in beside(other, replace(own, against=3.0), case=joint)
    assert "fit another better" in beside(own, case=replace(CASE, breaks=(Break("intake", "N", inf), Break("intake", "L1", inf))))


# What a deduction assumes and what is missing

KINDS = (SimpleNamespace(kind="n", words="open neutral", prior=0.6), SimpleNamespace(kind="j", words="joint", prior=0.4), SimpleNamespace(kind="z", words="never", prior=0.0))


def assumed(case=CASE):
    return {what: (value, why) for what, value, why in rows.assumed_rows(case, SimpleNamespace(kinds=KINDS))}


def test_priors_are_assumed_where_the_case_gives_none():
    name = "prior probability of each kind of cause, shared equally by its places"
    assert assumed()[name][0] == "open neutral 60 %, joint 40 %"
    both = [row for row in rows.assumed_rows(replace(CASE, priors=(SimpleNamespace(cause="j"),)), SimpleNamespace(kinds=KINDS)) if row[0] == name]
    assert [row[1] for row in both] == ["joint 40 %", "open neutral 60 %"] and both[0][2] == "the case's [[prior]]"
    assert assumed(replace(CASE, unknowns=(Unknown(load="Lamp L1", on=0.25),)))["Lamp L1"] == ("on with a probability of 25 %", "the case")


def test_what_is_assumed_of_supply_changeover_and_electrodes():
    plain = assumed()
    assert "supply voltage, not given in the case" not in plain and "changeover" not in plain and not any(what.startswith("earth electrode") for what in plain)
    open_ = replace(CASE, assumptions=(Assumption("supply", "actual voltage", "230 V", "nominal"),))
    value = assumed(open_)["supply voltage, not given in the case"][0]
    assert value.startswith("normally distributed, mean 230 V, standard deviation ")
    told = replace(open_, unknowns=(Unknown(supply_voltage=Spread(220.0, 240.0)),))
    assert "supply voltage, not given in the case" not in assumed(told)
    moved = replace(CASE, events=(Event(10.0, changeover="house"),))
    assert assumed(moved)["changeover"][0] == "in its first position, whatever it moved to"
    points = tuple(replace(CASE.points[0], name=name, electrode=None, kind="intake") for name in "abcd")
    of = lambda earthing, n: next((what, value) for what, (value, _) in assumed(replace(CASE, points=points[:n], loads=(), breaks=(), supply=replace(CASE.supply, earthing=earthing))).items()
                                  if what.startswith("earth electrode"))
    assert of("TN-C-S", 4)[0] == "earth electrode that nobody measured (a, b, c …)" and of("TN-C-S", 3)[0] == "earth electrode that nobody measured (a, b, c)"
    assert "; none at all: " in of("TN-C-S", 1)[1] and "none at all" not in of("TT", 1)[1] and " Ω, uniform on a logarithmic scale" in of("TT", 1)[1]


def missing(*observations, unknowns=(), rivals=()):
    return rows.missing(replace(CASE, observations=observations), SimpleNamespace(unknowns=unknowns, rivals=rivals))


WHOLE = {"observer": "A", "kept": "a file", "instrument": "meter"}


def test_what_nobody_has_recorded():
    reading = lambda between=("L1", "N"), uncertainty=1.0, **details: Observation("intake", between, 290.0, uncertainty=uncertainty, details=details)
    said = missing(reading(uncertainty=None))
    assert said[0].endswith(": no record of who observed it, where the evidence is kept, the instrument, its uncertainty.")
    assert said[1:] == ("No reading of N to earth or to the protective conductor.", "Nothing was observed or read before the break.")
    assert missing(reading(**WHOLE)) == said[1:] and missing(reading(("N", "PE"), **WHOLE)) == said[2:]
    assert missing(reading(("earth", "N"), **WHOLE)) == said[2:] and missing(reading(("L1", "PE"), **WHOLE)) == said[1:]


def test_the_log_says_for_how_long_something_was_recorded():
    seen = Observation("intake", ("L1", "N"), 290.0, details={"spans": ((10.0, 40.0), (100.0, 130.0)), "recording": 0})
    ((_, when, *_),) = rows.log_rows(replace(CASE, observations=(seen,)))
    assert when == "after the break, 60 seconds in all"


def test_switches_that_nobody_knows_are_asked_for():
    unknown = lambda name, share, unit="": SimpleNamespace(name=name, unit=unit, after=(share,))
    one = missing(unknowns=[unknown("the kettle", 0.11), unknown("a", 0.1), unknown("b", 0.9), unknown("power", 0.5, "W")])[-1]
    assert one == "Not known; ask, and look for traces: on or off: the kettle."
    assert missing(unknowns=[unknown("a", 0.5), unknown("b", 0.89)])[-1] == "Not known; ask, and look for traces: on or off: a, b."
    ends = missing(rivals=[weighed("A"), weighed("B", at="shed"), weighed("C", at="barn", posterior=0.01), weighed("D", at="mill")])[-1]
    assert ends.startswith("Both ends of the cable to intake and of that to shed: photograph them")


def test_what_would_turn_the_conclusion():
    turn = SimpleNamespace(assumption="electrode", setting="10 Ω", leads="B")
    assert rows.turning_words(SimpleNamespace(turning=(turn,))) == ("electrode, 10 Ω: then “B” would lead.",)
    assert rows.turning_words(SimpleNamespace(turning=()))[0].startswith("No assumption of this list would turn")


@pytest.mark.parametrize(("switches", "words"), [((("a", True),), ""), ((("a", True), ("b", False)), "The most probable combination: a on, b off (50 %).")])
def test_switches_together(switches, words):
    assert rows.together_words(SimpleNamespace(together=(switches, 0.5))) == words


# A deduction as a section, on the screen, for programs

def test_a_report_without_a_deduction_says_why():
    told = lambda why: [b["text"] for b in section.deduction(SimpleNamespace(case=CASE, deduction=None, not_weighed=why))]
    assert told("") == [] and told("Too few.") == [rows.TITLE, "The observations could not be compared with possible causes. Too few."]
    assert section.deduction_in_short(SimpleNamespace(case=CASE, deduction=None, not_weighed="Too few."))[1]["text"] == told("Too few.")[1]


@pytest.mark.parametrize(("lines", "drawn"), [(0, False), (1, True), (24, True), (25, False)])
def test_lines_are_drawn_where_they_can_be_read(monkeypatch, lines, drawn):
    monkeypatch.setattr(section.evidence_figures, "voltages_given_evidence", lambda *_: ("<svg/>", "drawn"))
    volts = [("house", f"L{n}", 200.0, 210.0, 220.0) for n in range(lines)] + [("house", "L9", None, None, None)]
    made = section._lines(CASE, SimpleNamespace(voltages=volts))
    assert [b["kind"] for b in made] == ["figure"] * drawn + ["table"] and len(made[-1]["rows"]) == lines + 1


def test_a_cause_as_plain_values():
    rival = weighed("A", fits=(Fit("r", 1.0, 2.0, 3.0, None, 0.0),))
    asked = SimpleNamespace(cause="A", highest=(1.0, inf, 3.0), lowest=(1.0, 2.0, 3.0), phases=(), metalwork=(5.0, 6.0, 7.0))
    known = SimpleNamespace(name="a on", unit="", before=(0.5,), after=(0.7,))
    found = SimpleNamespace(samples=8, seed=1, singly=(), unsolved=0.0, rivals=(rival, weighed("B", at="")), kinds=(), voltages=(("house", "L1", 1.0, 2.0, 3.0),),
                            unknowns=(known, SimpleNamespace(name="p", unit="W", before=(1.0,), after=(2.0,))), together=((("a", True),), 0.5), looked=0, complete=True,
                            observations=("r",), unexplained=(), left_out=(), level_priors=("n", 0.5), turns_at=2.0, asked=(asked,), ceilings=(), against=(), turning=(),
                            next_readings=(SimpleNamespace(point="house", between=("N", "PE"), bits=0.5, of=1.0, expected=(("A", 1.0, 2.0, 3.0),)),))
    made = file.deduction_dict(found)
    assert [c["run"] for c in made["causes"]] == ["intake", None] and made["causes"][0]["fits"][0]["middle"] == 2.0
    assert [k["unit"] for k in made["unknowns"]] == [None, "W"] and made["unknowns"][0]["after"] == [0.7]
    assert made["asked"] == [{"cause": "A", "highest": [1.0, None, 3.0], "lowest": [1.0, 2.0, 3.0], "phases": {}, "metalwork": [5.0, 6.0, 7.0]}]
    assert made["voltages"] == [{"point": "house", "line": "L1", "5%": 1.0, "50%": 2.0, "95%": 3.0}] and made["likeliest_together"] == {"on": {"a": True}, "share": 0.5}
    assert made["next_readings"] == [{"point": "house", "between": "N-PE", "bits": 0.5, "of": 1.0, "expected": [{"cause": "A", "5%": 1.0, "50%": 2.0, "95%": 3.0}]}]


def deduced(*rivals, **more):
    return SimpleNamespace(**{"samples": 8, "seed": 1, "singly": (), "unsolved": 0.0, "rivals": rivals, "runs_tried": 0, "looked": 0, "complete": True, "observations": ("r",),
                              "kinds": (SimpleNamespace(kind="open neutral", words="an open neutral", prior=0.6, posterior=0.7, ratio=20.0, support="moderate support"),),
                              "voltages": (("house", "L1", 1.0, 2.0, 3.0),), "unknowns": (), "together": ((), 0.0), "unexplained": (), "left_out": (), "ceilings": (),
                              "level_priors": ("open neutral", 0.5), "turns_at": 2.0, "asked": (), "against": (), "turning": (), "next_readings": ()} | more)


@pytest.mark.parametrize("count", [1, 2, 4])
def test_the_deduction_on_the_screen_in_its_order(count):
    rivals = [weighed(f"cause {n}", fits=(Fit("r", 1.0, 2.0, 3.0, None, 0.0),)) for n in range(count)]
    told = text.deduction_text(replace(STAR, deduction=deduced(*rivals)), 400).split("\n\n")
    assert told[0].split("\n") == [CASE.title, "=" * len(CASE.title), rows.PURPOSE] and told[1].startswith("Cautions (in full at the end): ")
    beside_ = min(count, 3)
    (held,) = [part for part in told if part.startswith("Observation by observation")]
    lines = held.split("\n")
    assert lines[1:1 + beside_] == [f"[{n}] cause {n - 1}" for n in range(1, beside_ + 1)]
    assert lines[1 + beside_].split() == ["observation", *(f"[{n}]" for n in range(1, beside_ + 1))]
    assert lines[-1].startswith("r ") and lines[-1].count("1 to 3 V: fits") == beside_
    assert [part.split("\n")[0] for part in told if part.split("\n")[0] in ("Effect of the priors", "Missing", "Causes not considered", "Assumed", "Notes", "Cautions")] == [
        "Effect of the priors", "Missing", "Causes not considered", "Assumed", "Notes", "Cautions"]
    (without,) = [part for part in told if part.startswith("Causes not considered")]
    assert without.split("\n")[1] == rows.not_weighed_words() and without.split("\n")[2].startswith("- ") and " For: " in without and " Against: " in without
    assert told[-1].endswith("\n") and not any("Recordings" in part for part in told)
    assert max(map(len, text.deduction_text(replace(STAR, deduction=deduced(*rivals)), 70).split("\n"))) <= 76


def test_couplings_are_assumed_in_their_units():
    told = {what: value for what, value, _ in rows._coupling_rows()}
    assert told["leakage from N to PE"] == "10 kΩ to 1 GΩ, uniform on a logarithmic scale"
    assert told["leakage from each line to N"] == "100 kΩ to 10 GΩ, uniform on a logarithmic scale"
    assert told["capacitance of neighbouring cores"] == "5e-11 to 2e-10 F/m, uniform on a logarithmic scale"


# What was not resolved

def test_causes_that_are_not_resolved_are_named_with_the_factor():
    kinds = (SimpleNamespace(kind="open neutral", words="an open neutral", prior=0.6, posterior=0.7, ratio=20.0, support="moderate support"),)
    def told(*rivals, probability=True):
        found = deduced(*rivals, kinds=kinds)
        return verdict.verdict_on_cause(found) if probability else verdict.verdict_on_cause(found, probability=False)

    poor = replace(weighed("A"), error=3.0, evidence=1.0)
    assert told(poor, replace(poor, words="B", error=1.5))[0].startswith("Not resolved with so few samples: “A”, “B”.") and "by a factor of about 4 or more" in told(poor)[0]
    assert not told(replace(poor, error=1.0))[0].startswith("Not resolved") and not told(replace(poor, posterior=0.01))[0].startswith("Not resolved")
    assert any("posterior probability of “A”" in text for text in told(weighed("A"))) and not any("posterior probability" in text for text in told(weighed("A"), probability=False))


def test_a_clients_section_has_no_prior_or_posterior(monkeypatch):
    for name in ("rival_causes", "voltages_given_evidence"):
        monkeypatch.setattr(section.evidence_figures, name, lambda *_: ("<svg/>", "drawn"))
    asked = SimpleNamespace(cause="", highest=(1.0, 2.0, 3.0), lowest=(1.0, 2.0, 3.0), phases=(("L1", (1.0, 2.0, 3.0), (4.0, 5.0, 6.0)),), metalwork=None)
    result = replace(STAR, deduction=deduced(weighed("A", fits=(Fit("r", 1.0, 2.0, 3.0, None, 0.0),)), asked=(asked,)))
    heads = lambda blocks: [b["head"] for b in blocks if b["kind"] == "table"]
    client, full = section.deduction_in_short(result), section.deduction(result)
    assert ["cause", "likelihood ratio", "support for the best"] in heads(client) and ["cause", "prior", "posterior", "likelihood ratio", "support for the best"] in heads(full)
    assert not any("posterior" in head for table in heads(client) for head in table)
    assert [t for t in heads(client) if t[0] == "under"] == [["under", "lowest", "highest", "metalwork"]] and ["under", "phase", "lowest", "highest"] in heads(full)
    (items,) = [b["text"] for b in client if str(b.get("text")).startswith("Observation by observation.")]
    assert items == "Observation by observation. [1] A."


def test_of_a_recording_only_what_was_recorded_and_calculated_is_drawn(monkeypatch):
    seen = [SimpleNamespace(details={"recording": 1, "spans": [(0.0, 60.0), (90.0, 120.0)]}, between=("L1", "N")),
            SimpleNamespace(details={"recording": 0, "spans": [(0.0, 60.0)]}, between=("L2", "N")),  # under this cause nothing can be calculated
            SimpleNamespace(details={}, between=("L3", "N"))]  # a reading
    monkeypatch.setattr(recorded, "all_observations", lambda _: seen)
    cause = SimpleNamespace(fits=[SimpleNamespace(low=300.0, middle=310.0, high=320.0), SimpleNamespace(low=None, middle=None, high=None),
                                  SimpleNamespace(low=80.0, middle=90.0, high=95.0)])
    assert recorded.calculated_of_cause(None, cause) == {1: [recorded.Calculated(a, b, 300.0, 310.0, 320.0, ("L1", "N")) for a, b in seen[0].details["spans"]]}
