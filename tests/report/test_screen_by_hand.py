"""What the screen shows, from results put in by hand: order, columns, what is counted where room ends. Kind of all: behaviour laid down."""

from dataclasses import replace
from types import SimpleNamespace

import handmade
import pytest

from lostneutral.case.model import Point
from lostneutral.claims.model import Condition, Kind
from lostneutral.report.base import rows
from lostneutral.report.screen import lines, short_answers, short_text, terminal
from lostneutral.report.screen.lines import painted, table_text, wrapped

STAR = handmade.star([100.0, 200.0, 300.0])


# Lines and tables

def test_a_table_in_columns():
    rows = [("Lamp", "230", "within limits"), ("Long name", "5", "–")]
    plain = lambda text, _: text
    assert table_text(("item", "V", "verdict"), rows, "lrl", 80, plain).split("\n") == [
        "item         V  verdict", "---------  ---  -------------", "Lamp       230  within limits", "Long name    5  –"]
    assert table_text(("item", "V", "verdict"), [(*row[:2], "–") for row in rows], "lrl", 80, plain).split("\n")[0] == "item         V"  # a column of nothing is left out
    narrow = table_text(("item", "V", "verdict"), [("A name of three words", "230", "within limits")], "lrl", 32, plain).split("\n")
    assert narrow == ["item            V  verdict", "------------  ---  -------------", "A name of     230  within limits", "three words"]
    last = table_text(("item", "what"), [("x" * 10, "words that are wrapped here")], "ll", 30, plain, (-1, 0)).split("\n")
    assert last[2:] == ["xxxxxxxxxx  words that are", "            wrapped here"]
    assert table_text(("a", "b"), [("x" * 30, "y" * 30)], "ll", 20, plain).split("\n")[1] == "------------  ------------"  # twelve letters at the least


def test_the_verdict_alone_is_coloured():
    made = table_text(("a", "b", "verdict"), [("above limits", "1", "above limits"), ("x", "2", "odd")], "lll", 80, lambda text, word: f"<{word}:{text}>" if text else "")
    assert made.split("\n")[2:] == ["above limits  1  <above limits:above limits>", "x             2  odd"]
    assert painted("x", "danger") == "\x1b[1;31mx\x1b[0m" and painted("x", "above limits") == "\x1b[31mx\x1b[0m" and painted("x", "odd") == "x"


def test_words_keep_to_their_width():
    assert wrapped("one two three", 10, "  ", "- ") == ["- one two", "  three"] and wrapped("", 10) == [""] and wrapped("one two", 3) == ["one two"]
    assert wrapped("well-known words", 12) == ["well-known", "words"] and lines.width_of("a\u0301日b\u200d") == 4


# The short answer

def test_the_short_answer_in_its_order():
    told = short_text.short_text(STAR, width=400).split("\n\n")
    assert told[0].split("\n")[:2] == ["Three lamps on a stair", "=" * 22] and told[0].endswith("is open-circuit. Calculated, not measured.")
    assert all(line.startswith("! ") for line in told[1].split("\n")) and len(told[1].split("\n")) == 3
    assert told[2].split("\n") == ["V to neutral at  line  before  after  verdict", "---------------  ----  ------  -----  -------------",
                                   "intake           L1       230    289  above limits", "                 L2       230    239  within limits", "                 L3       230    176  below limits"]
    assert [line.split("  ")[0] for line in told[3].split("\n")[2:4]] == ["Lamp L1", "Lamp L3"] and told[3].split("\n")[4] == "Not expected to be damaged by this alone (239 V): Lamp L2."
    assert told[4] == "1 value not given was assumed." and told[5].split("\n") == ["Cautions: Treat the neutral as live. Measure before touching.", short_text.MORE, ""]
    coloured = short_text.short_text(STAR, colour=True, width=400)
    assert coloured.count("\x1b[1;31m! ") == 3 and "\x1b[31mabove limits\x1b[0m" in coloured


def test_a_short_answer_without_a_fault_or_assumptions():
    sound = replace(STAR.case, breaks=())
    text = short_text.short_text(replace(STAR, case=sound, assumptions=()), width=400)
    assert "No open-circuit or high-resistance conductor is assumed. Calculated, not measured." in text and "\nNothing had to be assumed.\n" in text
    two = short_text.short_text(replace(STAR, assumptions=STAR.assumptions * 2), width=400)
    assert "2 values not given were assumed." in two


def street(*volts):
    """The star with more points, each with its three lines to neutral (V)."""
    names = [f"house {n}" for n in range(len(volts))]
    points = tuple(Point(name, phases=("L1", "L2", "L3")) for name in names)

    def at(values):
        return {(name, line): v + 0j for name, three in zip(names, values) for line, v in zip(("L1", "L2", "L3"), three)} | {(name, "N"): 0j for name in names}

    made = lambda state, values: replace(state, solutions=(replace(state.solutions[0], nodes=at(values)),))
    return replace(STAR, case=replace(STAR.case, points=points), before=made(STAR.before, [(230,) * 3] * len(volts)), after=made(STAR.after, volts))


