"""Errors of a case file, gathered while it is read and put into words with their place."""

from datetime import date, time
from typing import Literal, get_args, get_origin

from lostneutral.case.load_schema import KINDS
from lostneutral.case.meant import elsewhere, everyday, written_keys
from lostneutral.case.schema import CaseFile
from lostneutral.case.values import Allowed, tables_of
from lostneutral.errors import CaseError

RENAMED = {"earth": "pe", "earth_area": "pe_area", "conductors": "conductor"}
"""Keys that a reader may well try -> the key that is meant, where spelling alone does not tell."""


class Faults:
    """A list of errors that knows the file they are in."""

    def __init__(self, name, text, origins=None):
        self.name, self.text = name, text
        self._origins = origins or {}  #: entries that a group made -> where in the file they come from
        self._found, self._of_groups = [], set()

    def add(self, path, problem, allowed="", meant=None, at="value"):
        """Note `problem` at `path`; `allowed` says what is, `meant` what was probably meant, `at` "key" or "value"."""
        if self.written(path) != tuple(path):
            path = self.written(path)
            if path in self._of_groups:
                return  # the same error in every premises
            self._of_groups.add(path)
        words = problem
        if allowed:
            words += f" — {allowed}"
        if meant is not None:
            words += f" — did you mean {show(meant)}?"
        self._found.append((tuple(path), at, words))

    def written(self, path):
        """Return the path in the file of what `path` leads to: for an entry that a group made, within the group."""
        made = self._origins.get(tuple(path[:2]))
        return made(tuple(path[2:])) if made else tuple(path)

    def __len__(self):
        return len(self._found)

    def error(self):
        """Return a CaseError with every error, in file order."""
        from lostneutral.case.positions import Positions
        positions = Positions(self.text)
        placed = [(*getattr(positions, at)(path), path, words) for path, at, words in self._found]
        placed.sort(key=lambda fault: fault[:2])
        return CaseError((f"{self.name}:{line}:{column}: {key_path(path)}{': ' if path else ''}{words}"
                          for line, column, path, words in placed), ((path, words) for *_, path, words in placed))


def key_path(path):
    """Return `path` in words: ("load", 0, "power") is load[1].power, counted from 1 as a reader counts."""
    words = ""
    for part in path:
        words += f"[{part + 1}]" if isinstance(part, int) else f".{escaped(part)}" if words else escaped(part)
    return words


def show(value):
    """Return `value` as a reader would write it in TOML, on one line, cut short if long."""
    match value:
        case bool():
            words = "true" if value else "false"
        case str():
            import json

            words = json.dumps(value if len(value) < 80 else value[:60] + "…", ensure_ascii=False)
        case dict():
            words = "a table"
        case list() | tuple():
            plain = len(value) <= 4 and not any(isinstance(v, (list, dict, tuple)) for v in value)
            words = "[" + ", ".join(show(v) for v in value) + "]" if plain else f"a list of {len(value)}"
        case date() | time():
            words = value.isoformat()
        case float():
            words = f"{value:.15g}"
        case int():
            words = str(value) if abs(value) < 10**30 else "a number of more than thirty digits"
        case _:
            words = str(value)
    return escaped(words)


def escaped(text):
    """Return `text` with every character that does not print as \\uXXXX."""
    return "".join(c if c.isprintable() else f"\\u{ord(c):04X}" for c in text[:200])


def closest(word, words):
    """Return the one of `words` that `word` was probably meant to be, or None."""
    if not isinstance(word, str):
        return None
    turned = "-".join(reversed(word[:80].split("-")))
    if "-" in word and turned in words:
        return turned
    import difflib

    folded = {w.casefold(): w for w in reversed(list(words))}
    match = difflib.get_close_matches(word[:80].casefold(), folded, 1, 0.6)
    return folded[match[0]] if match else None


def quoted(words, most=12):
    """Return `words` in quotes, with commas; only the first `most` if there are many."""
    words = list(words)
    more = f" … ({len(words)} in all)" if len(words) > most else ""
    return ", ".join(show(w) for w in words[:most]) + more


def add_validation(faults, error, numbers=None, root=CaseFile):
    """Put what pydantic found of a file of the model `root` into words, in `faults`; return the paths of the entries it is in.

    `numbers`, if given, are the loads' places in the file where only some of them were validated.
    """
    bad = set()
    for fault in error.errors(include_url=False):
        path = fault["loc"]
        model, field = _find(path, root)
        if path[0] == "load" and len(path) > 2:
            place = path[1] if numbers is None else numbers[path[1]]
            path = ("load", place, *path[3:])  # pydantic names the kind in between
        bad.add(path[:2] if len(path) > 1 and isinstance(path[1], int) else path[:1])
        _word(faults, fault, path, model, field)
    return bad


