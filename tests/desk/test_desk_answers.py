"""The answer in steps: what the first says, what is marked, what nobody wants any more. Kind: independent (`analyse`), invariant."""

import asyncio
import json

import pytest
from desk_cases import CASEBOOK

from lostneutral import analyse, read_case
from lostneutral.analysis import analyse_near
from lostneutral.desk.answers import Answers, Part
from lostneutral.desk.case import DeskCase
from lostneutral.desk.items import set_on, set_text
from lostneutral.desk.lanes import Failed, Lane, Superseded
from lostneutral.desk.store import without_folders
from lostneutral.desk.worker import Work

BAKERY = CASEBOOK / "bakery.toml"


@pytest.mark.parametrize("name", ["bakery", "farm-lane", "split-phase-house", "three-unequal-lamps"])
def test_the_first_answer_is_that_of_the_whole_calculation_where_one_state_is_possible(name):
    case = read_case(CASEBOOK / f"{name}.toml")
    first, whole = analyse_near(case), analyse(case)
    assert [(v.item, v.outcome) for v in first.verdicts] == [(v.item, v.outcome) for v in whole.verdicts]
    for a, b in zip(first.after.reached.loads, whole.after.reached.loads):
        assert abs(a.voltage - b.voltage) < 1e-3
    assert first.cautions == whole.cautions


def test_what_is_told_is_plain_and_the_same_as_the_report_says():
    from lostneutral.report.documents.page_one import to_do
    from lostneutral.words.conclusion import dangers

    work = Work()
    text = BAKERY.read_text("utf-8")
    first, whole = work.near(text, "bakery.toml"), work.whole(text, "bakery.toml")
    result = work.result(text, "bakery.toml")
    assert json.loads(json.dumps(whole, allow_nan=False)) == whole and set(first) == set(whole)
    assert (whole["dangers"], whole["to_do"], whole["cautions"]) == (list(dangers(result)), list(to_do(result)), list(result.cautions))
    assert set(whole["items"]) == {load.name for load in result.case.loads}
    assert first["lines"] == whole["lines"]


def test_places_and_documents_are_told():
    work = Work()
    text = (CASEBOOK / "three-unequal-lamps.toml").read_text("utf-8")
    found = work.where(text + '\n[[observation]]\nbetween = "L1-N"\nvoltage = 300\n', "case.toml")
    assert found["observed"] and found["places"][0]["share"] and json.dumps(found)
    assert json.loads(work.document((CASEBOOK / "three-unequal-lamps.toml").read_text("utf-8"), "case.toml", "result"))["verdicts"]
    assert b"<!DOCTYPE html>" in work.document((CASEBOOK / "three-unequal-lamps.toml").read_text("utf-8"), "case.toml", "page")[:100]


def test_a_report_has_ranges_where_something_is_unknown_and_the_answer_stays_what_it_was():
    case = DeskCase((CASEBOOK / "three-unequal-lamps.toml").read_text("utf-8"), "case.toml")
    set_on(case, case.entries("load")[0].uid, "not known")
    work = Work()
    before = work.whole(case.text, "case.toml")
    assert work.reported(case.text, "case.toml").ranges is not None
    assert work.whole(case.text, "case.toml") == before


class Stub:
    """A lane whose answers the test gives."""

    def __init__(self):
        self.asked, self.ended, self.waiting = [], 0, None

    async def run(self, kind, text, *_, progress=None):
        self.asked.append((kind, text))
        self.waiting = asyncio.get_running_loop().create_future()
        return await self.waiting

    def end(self):
        self.ended += 1

    def close(self):
        return None


def test_what_belongs_to_earlier_entries_is_stale_and_what_was_superseded_is_never_shown():
    async def course():
        case = DeskCase(BAKERY.read_text("utf-8"), str(BAKERY))
        answers = Answers(case)
        answers.lanes = lanes = {name: Stub() for name in answers.lanes}
        answers.begin()
        await asyncio.sleep(0.12)
        assert answers.near.working and answers.stale(answers.near)
        lanes["near"].waiting.set_result("first")
        await asyncio.sleep(0.4)
        assert answers.near.value == "first" and not answers.stale(answers.near) and answers.whole.working
        old = lanes["whole"].waiting
        set_text(case, case.entries("load")[0].uid, "power", "123")
        assert answers.stale(answers.near) and answers.stale(answers.whole) and lanes["whole"].ended == 2
        await asyncio.sleep(0.12)
        if not old.done():
            old.set_result("of the old entries")
        assert "123" in lanes["near"].asked[-1][1]
        lanes["near"].waiting.set_result("second")
        await asyncio.sleep(0.4)
        lanes["whole"].waiting.set_result("whole")
        await asyncio.sleep(0.05)
        assert (answers.near.value, answers.whole.value) == ("second", "whole") and not answers.stale(answers.whole)
        set_text(case, case.entries("load")[0].uid, "power", "much")
        await asyncio.sleep(0.12)
        assert answers.near.failed == "faults" and answers.stale(answers.near)
        with pytest.raises(Failed, match="faults"):
            await answers.document("client")

    asyncio.run(course())


def test_a_job_that_is_ended_raises_and_the_next_is_done():
    async def course():
        lane = Lane()
        try:
            running = asyncio.get_running_loop().create_task(lane.run("whole", (CASEBOOK / "hotel-kitchen.toml").read_text("utf-8"), "x.toml"))
            while lane._process is None:
                await asyncio.sleep(0.05)
            await asyncio.sleep(0.1)
            lane.end()
            with pytest.raises(Superseded):
                await running
            with pytest.raises(Failed, match="x.toml"):
                await lane.run("near", "title = ", "/somewhere/x.toml")
        finally:
            lane.close()

    asyncio.run(course())


def test_a_switch_changes_the_first_answer():
    case = DeskCase(BAKERY.read_text("utf-8"), str(BAKERY))
    work = Work()
    before = work.near(case.text, case.name)
    set_on(case, case.entries("load")[0].uid, "off")
    assert work.near(case.text, case.name)["lines"] != before["lines"]


@pytest.mark.parametrize(("text", "wanted"), [
    ("/home/ab/x.toml: no", "x.toml: no"), ("C:\\Users\\me\\x.toml: no", "x.toml: no"),
    ("L1/L2 and kW/h", "L1/L2 and kW/h"), ("error in '/a/b/c.py'", "error in 'c.py'"), ("</b>", "</b>")])
def test_no_folder_of_the_machine_is_told(text, wanted):
    assert without_folders(text) == wanted


def test_parts_begin_empty():
    assert Part().revision == 0 and Part().value is None