def test_points_with_like_voltages_are_one_row_those_off_the_limits_first():
    fine, high = (230, 231, 229), (260, 231, 180)
    (part,) = short_text._voltages(street(fine, high, (240, 231, 229), (270, 231, 182)), 400, lambda text, _: text)
    assert part[0].split("\n")[2:] == ["house 1 and house 3  L1       230  260 to 270  above limits", "                     L2       230         231  within limits",
                                       "                     L3       230  180 to 182  below limits", "house 0 and house 2  L1       230  230 to 240  within limits",
                                       "                     L2       230         231  within limits", "                     L3       230         229  within limits"]
    (alike,) = short_text._voltages(street(fine, fine, fine), 400, lambda text, _: text)
    assert alike[0].split("\n")[2].startswith("every point      L1") and len(alike) == 1
    many = [(260, 230, 230), (230, 260, 230), (230, 230, 260), (180, 230, 230), (230, 180, 230)]
    (part,) = short_text._voltages(street(*many), 400, lambda text, _: text)
    assert part[1] == "2 more points: --full." and len(part[0].split("\n")) == 11
    assert short_text._range([230.0, None]) == "–" and short_text._range([229.6, 230.4]) == "230"


def test_a_line_without_voltage_is_said_to_be_live_or_not_proved_dead():
    claim = lambda live: SimpleNamespace(kind=Kind.LINE_NONE, about=SimpleNamespace(name="L1"), where=("a",), value=0.0,
                                         condition=Condition(), facts={"band": "EN 50160", "live": live})
    told = short_text._without_voltage(SimpleNamespace(claims=(claim(True), claim(False)), case=STAR.case), 400)
    assert told == ["L1 at a would have no voltage to neutral (0 V), and is STILL LIVE to earth.", "L1 at a would have no voltage to neutral (0 V), and is not proved dead."]
    # by voltage to earth: N at the voltage of L1, and N at that of the supply's neutral with L1 lost
    star = STAR.after.reached
    for volts, words in (({"L1": 230 + 0j, "N": 230 + 0j}, "no voltage to neutral, STILL LIVE to earth"), ({"L1": 0j, "N": 0j}, "no voltage to neutral, not proved dead")):
        nodes = star.nodes | {(STAR.case.points[0].name, x): v for x, v in volts.items()}
        row = rows.point_rows(STAR.case, None, replace(star, nodes=nodes))[0]
        assert (row.line, row.verdict, row.told) == ("L1", "no voltage to neutral", words)


def test_a_cycle_has_the_lowest_and_highest_of_each_line():
    names = ("a", "b", "c", "d")
    cycle = {f"{p} {x}": {"lowest": 100.4, "highest": 300.6, "rms": 200.0} for p in names for x in ("L1", "L2", "L3")}
    result = SimpleNamespace(after=SimpleNamespace(cycle={"lines": cycle}), claims=(),
                             case=SimpleNamespace(points=[SimpleNamespace(name=n, phases=("L1", "L2", "L3")) for n in (*names, "not in it")]))
    (part,) = short_text._cycle(result, 400, lambda text, _: text)
    rows = part[0].split("\n")
    assert rows[0].split() == ["V", "to", "neutral", "at", "line", "lowest", "highest", "r.m.s."] and len(rows) == 11
    assert rows[2].split() == ["a", "L1", "100", "301", "200"] and rows[3].split() == ["L2", "100", "301", "200"] and rows[5].split()[0] == "b"
    assert part[1:] == ["1 more point: --full."]
    result.case.points = result.case.points[:3]
    assert len(next(short_text._cycle(result, 400, lambda text, _: text))) == 1


def verdict(n, rank=1, outcome="fails"):
    return SimpleNamespace(item=f"item {n}", rank=rank, outcome=outcome, volts=200.0 + n)


@pytest.mark.parametrize(("count", "told"), [(20, []), (21, ["1 more item, no worse: --full."]), (23, ["3 more items, no worse: --full."])])
def test_twenty_items_stand_on_the_screen_the_worst_first(monkeypatch, count, told):
    monkeypatch.setattr(short_text, "in_brief", lambda v: f"effect of {v.item}"), monkeypatch.setattr(short_text, "schedule", lambda *_: [])
    monkeypatch.setattr(short_text, "ORDER", ("fails", "dim", "unharmed")), monkeypatch.setattr(short_text, "GOOD", ("unharmed",))
    found = [verdict(99, 2, "dim"), verdict(98, 1, "dim"), *(verdict(n) for n in range(count - 2)), verdict(97, 0, "unharmed")]
    table, *more = short_text._items(SimpleNamespace(verdicts=found, claims=()), 400, lambda text, _: text)
    rows = table.split("\n")
    assert rows[2].split() == ["item", "0", "200", "effect", "of", "item", "0"] and len(rows) == 22 and more == told
    if count == 20:
        assert [r.split()[1] for r in rows[-2:]] == ["98", "99"]
    unharmed = [verdict(1, 0, "unharmed")]
    assert short_text._items(SimpleNamespace(verdicts=unharmed, claims=()), 400, lambda text, _: text) == []


