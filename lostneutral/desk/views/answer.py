"""The answer beside what is typed: what to do first, dangers, voltages, the star point, what it rests on, where the fault may be."""

from collections.abc import Callable

from nicegui import background_tasks, ui

from lostneutral.desk.desk import Desk
from lostneutral.desk.views.parts import Tag, button, folded, say

CURRENT, FIRST, WORKING, EARLIER, FAULTY, NONE = ("Of the present entries", "First answer, of the present entries; the whole is being calculated",
                                          "Being calculated: what stands here is of earlier entries",
                                          "The entries have faults, which stand at their fields: what stands here is of earlier entries",
                                          "The entries have faults, which stand at their fields: there is no answer yet",
                                          "Nothing to answer yet: a supply and one item are enough")


class Answer:
    """The panel of the answer."""

    def __init__(self, desk: Desk, goto: Callable[[str, str], None]):
        self.desk, self.goto, self.shown = desk, goto, None
        self.glance = Tag("a", "", "glance", href="#answer")
        with Tag("aside", classes="answer", id="answer", aria_labelledby="h-answer"):
            Tag("h2", "What follows", id="h-answer")
            self.state = Tag("p", NONE, "state", role="status")
            self.body = Tag("div", classes="answer-body")
            with self.body:
                self.tiles = Tag("div", classes="tiles", role="list", aria_label="Voltages to neutral now, by line")
                self.fault = Tag("p", "", "fault-considered")
                with Tag("div", classes="danger-box"):
                    Tag("h3", "What to do first, and why")
                    self.to_do, self.dangers = Tag("ul", classes="do"), Tag("ul", classes="dangers")
                with Tag("figure", classes="star"):
                    ui.html('<svg id="star" class="star-picture" aria-hidden="true"></svg>', sanitize=False)
                    self.star = Tag("figcaption", "", "small", id="star-words")
                self.lines = Tag("table", classes="plain lines")
                self.conclusion = Tag("div")
                self.rests = Tag("div")
            self.where_state = Tag("p", "", "state", role="status")
            self.where = Tag("div")
            with Tag("div", classes="tools"):
                self.ask = button("Compare possible causes", lambda: background_tasks.create(desk.answers.compare()))
                self.progress = Tag("span", "", "small", role="status")
            self.deduce = Tag("div")
            Tag("h3", "Cautions")
            self.cautions = Tag("ul", classes="cautions-full")
        self.refresh_answer()

    def refresh(self) -> None:
        self.refresh_answer()

    def refresh_answer(self) -> None:
        """Show each part of the answer, marked where it is not of the present entries."""
        self._result(), self._where(), self._deduction()

    def _result(self):
        answers = self.desk.answers
        whole = not answers.stale(answers.whole) and answers.whole.value
        near = not answers.stale(answers.near) and answers.near.value
        if whole or near:
            part, words = (answers.whole, CURRENT) if whole else (answers.near, FIRST)
            if near and not whole and answers.whole.failed not in ("", "faults") and not answers.stale(answers.whole):
                words = f"First answer only. {answers.whole.failed}"
        else:
            part = max((answers.near, answers.whole), key=lambda p: p.revision if p.value else -1)
            failed = answers.whole.failed if not answers.stale(answers.whole) else ""
            if answers.near.failed == "faults":
                words = EARLIER if part.value else FAULTY if self.desk.case.entries("load") else NONE
            else:
                words = failed or (WORKING if part.value else "Being calculated")
        stale = not (whole or near)
        self.state.say(words)
        self.state.classes(replace=f"state {'stale' if stale else 'first' if not whole else 'current'}")
        self.body.classes(replace=f"answer-body {'stale' if stale else ''} {'' if part.value else 'hidden'}")
        self._glance(part.value, stale)
        key = id(part.value)
        if part.value and key != self.shown:
            self.shown = key
            self._fill(part.value)

    def _fill(self, value):
        self.fault.say(value["fault"])
        _list(self.to_do, value["to_do"])
        _list(self.dangers, value["dangers"])
        _list(self.cautions, value["cautions"])
        self._tiles(value), self._lines(value["lines"])
        self.conclusion.clear()
        with self.conclusion:
            if value["conclusion"]:
                Tag("h3", "Conclusion")
            for text in value["conclusion"]:
                Tag("p", text)
            wrong = list(value["observed"])
            if wrong:
                with Tag("ul", classes="observed"):
                    for o in wrong:
                        mark = {True: "✓", False: "✗", None: "?"}[o["agrees"]]
                        Tag("li", f"{mark} {o['observed']}; calculated: {o['calculated']}; {o['agreement']}",
                            "against" if o["agrees"] is False else "")
        self._rests(value)
        if value["star"]:
            ui.run_javascript(f"lostneutralStar({_json(value['star'])})")

    def _glance(self, value, stale):
        """Show the voltages in one line, where the answer has no place beside the entries."""
        place = value["star"]["point"] if value and value["star"] else None
        rows = [r for r in value["lines"] if r["point"] == place] if value else []
        mark = {"above limits": " ▲", "below limits": " ▼", "within limits": ""}
        words = "   ".join(f"{r['line']} {r['after'] or '–'}{mark.get(r['word'], ' !')}" for r in rows)
        self.glance.say(f"{words or 'What follows'}{'  (being calculated)' if stale and rows else ''}  ↓")
        self.glance.set(aria_label=f"What follows: {words}")

    def _tiles(self, value):
        """Show the voltages where the loads behind the break stand."""
        place = value["star"]["point"] if value["star"] else None
        self.tiles.clear()
        with self.tiles:
            for row in (r for r in value["lines"] if r["point"] == place):
                with Tag("div", classes=f"tile {'' if row['word'] == 'within limits' else 'off-limits'}", role="listitem"):
                    Tag("span", f"{row['line']} at {place}", "small block")
                    Tag("strong", row["after"] or "no figure", "block")
                    Tag("span", row["word"], "block")

    def _lines(self, lines):
        self.lines.clear()
        with self.lines:
            Tag("caption", "Volts to neutral, before and after the break")
            with Tag("thead"), Tag("tr"):
                for words in ("at", "line", "before", "after", "limits"):
                    Tag("th", words, scope="col")
            with Tag("tbody"):
                last = None
                for row in lines[:24]:
                    with Tag("tr", classes="" if row["word"] == "within limits" else "off-limits"):
                        Tag("td", row["point"] if row["point"] != last else "")
                        last = row["point"]
                        Tag("td", row["line"], f"line-name {row['line']}")
                        Tag("td", row["before"] or "–", "figure")
                        Tag("td", row["after"] or "–", "figure strong")
                        Tag("td", row["word"])
            if len(lines) > 24:
                with Tag("tfoot"), Tag("tr"):
                    Tag("td", f"{len(lines) - 24} more lines are in the report", colspan=5)

    def _rests(self, value):
        self.rests.clear()
        with self.rests:
            if value["rests"] or value["warnings"] or value["how"]:
                Tag("h3", "What this rests on")
            for text in (*value["how"], *value["rests"]):
                Tag("p", text)
            for hinge in value["hinges"]:
                button(f"Settle it: {hinge['of']}", lambda h=hinge: self.goto("hinge", h["of"]), "link")
            for text in value["warnings"]:
                Tag("p", text, "small")
            if value["assumed"]:
                with folded(f"{len(value['assumed'])} values that were not given were assumed"), Tag("ul", classes="assumed"):
                    for a in value["assumed"]:
                        with Tag("li"):
                            button(f"{a['subject']}: {a['what']}", lambda s=a["subject"]: self.goto("assumed", s), "link")
                            Tag("span", f" taken as {a['value']} ({a['why']})", "small")

    def _where(self):
        part, answers = self.desk.answers.where, self.desk.answers
        stale = answers.stale(part)
        if (part.working or stale) and part.value:
            self.where_state.say("Where the fault may be: being calculated; what stands here is of earlier entries")
        elif part.working:
            self.where_state.say("Where the fault may be: being calculated")
        else:
            self.where_state.say(part.failed if part.failed not in ("", "faults") else "")
        self.where.classes(replace="stale" if stale else "")
        if getattr(self, "_where_shown", None) == id(part.value):
            return
        self._where_shown = id(part.value)
        self.where.clear()
        if not part.value:
            return
        value = part.value
        with self.where:
            Tag("h3", "Where the fault may be")
            with Tag("ol", classes="places"):
                for place in value["places"]:
                    with Tag("li"):
                        Tag("strong", f"{place['share']}  {place['words']}")
                        Tag("span", place["does"], "block small")
                        if not place["rival"] and place["breaks"]:
                            button("Take this as the fault", lambda p=place: self._take(p), "link",
                                   f"Take this as the fault: {place['words']}")
            for text in (value["next"], value["caveat"], *value["notes"]):
                if text:
                    Tag("p", text, "small")

    def _take(self, place):
        case = self.desk.case
        with case.one_step():
            for block in case.entries("break"):
                case.remove(block.uid)
            for broken in place["breaks"]:
                case.add("break", {"resistance": "open", **broken})
        say("Taken as the fault. Undo takes it back.")

    def _deduction(self):
        part, answers = self.desk.answers.deduce, self.desk.answers
        can = bool(self.desk.case.entries("observation"))
        self.ask.set(disabled=None if can and not part.working else True)
        self.progress.say(f"comparing: {100 * part.progress:.0f} %" if part.working else "" if can else "needs a reading, or something seen")
        stale = answers.stale(part)
        self.deduce.classes(replace="stale" if stale else "")
        key = (id(part.value), stale, part.failed)
        if getattr(self, "_deduce_shown", None) == key:
            return
        self._deduce_shown = key
        self.deduce.clear()
        if not part.value:
            if part.failed and not stale:
                with self.deduce:
                    Tag("p", part.failed, "fault")
            return
        with self.deduce:
            Tag("h3", "Possible causes compared")
            if stale:
                Tag("p", "Of earlier entries: ask again for the present ones.", "state")
            Tag("p", part.value["purpose"], "small")
            for text in part.value["verdict"]:
                Tag("p", text)
            with Tag("div", classes="scroll"), Tag("table", classes="plain"):
                with Tag("thead"), Tag("tr"):
                    for words in ("cause", "prior", "posterior", "LR", "support"):
                        Tag("th", words, scope="col")
                with Tag("tbody"):
                    for row in part.value["rows"]:
                        with Tag("tr"):
                            for cell in row:
                                Tag("td", cell)
            for text in part.value["next"]:
                Tag("p", text, "small")


def _list(element, texts):
    element.clear()
    with element:
        for text in texts:
            Tag("li", text)


def _json(value):
    import json

    return json.dumps(value, allow_nan=False).replace("<", "\\u003c")
