"""Files that appear whole or not at all, and never in the place of another unless that is wanted."""

import errno
import os
from pathlib import Path

from lostneutral.errors import UsageError

_FULL = tuple(getattr(errno, name) for name in ("ENOSPC", "EDQUOT", "EFBIG") if hasattr(errno, name))


def check_free(path, force=False, keep=None):
    """Raise UsageError if `path` cannot be written: it exists and `force` is not set, is no plain file, or is `keep`.

    Asked before a long computation, so that it is not lost; `write_file` asks again. `keep` is a file never to be
    overwritten: the case that the output comes from.
    """
    try:
        path = Path(path)
        if keep is not None and path.exists() and Path(keep).exists() and path.samefile(keep):
            raise UsageError(f"{path}: this is the case file itself — give another name for the output")
        if path.is_dir():
            raise UsageError(f"{path}: this is a folder — give the name of a file in it")
        if path.exists() and not path.is_file():
            raise UsageError(f"{path}: this is not a plain file — give the name of a file")
        if path.exists() and not force:
            raise _there(path)
        folder = next((p for p in path.absolute().parents if p.exists()), None)
        if folder is not None and not (folder.is_dir() and os.access(folder, os.W_OK)):
            why = errno.EACCES if folder.is_dir() else errno.ENOTDIR
            raise OSError(why, os.strerror(why))
    except (OSError, ValueError) as error:
        raise _cannot(path, error) from None


def write_file(path, content: bytes, force=False):
    """Write `content` to the file `path`, its folder made if need be; either all of it is there afterwards, or nothing.

    Raises UsageError if the file exists and `force` is not set, or if it cannot be written.
    """
    write_files({path: content}, force)


def write_files(contents, force=False):
    """Write files that belong together, {path: bytes}: all of them are there afterwards, or none that was not there before.

    Raises UsageError as `write_file` does. What is replaced by `force` before a later file fails to be named stays replaced:
    until then only space and rights can fail, and these are tried first.
    """
    drafts, placed = {}, []
    try:
        for path, content in contents.items():
            check_free(path, force)
            real = Path(os.path.realpath(path))  # a link stays a link: what it points at is replaced
            real.parent.mkdir(parents=True, exist_ok=True)
            drafts[path] = real, real.with_name(f".{real.name[:100]}.{os.getpid()}.tmp")
            drafts[path][1].write_bytes(content)
        for path in contents:
            real, draft = drafts[path]
            new = not real.exists()
            _put(draft, real, force)
            placed += [real] if new else []
        placed.clear()
    except (OSError, ValueError) as error:
        raise _cannot(path, error) from None
    finally:
        for real in placed:
            real.unlink(missing_ok=True)
        for _, draft in drafts.values():
            draft.unlink(missing_ok=True)


def _put(draft, path, force):
    """Give the file `draft` its name; what another run has put there meanwhile is not overwritten without `force`."""
    if not force:
        try:
            os.link(draft, path)
        except FileExistsError:
            raise _there(path) from None
        except OSError:  # a file system without links: `check_free` has looked a moment ago
            os.replace(draft, path)
        return
    os.replace(draft, path)


def _there(path):
    return UsageError(f"{path}: the file already exists — use --force to overwrite it, or give another name")


def _cannot(path, error):
    reason = getattr(error, "strerror", None) or str(error)
    full = getattr(error, "errno", None) in _FULL
    where = "make room, or give the name of a file on another disk" if full else "give the name of a file in a folder that you may write to"
    return UsageError(f"{path}: cannot be written: {reason} — {where}")


def read_file(path, most=200_000_000) -> bytes:
    """Return the bytes of the file `path` ("-" = standard input); UsageError if it cannot be read or is larger than `most`."""
    import sys

    try:
        if str(path) == "-":
            content = sys.stdin.buffer.read(most + 1)
        else:
            with Path(path).open("rb") as file:
                content = file.read(most + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise UsageError(f"{path}: cannot be read: {reason} — give the name of a file, or - for standard input") from None
    if len(content) > most:
        raise UsageError(f"{path}: the file is larger than {most // 10**6} MB — give a smaller one")
    return content
