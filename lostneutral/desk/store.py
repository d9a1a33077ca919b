"""Where the case lies: the case file, which changes as a whole or not at all, and the draft beside it.

The draft is a hidden file in the same folder, readable by its owner only. It holds the text as it stands, valid or not,
and what was typed but not yet entered; it goes when the case file holds the same, or by `lostneutral desk --forget`.
"""

import hashlib
import json
import os
import re
import tempfile
from dataclasses import field
from pathlib import Path

from lostneutral.errors import UsageError
from lostneutral.frozen import dataclass
from lostneutral.report.base.files import write_file

MARK = ".lostneutral-draft"
FORMAT = "lostneutral desk draft/1"
BYTES_MAX = 20_000_000


@dataclass()
class Draft:
    text: str
    base: str = ""  #: SHA-256 of the case file that it began from; "" where there was none
    pending: dict = field(default_factory=dict)  #: what stands in fields that were not entered yet


def draft_path(case: Path) -> Path:
    """Return where the draft of `case` lies."""
    return case.with_name(f".{case.name}{MARK}")


def digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def read_draft(case: Path) -> Draft | None:
    """Return the draft of `case`, or None if there is none that can be read."""
    try:
        path = draft_path(case)
        if path.stat().st_size > BYTES_MAX:
            return None
        held = json.loads(path.read_bytes())
        if held["format"] != FORMAT or not isinstance(held["text"], str) or not isinstance(held["pending"], dict):
            return None
        return Draft(held["text"], str(held["base"]), held["pending"])
    except (OSError, ValueError, KeyError, TypeError):
        return None


def write_draft(case: Path, draft: Draft) -> None:
    """Write the draft of `case`, whole or not at all, readable by its owner only. UsageError where it cannot be."""
    content = json.dumps({"format": FORMAT, "base": draft.base, "pending": draft.pending, "text": draft.text},
                         ensure_ascii=False, indent=1).encode("utf-8", "surrogatepass")
    path = draft_path(case)
    try:
        handle, name = tempfile.mkstemp(prefix=f"{path.name[:60]}.", suffix=".tmp", dir=path.parent)  # readable by the owner only
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            os.replace(name, path)
        except BaseException:
            Path(name).unlink(missing_ok=True)  # stopped just after it has taken its place
            raise
    except OSError as error:
        raise UsageError(f"the draft cannot be written ({error.strerror}) — what is typed is kept in memory only; save the case, "
                         "or download it") from None


def forget(case: Path) -> bool:
    """Remove the draft of `case`; return whether there was one."""
    try:
        draft_path(case).unlink()
        return True
    except FileNotFoundError:
        return False
    except OSError as error:
        raise UsageError(f"{draft_path(case)}: cannot be removed: {error.strerror}") from None


def drafts_in(folder: Path) -> tuple[Path, ...]:
    """Return the case files in `folder` that have drafts."""
    return tuple(sorted(p.with_name(p.name[1:-len(MARK)]) for p in folder.glob(f".*{MARK}")))


def without_folders(text: str) -> str:
    """Return `text` with every path in it cut to its last name: what is shown says nothing of the machine's folders.

    >>> without_folders("/home/somebody/job/case.toml: cannot be written")
    'case.toml: cannot be written'
    """
    return re.sub(r"(?:[A-Za-z]:)?(?<![\w<])(?:[/\\][^/\\\s:;,'\")]+)*[/\\]([^/\\\s:;,'\")]+)", r"\1", text)


class Store:
    """The case file at `path` as it was when it was last read or written here, and its draft."""

    def __init__(self, path: Path):
        self.path = path
        self.base = ""  #: SHA-256 of the case file as this desk knows it
        self.text: str | None = None  #: its text, None where there is no such file yet

    def open(self) -> tuple[str | None, Draft | None]:
        """Return (text of the case file, its draft where that says something else). UsageError where it cannot be read."""
        from lostneutral.case.reader import SIZE_MAX

        if self.path.exists():
            try:
                content = self.path.read_bytes()
                if len(content) > SIZE_MAX:
                    raise UsageError(f"{self.path}: the file is larger than {SIZE_MAX // 10**6} MB — a case is text of a few kB")
                self.text, self.base = content.decode("utf-8"), digest(content)
            except OSError as error:
                raise UsageError(f"{self.path}: cannot be read: {error.strerror} — give the name of a case file") from None
            except UnicodeDecodeError:
                raise UsageError(f"{self.path}: this is not UTF-8 text — save the case file as UTF-8") from None
        draft = read_draft(self.path)
        return self.text, None if draft and draft.text == self.text and not draft.pending else draft

    def changed_elsewhere(self) -> bool:
        """Return whether the case file is no longer the one that this desk read or wrote."""
        try:
            return digest(self.path.read_bytes()) != self.base
        except FileNotFoundError:
            return bool(self.base)
        except OSError:
            return True

    def save(self, text: str, over: bool = False) -> None:
        """Make the case file hold `text`, as a whole or not at all; the caller has checked it.

        UsageError if another program changed the file meanwhile, unless `over`, or if it cannot be written.
        """
        if not over and self.changed_elsewhere():
            raise UsageError("The case file was changed by another program since it was opened here. Nothing was written.")
        content = text.encode("utf-8")
        write_file(self.path, content, force=True)
        self.text, self.base = text, digest(content)
        forget(self.path)
