"""The desk's one page: head, the four parts beside the answer, cautions always in sight; and the files that it needs."""

from fastapi import FastAPI
from fastapi.responses import Response
from nicegui import ui

from lostneutral.case.model import Case, Point, Supply
from lostneutral.desk import documents
from lostneutral.desk.desk import Desk
from lostneutral.desk.store import without_folders
from lostneutral.desk.views import resources
from lostneutral.desk.views.answer import Answer
from lostneutral.desk.views.items import Items
from lostneutral.desk.views.papers import Papers
from lostneutral.desk.views.parts import Tag, TextField, button, data_lists, say, window
from lostneutral.desk.views.readings import Readings
from lostneutral.desk.views.start import Start
from lostneutral.errors import LostNeutralError, UsageError

PARTS = (("start", "1 Supply and boards", Start), ("items", "2 Items", Items), ("readings", "3 Readings", Readings),
         ("papers", "4 Documents", Papers))
TICK = 0.12  #: s between looks at what changed
RECONNECT = 600.0  #: s for which a tab that lost its connection is waited for


def application(desk: Desk) -> FastAPI:
    """Return the application that shows `desk`; whoever runs it puts the guard around it."""
    app = FastAPI(docs_url=None, redoc_url=None, openapi_url=None)

    @app.get("/files/{name}")
    def file(name: str):
        found = resources.file(name)
        return Response("Not found", 404) if found is None else Response(found[0], media_type=found[1])

    @app.get("/documents/{key}")
    async def document(key: str, download: bool = False):
        if key != "archive" and key not in {d.key for d in documents.DOCUMENTS}:
            return Response("There is no such document.", 404)
        try:
            content = await desk.answers.document(key)
        except LostNeutralError as error:
            return Response(f"This document cannot be made. {error}", 409, media_type="text/plain; charset=utf-8")
        if key == "archive":
            return _sent(content, f"{documents.stem_of(desk.name)}.zip", "application/zip", True)
        kind = next(d.type for d in documents.DOCUMENTS if d.key == key)
        return _sent(content, documents.file_name(key, desk.name), kind, download)

    @ui.page("/", title="lostneutral desk", reconnect_timeout=RECONNECT, dark=None, language="en-GB")
    def page():
        Page(desk)

    ui.run_with(app, title="lostneutral desk", favicon=resources.ICON, dark=None, tailwind=False, show_welcome_message=False,
                reconnect_timeout=RECONNECT, language="en-GB")
    return app


def _sent(content, name, kind, download):
    from urllib.parse import quote

    plain = "".join(c if c.isascii() and (c.isalnum() or c in "-_.") else "-" for c in name)
    way = "attachment" if download else "inline"
    headers = {"content-disposition": f"{way}; filename=\"{plain}\"; filename*=UTF-8''{quote(name)}"}
    if kind == "text/html":  # the page has its own policy, and is no part of the desk
        headers["content-security-policy"] = "sandbox allow-scripts allow-modals allow-downloads"
    return Response(content, media_type=kind if not kind.startswith("text/") else f"{kind}; charset=utf-8", headers=headers)


