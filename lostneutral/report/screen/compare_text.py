"""What changed between two result files: the same case calculated again, by another program or with other entries."""

import json
from collections.abc import Mapping

from lostneutral.errors import UsageError
from lostneutral.report.result.file import FORMAT
from lostneutral.words.amounts import volts
from lostneutral.words.items import OUTCOMES
from lostneutral.words.terms import VERDICTS

SAME_VOLTS = 0.5  #: V, and …
SAME_SHARE = 0.002  #: … of the voltage, up to which two figures are the same
SAME_TIME = 1.02  #: ratio of two times
_STATES = {"before": "before the fault", "after": "after the fault"}
_ABSENT = "not in this file"


def read_result(content: bytes, name: str) -> Mapping:
    """Return the result file `content`; UsageError, with the place where it can be told, if it is none."""
    try:
        found = json.loads(content.decode("utf-8"))
    except UnicodeDecodeError as error:
        raise UsageError(
            f"{name}: byte {error.start + 1} is not UTF-8 text — give a result file written by --json"
        ) from None
    except json.JSONDecodeError as error:
        raise UsageError(
            f"{name}:{error.lineno}:{error.colno}: this is not JSON: {error.msg} — give a result file written by --json"
        ) from None
    except RecursionError:
        raise UsageError(f"{name}: lists are nested too deeply — give a result file written by --json") from None
    written = found.get("format") if isinstance(found, dict) else None
    if written != FORMAT:
        raise UsageError(
            f'{name}: the format is {json.dumps(written)[:60]} — a result file of format "{FORMAT}", written by --json'
        )
    return found


def differences(old: Mapping, new: Mapping) -> tuple[str, ...]:
    """Return what differs between two result files, one sentence each: case and program, voltages, items, findings.

    Raises UsageError if a part that a result file has is missing or of another shape.
    """
    try:
        return (*_origin(old, new), *_voltages(old, new), *_items(old, new), *_findings(old, new))
    except (KeyError, TypeError, AttributeError, ValueError) as error:
        raise UsageError(
            f"a result file is incomplete or was changed by hand ({type(error).__name__}: {str(error)[:60]}) — write"
            " both again with --json"
        ) from None


def _origin(old, new):
    names = {"title": "title", "sha256": "case file", "date": "date of the case"}
    for key, name in names.items():
        a, b = old["case"].get(key), new["case"].get(key)
        if a != b:
            yield f"{name}: {_short(a)} → {_short(b)}"
    for key in {**old["software"], **new["software"]}:
        a, b = old["software"].get(key), new["software"].get(key)
        if a != b:
            yield f"{'program' if key == 'version' else key}: {_short(a)} → {_short(b)}"
    if len(old["assumptions"]) != len(new["assumptions"]):
        yield f"values assumed: {len(old['assumptions'])} → {len(new['assumptions'])}"


def _short(value):
    return "none" if value is None else f"{value[:12]}…" if len(str(value)) == 64 else str(value)


def _voltages(old, new):
    a, b = _phases(old), _phases(new)
    for key in {**a, **b}:
        first, second = a.get(key), b.get(key)
        if first is None or second is None or not _same(first[0], second[0]) or first[1] != second[1]:
            yield f"{key[2]} at {key[1]} {_STATES.get(key[0], key[0])}: {_phase(first)} → {_phase(second)}"


def _phases(found):
    """Return {(state, point, line): (V, verdict)} of the settled state that is reached, else of the first."""
    made = {}
    for state in found["states"]:
        chosen = next((s for s in state["solutions"] if s["reached"]), next(iter(state["solutions"]), None))
        for point in chosen["points"] if chosen else ():
            made |= {
                (state["name"], point["name"], phase["name"]): (phase["voltage"], phase["verdict"])
                for phase in point["phases"]
            }
    return made


def _same(a, b):
    if a is None or b is None:
        return a is b
    return abs(a - b) <= max(SAME_VOLTS, SAME_SHARE * max(a, b))


def _phase(found):
    if found is None:
        return _ABSENT
    return VERDICTS[found[1]] if found[0] is None else f"{volts(found[0])} ({VERDICTS[found[1]]})"


def _items(old, new):
    a, b = ({v["item"]: v for v in found["verdicts"]} for found in (old, new))
    for name in {**a, **b}:
        first, second = a.get(name), b.get(name)
        if (
            first is None
            or second is None
            or first["outcome"] != second["outcome"]
            or not _same(first["voltage"], second["voltage"])
            or not _same_time(first["central"], second["central"])
        ):
            yield f"{name}: {_item(first)} → {_item(second)}"


def _same_time(a, b):
    return a is b if a is None or b is None else max(a, b) <= SAME_TIME * min(a, b)


def _item(found):
    if found is None:
        return _ABSENT
    from lostneutral.words.times import duration

    when = "" if found["central"] is None else f", central estimate {duration(found['central'])}"
    at = "" if found["voltage"] is None else f"{volts(found['voltage'])}, "
    return f"{at}{OUTCOMES[found['outcome']]}{when}"


def _findings(old, new):
    """Yield the dangers, fire risks and warnings that only one of the files has, by what they are of."""
    a, b = (
        {(f["rank"], f["subject"]): f["message"] for f in found["findings"] if f["rank"] != "note"}
        for found in (old, new)
    )
    for key in {**a, **b}:
        if key not in b:
            yield f"no longer found ({key[0]}): {key[1]}"
        elif key not in a:
            yield f"newly found ({key[0]}): {b[key]}"


def compare_text(old: Mapping, new: Mapping) -> str:
    """Return what changed as lines of text, the new file's cautions in short behind it."""
    found = differences(old, new)
    title = f"Changed: {old['case']['title']}"
    lines = [title, "=" * min(len(title), 80), *(found or ["Nothing differs beyond rounding."])]
    return "\n".join(lines) + "\n"
