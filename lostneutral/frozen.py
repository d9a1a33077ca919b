"""The dataclasses that stand between the layers, made four times as fast as the standard library makes them.

A hundred of them are made before the simplest case is read. The standard library compiles six methods for each; here it is one, and
that only of a class with many objects, what differs in the others between two classes being only the names of the fields.
"""

import dataclasses
from operator import attrgetter
from typing import TYPE_CHECKING

FEW = 30  #: objects; so many are made faster one by one than a method is compiled

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
else:
    def dataclass(*, eq=True, frozen=False, kw_only=False):
        """Return the decorator that makes a class what `dataclasses.dataclass` makes of it; with `frozen` its objects do not change."""
        def made(cls):
            cls.__doc__ = cls.__doc__ or cls.__name__  # else one is made of its signature, for which the tokenizer is set up
            cls = dataclasses.dataclass(init=False, repr=False, eq=False, kw_only=kw_only)(cls)
            fields = dataclasses.fields(cls)
            methods = {"__init__": _initialiser(cls, fields), "__repr__": _shown, "__signature__": _Signature()}
            if frozen:
                methods |= {"__setattr__": _unchanged, "__delattr__": _unchanged}
            if eq:
                names = [f.name for f in fields if f.compare]
                values = attrgetter(*names) if len(names) > 1 else lambda one: tuple(getattr(one, name) for name in names)
                methods["__eq__"] = lambda one, other: values(one) == values(other) if type(one) is type(other) else NotImplemented
                methods["__hash__"] = (lambda one: hash(values(one))) if frozen else None
            for name, method in methods.items():
                if name not in vars(cls):
                    setattr(cls, name, method)
            return cls

        return made


def _initialiser(cls, fields):
    """Return the method that sets the values of the first few objects one by one, and is compiled for more: most classes of a case have few."""
    plain, names = [f.name for f in fields if not f.kw_only], {f.name for f in fields}
    needed = {f.name for f in fields if f.default is f.default_factory is dataclasses.MISSING}
    few = iter(range(FEW))

    def first(self, *values, **named):
        given = dict(zip(plain, values)) | named
        if next(few, None) is None or len(given) < len(values) + len(named) or not needed <= given.keys() <= names:
            cls.__init__ = _compiled(cls, fields)
            return cls.__init__(self, *values, **named)
        for f in fields:
            value = given[f.name] if f.name in given else f.default_factory() if f.default is dataclasses.MISSING else f.default
            object.__setattr__(self, f.name, value)
        if hasattr(cls, "__post_init__"):
            self.__post_init__()

    return _named(first, cls, fields)


class _Made:
    """Stands in a signature for a value that is made for each object."""

    def __repr__(self):
        return "<factory>"


_MADE = _Made()


class _Signature:
    """What helps and editors show of a class: that of the method, before it is compiled as well."""

    def __get__(self, one, cls):
        from inspect import signature

        if cls.__init__.__name__ != "first":
            return None  # its own is right
        made = signature(_compiled(cls, dataclasses.fields(cls)))
        return made.replace(parameters=list(made.parameters.values())[1:], return_annotation=None)


def _compiled(cls, fields):
    """Return the method that takes a value for each of `fields` and sets it, whether or not the object is frozen."""
    names = {"_set": object.__setattr__, "_made": _MADE}
    takes, sets = [], []
    for field in sorted(fields, key=lambda f: f.kw_only):
        name, value = field.name, field.name
        if field.kw_only and "*" not in takes:
            takes.append("*")
        if field.default_factory is not dataclasses.MISSING:
            names[f"_{name}"] = field.default_factory
            takes.append(f"{name}=_made")
            value = f"_{name}() if {name} is _made else {name}"
        elif field.default is not dataclasses.MISSING:
            names[f"_{name}"] = field.default
            takes.append(f"{name}=_{name}")
        else:
            takes.append(name)
        sets.append(f"_set(self, {name!r}, {value})")
    if hasattr(cls, "__post_init__"):
        sets.append("self.__post_init__()")
    exec(f"def __init__(self, {', '.join(takes)}):\n " + "\n ".join(sets or ["pass"]), names)
    return _named(names["__init__"], cls, fields)


def _named(method, cls, fields):
    """Return `method`, called and annotated as that of `cls`."""
    method.__qualname__, method.__annotations__ = f"{cls.__qualname__}.__init__", {f.name: f.type for f in fields} | {"return": None}
    return method


def _unchanged(one, name, value=None):
    raise dataclasses.FrozenInstanceError(f"cannot change {name!r}")


def _shown(one):
    return f"{type(one).__qualname__}({', '.join(f'{f.name}={getattr(one, f.name)!r}' for f in dataclasses.fields(one) if f.repr)})"
