"""Readings of meters, test results and photographs: where, between which terminals, with what."""

from nicegui import ui

from lostneutral.desk.desk import Desk
from lostneutral.desk.fields import field, fields
from lostneutral.desk.items import FATES, LIGHTS
from lostneutral.desk.readings import BEFORE, INSTRUMENTS, LOADS_OFF, LOADS_ON, Reading, add_reading
from lostneutral.desk.views.bring import photo_upload
from lostneutral.desk.views.parts import ChoiceField, Rows, Tag, TextField, button
from lostneutral.desk.views.pictures import PLACES, TERMINALS
from lostneutral.desk.views.start import generic

FORM = "reading"


class Readings:
    """The third part of the desk."""

    def __init__(self, desk: Desk):
        self.desk = desk
        with Tag("section", aria_labelledby="h-readings"):
            Tag("h2", "Readings", id="h-readings")
            self._entry()
            self.none = Tag("p", "", "small")
            self.rows = Rows(Tag("div", classes="rows"), lambda uid: EntryRow(
                desk, uid, "observation", ("point", "between", "voltage", "uncertainty", "instrument", "impedance", "state", "time",
                                           "observer", "kept", "note"), self._title))
        with Tag("section", aria_labelledby="h-tests"):
            Tag("h2", "Test results", id="h-tests")
            Tag("p", "As recorded: they are printed, and not compared with the calculation.", "small")
            self.tests = Rows(Tag("div", classes="rows"), lambda uid: EntryRow(
                desk, uid, "test", tuple(f.key for f in fields("test")), lambda d: f"{d.get('test', '')} {d.get('circuit', '')}"))
            button("Add a test result", lambda: desk.case.add("test", {"circuit": self._first(), "test": "continuity", "value": "open"}))
        with Tag("section", aria_labelledby="h-photos"):
            Tag("h2", "Photographs", id="h-photos")
            Tag("p", "Each is made anew from its pixels, without the data of the camera, and put beside the case file; the SHA-256 of the "
                     "file that was brought is noted in the case.", "small")
            self.photos = Rows(Tag("div", classes="rows"), lambda uid: EntryRow(
                desk, uid, "photo", ("caption", "point", "load", "taken_by", "taken"), lambda d: str(d.get("caption", ""))))
            photo_upload(desk, "Bring photographs …")
        self.refresh()

    def _first(self):
        return str(next((b.data.get("name") for b in self.desk.case.entries("point")), "intake"))

    def _title(self, data):
        if data.get("load"):
            seen = {**FATES, **LIGHTS}.get(data.get("seen"), data.get("seen"))
            return f"{data['load']}: {seen}"
        return f"{data.get('between', '')} at {data.get('point', self._first())}: {data.get('voltage', '')} V"

    # The entry of a reading

    def _kept(self, key):
        return self.desk.pending.get(FORM, {}).get(key, "")

    def _keep(self, key, text):
        self.desk.type_in(FORM, key, text)

    def _entry(self):
        with Tag("form", classes="entry reading", aria_label="Add a reading", onsubmit="return false") as form:
            with Tag("div", classes="terminals"):
                Tag("p", "Tap the two terminals", "small", id="tap-words")
                self.taps = {}
                with Tag("div", classes="taps", role="group", aria_labelledby="tap-words"):
                    for name in TERMINALS:
                        self.taps[name] = button(name, lambda n=name: self._tap(n), f"tap {name}", aria_pressed="false")
                assert set(PLACES) == set(TERMINALS)
            with Tag("div", classes="grid"):
                self.point = ChoiceField("Where", self._points, lambda: self._kept("point") or self._first(), lambda v: self._keep("point", v))
                self.parts = [
                    self._typed("between", "Between", "such as L1-N, N-earth"),
                    self._typed("voltage", "Reading, V", ""),
                    self._typed("uncertainty", "Give or take, V", "one standard deviation; empty: by the instrument"),
                    self._typed("instrument", "Instrument", "", tuple(INSTRUMENTS)),
                    ChoiceField("Loads while reading", lambda: {LOADS_ON: "on, as listed", LOADS_OFF: "off, or the main switch open"},
                                lambda: self._kept("loads") or LOADS_ON, lambda v: self._keep("loads", v)),
                    ChoiceField("When", lambda: {"": "during the fault", BEFORE: "before it"}, lambda: self._kept("state"),
                                lambda v: self._keep("state", v)),
                    self._typed("observer", "Read by", ""),
                ]
            self.wrong = Tag("p", "", "fault", role="alert")
            button("Add this reading", self._add, "main")
        form.on("keydown.enter", self._add, [], js_handler="(e) => { if (e.target.tagName === 'INPUT') { e.preventDefault(); emit(); } }")

    def _typed(self, key, label, hint, suggestions=()):
        return TextField(label, lambda: self._kept(key), lambda text: self._keep(key, text), hint=hint, suggestions=suggestions)

    def _points(self):
        return {str(b.data.get("name")): str(b.data.get("name")) for b in self.desk.case.entries("point")} or {"intake": "intake"}

    def _tap(self, name):
        held = [t for t in self._kept("between").split("-") if t in TERMINALS]
        held = [t for t in held if t != name] if name in held else [*held, name][-2:]
        self._keep("between", "-".join(sorted(held, key=TERMINALS.index)))
        self.refresh_entry()

    def _add(self):
        reading = Reading(**{key: value for key, value in self.desk.pending.get(FORM, {}).items() if key in Reading.__dataclass_fields__})
        missing = [words for words, text in (("the two terminals", reading.between), ("the reading", reading.voltage)) if not text.strip()]
        if missing:
            return self.wrong.say(f"Still to be given: {' and '.join(missing)}.")
        self.wrong.say(add_reading(self.desk.case, reading))
        kept = {key: self._kept(key) for key in ("point", "instrument", "observer")}
        self.desk.entered(FORM)
        for key, text in kept.items():
            self._keep(key, text)
        for part in self.parts:
            part.focused = False
        return self.refresh()

    def refresh_entry(self):
        self.point.refresh()
        for part in self.parts:
            part.refresh()
        held = self._kept("between").split("-")
        for name, tap in self.taps.items():
            tap.set(aria_pressed="true" if name in held else "false")

    def refresh(self) -> None:
        case = self.desk.case
        self.refresh_entry()
        observations = case.entries("observation")
        self.none.say("" if observations else "No reading yet. Two are often enough to say where the fault is: one between a line and the "
                                              "neutral, one between the neutral and earth.")
        self.rows.refresh([b.uid for b in observations])
        self.tests.refresh([b.uid for b in case.entries("test")])
        self.photos.refresh([b.uid for b in case.entries("photo")])

    def refresh_answer(self) -> None:
        return None


