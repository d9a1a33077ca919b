"""What follows from the case on the desk, step by step, with what calculates stubbed. Kind of all: behaviour laid down."""

import asyncio
from dataclasses import replace
from math import inf
from types import SimpleNamespace

import pytest
from desk_cases import SMALL

from lostneutral.case.model import Break
from lostneutral.desk import answers, items, lanes, told, worker
from lostneutral.desk.case import DeskCase
from lostneutral.desk.readings import Reading, add_reading


class Lane:
    """A lane that notes what it is asked and answers at once."""

    def __init__(self, answer=None):
        self.asked, self.ended, self.answer = [], 0, answer

    async def run(self, kind, *arguments, progress=None):
        self.asked.append((kind, *arguments))
        if progress:
            progress(0.5)
            await asyncio.sleep(0)
        if isinstance(self.answer, Exception):
            raise self.answer
        return self.answer or f"{kind} answered"

    def end(self):
        self.ended += 1

    def close(self):
        self.ended = -1


@pytest.fixture
def answered(monkeypatch):
    """Answers to a valid case, without waiting before its steps."""
    monkeypatch.setattr(answers, "QUIET", 0.0), monkeypatch.setattr(answers, "SETTLED", 0.0)
    made = answers.Answers(DeskCase(SMALL))
    made.lanes = {name: Lane() for name in made.lanes}
    return made


def test_what_is_waited_for_least_goes_in_the_background():
    made = answers.Answers(DeskCase(SMALL))
    assert {name: lane._background for name, lane in made.lanes.items()} == {"near": False, "whole": True, "where": True}


def test_only_the_last_of_quick_changes_is_answered(answered):
    async def typing():
        for text in ("61", "62", "63"):
            items.set_text(answered.case, answered.case.entries("load")[0].uid, "power", text)
        await asyncio.sleep(0.02)

    asyncio.run(typing())
    (near,) = answered.lanes["near"].asked
    assert near[0] == "near" and "power = 63" in near[1] and answered.lanes["whole"].ended == 3 == answered.lanes["where"].ended
    assert [answered.whole.value, answered.near.value, answered.where.value] == ["whole answered", "near answered", None]
    assert not answered.lanes["where"].asked and answered.where.revision == answered.case.revision and not answered.where.working and not answered.stale(answered.whole)


def test_places_are_asked_for_where_something_was_seen(answered):
    async def seen():
        add_reading(answered.case, Reading(between="L1-N", voltage="231"))
        await asyncio.sleep(0.02)

    versions = []
    answered.listeners.append(lambda: versions.append(answered.version))
    asyncio.run(seen())
    assert answered.where.value == "where answered" and versions == [1, 2, 3, 4, 5, 6]  # each of three begun and done


def test_why_there_is_no_answer_is_kept_with_it(answered):
    answered.lanes["near"].answer, answered.lanes["whole"].answer = lanes.Failed("no state"), lanes.Superseded()

    async def asked():
        answered.begin()
        await asyncio.sleep(0.02)

    asyncio.run(asked())
    assert (answered.near.failed, answered.near.value, answered.near.working, answered.near.revision) == ("no state", None, False, answered.case.revision)
    assert (answered.whole.failed, answered.whole.value, answered.whole.revision) == ("", None, 0)


def test_causes_are_compared_with_progress(answered):
    shares = []
    answered.listeners.append(lambda: shares.append(answered.deduce.progress))
    asyncio.run(answered.compare())
    assert answered.deduce.value == "deduce answered" and answered.lanes["where"].asked[0][0] == "deduce" and 0.5 in shares
    items.set_text(answered.case, answered.case.entries("load")[0].uid, "power", "much")
    answered.lanes["where"].asked.clear()
    asyncio.run(answered.compare())
    assert answered.lanes["where"].asked == []  # a case with faults has none


def test_documents_are_of_the_present_case(answered):
    assert asyncio.run(answered.document("client")) == "document answered" and answered.lanes["whole"].asked[0][1:] == (answered.case.text, "case.toml", "client")
    answered.lanes["whole"].answer = lanes.Superseded()
    with pytest.raises(lanes.Failed, match="changed meanwhile"):
        asyncio.run(answered.document("client"))
    answered.close()
    assert {lane.ended for lane in answered.lanes.values()} == {-1}


