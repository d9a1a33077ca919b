"""What an editor wants: the JSON schema of the case file, and an example case file."""

from pathlib import Path


def case_schema():
    """Return the JSON schema (draft 2020-12) of the case file, for editors that complete and check TOML."""
    from lostneutral.case.schema import CaseFile
    schema = CaseFile.model_json_schema(by_alias=True)
    _tidy(schema)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def starter():
    """Return the text of an annotated example case file, ready to run."""
    return Path(__file__).with_name("starter.toml").read_text(encoding="utf-8")


def _tidy(schema):
    """Drop defaults that stand for "left out" (null, infinity), which are no values of the file."""
    for part in schema.values():
        for inner in part if isinstance(part, list) else [part]:
            if isinstance(inner, dict):
                if inner.get("default", 0) in (None, float("inf")):
                    del inner["default"]
                _tidy(inner)
