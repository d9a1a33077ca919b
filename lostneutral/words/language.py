"""The language in which sentences are told: English stands in the code, the others in one catalogue each, by the English sentence.

Every sentence passes through `tell`, which looks its English up in the catalogue of the language being spoken. So a
sentence has one meaning and one place, and a change of it asks for its translations anew.
"""

import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import field
from functools import cache
from pathlib import Path

from lostneutral.errors import LostNeutralError
from lostneutral.frozen import dataclass

CATALOGUES = {"de": "german", "fr": "french", "es": "spanish"}
"""Languages beside English, by code -> the file of `FOLDER` with their sentences."""
FOLDER = Path(__file__).parent


@dataclass(frozen=True)
class Language:
    """A language: its own name, its decimal mark, who reviewed it, and its sentences by the English ones."""

    code: str = "en"
    name: str = "English"
    decimal: str = "."
    reviewed: bool = True  #: by a specialist whose first language it is; recorded in the language's file
    sentences: dict[str, str] = field(default_factory=dict)


ENGLISH = Language()
_SPOKEN: ContextVar[Language] = ContextVar("spoken", default=ENGLISH)


def spoken() -> Language:
    """Return the language being spoken."""
    return _SPOKEN.get()


@contextmanager
def speaking(language: str | Language) -> Iterator[Language]:
    """Tell everything within the block in `language`, a code ("en", "de", "fr", "es") or a Language."""
    chosen = language if isinstance(language, Language) else language_of(language)
    token = _SPOKEN.set(chosen)
    try:
        yield chosen
    finally:
        _SPOKEN.reset(token)


def tell(english: str, /, **values) -> str:
    """Return a sentence, given in English with its {places} named, in the language being spoken, filled with `values`.

    >>> tell("about {amount}", amount="155 V")
    'about 155 V'
    >>> with speaking("de"):
    ...     print(tell("about {amount}", amount="155 V"))
    etwa 155 V
    """
    return spoken().sentences.get(english, english).format(**values)


def to_tell(table: dict) -> dict:
    """Return `table` as it is: its texts are sentences that are told later, so every catalogue has them."""
    return table


def decimal_mark(text: str) -> str:
    """Return a figure, written with a decimal point, with the decimal mark of the language being spoken."""
    return text if spoken().decimal == "." else text.replace(".", spoken().decimal)


def beside(english: str) -> str:
    """Return what has to be printed beside a translation that nobody has reviewed: the English; "" where nothing has to."""
    return "" if spoken().reviewed else english


@cache
def language_of(code: str) -> Language:
    """Return a language with its catalogue, checked: LostNeutralError for a sentence with other places than its English."""
    if code == "en":
        return ENGLISH
    table = tomllib.loads((FOLDER / f"{CATALOGUES[code]}.toml").read_text(encoding="utf-8"))
    sentences = table["sentences"]
    for english, told in sentences.items():
        if not told or set(_places(english)) != set(_places(told)):
            raise LostNeutralError(f"{CATALOGUES[code]}.toml: “{english}” has the places {sorted(_places(english))}, its "
                                   f"translation {sorted(_places(told))} — name the same ones")
    about = table["language"]
    return Language(code, about["name"], about["decimal"], bool(table.get("review")), sentences)


def _places(text):
    from string import Formatter

    return {name for _, name, _, _ in Formatter().parse(text) if name is not None}
