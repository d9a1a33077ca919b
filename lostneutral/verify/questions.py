"""What a check may ask the program, by name: each question takes what is given and returns an answer for each `what`."""

import inspect
import re
from collections.abc import Callable

from lostneutral.frozen import dataclass

NUMBER = r"\d+(?:\.\d+)?(?:e-?\d+)?"
QUESTIONS = {}
"""Name of a question -> the `Askable`; filled by the modules that `verify.asked` imports."""


@dataclass(frozen=True)
class Askable:
    """A question: `make(**given)` returns a function of `what` (as `asks` allows) that returns the figure or word."""

    name: str
    make: Callable
    asks: str  #: regular expression of what may be asked
    words: "str | Callable[[str], str]"  #: what was asked, in words, with {} for `what`; or a function of it
    allowed: str  #: what may be asked, in words

    @property
    def given(self):
        """The names of what has to and what may be given."""
        return inspect.signature(self.make).parameters

    def fits(self, what):
        return re.fullmatch(self.asks, what) is not None

    def said(self, what):
        return self.words(what) if callable(self.words) else self.words.format(what)


def question(asks, words, allowed=""):
    """Return the decorator that enters a function under its own name, with blanks, in `QUESTIONS`."""
    def enter(make):
        name = make.__name__.replace("_", " ")
        QUESTIONS[name] = Askable(name, make, asks, words, allowed or f"{asks.replace('|', ', ')}")
        return make
    return enter


def at(words):
    """Return the decorator of a question that is asked at numbers."""
    return question(NUMBER, words, "a number")
