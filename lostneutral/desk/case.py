"""The case on the desk: what it is now, how it came to be, and what is wrong with it. Knows no browser.

Every change is one of a field, of an entry or of the whole; changes of one field soon after each other are one step of
undo. Entries are named by a number that stays theirs, so that changes from several places at once do not mix.
"""

import re
import time
import tomllib
from collections.abc import Callable, Mapping
from contextlib import contextmanager

from lostneutral.case.model import Case
from lostneutral.case.reader import parse_case
from lostneutral.desk.document import Block, Document
from lostneutral.errors import CaseError
from lostneutral.frozen import dataclass

EMPTY = 'title = "New case"\n\n[supply]\n\n[[point]]\nname = "intake"\n'
MOST_STEPS = 300
ONE_STEP = 1.5  #: s between changes of one field that count as one


@dataclass(frozen=True)
class Fault:
    """What is wrong, in the words of `check`, and where: the entry's number (None: the head), the keys inside it."""

    uid: int | None
    path: tuple
    words: str
    root: str = ""  #: the table, where the fault is of one that is not there


@dataclass(frozen=True)
class Checked:
    """What the check says of one revision."""

    revision: int
    text: str
    case: Case | None
    faults: tuple[Fault, ...] = ()

    def of(self, uid: int | None, *path: str) -> str:
        """Return the words of the faults at a field, in one text."""
        return "; ".join(f.words for f in self.faults if f.uid == uid and f.path[:len(path)] == path)


class DeskCase:
    """A document that changes, with its past. `name`: the case file's path, for pictures beside it."""

    def __init__(self, text: str = EMPTY, name: str = "case.toml"):
        self.name = name
        self.document = Document.read(text)
        self.revision = 1
        self.listeners: list[Callable[[], None]] = []
        self._past: list[Document] = []
        self._future: list[Document] = []
        self._last: tuple[object, float] = (None, 0.0)
        self._checked: Checked | None = None

    @property
    def text(self) -> str:
        return self.document.text

    @property
    def data(self) -> dict:
        """The whole file as plain values."""
        return tomllib.loads(self.text)

    def entries(self, root: str) -> tuple[Block, ...]:
        return self.document.of(root)

    def entry(self, uid: int | None) -> Mapping:
        """Return an entry's values ({} if it is gone); None is the head of the file."""
        block = self.document.head if uid is None else self.document.block(uid)
        return {} if block is None else block.data

    def single(self, root: str) -> Block | None:
        """Return [supply], [document] or [course], if it is there."""
        return next(iter(self.document.of(root)), None)

    # Changes

    def put(self, uid: int | None, path: tuple[str, ...], value) -> None:
        """Set (None: take away) one value of an entry; None as `uid` is the head of the file."""
        uid_ = self.document.head.uid if uid is None else uid
        self.take(self.document.changed(uid_, path, value), (uid, path))

    def put_single(self, root: str, path: tuple[str, ...], value) -> None:
        """Set one value of a table that there is once, and make the table if need be."""
        block = self.single(root)
        document = self.document
        if block is None:
            if value is None:
                return
            document, uid = document.added(root, {})
        else:
            uid = block.uid
        self.take(document.changed(uid, path, value), (root, path))

    def add(self, root: str, data: Mapping, comment: str = "") -> int:
        """Add an entry; return its number."""
        made, uid = self.document.added(root, dict(data), comment)
        self.take(made)
        return uid

    def remove(self, uid: int) -> None:
        self.take(self.document.removed(uid))

    def take(self, document: Document, field: object = None) -> None:
        """Make `document` the present one; `field`: what was changed, so that its next change is the same step."""
        if document is self.document or document.text == self.document.text:
            return
        now = time.monotonic()
        if field is None or field != self._last[0] or now - self._last[1] > ONE_STEP or not self._past:
            self._past.append(self.document)
            del self._past[:-MOST_STEPS]
        self._last = field, now
        self._future.clear()
        self._show(document)

    @contextmanager
    def one_step(self):
        """Make all changes inside one step of undo."""
        past, document = list(self._past), self.document
        try:
            yield
        finally:
            if self.document is not document:
                self._past[:] = [*past, document][-MOST_STEPS:]
                self._last = None, 0.0

    def _show(self, document):
        self.document = document
        self.revision += 1
        for tell in tuple(self.listeners):
            tell()

    @property
    def can_undo(self) -> bool:
        return bool(self._past)

    @property
    def can_redo(self) -> bool:
        return bool(self._future)

    def undo(self) -> bool:
        return self._step(self._past, self._future)

    def redo(self) -> bool:
        return self._step(self._future, self._past)

    def _step(self, source, other):
        if not source:
            return False
        other.append(self.document)
        self._last = None, 0.0
        self._show(source.pop())
        return True

    def replace(self, text: str) -> None:
        """Take another text as a whole. Raises ValueError where it is not TOML."""
        self.take(Document.read(text))

    # What is wrong

    def check(self) -> Checked:
        """Return what the check says of the present text; worked out once a revision."""
        if self._checked is None or self._checked.revision != self.revision:
            self._checked = checked(self.document, self.revision, self.name)
        return self._checked


def checked(document: Document, revision: int, name: str) -> Checked:
    """Return what is wrong with `document`, each fault at its entry, or its Case."""
    try:
        return Checked(revision, document.text, parse_case(document.text, name))
    except CaseError as error:
        places = error.places or [((), _words_alone(error.faults[0]))]
        return Checked(revision, document.text, None, tuple(_fault(document, path, words) for path, words in places))


def _words_alone(fault):
    return re.sub(r"^.*?:\d+:\d+: ", "", fault)


def _fault(document, path, words):
    block, rest = document.at(path)
    if block is None or block is document.head:
        return Fault(None, tuple(path), words, path[0] if path else "")
    return Fault(block.uid, rest, words, block.root)
