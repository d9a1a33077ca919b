"""What a reader who wrote another word probably meant: a key of another table, an everyday name."""

import re
from functools import cache

from lostneutral import data
from lostneutral.case.load_schema import KINDS
from lostneutral.case.schema import CaseFile
from lostneutral.case.values import tables_of

MOST = 2  #: tables named


def written_keys(model):
    """Return {key as written in the file: field} of a pydantic model."""
    return {field.alias or name: field for name, field in model.model_fields.items()}


def elsewhere(key, model) -> str:
    """Return, in words, where `key` stands that the table of `model` has not: in a load of another kind, in a table of its own
    keys, else in one of the file; or ""."""
    if model in KINDS.values():
        kinds = [kind for kind, other in KINDS.items() if kind != "appliance" and key in written_keys(other)]
        return f"it is a key of the kind {' and of '.join(kinds[:MOST])}" if kinds else ""
    inner = [name for name, field in ({} if model is KINDS else written_keys(model)).items() if _has(field, key)]
    if inner and model is not CaseFile:
        return f"it stands in {inner[0]} = {{ {key} = … }}"
    tables = [f"[[{name}]]" if isinstance(field.default, list) or name == "load" else f"[{name}]"
              for name, field in written_keys(CaseFile).items() if _has(field, key)]
    return f"it is a key of {' and '.join(tables[:MOST])}" if tables else ""


def _has(field, key):
    """Whether a table that `field` takes, of loads one of any kind, has `key`."""
    every = [model for inner in tables_of(field) for model in (KINDS.values() if inner is KINDS else [inner])]
    return any(key in written_keys(model) for model in every)


def everyday(word) -> dict | None:
    """Return the keys of a load, `kind` and for an appliance `model`, that the everyday `word` names; None if none does."""
    return _everyday().get(folded(word)) if isinstance(word, str) else None


def folded(word: str) -> str:
    """Return `word` as words are compared: in small letters, with single blanks and without marks that carry no meaning."""
    return " ".join(re.sub(r"[^\w\- .,+]|_", " ", word.casefold()).split())


@cache
def _everyday():
    """Return {word: keys}: names of the catalogue first, then the table of words, then the kinds of load by their own names."""
    appliances = {row["name"]: {"kind": "appliance", "model": row["name"]} for row in data.load("appliances")["appliance"]}
    found = {folded(name): keys for name, keys in appliances.items()}
    for row in data.load("everyday_words")["word"]:
        for also in (*row["also"], *([row["name"]] if "name" in row else [])):
            found.setdefault(folded(also), {"kind": row["kind"]} if "kind" in row else appliances[row["of"]])
    for kind in KINDS:
        found.setdefault(folded(kind), {"kind": kind})
    return found
