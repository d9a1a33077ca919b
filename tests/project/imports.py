"""Who imports whom in the package, read from its sources, imports inside functions included and those for types only left out."""

import ast
from functools import cache
from pathlib import Path

PACKAGE = Path(__file__).parents[2] / "lostneutral"


@cache
def modules():
    """Return {name of a module: its syntax tree}."""
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = ast.parse(path.read_text(encoding="utf-8"))
    return found


def _for_types_only(tree):
    blocks = (n for n in ast.walk(tree) if isinstance(n, ast.If) and isinstance(n.test, ast.Name) and n.test.id == "TYPE_CHECKING")
    return {id(inner) for block in blocks for inner in ast.walk(block)}


def _imported(tree):
    skipped = _for_types_only(tree)
    for node in ast.walk(tree):
        if id(node) in skipped:
            continue
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            for alias in node.names:
                inner = f"{node.module}.{alias.name}"
                yield inner if inner in modules() else node.module


def _with_packages(name):
    """A module and the packages above it, whose `__init__` runs before it; not the front door, which imports nothing when it runs."""
    parts = name.split(".")
    return {".".join(parts[:n]) for n in range(2, len(parts) + 1)} & modules().keys()


@cache
def imports():
    """Return {module: the modules of the package that it imports}."""
    return {name: {other for other in _imported(tree) if other in modules()} - {name} for name, tree in modules().items()}


@cache
def loads():
    """Return the same with the packages that these lie in, which run first."""
    return {name: {inner for other in others for inner in _with_packages(other)} - {name} for name, others in imports().items()}


def layer(name):
    """Return the folder of the package, or the module at its top, that a module belongs to; "" for the front door."""
    return (name.split(".") + [""])[1]


def reached(name, ways, doors=frozenset()):
    """Return {module that `name` comes to by `ways`, however far away: the way to it}, not going on behind `doors`."""
    found, waiting = {}, [(name, (name,))]
    while waiting:
        at, way = waiting.pop()
        for other in ways[at] - found.keys() - {name}:
            found[other] = (*way, other)
            if other not in doors:
                waiting.append((other, found[other]))
    return found
