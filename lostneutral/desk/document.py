"""A case file as text in blocks, so that one value can change and everything else stays as it was written.

A block is what begins with a header (``[supply]``, ``[[load]]``) and ends before the next; headers of tables inside it
(``[point.cable]``) belong to it. What stands before the first header is the head. Blocks are never changed: an edit
gives a new `Document` that shares all the others, so that undo is keeping the old one.
"""

import re
import tomllib
from dataclasses import replace
from functools import cached_property
from itertools import count

import tomlkit
import tree_sitter_toml
from tree_sitter import Language, Parser

from lostneutral.frozen import dataclass

HEAD = ""
ORDER = (HEAD, "document", "supply", "point", "group", "path", "break", "cross", "load", "event", "course", "unknown",
         "observation", "prior", "photo", "test")
"""Where a new table goes: behind the last one of its name, else of the names before it."""
SINGLE = ("supply", "course", "document")
_numbers = count(1)


@dataclass(frozen=True)
class Block:
    root: str  #: "load", "supply", … or HEAD
    text: str
    uid: int  #: stays the same through edits
    many: bool = False  #: one of an array of tables

    @cached_property
    def data(self) -> dict:
        """The table as plain values; {} where its text cannot be read (only `Document.read` lets that in)."""
        value = tomllib.loads(self.text)
        if self.root != HEAD:
            value = value[self.root]
        return value[0] if self.many else value

    @property
    def tail(self) -> str:
        """Comments behind the last value, after a blank line: they introduce what comes next."""
        found = re.search(r"\n[ \t]*\n((?:[ \t]*(?:#[^\n]*)?\n?)*)\Z", self.text)
        return found[1] if found and "#" in found[1] else ""


@dataclass(frozen=True)
class Document:
    blocks: tuple[Block, ...]

    @classmethod
    def read(cls, text: str) -> "Document":
        """Return the Document of `text`. Raises ValueError where it is not TOML."""
        tomllib.loads(text)
        text = text.replace("\r\n", "\n")
        rows = text.encode().split(b"\n")
        tree = Parser(Language(tree_sitter_toml.language())).parse(text.encode())
        begins = []
        for node in tree.root_node.children:
            if node.type in ("table", "table_array_element"):
                root, dotted = _root(rows[node.start_point.row].decode())
                if not (dotted and begins and begins[-1][1] == root):
                    row = node.start_point.row
                    while row and rows[row - 1].lstrip().startswith(b"#") and row - 1 > (begins[-1][0] if begins else -1):
                        row -= 1
                    begins.append((row, root, node.type == "table_array_element" and not dotted))
        edges = [(0, HEAD, False), *begins, (len(rows), "", False)]
        parts = []
        for (start, root, many), (end, _, _) in zip(edges, edges[1:]):
            body = b"\n".join(rows[start:end]).decode() + ("\n" if start < end < len(rows) else "")
            parts.append(Block(root, body, next(_numbers), many))
        return cls(tuple(parts))._tables_apart()

    def _tables_apart(self):
        """Return it with tables that are written inside the head, in braces or dots, as blocks of their own."""
        head = self.blocks[0]
        inside = {key: value for key, value in head.data.items() if key in ORDER and value != []}
        if not inside:
            return self
        parsed = tomlkit.parse(head.text)
        for key in inside:
            del parsed[key]
        made = replace(self, blocks=(replace(head, text=tomlkit.dumps(parsed)), *self.blocks[1:]))
        for key, value in inside.items():
            for entry in value if isinstance(value, list) else [value]:
                made, _ = made.added(key, entry)
        return made

    @cached_property
    def text(self) -> str:
        return "".join(block.text for block in self.blocks)

    @property
    def head(self) -> Block:
        return self.blocks[0]

    def of(self, root: str) -> tuple[Block, ...]:
        """Return the blocks of `root`, in file order."""
        return tuple(block for block in self.blocks if block.root == root)

    def block(self, uid: int) -> Block | None:
        return next((block for block in self.blocks if block.uid == uid), None)

    def at(self, path) -> tuple[Block | None, tuple]:
        """Return (the block that holds `path` of the parsed file, the rest of the path inside it)."""
        if len(path) > 1 and isinstance(path[1], int):
            found = self.of(path[0])
            return (found[path[1]], tuple(path[2:])) if path[1] < len(found) else (None, tuple(path))
        found = self.of(path[0]) if path else ()
        return (found[0], tuple(path[1:])) if found else (self.head, tuple(path))

    def added(self, root: str, data: dict, comment: str = "") -> "tuple[Document, int]":
        """Return (it with one more table, its uid)."""
        many = root not in SINGLE
        header = f"[[{root}]]" if many else f"[{root}]"
        lines = "".join(f"{_key(key)} = {value_text(value)}\n" for key, value in data.items())
        block = Block(root, f"{comment}{header}\n{lines}\n", next(_numbers), many)
        rank = ORDER.index(root)
        like = [n for n, b in enumerate(self.blocks) if b.root == root] or [
            n for n, b in enumerate(self.blocks) if b.root not in ORDER or ORDER.index(b.root) <= rank]
        place = like[-1] + 1
        before = self.blocks[place - 1]
        text = before.text if not before.text or before.text.endswith("\n") else before.text + "\n"
        text += "" if not text.strip() or text.endswith("\n\n") else "\n"
        blocks = (*self.blocks[:place - 1], replace(before, text=text), block, *self.blocks[place:])
        made = replace(self, blocks=blocks)
        if many and root in self.head.data:  # `break = []` in the head: the array that now has a table
            made = made.changed(self.head.uid, (root,), None)
        return made, block.uid

    def removed(self, uid: int) -> "Document":
        """Return it without a block; comments behind it that introduce the next stay."""
        number = next((n for n, b in enumerate(self.blocks) if b.uid == uid and n), None)
        if number is None:
            return self
        before, gone = self.blocks[number - 1], self.blocks[number]
        kept = replace(before, text=before.text + gone.tail)
        return replace(self, blocks=(*self.blocks[:number - 1], kept, *self.blocks[number + 1:]))

    def changed(self, uid: int, path: tuple[str, ...], value) -> "Document":
        """Return it with the value at `path` of a block set; None takes the key away. A block that is gone stays gone."""
        block = self.block(uid)
        if block is None:
            return self
        parsed = tomlkit.parse(block.text)
        table = parsed if block.root == HEAD else parsed[block.root][0] if block.many else parsed[block.root]
        for key in path[:-1]:
            if key not in table:
                if value is None:
                    return self
                table[key] = tomlkit.inline_table()
            table = table[key]
        if value is None:
            if path[-1] not in table:
                return self
            del table[path[-1]]
        elif not _same(_plain(table.get(path[-1])), value):
            _put(table, path[-1], value)
        else:
            return self
        if len(path) > 1 and not len(table):  # an empty table says nothing
            return replace(self, blocks=self._with(replace(block, text=tomlkit.dumps(parsed)))).changed(uid, path[:-1], None)
        return replace(self, blocks=self._with(replace(block, text=tomlkit.dumps(parsed))))

    def _with(self, block):
        return tuple(block if b.uid == block.uid else b for b in self.blocks)


