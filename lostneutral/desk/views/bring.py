"""What is brought: lists pasted or as files, field sheets, photographs; each shown before it is taken."""

from collections.abc import Callable

from nicegui import events, ui

from lostneutral.desk import pictures, sheet, tables
from lostneutral.desk.desk import Desk
from lostneutral.desk.tables import COLUMNS, Table
from lostneutral.desk.views.parts import ChoiceField, Tag, button, say, window
from lostneutral.errors import LostNeutralError

SHOWN = 12  #: rows of a table that are shown before it is taken
SHEET_MAX = 28_000_000


def photo_upload(desk: Desk, label: str, load: Callable[[], str] = str, point: Callable[[], str] = str):
    """Make a button that brings photographs."""
    async def brought(event: events.UploadEventArguments):
        from asyncio import to_thread

        content = await event.file.read()
        try:
            await to_thread(pictures.made_anew, content)  # the slow part, so that nobody waits; made again below
            pictures.bring(desk.case, content, event.file.name, load=load(), point=point())
        except LostNeutralError as error:
            return say(f"{event.file.name}: {error}", bad=True)
        return say(f"Photograph taken in: {event.file.name}")

    return upload(label, brought, "image/jpeg,image/png", pictures.BYTES_MAX)


def upload(label: str, brought: Callable, accept: str, most: int):
    """Make a button that brings a file of at most `most` bytes."""
    def rejected():
        say(f"Not taken: a file of another type, or of more than {most // 10**6} MB.", bad=True)

    with Tag("div", classes="bring"):
        loader = ui.upload(on_upload=brought, on_rejected=rejected, auto_upload=True, multiple=True, max_file_size=most, label=label)
        loader.props["accept"] = accept
        loader.classes("hidden-upload")
        button(label, lambda: loader.run_method("pickFiles"))
    return loader


class PasteDialog:
    """A list of items from a spreadsheet: pasted or brought, its columns shown, then taken."""

    def __init__(self, desk: Desk):
        self.desk = desk
        self.table: Table | None = None
        with window("h-paste") as self.dialog, Tag("div", classes="dialog"):
            Tag("h2", "A list of items", id="h-paste")
            Tag("p", "Copy the rows of a spreadsheet and paste them here, or bring a CSV file, an .xlsx workbook, or a field sheet "
                     "that was saved on a phone. Nothing is taken before you have seen it.", "small")
            Tag("label", "Paste here", "field-label", for_="paste-here")
            self.text = ui.textarea(on_change=self._typed).props("outlined dense input-class=mono for=paste-here").classes("field")
            with Tag("div", classes="tools"):
                upload("Bring a file …", self._brought, ".csv,.tsv,.txt,.xlsx,.json", SHEET_MAX)
            self.trouble = Tag("p", "", "fault", role="alert")
            self.seen = Tag("div")
            with Tag("div", classes="tools"):
                self.take = button("Take", self._take, "main")
                button("Not now", self.dialog.close)
        self.take.set(disabled=True)
        self.dialog.on("hide", self.dialog.delete, [])

    def open(self):
        self.dialog.open()

    def _typed(self, event):
        if (event.value or "").strip():
            self._read(lambda: tables.read_text(event.value))

    async def _brought(self, event: events.UploadEventArguments):
        content = await event.file.read()
        if sheet.is_sheet(content):
            self._sheet(content)
        else:
            self._read(lambda: tables.read_file(event.file.name, content))

    def _sheet(self, content):
        try:
            taken = sheet.take(self.desk.case, sheet.read_sheet(content))
        except LostNeutralError as error:
            return self.trouble.say(str(error))
        self.dialog.close()
        return say(f"Taken from the field sheet: {taken}. Undo takes it back.")

    def _read(self, read):
        self.table = None
        try:
            self.table = read()
            self.trouble.say("")
        except LostNeutralError as error:
            self.trouble.say(f"{str(error)[:1].upper()}{str(error)[1:]}")
        self._show()

    def _column(self, number, name):
        self.table = self.table.with_column(number, name)
        self._show()

    def _show(self):
        self.seen.clear()
        written = self.table.written() if self.table else ()
        self.take.set(disabled=None if written else True)
        self.take.say(f"Take {len(written)} item{'s' * (len(written) != 1)}" if written else "Take")
        if not self.table:
            return
        table = self.table
        with self.seen, Tag("div", classes="scroll"), Tag("table", classes="plain"):
            Tag("caption", f"What each column is taken for; {len(table.body)} rows"
                           + (", the first row names the columns" if table.headed else "") + (
                               f"; {table.left} rows more than can be taken at once are left out" if table.left else ""))
            with Tag("thead"), Tag("tr"):
                for number, name in enumerate(table.columns):
                    with Tag("th", scope="col"):
                        ChoiceField(f"Column {number + 1} is", lambda: COLUMNS, lambda n=name: n,
                                    lambda v, n=number: self._column(n, v), bare=True)
            with Tag("tbody"):
                for row in table.rows[:SHOWN]:
                    with Tag("tr", classes="heads" if table.headed and row is table.rows[0] else ""):
                        for number, cell in enumerate(row):
                            Tag("td", cell, "" if table.columns[number] else "left-out")
        boards = tables.new_boards(self.desk.case, written)
        if boards:
            with self.seen:
                Tag("p", f"Boards that are new and will be added, fed from the first: {', '.join(boards)}.", "small")

    def _take(self):
        if not self.table:
            return
        made = tables.take(self.desk.case, self.table.written())
        self.dialog.close()
        say(f"Taken: {len(made)} items. Undo takes them back.")
