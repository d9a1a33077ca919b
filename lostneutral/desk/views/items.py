"""The items of equipment: a line to add one, one row each with what the calculation says, a list to paste, an editor."""


from lostneutral.desk import everyday
from lostneutral.desk.desk import Desk
from lostneutral.desk.fields import fields
from lostneutral.desk.items import (
    CONNECTIONS,
    FATES,
    LIGHTS,
    NOT_KNOWN,
    OFF,
    ON,
    Written,
    add_item,
    item,
    own_fields,
    remove_item,
    set_fate,
    set_light,
    set_name,
    set_on,
    set_text,
    set_what,
)
from lostneutral.desk.views.bring import PasteDialog, photo_upload
from lostneutral.desk.views.parts import ChoiceField, Rows, Tag, TextField, button, folded, say, window
from lostneutral.desk.views.start import generic

FORM = "item"
WORDS = tuple(dict.fromkeys(word for c in everyday.choices() for word in (c.name, *c.words)))
SWITCH = {ON: "on", OFF: "off", NOT_KNOWN: "not known"}


class Items:
    """The second part of the desk."""

    def __init__(self, desk: Desk):
        self.desk, self.open_editor = desk, None
        self.choice = None
        with Tag("section", aria_labelledby="h-items"):
            Tag("h2", "Items of equipment", id="h-items")
            self._entry()
            with Tag("div", classes="tools"):
                button("Paste or bring a list …", lambda: PasteDialog(desk).open())
                self.count = Tag("span", "", "small", role="status")
            self.none = Tag("p", "", "fault", role="alert")
            with Tag("div", classes="scroll"), Tag("table", classes="items"):
                with Tag("thead"), Tag("tr"):
                    for words in ("Item", "Plate and circuit", "Switch", "Seen afterwards"):
                        Tag("th", words, scope="col")
                    with Tag("th", scope="col"):
                        self.answer_head = Tag("span", "By calculation")
                    with Tag("th", scope="col"):
                        Tag("span", "Change", "visually-hidden")
                body = Tag("tbody")
            self.rows = Rows(body, lambda uid: ItemRow(self, uid))
        self.refresh()

    def _entry(self):
        """The line in which items are typed: every field is entered with the Enter key."""
        self.fields = {}
        with Tag("form", classes="entry", aria_label="Add an item", onsubmit="return false") as form:
            for key, label, hint in (("what", "What is it", "kettle, till, lamp …"), ("name", "Name on your list", "as above"),
                                     ("power", "Plate", "2.2 kW, 230 V 6 A"), ("count", "How many", "1")):
                self._typed(key, label, hint, WORDS if key == "what" else ())
            self.board = ChoiceField("Board", self._boards, lambda: self._kept("point") or next(iter(self._boards())), lambda v: self._keep("point", v))
            self.line = ChoiceField("Line", lambda: {c: c for c in self._connections()}, lambda: self._kept("connect") or "L1-N",
                                    lambda v: self._keep("connect", v))
            self.on = ChoiceField("Switch", lambda: SWITCH, lambda: self._kept("on") or ON, lambda v: self._keep("on", v))
            self.fate = ChoiceField("Seen afterwards", lambda: FATES, lambda: self._kept("fate"), lambda v: self._keep("fate", v))
            button("Add", self._add, "main", "Add this item")
        form.on("keydown.enter", self._add, [], js_handler="(e) => { if (e.target.tagName === 'INPUT' || e.target.tagName === 'SELECT') "
                                                         "{ e.preventDefault(); emit(); } }")
        self.hint = Tag("p", "", "small", role="status")

    def _typed(self, key, label, hint, suggestions):
        made = TextField(label, lambda: self._kept(key), lambda text: self._keep(key, text), hint="", placeholder=hint,
                         suggestions=suggestions, classes=f"entry-{key}")
        self.fields[key] = made

    def _kept(self, key):
        return self.desk.pending.get(FORM, {}).get(key, "")

    def _keep(self, key, text):
        self.desk.type_in(FORM, key, text)
        if key in ("what", "name"):
            self._say_what()

    def _say_what(self):
        text = self._kept("what") or self._kept("name")
        choice = everyday.meant(text)
        if not text.strip():
            return self.hint.say("")
        if choice:
            return self.hint.say(f"{choice.name}: {choice.detail}")
        near = everyday.find(text, 4)
        return self.hint.say("Not in the catalogue" + (f"; is it like: {', '.join(c.name for c in near)}?" if near else ": say what it is "
                             "most like (lamp, heater, motor, power supply …), and give it its own name beside."))

    def _boards(self):
        return {str(b.data.get("name")): str(b.data.get("name")) for b in self.desk.case.entries("point")} or {"": "–"}

    def _connections(self):
        block = self.desk.case.single("supply")
        split = bool(block) and block.data.get("system") == "split-phase"
        return [c for c in CONNECTIONS if not (split and "L3" in c)]

    def _add(self):
        held = dict(self.desk.pending.get(FORM, {}))
        if not (held.get("what", "").strip() or held.get("name", "").strip()):
            self.fields["what"].element.run_method("focus")
            return
        boards = list(self._boards())
        point = held.get("point") or (boards[0] if len(boards) > 1 else "")
        uid = add_item(self.desk.case, Written(**{k: held.get(k, "") for k in ("what", "name", "power", "count", "fate")},
                                               point=point, connect=held.get("connect") or "L1-N", on=held.get("on", "")))
        self.desk.entered(FORM)
        for key in ("point", "connect"):  # the next item is usually on the same board
            if held.get(key):
                self.desk.type_in(FORM, key, held[key])
        for made in self.fields.values():
            made.focused = False
            made.refresh()
        self.hint.say(f"Added: {self.desk.case.entry(uid).get('name')}")
        self.refresh()
        self.fields["what"].element.run_method("focus")

    def edit(self, uid: int) -> None:
        """Open the editor of one item."""
        self.open_editor = ItemEditor(self.desk, uid)

    def refresh(self) -> None:
        case = self.desk.case
        for part in (*self.fields.values(), self.board, self.line, self.on, self.fate):
            part.refresh()
        self.rows.refresh([b.uid for b in case.entries("load")])
        number = len(case.entries("load"))
        self.count.say(f"{number} item{'s' * (number != 1)}")
        self.none.say(case.check().of(None, "load") if number == 0 and self.desk.case.can_undo else "")
        if self.open_editor:
            self.open_editor.refresh()
        self.refresh_answer()

    def refresh_answer(self) -> None:
        """Show what the calculation says in every row, marked where it is not of the present entries."""
        part, word = best(self.desk)
        self.answer_head.say(f"By calculation{word}")
        for _, row in self.rows.parts.values():
            row.answer(part, word)


