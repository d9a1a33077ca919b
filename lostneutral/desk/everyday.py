"""What an item is, found by everyday words: entries of the catalogue and kinds of load."""

import difflib
from functools import cache

from lostneutral import data
from lostneutral.case.load_schema import KINDS
from lostneutral.case.meant import everyday as named
from lostneutral.case.meant import folded
from lostneutral.frozen import dataclass
from lostneutral.loads.catalogue import appliances

WHAT_IT_DOES = {kind: (model.__doc__ or "").strip() for kind, model in KINDS.items()}
MOST = 8


@dataclass(frozen=True)
class Choice:
    """Something an item can be: its everyday name, and what the case file says for it."""

    name: str
    kind: str
    model: str = ""  #: name in the catalogue, of an appliance
    words: tuple[str, ...] = ()  #: further everyday words
    detail: str = ""  #: usual power, or what the kind is
    power: float | None = None  #: W, where the case gives none

    @property
    def keys(self) -> dict:
        """The keys of a load that say so."""
        return {"kind": "appliance", "model": self.model} if self.model else {"kind": self.kind}


@cache
def choices() -> tuple[Choice, ...]:
    """Return everything that an item can be: the catalogue first, then the plain kinds that the table of words names."""
    rows = data.load("everyday_words")["word"]
    also = {row["of"]: tuple(row["also"]) for row in rows if "of" in row}
    made = [Choice(a.name, a.kind, a.name, also.get(a.name, ()), _usual(a), a.parameters.get("power")) for a in appliances()]
    plain = {row["kind"]: row for row in rows if "kind" in row}
    named = [(kind, plain[kind]["name"], tuple(plain[kind]["also"])) for kind in plain]
    named += [(kind, kind.replace("_", " "), ()) for kind in KINDS if kind not in plain and kind != "appliance"]
    return (*made, *(Choice(name, kind, words=also, detail=WHAT_IT_DOES[kind]) for kind, name, also in named))


def _usual(entry):
    power = entry.parameters.get("power")
    span = f", usual {entry.power_range[0]:g} to {entry.power_range[1]:g} W" if entry.power_range else ""
    return f"{entry.operation}{f': {power:g} W if the plate is not known{span}' if power else ''}"


def find(text: str, most: int = MOST) -> tuple[Choice, ...]:
    """Return the choices that `text` may mean, the likeliest first.

    >>> [c.name for c in find("telly")]
    ['television']
    """
    wanted = folded(text)
    if not wanted:
        return ()
    scored = [(score, number, choice) for number, choice in enumerate(choices()) if (score := _score(wanted, choice))]
    return tuple(choice for *_, choice in sorted(scored, key=lambda s: (-s[0], s[1])))[:most]


def meant(text: str) -> Choice | None:
    """Return the one choice that `text` names beyond doubt: by its name, a word for it, or a word that ends with it."""
    words = folded(text).split()
    for first in range(len(words)):  # "shop ceiling lights": the last words say what it is
        tail = " ".join(words[first:])
        if (keys := named(tail) or named(tail.removesuffix("s"))) is not None:
            return next((choice for choice in choices() if choice.keys == keys), None)
    return None


def name_of(kind: str | None, model: str | None) -> str:
    """Return the everyday name of what a load of the case file is; the file's own word where there is none."""
    if kind == "appliance":
        return str(model or "")
    return next((c.name for c in choices() if c.kind == kind and not c.model), str(kind or ""))


@cache
def _all(choice):
    return frozenset(folded(word) for word in (choice.name, *choice.words))


def _score(wanted, choice):
    best = 0.0
    for word in _all(choice):
        if word == wanted:
            return 3.0
        if word.startswith(wanted) or any(part.startswith(wanted) for part in word.split()):
            best = max(best, 2.0 + len(wanted) / (len(word) + 1))
        elif all(any(p.startswith(w) for p in word.split()) for w in wanted.split()):
            best = max(best, 1.5)
        elif len(wanted) > 3 and difflib.SequenceMatcher(None, wanted, word).ratio() > 0.8:
            best = max(best, 1.0)
    return best