def _find(path, root=CaseFile):
    """Return (model, field) at a pydantic path: the model of the table there or around it, the key's own field."""
    model, field = root, None
    for part in path:
        if isinstance(part, int):
            continue
        if model is KINDS:  # the tag comes next
            model = KINDS[part]
            continue
        field = written_keys(model).get(part)
        if field is None:
            return model, None
        inner = next(tables_of(field), None)
        if inner is None:
            return model, field
        model = inner
    return model, field


def _allowed(path, field):
    """Return (words, choices) for what the key takes."""
    options = get_args(field.annotation) if get_origin(field.annotation) is Literal else ()
    for note in field.metadata:
        if isinstance(note, Allowed):
            return note.text, options
    if options:
        return "one of " + quoted(options, 20), options
    if isinstance(path[-1], str) and len(path) > 2:  # within an entry: a header of its own would be hard to place
        keys = written_keys(next(tables_of(field)))
        return f"a table, written {path[-1]} = {{ … }}, with keys of: {', '.join(keys)}", ()
    written = f"[[{path[0]}]]" if get_origin(field.annotation) is list else f"[{key_path(path)}]"
    return f"a table, written {written}", ()


def _word(faults, fault, path, model, field):
    value, kind = fault["input"], fault["type"]
    if kind == "extra_forbidden":
        known = list(written_keys(model)) if model is not KINDS else []
        meant = RENAMED.get(path[-1]) if RENAMED.get(path[-1]) in known else None
        there = "" if meant else elsewhere(path[-1], model)
        faults.add(path, "unknown key", "known here: " + ", ".join(known) + (f" — {there}" if there else ""),
                   meant or (None if there else closest(path[-1], known)), at="key")
    elif kind.startswith("union_tag"):
        _word_kind(faults, path, value.get("kind") if isinstance(value, dict) else None)
    elif kind == "missing":
        faults.add(path, "is missing", _allowed(path, field)[0])
    else:
        allowed, options = _allowed(path, field)
        meant = closest(value, options)
        if meant is None and (wanted := WANTED.get(kind)):
            from lostneutral.case.slips import value_slip

            meant = value_slip(value, wanted)
        if path[-1] == "earthing" and isinstance(value, str):
            allowed = EARTHING.get(value.casefold(), allowed)
        if isinstance(value, list) and len(value) == 2 and "low, high" in allowed:
            allowed += f" — did you mean {{ low = {show(value[0])}, high = {show(value[1])} }}?"
        if kind == "pair" and isinstance(value, list) and len(value) == 4:
            allowed += " — with decimal points, not commas"
        faults.add(path, _problem(kind, value, fault.get("ctx", {})), allowed, meant)


def _word_kind(faults, path, kind):
    allowed = "one of " + ", ".join(KINDS)
    if kind is None:
        faults.add((*path, "kind"), "is missing", allowed)
    else:
        named = everyday(kind) or {"kind": closest(kind, KINDS)}
        if "model" in named:
            allowed = " and ".join(f"{key} = {show(value)}" for key, value in named.items()) + f", or {allowed}"
        faults.add((*path, "kind"), f"{show(kind)} is not a kind of load", allowed, None if "model" in named else named["kind"])


def _problem(kind, value, limits):
    """Return what is wrong with `value`, in words."""
    if kind == "float_type" and isinstance(value, int) and not isinstance(value, bool):
        return f"{show(value)} is out of range"
    if kind in ("greater_than_equal", "less_than_equal"):
        return f"{show(value)} is too {'small' if 'ge' in limits else 'large'}"
    if kind == "literal_error":
        return f"{show(value)} is not known"
    if kind == "finite_number":
        return f"{show(value)} is not a finite number"
    if kind in ("too_short", "too_long"):
        return f"{show(value)} has {len(value)} entries"
    if kind.endswith("_type"):
        return next(words.format(show(value)) for sort, words in SORTS if isinstance(value, sort))
    return f"{show(value)} cannot be used"


EARTHING = {"it": "an IT supply is outside what is calculated here; a supply with its star point earthed is one of "
                  '"TN-S", "TN-C-S", "TN-C", "TT"',
            "unknown": "where the earthing is not known, leave the key out"}
"""What a supply's earthing cannot be, in small letters -> what to do."""
WANTED = {"float_type": "number", "int_type": "number", "bool_type": "truth", "date": "date"}
"""What pydantic found -> what is wanted there, for `value_slip`."""
SORTS = ((bool, "{} is a yes-or-no value"), (str, "{} is text"), (int, "{} is a whole number"),
         (float, "{} is a number with decimals"), (dict, "is a table"), (list, "is a list"), (object, "{} is a date or time"))
"""Type of a value -> what a reader would call it."""
