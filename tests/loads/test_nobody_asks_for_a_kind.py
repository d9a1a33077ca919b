"""What is asked of a load its model answers: outside `loads/` nothing hangs on the name of a kind."""

import ast
from pathlib import Path

import pytest

import lostneutral
from lostneutral.case.load_schema import KINDS
from lostneutral.loads.base import LoadModel

ROOT = Path(lostneutral.__file__).parent
NAMES_A_KIND = {
    "case": "reads entries as they were typed, before there is a model of any load",
    "desk": "edits entries as they are typed",
    "teaching": "a bench is built of lamps or of resistors, which its own `kind` says",
    "consequences/harm.py": "an appliance alone says in its entry which part fails",
}
"""File or folder -> why a comparison with the name of a kind may stand there."""
FILES = [path for path in sorted(ROOT.rglob("*.py")) if path.relative_to(ROOT).parts[0] != "loads"]


def words_of(node):
    if isinstance(node, ast.Constant):
        return {node.value} if isinstance(node.value, str) else set()
    return set().union(*map(words_of, node.elts)) if isinstance(node, (ast.Tuple, ast.List, ast.Set)) else set()


def kinds_asked_for(tree):
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare):
            sides = [node.left, *node.comparators]
            asks = any(isinstance(s, ast.Attribute) and s.attr == "kind" or isinstance(s, ast.Name) and s.id == "kind"
                       for s in sides)
            if asks and (found := set().union(*map(words_of, sides)) & set(KINDS)):
                yield node.lineno, found


def test_no_comparison_with_the_name_of_a_kind_outside_the_loads():
    asked = {}
    for path in FILES:
        place = path.relative_to(ROOT).as_posix()
        if place not in NAMES_A_KIND and place.split("/")[0] not in NAMES_A_KIND:
            asked[place] = list(kinds_asked_for(ast.parse(path.read_text("utf-8"))))
    assert not {place: found for place, found in asked.items() if found}


def test_nobody_feels_for_what_a_model_may_have():
    """`getattr(model, …, default)` and `hasattr(model, …)`: a load model has every answer, if only "no"."""
    found = []
    for path in (path for path in FILES if path.relative_to(ROOT).parts[0] not in ("case", "desk")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.args:
                feels = node.func.id == "hasattr" or (node.func.id == "getattr" and len(node.args) == 3)
                if feels and isinstance(node.args[0], ast.Name) and node.args[0].id in ("m", "model", "load"):
                    found.append(f"{path.name}:{node.lineno}")
    assert not found


@pytest.mark.parametrize("text", ['load.kind == "lamp"', 'kind in ("heater", "motor")', 'resolve(load).kind != "varistor"'])
def test_the_rule_sees_what_it_is_meant_to_see(text):
    assert list(kinds_asked_for(ast.parse(text)))


def test_the_plainest_load_answers_everything():  # invariant
    class Plain(LoadModel):
        def admittance(self, state):
            return 0.01 + 0j + 0 * state

        def rate(self, state, voltage):
            return -state

        def settled(self, voltage):
            return 0 * voltage

    plain = Plain()
    assert not (plain.short or plain.stands_in or plain.on_or_off or plain.gives_light or plain.wear({}))
    assert plain.bridge is plain.clamp is plain.harmonics is plain.series is plain.cuts_off is plain.stopped(230.0, {}) is None
    assert plain.low(0.5, {}).outcome == "works weakly" and plain.light(1.0) == 0