def test_a_state_that_cannot_be_followed_does_not_forget_the_last(monkeypatch):
    import lostneutral
    from lostneutral import analysis

    followed = []
    monkeypatch.setattr(lostneutral, "parse_case", lambda text, name: text)
    monkeypatch.setattr(analysis, "analyse_near", lambda case, known: followed.append(known) or (None if case == "b" else f"found {case}"))
    monkeypatch.setattr(told, "told", lambda found: f"told of {found}")
    work = worker.Work()
    assert [work.near(text, "n") for text in "abc"] == ["told of found a", None, "told of found c"] and followed == [None, "found a", "found a"]


def test_where_no_state_is_known_to_be_reached_the_first_is_shown():
    import handmade

    open_ = told.told(handmade.undecided())
    assert [x["line"] for x in open_["lines"]] == ["L1", "L2", "L3"] and open_["star"] and open_["states"] == 3
    # the neutral at 80 V in the direction of L1
    assert open_["lines"][0]["before"].startswith("230") and open_["lines"][0]["after"].startswith("150") and open_["lines"][0]["word"] == "below limits"
    one = handmade.star([100.0, 200.0, 300.0])
    none = told.told(replace(one, after=replace(one.after, solutions=())))
    assert none["lines"] == [] and none["star"] is None
    assert [(x["after"][:3], x["word"]) for x in told.told(one)["lines"]] == [("289", "above limits"), ("239", "within limits"), ("176", "below limits")]


def test_places_as_the_desk_tells_them(monkeypatch):
    monkeypatch.setattr(told, "consequence", lambda case, outcome: "does it"), monkeypatch.setattr(told, "reading_to_take", lambda found: "read here")
    run = lambda ohms, feeding="intake": Break(feeding, "N", ohms)
    place = lambda breaks, crosses=(): SimpleNamespace(words="w", feeding="intake", kind="k", breaks=breaks, crosses=crosses)
    outcome = lambda where, misfits=(): SimpleNamespace(place=where, support=0.25, misfits=misfits)
    found = SimpleNamespace(observed=True, notes=("n",), next_reading=1, outcomes=[outcome(place((run(inf), run(4.0))), (("a", "b", 9.0), ("c", "d", 9.1))), outcome(place((run(4.0, "supply"),))),
                                                                                  outcome(place((), (1,))), *[outcome(place(()))] * 7])
    made = told.where_told(None, found)
    assert made["places"][0]["breaks"] == [{"conductor": "N", "feeding": "intake"}, {"conductor": "N", "feeding": "intake", "resistance": 4.0}]
    assert [p["rival"] for p in made["places"][:4]] == [False, True, True, False] and [s["fits"] for s in made["places"][0]["seen"]] == [True, False]
    assert (len(made["places"]), made["left"], made["next"], made["places"][0]["share"], made["notes"]) == (8, 2, "read here", "25 %", ["n"])
    unseen = told.where_told(None, SimpleNamespace(observed=False, notes=(), next_reading=None, outcomes=found.outcomes[:1]))
    assert (unseen["places"][0]["share"], unseen["next"], unseen["caveat"], unseen["left"]) == ("", "", told.UNRANKED, 0) and made["caveat"] == told.CAVEAT


def test_a_lane_starts_its_process_once_and_it_ends_with_the_desk(monkeypatch):
    started, closed = [], []

    def process(**keys):
        started.append(keys)
        return SimpleNamespace(start=lambda: started.append("started"), is_alive=lambda: alive[0])

    alive = [True]
    pipes = lambda: ("ours", SimpleNamespace(close=lambda: closed.append(1)))
    monkeypatch.setattr(lanes, "_context", lambda: SimpleNamespace(Pipe=pipes, Process=process))
    lane = lanes.Lane(background=True)
    lane._start(), lane._start()
    assert len(started) == 2 and started[0]["daemon"] is True and started[0]["target"] is worker.serve and started[0]["args"][1] is True
    assert lane._pipe == "ours" and closed == [1]
    alive[0] = False
    lane._start()  # one that has ended is replaced
    assert started.count("started") == 2
    lanes.Lane()._start()
    assert started[-2]["args"][1] is False
    monkeypatch.undo()
    monkeypatch.setattr(lanes.sys, "platform", "win32")
    assert lanes._context().get_start_method() == "spawn"
    monkeypatch.setattr(lanes.sys, "platform", "linux")
    assert lanes._context().get_start_method() == "forkserver"
