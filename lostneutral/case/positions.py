"""Where each key and value of a TOML text stands; wanted only when there is a fault to report."""

import tomllib

import tree_sitter_toml
from tree_sitter import Language, Parser

KEYS = ("bare_key", "quoted_key", "dotted_key")
TABLES = ("table", "table_array_element")


class Positions:
    """Places in `text`, as (line, column) counted from 1 in characters.

    A path is a tuple of keys and, in arrays, indices from 0, as in the parsed file.
    """

    def __init__(self, text):
        self._lines = text.encode().split(b"\n")
        self._keys, self._values = {}, {}
        tree = Parser(Language(tree_sitter_toml.language())).parse(text.encode())
        self._read(tree.root_node)

    def key(self, path):
        """Return where the key of `path` stands, or the nearest thing around it that is there."""
        return self._nearest(self._keys, self._values, path)

    def value(self, path):
        """Return where the value of `path` stands, or the nearest thing around it that is there."""
        return self._nearest(self._values, self._keys, path)

    def _nearest(self, first, second, path):
        for length in range(len(path), 0, -1):
            for places in (first, second):
                if path[:length] in places:
                    row, column = places[path[:length]]
                    return row + 1, len(self._lines[row][:column].decode(errors="replace")) + 1
        return 1, 1

    def _read(self, root):
        counts = {}  # array of tables -> how many of its tables have begun
        for node in root.named_children:
            if node.type == "pair":
                self._pair(node, ())
            elif node.type in TABLES:
                self._table(node, counts)

    def _table(self, node, counts):
        header, *pairs = node.named_children
        path = ()
        parts = _parts(header)
        for depth, (name, place) in enumerate(parts, 1):
            path += (name,)
            self._keys.setdefault(path, place)
            if depth == len(parts) and node.type == "table_array_element":
                counts[path] = counts.get(path, 0) + 1
            if path in counts:
                path += (counts[path] - 1,)
        self._keys[path] = self._values[path] = (node.start_point.row, node.start_point.column)
        for pair in pairs:
            if pair.type == "pair":
                self._pair(pair, path)

    def _pair(self, pair, prefix):
        waiting = [(pair, prefix)]  # a stack of its own: the nesting may be deeper than Python's
        while waiting:
            node, path = waiting.pop()
            if node.type == "pair":
                key, value = [n for n in node.named_children if n.type != "comment"]
                for name, place in _parts(key):
                    path += (name,)
                    self._keys.setdefault(path, place)
            else:
                value = node
            self._values[path] = (value.start_point.row, value.start_point.column)
            inner = [n for n in value.named_children if n.type != "comment"]
            if value.type == "inline_table":
                waiting += [(n, path) for n in inner]
            elif value.type == "array":
                waiting += [(n, (*path, index)) for index, n in enumerate(inner)]


def _parts(key):
    """Return the (name, place) of each part of a key, dotted or not."""
    parts, waiting = [], [key]
    while waiting:
        node = waiting.pop()
        if node.type == "dotted_key":
            waiting += [n for n in reversed(node.named_children) if n.type in KEYS]
        else:
            name = node.text.decode()
            if node.type == "quoted_key":
                name = next(iter(tomllib.loads(f"{name} = 0")))
            parts.append((name, (node.start_point.row, node.start_point.column)))
    return parts