def best(desk: Desk):
    """Return (the part of the answer to show of items, how it is marked)."""
    answers = desk.answers
    if not answers.stale(answers.whole) and answers.whole.value:
        return answers.whole.value, ""
    if not answers.stale(answers.near) and answers.near.value:
        return answers.near.value, " (first answer, being confirmed)" if answers.whole.working else " (first answer)"
    old = max((answers.near, answers.whole), key=lambda p: p.revision if p.value else 0)
    working = answers.near.working or answers.whole.working or not answers.near.failed and answers.stale(answers.near)
    return old.value, " (being calculated)" if working else " (of earlier entries)" if old.value else " (no answer)"


class ItemRow:
    """One item."""

    def __init__(self, page: Items, uid: int):
        self.page, self.desk, self.uid = page, page.desk, uid
        case = self.desk.case
        with Tag("tr"):
            with Tag("th", scope="row", data_label="Item"):
                self.name = button("", lambda: page.edit(uid), "link")
                self.what = Tag("span", "", "small block")
                self.fault = Tag("span", "", "fault block", role="alert")
            with Tag("td"):
                self.plate = Tag("span", "", "block")
                self.circuit = Tag("span", "", "small block")
            with Tag("td", data_label="Switch"):
                self.on = ChoiceField("Switch", lambda: SWITCH, self._item("on"), lambda v: set_on(case, uid, v), bare=True)
            with Tag("td", data_label="Seen afterwards"):
                self.fate = ChoiceField("Seen afterwards", lambda: FATES, self._item("fate"), lambda v: set_fate(case, uid, v), bare=True)
            with Tag("td", data_label="By calculation", classes="by-calculation"):
                self.volts = Tag("strong", "")
                self.effect = Tag("span", "", "block")
            with Tag("td", classes="row-tools"):
                self.remove = button("×", self._remove, "quiet cross")
        self.shown = None

    def _item(self, key):
        return lambda: getattr(found, key) if (found := item(self.desk.case, self.uid)) else ""

    def _remove(self):
        name = self.desk.case.entry(self.uid).get("name")
        remove_item(self.desk.case, self.uid)
        say(f"Removed: {name}. Undo brings it back.")

    def refresh(self):
        found = item(self.desk.case, self.uid)
        if found is None:
            return
        name = found.name or "(no name)"
        self.name.say(name)
        self.name.set(aria_label=f"Change {name}")
        self.remove.set(aria_label=f"Remove {name}")
        self.on.select.set(aria_label=f"Switch of {name}")
        self.fate.select.set(aria_label=f"Seen afterwards of {name}")
        self.what.say(found.what if found.what.casefold() != name.casefold() else "")
        power = f"{found.power} W" if found.power.replace(".", "").isdigit() else found.power or (
            f"{found.usual_power} W (usual)" if found.usual_power else "–")
        volts = f", {found.voltage} V" if found.voltage else ""
        self.plate.say(f"{found.count + ' × ' if found.count else ''}{power}{volts}")
        self.circuit.say(" · ".join(filter(None, (found.point, found.connect))) or "–")
        self.on.refresh(), self.fate.refresh()
        self.fault.say("; ".join(f"{'.'.join(map(str, f.path))}{': ' if f.path else ''}{f.words}" for f in self.desk.case.check().faults
                                 if f.uid == self.uid))

    def answer(self, value, word):
        name = self.desk.case.entry(self.uid).get("name")
        said = (value or {}).get("items", {}).get(name)
        self.volts.say((said or {}).get("volts") or "")
        self.effect.say(said["effect"] if said else "being calculated" if "being" in word else "–")
        rank = "" if said is None else ("danger", "danger", "bad", "warn", "")[said["rank"]]
        classes = f"by-calculation {'stale' if 'calculated' in word or 'earlier' in word else ''} {rank}"
        if classes != self.shown:
            self.shown = classes
            self.effect.parent_slot.parent.classes(replace=classes)
        self.effect.set(title=f"{said['full']}: {said['why']}" if said else None)