class EntryRow:
    """An entry with its fields by the schema, folded under its title."""

    def __init__(self, desk: Desk, uid: int, table: str, keys: tuple[str, ...], title):
        self.desk, self.uid, self.title, self.keys, self.table = desk, uid, title, keys, table
        self.parts: list = []
        with Tag("div", classes="row-card"):
            with Tag("div", classes="row-head"):
                self.words = Tag("strong", "")
                button("Remove", lambda: desk.case.remove(uid), "quiet", "Remove this entry")
            self.fault = Tag("p", "", "fault", role="alert")
            with ui.expansion("Change", on_value_change=self._fill).classes("more").props("dense"):
                self.body = Tag("div", classes="grid")

    def _fill(self, event):
        if event.value and not self.parts:
            with self.body:
                keys = [key for key in self.keys if not (self.desk.case.entry(self.uid).get("load") and key in (
                    "point", "between", "voltage", "uncertainty", "instrument", "impedance") and self.table == "observation")]
                self.parts = [generic(self.desk, field(self.table, key), self.uid, (key,)) for key in keys]

    def refresh(self):
        data = self.desk.case.entry(self.uid)
        self.words.say(self.title(data))
        self.fault.say("; ".join(f"{'.'.join(map(str, f.path))}{': ' if f.path else ''}{f.words}"
                                 for f in self.desk.case.check().faults if f.uid == self.uid))
        for part in self.parts:
            part.refresh()