class Page:
    """One tab."""

    def __init__(self, desk: Desk):
        self.desk, self.case = desk, desk.case
        self._seen = None
        ui.colors(primary="#0b5a5e", negative="#8f1d12", positive="#2f6a3b", info="#31505c")
        for name in ("desk.css",):
            ui.add_head_html(f'<link rel="stylesheet" href="/files/{name}">')
        ui.add_head_html('<script src="/files/star.js"></script><script src="/files/desk.js"></script>')
        ui.query(".nicegui-content").classes("desk")
        Tag("a", "To the items", "skip", href="#h-items").on("click", lambda: self.show("items"))
        self._head()
        with Tag("div", classes="columns"):
            with Tag("div", classes="work"):
                self.panels, self.parts = {}, {}
                for key, _words, view in PARTS:
                    with Tag("div", classes="panel", id=f"part-{key}") as self.panels[key]:
                        self.parts[key] = view(desk)
            self.answer = Answer(desk, self.goto)
        with Tag("aside", classes="strip", aria_label="Cautions in short", tabindex="0"):
            self.strip = Tag("ul")
        data_lists()
        self.show("items" if self.case.entries("load") or desk.pending.get("item") else "start")
        ui.on("desk-save", lambda _: self.save())
        ui.on("desk-undo", lambda _: self._undo())
        ui.on("desk-redo", lambda _: self._redo())
        ui.on("desk-part", lambda event: self.show(PARTS[int(event.args) - 1][0]))
        ui.timer(TICK, self.tick)
        self.tick()

    def _head(self):
        with Tag("header", classes="head"):
            Tag("h1", "lostneutral desk", "visually-hidden")
            with Tag("div", classes="head-line"):
                self.title = TextField("Title of the case", lambda: str(self.case.entry(None).get("title", "")),
                                       lambda text: self.case.put(None, ("title",), text or None),
                                       lambda: self.case.check().of(None, "title"), classes="title")
                with Tag("div", classes="tools"):
                    self.undo = button("Undo", self._undo, label="Undo the last change")
                    self.redo = button("Redo", self._redo, label="Redo what was undone")
                    self.keep = button("Save", self.save, "main", "Save to the case file")
            self.state = Tag("p", "", "small", role="status")
            self.found = Tag("div", classes="found")
            with Tag("nav", classes="parts", aria_label="Parts of the desk"):
                self.tabs = {key: button(words, lambda k=key: self.show(k)) for key, words, _ in PARTS}

    def show(self, key: str) -> None:
        """Show one part of the desk."""
        for name, panel in self.panels.items():
            panel.classes(replace="panel" if name == key else "panel hidden")
            self.tabs[name].set(aria_current="page" if name == key else None)

    def goto(self, kind: str, subject: str) -> None:
        """Show the field that would settle something that was assumed."""
        name = subject.split("'")[1] if subject.count("'") == 2 else subject
        block = next((b for b in self.case.entries("load") if b.data.get("name") == name), None)
        if block and (kind == "hinge" or subject.startswith("load")):
            self.show("items")
            return self.parts["items"].edit(block.uid)
        self.show("readings" if subject.startswith("observation") else "start")
        return say("The fields are in this part.")

    # What the head does

    def _undo(self):
        if not self.case.undo():
            say("There is nothing to undo.")

    def _redo(self):
        if not self.case.redo():
            say("There is nothing to redo.")

    def save(self) -> None:
        """Save to the case file, or say why not."""
        try:
            self.desk.save()
        except UsageError as error:
            if self.desk.store.changed_elsewhere() and self.case.check().case is not None:
                return self._ask_over(str(error))
            return say(without_folders(str(error)), bad=True)
        return say(f"Saved: {self.desk.name}")

    def _ask_over(self, words):
        def over():
            dialog.close()
            try:
                self.desk.save(over=True)
                say(f"Saved: {self.desk.name}")
            except UsageError as error:
                say(without_folders(str(error)), bad=True)

        def anew():
            dialog.close()
            self._reopen()

        with window("h-over") as dialog, Tag("div", classes="dialog"):
            Tag("h2", "The case file was changed", id="h-over")
            Tag("p", words)
            with Tag("div", classes="tools"):
                button("Save over it", over)
                button("Open it anew", anew)
                button("Neither", dialog.close, "main")
        dialog.open()

    def _reopen(self):
        try:
            self.desk.reopen()
            say("The case file is shown as it lies there. Undo brings back what stood here.")
        except (UsageError, ValueError) as error:
            say(without_folders(str(error)), bad=True)

    # What changes

    def tick(self) -> None:
        """Show what changed since the last look, here or in another tab."""
        desk = self.desk
        seen = (self.case.revision, desk.answers.version, desk.saved, desk.trouble, desk.found_draft, desk.typed_version)
        if seen == self._seen:
            return
        revision = self._seen and self._seen[0]
        self._seen = seen
        self._status()
        if seen[0] != revision or self._typed_elsewhere(seen):
            self.title.refresh()
            for part in self.parts.values():
                part.refresh()
            self.answer.refresh()
        else:
            for part in (self.parts["items"], self.parts["papers"], self.answer):
                part.refresh_answer()

    def _typed_elsewhere(self, seen):
        changed, self._typed = seen[5] != getattr(self, "_typed", None), seen[5]
        return changed

    def _status(self):
        desk, case = self.desk, self.case
        faults = len(case.check().faults)
        words = f"{desk.name}: " + ("saved" if desk.saved else "not saved yet; a draft is kept beside it")
        words += f"; {faults} fault{'s' * (faults != 1)}, at {'their fields' if faults > 1 else 'its field'}" if faults else ""
        self.state.say(f"{words}. {desk.trouble}".rstrip(". ") + ".")
        self.undo.set(disabled=None if case.can_undo else True)
        self.redo.set(disabled=None if case.can_redo else True)
        self.keep.set(disabled=True if desk.saved else None)
        self.found.clear()
        if desk.found_draft:
            with self.found:
                Tag("span", "What had not been saved is shown." + (" The case file was changed since." if desk.other_base else ""))
                button("Drop it and show the case file", self._reopen, "link")
        texts = _cautions(case.check().case)
        if texts != getattr(self, "_said", None):
            self._said = texts
            self.strip.clear()
            with self.strip:
                for text in texts:
                    Tag("li", text)


def _cautions(case):
    """Return the cautions in short; of a case that cannot be read yet, those of one of which nothing is known."""
    from lostneutral.consequences.cautions import cautions

    unknown = Case("", Supply({}), (Point("intake"),), ())
    return cautions(case or unknown, "short")