def test_no_voltage_is_a_dash(monkeypatch):
    monkeypatch.setattr(short_text, "in_brief", lambda v: "none"), monkeypatch.setattr(short_text, "schedule", lambda *_: [])
    none = SimpleNamespace(item="x", rank=1, outcome="stands", volts=None)
    monkeypatch.setattr(short_text, "ORDER", ("stands",))
    assert short_text._items(SimpleNamespace(verdicts=[none], claims=()), 400, lambda text, _: text)[0].split("\n")[2] == "x     –  none"


def test_items_that_take_no_harm_are_named_together(monkeypatch):
    rows = [SimpleNamespace(outcome=o, voltage=v, names=lambda most: f"{most} names") for o, v in (("unharmed", "230 V"), ("was off", ""), ("fails", "300 V"))]
    monkeypatch.setattr(short_text, "schedule", lambda *_: rows)
    assert short_text._items(SimpleNamespace(verdicts=[], claims=()), 400, lambda text, _: text) == [
        "Not expected to be damaged by this alone (230 V): 12 names.", "Switched off, not judged: 12 names."]


def test_what_was_seen_and_does_not_agree_is_said(monkeypatch):
    monkeypatch.setattr(short_text, "observation", lambda c: (f"seen {c.facts['agrees']}", "200 V", "far off")), monkeypatch.setattr(short_text, "not_known", lambda result: ["Not known."])
    monkeypatch.setattr(short_text, "observations", lambda result: "Three observations.")
    claims = [SimpleNamespace(kind=Kind.OBSERVED, facts={"agrees": a}) for a in (True, False, None)]
    result = SimpleNamespace(claims=claims, assumptions=(), case=SimpleNamespace(warnings=("A warning.",)))
    assert short_text._rest(result, 400) == ["Three observations.", "seen False: calculated 200 V, far off.", "seen None: calculated 200 V, far off.", "Not known.", "A warning.",
                                             "Nothing had to be assumed."]
    result.claims = []
    assert short_text._rest(result, 400)[0] == "Not known."


# The full answer

def test_the_full_answer_in_its_order():
    told = [part.split("\n")[0] for part in terminal.terminal_text(STAR, width=400).split("\n\n")]
    assert told == ["Three lamps on a stair", terminal.DANGER, "Voltages at each point, line to neutral, V (230 V nominal; EN 50160: 207 to 253 V)", "Items, V across each, ratio to its rated voltage",
                    "Expected effect on each item over the whole incident, if new, the last condition persists and no protection operates", "Findings",
                    "Sources of the limits, and how each is known", "Assumptions", "Cautions"]
    coloured = terminal.terminal_text(STAR, colour=True, width=400)
    assert coloured.count("\x1b[1;31m! ") == 3 and "\x1b[1;31mDANGER: " in coloured and "\x1b[33mWARNING: " in coloured and "\x1b[" not in terminal.terminal_text(STAR)


def test_how_the_circuit_arrives_is_said():
    none = replace(STAR.after, solutions=(), reason="It flutters.")
    assert terminal._arrival(replace(STAR, after=none), (), 400) == "After the fault: no settled state. It flutters."
    assert terminal._arrival(STAR, STAR.after.solutions, 400) == ""
    several = replace(STAR.after, solutions=STAR.after.solutions * 2)
    assert terminal._arrival(replace(STAR, after=several), several.solutions, 400) == terminal.rows.several(several) != ""
    open_ = handmade.undecided()
    assert terminal._arrival(open_, open_.after.solutions, 400) == terminal.rows.undecided(open_.after)
    cycling = replace(open_.after, cycle={"lines": {}})
    assert terminal._arrival(replace(open_, after=cycling), open_.after.solutions, 400) == terminal.rows.several(cycling)


def test_what_was_assumed_is_counted():
    told = lambda n: terminal._assumed(replace(STAR, assumptions=STAR.assumptions * n), 400).split("\n")
    assert told(0) == ["Assumptions", "Nothing had to be assumed."] and told(1)[1] == "1 value or model choice not given in the case was assumed; the report lists it."
    assert told(2)[1] == "2 values or model choices not given in the case were assumed; the report lists them."
    warned = replace(STAR, case=replace(STAR.case, warnings=("Look here.",)))
    assert terminal._assumed(warned, 400).split("\n")[2] == "- Look here."
    assert terminal._findings(SimpleNamespace(findings=()), 400, None) == "Findings\nNone."


