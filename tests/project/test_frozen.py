"""The dataclasses between the layers behave as those of the standard library. Kind: independent (the standard library's own)."""

import dataclasses
import inspect
import pickle

import pytest

from lostneutral.frozen import FEW, dataclass


def made(dataclass):
    @dataclass(frozen=True)
    class Thing:
        """A thing."""

        x: int
        y: tuple = dataclasses.field(default_factory=tuple, repr=False)
        z: int = dataclasses.field(default=3, compare=False)

    @dataclass(frozen=True, kw_only=True)
    class Further(Thing):
        """A thing with more."""

        w: float = 1.0

    @dataclass(frozen=True, eq=False)
    class Itself:
        """A thing that equals only itself."""

    @dataclass()
    class Changing:
        """A thing that changes."""

        q: int = 0

        def __post_init__(self):
            self.q += 1

    return Thing, Further, Itself, Changing


TRIED = {
    "shown": lambda t, f, i, c: [str(one).split("<locals>.")[1] for one in (t(1), t(1, (2,), 4), f(1, w=2.0), i(), c(5))],
    "equal": lambda t, f, i, c: [t(1) == t(1, ()), t(1) == t(1, z=4), t(1) == t(2), t(1) == f(1), c(1) == c(1), i() == i(), t(1) == 1],
    "hashed": lambda t, f, i, c: [hash(t(1)), hash(t(1, z=4)), hash(f(1)), c.__hash__],
    "replaced": lambda t, f, i, c: vars(dataclasses.replace(f(1), y=(7,))),
    "own": lambda t, f, i, c: t(1).y is t(1).y or [field.name for field in dataclasses.fields(f)],
    "set": lambda t, f, i, c: setattr(t(1), "x", 2),
    "added": lambda t, f, i, c: setattr(t(1), "new", 2),
    "deleted": lambda t, f, i, c: delattr(f(1), "w"),
    "nothing given": lambda t, f, i, c: t(),
    "unknown given": lambda t, f, i, c: t(1, q=2),
    "not by name": lambda t, f, i, c: f(1, (), 3, 1.0),
    "many": lambda t, f, i, c: [[vars(t(n)), vars(t(x=n, y=(n,))), list(vars(f(n, z=1, w=n))), c(q=n).q, i() is i()] for n in range(2 * FEW)],
    "own to each of many": lambda t, f, i, c: [t(n).y is t(n, ()).y for n in range(2 * FEW)],
    "too many given": lambda t, f, i, c: t(1, (), 3, 4),
    "given twice": lambda t, f, i, c: t(1, x=1),
    "unhashable": lambda t, f, i, c: hash(c()),
    "signature before": lambda t, f, i, c: [str(inspect.signature(one)) for one in (t, f, i, c)],
    "signature": lambda t, f, i, c: [t(1) and t.__init__.__annotations__, f.__match_args__, t.__init__.__qualname__],
}


@pytest.mark.parametrize("what", TRIED)
def test_it_does_what_that_of_the_standard_library_does(what):
    def outcome(dataclass):
        try:
            return TRIED[what](*made(dataclass))
        except (TypeError, AttributeError) as error:
            return type(error), str(error).replace("cannot assign to field", "cannot change").replace("cannot delete field", "cannot change")

    assert outcome(dataclass) == outcome(dataclasses.dataclass)


@dataclass(frozen=True)
class Sent:
    """What goes to a process of its own."""

    x: int


def test_it_goes_to_another_process_and_comes_back():
    assert pickle.loads(pickle.dumps(Sent(1))) == Sent(1)