def value_text(value) -> str:
    """Return `value` as TOML: whole numbers without a point, tables in braces."""
    return _item(value).as_string()


def _item(value):
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        value = int(value)
    if isinstance(value, dict):
        made = tomlkit.inline_table()
        for key, inner in value.items():
            made[key] = _item(inner)
        return made
    if isinstance(value, (list, tuple)):
        made = tomlkit.array()
        for inner in value:
            made.append(_item(inner))
        return made
    return tomlkit.item(value)


def _put(table, key, value):
    """Set `key`; a new one goes before the blank lines and comments at the end, one that is there keeps its comment."""
    if key in table:
        old = table[key]
        made = _item(value)
        if hasattr(old, "trivia") and hasattr(made, "trivia"):
            made.trivia.indent, made.trivia.comment_ws = old.trivia.indent, old.trivia.comment_ws
            made.trivia.comment, made.trivia.trail = old.trivia.comment, old.trivia.trail
        table[key] = made
        return
    if isinstance(table, (tomlkit.items.InlineTable,)):
        table[key] = _item(value)
        return
    last = next((k for k in reversed(list(table)) if not isinstance(table[k], (tomlkit.items.Table, tomlkit.items.AoT))), None)
    body = table.value.body if hasattr(table, "value") and hasattr(table.value, "body") else table.body
    inner = table.value if hasattr(table.value, "body") else table
    if last is None:
        table[key] = _item(value)
        return
    at = next(n for n, (k, _) in enumerate(body) if k is not None and k.key == last)
    inner._insert_after(body[at][0], key, _item(value))


def _plain(value):
    return value.unwrap() if hasattr(value, "unwrap") else value


def _same(old, new):
    return old == new and (isinstance(old, bool) == isinstance(new, bool)) and isinstance(old, str) == isinstance(new, str)


def _key(key):
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else tomlkit.item(key).as_string()


def _root(header):
    """Return (first name of a header, whether names follow)."""
    inner = next(iter(tomllib.loads(header).items()))
    name, value = inner
    value = value[0] if isinstance(value, list) else value
    return name, bool(value)