def test_settled_states_stand_on_the_screen_where_there_are_several():
    assert terminal._states(STAR, 400, lambda text, _: text) == ""
    told = terminal._states(handmade.undecided(2), 400, lambda text, _: text).split("\n")
    assert told[0] == "Settled states after the fault, line to neutral" and told[1].split() == ["number", "stable", "reached", "voltages"] and len(told) == 5


# Ranges, causes and courses on one screen

def test_tables_of_one_screen_count_what_they_leave_out():
    made = short_answers._rows(("a", "b", "c"), [("x", "1", "y")] * 5, "lrl", 400, 3, "more line").split("\n")
    assert len(made) == 6 and made[-1] == "2 more lines." and short_answers._rows(("a",), [], "l", 400, 3, "more line") == ""
    assert short_answers._rows(("a", "b", "c"), [("x", "1", "y")] * 4, "lrl", 400, 3, "more line").endswith("\n1 more line.") and "more" not in short_answers._rows(
        ("a", "b", "c"), [("x", "1", "y")] * 3, "lrl", 400, 3, "more line")
    assert short_answers._sentences("One. Two. Three.") == ["One.", "Two.", "Three."] and short_answers._title("x" * 60, 40)[1] == "=" * 40


def test_causes_that_are_hardly_possible_are_counted_but_for_the_second(monkeypatch):
    monkeypatch.setattr(short_answers, "verdict_on_cause", lambda found: ["Verdict."])
    monkeypatch.setattr(short_answers.compared, "rival_rows", lambda found: tuple((f"cause {n}", "1 %", "1 %", "1", "none") for n in range(9)))

    def shown(*posteriors):
        found = SimpleNamespace(rivals=[SimpleNamespace(posterior=p, words=f"cause {n}") for n, p in enumerate(posteriors)], asked=(), next_readings=())
        monkeypatch.setattr(short_answers.compared, "next_words", lambda *_: ("Look.",))
        return short_answers.deduction_on_screen(replace(STAR, deduction=found), 400).split("\n\n")

    table = lambda *posteriors: [line.split("  ")[0] for line in shown(*posteriors)[2].split("\n")[2:]]
    assert table(0.9, 0.05, 0.001, 0.0009) == ["cause 0", "cause 1", "cause 2", "6 more causes."] and len(table(0.9, 0.0)) == 3 and len(table(*[0.1] * 9)) == 6
    told = shown(0.9, 0.1)
    assert told[1] == "Verdict." and told[3] == "- Look." and told[4].startswith("It does not say") and told[5].startswith("Cautions: ")


def test_a_course_on_one_screen(monkeypatch):
    from lostneutral.report.course.rows import Failure, Happening, Seen

    found = tuple(Happening(float(n), f"event {n}", (Seen("intake", "L1", 230.0, 230.0, "within limits"),), calculated=n < 11) for n in range(13))
    failing = tuple(Failure(f"item {n}", "part" * (n == 0), 30.0, 20.0, 60.0) for n in range(7))
    monkeypatch.setattr(short_answers, "happenings", lambda *_: found), monkeypatch.setattr(short_answers, "failures_told", lambda *_: failing)
    result = replace(STAR, courses=SimpleNamespace(central=None))
    told = short_answers.course_in_short(result, 400).split("\n\n")
    assert told[1].split("\n")[0] == "about 0 s: event 0. L1 230 V, within limits"
    # what the case says is told, and the end, whatever loads did before
    assert told[1].split("\n")[9:] == ["2 more moments.", "11 s: event 11. L1 230 V, within limits", "12 s: event 12. L1 230 V, within limits"]
    assert told[2].split("\n")[1:3] == ["- item 0: part: about 30 s (early course: about 20 s; late course: about 60 s)", "- item 1: about 30 s (early course: about 20 s; late course: about 60 s)"]
    assert told[2].split("\n")[7:] == ["1 more failure."] and told[3].startswith("Cautions: ")
    monkeypatch.setattr(short_answers, "failures_told", lambda *_: ())
    assert "Expected failures" not in short_answers.course_in_short(result, 400)


def test_what_happens_at_one_time_is_told_together():
    from lostneutral.report.course.rows import Happening

    made = [Happening(t, what, (), again=again) for t, what, again in (
        (0.0, "before", False), (0.0, "opens", False), (9.0, "a is off", False), (9.0, "b is off", False), (9.0, "again", True), (12.0, "end", False))]
    assert [h.what for h in short_answers._at_one_time(made)] == ["before", "opens", "a is off; b is off", "again", "end"]
