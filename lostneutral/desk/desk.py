"""One case at work: the case, where it lies, what follows from it, and what was typed but not entered; for all tabs alike."""

import asyncio
from pathlib import Path

from lostneutral.desk.answers import Answers
from lostneutral.desk.case import EMPTY, DeskCase
from lostneutral.desk.document import Document
from lostneutral.desk.store import Draft, Store, forget, write_draft
from lostneutral.errors import UsageError

DRAFT_AFTER = 0.4  #: s from a change to its draft


class Desk:
    """Everything that the tabs of one desk share."""

    def __init__(self, path: Path):
        self.store = Store(path)
        text, draft = self.store.open()
        draft = draft if draft is None or _readable(draft.text) else None
        self.found_draft = draft is not None
        self.other_base = draft is not None and draft.base != self.store.base  #: the case file changed after the draft
        try:
            self.case = DeskCase(draft.text if draft else EMPTY if text is None else text, str(path))
        except ValueError as error:
            raise UsageError(f"{path}: this is not TOML: {error} — `lostneutral check {path.name}` says where") from None
        self.answers = Answers(self.case)
        self.pending: dict[str, dict[str, str]] = dict(draft.pending) if draft else {}  #: form -> field -> text
        self.typed_version = 0  #: grows with what is typed into forms
        self.trouble = ""  #: why the draft cannot be written
        self._changed = asyncio.Event()
        self._drafting: asyncio.Task | None = None
        self.case.listeners.append(self._changed.set)

    @property
    def name(self) -> str:
        """The case file's name, without its folder."""
        return self.store.path.name

    @property
    def saved(self) -> bool:
        """Whether the case file holds what stands here."""
        return self.store.text == self.case.text

    def type_in(self, form: str, field: str, text: str) -> None:
        """Keep what stands in a field of a form that was not entered yet."""
        held = self.pending.setdefault(form, {})
        if text:
            held[field] = text
        else:
            held.pop(field, None)
        if not held:
            self.pending.pop(form, None)
        self.typed_version += 1
        self._changed.set()

    def entered(self, form: str) -> None:
        """Forget what stood in a form, which was entered."""
        self.pending.pop(form, None)
        self.typed_version += 1
        self._changed.set()

    def start(self) -> None:
        """Begin to keep drafts and to answer; in the loop of the server."""
        self._drafting = asyncio.get_running_loop().create_task(self._keep_drafts())
        self.answers.begin()

    async def _keep_drafts(self):
        while True:
            await self._changed.wait()
            await asyncio.sleep(DRAFT_AFTER)
            self._changed.clear()
            await self.keep_draft()

    async def keep_draft(self) -> None:
        """Write the draft, or remove it where the case file holds the same."""
        try:
            if self.saved and not self.pending:
                await asyncio.to_thread(forget, self.store.path)
            else:
                draft = Draft(self.case.text, self.store.base, dict(self.pending))
                await asyncio.to_thread(write_draft, self.store.path, draft)
            self.trouble = ""
        except UsageError as error:
            self.trouble = str(error)

    def save(self, over: bool = False) -> None:
        """Make the case file hold what stands here. UsageError where it has faults, or the file is not to be overwritten."""
        if self.case.check().case is None:
            raise UsageError("The case has faults; they stand at their fields. The case file was not changed.")
        self.store.save(self.case.text, over)
        self.found_draft = self.other_base = False
        self._changed.set()

    def reopen(self) -> None:
        """Take the case file as it is now, in place of what stands here; that is one step of undo."""
        text, _ = Store.open(self.store)
        self.found_draft = self.other_base = False
        self.case.replace(EMPTY if text is None else text)

    async def close(self) -> None:
        if self._drafting:
            self._drafting.cancel()
        if not self.saved or self.pending:
            await self.keep_draft()
        self.answers.close()


def _readable(text):
    try:
        Document.read(text)
    except ValueError:
        return False
    return True