class ItemEditor:
    """Everything about one item, in a dialog; every change counts at once."""

    def __init__(self, desk: Desk, uid: int):
        self.desk, self.uid, case = desk, uid, desk.case
        with window(f"edit-{uid}") as self.dialog, Tag("div", classes="dialog"):
            self.title = Tag("h2", "", id=f"edit-{uid}")
            self.body = Tag("div", classes="dialog-body")
            with Tag("div", classes="tools"):
                button("Done", self.dialog.close, "main")
                button("Remove this item", self._remove, "quiet")
        self.kind = None
        self.parts: list = []
        self._fill()
        self.refresh()
        self.dialog.on("hide", self._gone, [])
        self.dialog.open()
        assert case is desk.case

    def _gone(self):
        self.parts = []
        self.dialog.delete()

    def _remove(self):
        self.dialog.close()
        remove_item(self.desk.case, self.uid)

    def _fill(self):
        desk, uid, case = self.desk, self.uid, self.desk.case
        data = case.entry(uid)
        self.kind = data.get("kind"), data.get("model")
        self.body.clear()

        def shown(key):
            return lambda: getattr(found, key) if (found := item(case, uid)) else ""

        def wrong(*path):
            return lambda: case.check().of(uid, *path)

        by = {f.key: f for f in fields("load")}
        with self.body:
            with Tag("div", classes="grid"):
                self.parts = [
                    TextField("What is it", shown("what"), lambda t: set_what(case, uid, t),
                              lambda: wrong("model")() or wrong("kind")(), suggestions=WORDS),
                    TextField("Name", shown("name"), lambda t: set_name(case, uid, t), wrong("name")),
                    TextField("Power, W", shown("power"), self._text("power"), wrong("power"), self._usual(data)),
                    TextField(by["voltage"].label, shown("voltage"), self._text("voltage"), wrong("voltage"), by["voltage"].help),
                    TextField(by["count"].label, shown("count"), self._text("count"), wrong("count"), by["count"].help),
                    ChoiceField("Board", self._boards, lambda: shown("point")() or next(iter(self._boards()), ""),
                                lambda v: case.put(uid, ("point",), v), wrong("point")),
                    ChoiceField("Connected between", lambda: {c: c for c in CONNECTIONS}, shown("connect"),
                                lambda v: case.put(uid, ("connect",), v), wrong("connect")),
                    ChoiceField("Switch", lambda: SWITCH, shown("on"), lambda v: set_on(case, uid, v), wrong("on")),
                    ChoiceField("Seen afterwards", lambda: FATES, shown("fate"), lambda v: set_fate(case, uid, v)),
                    ChoiceField("Seen during the fault", lambda: LIGHTS, shown("light"), lambda v: set_light(case, uid, v)),
                ]
            self._unknown(), self._seen()
            with Tag("div", classes="tools"):
                photo_upload(desk, "Photograph of this item", load=lambda: str(case.entry(uid).get("name", "")))
            own = own_fields(data)
            if own:
                with folded("More from the plate"), Tag("div", classes="grid"):
                    self.parts += [generic(desk, f, uid, (f.key,)) for f in own]

    def _unknown(self):
        case, name = self.desk.case, self.desk.case.entry(self.uid).get("name")
        block = next((u for u in case.entries("unknown") if u.data.get("load") == name and "on" in u.data), None)
        self.unknown = block and block.uid
        if block:
            with Tag("div", classes="grid"):
                self.parts.append(TextField("Probability that it was on, 0 to 1", lambda: str(case.entry(block.uid).get("on", "")),
                                            lambda t: case.put(block.uid, ("on",), _number(t)), lambda: case.check().of(block.uid, "on")))

    def _seen(self):
        case, name = self.desk.case, self.desk.case.entry(self.uid).get("name")
        found = [o for o in case.entries("observation") if o.data.get("load") == name]
        self.seen = [o.uid for o in found]
        by = {f.key: f for f in fields("observation")}
        for block in found:
            with Tag("fieldset"):
                Tag("legend", f"On “{ {**LIGHTS, **FATES}.get(block.data.get('seen'), block.data.get('seen'))}”")
                with Tag("div", classes="grid"):
                    self.parts += [generic(self.desk, by[key], block.uid, (key,)) for key in ("within", "observer", "kept", "note")]

    def _usual(self, data):
        choice = next((c for c in everyday.choices() if c.model and c.model == data.get("model")), None)
        return choice.detail if choice else ""

    def _text(self, key):
        return lambda text: set_text(self.desk.case, self.uid, key, text)

    def _boards(self):
        return {str(b.data.get("name")): str(b.data.get("name")) for b in self.desk.case.entries("point")} or {"": "–"}

    def refresh(self):
        if not self.parts:
            return
        data = self.desk.case.entry(self.uid)
        if not data:
            return self.dialog.close()
        self.title.say(str(data.get("name") or "Item"))
        name = data.get("name")
        seen = [o.uid for o in self.desk.case.entries("observation") if o.data.get("load") == name]
        unknown = next((u.uid for u in self.desk.case.entries("unknown") if u.data.get("load") == name and "on" in u.data), None)
        if ((data.get("kind"), data.get("model")), seen, unknown) != (self.kind, self.seen, self.unknown) and not any(
                getattr(p, "focused", False) for p in self.parts):
            self._fill()
        for part in self.parts:
            part.refresh()


def _number(text):
    from lostneutral.desk.plates import number

    return number(text).value if text.strip() else None


