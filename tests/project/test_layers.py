"""The house: layers in one direction, no circle, nothing that renders solves, one meaning a name. Kind: invariant."""

import ast
import re
from collections import defaultdict
from pathlib import Path

import pytest
from imports import imports, layer, loads, modules, reached

DEVELOPERS = Path(__file__).parents[2] / "DEVELOPERS.md"
SOLVERS = ("network", "newton", "equations", "states", "search", "sameness", "starts", "arrival", "course", "paths", "dynamics", "incident",
           "stiff", "tabled", "continued", "cycle", "recording", "many", "many_states", "large", "rough", "outcome", "waveform.model", "waveform.march",
           "waveform.resolvent", "waveform.steps", "waveform.steady", "waveform.brief", "waveform.picture", "waveform.measures", "waveform.turns")
DATA_OF_CIRCUIT = {"", "record", "repeating", "solution", "wiring", "waveform", "waveform.parts", "waveform.waves",
                   "windings"}
"""Modules of `circuit/` that are objects between layers: every other one solves."""


def order():
    """The layers in the order of the table in DEVELOPERS.md, the lowest first."""
    table = DEVELOPERS.read_text(encoding="utf-8").split("## How to add")[0]
    return re.findall(r"^\| `(\w+?)(?:/|\.py)` \|", table, re.M)


def test_the_table_names_every_layer():
    assert set(order()) == {layer(name) for name in modules()} - {"", "__main__"}


def test_nothing_imports_what_stands_below_it_in_the_table():
    place = {name: n for n, name in enumerate(order())}
    wrong = [f"{name} imports {other}" for name, others in imports().items() for other in others
             if layer(name) in place and layer(other) in place and place[layer(other)] > place[layer(name)]]
    assert not wrong, wrong


def test_no_module_imports_itself_by_way_of_others():
    circles = [" > ".join((*ways[at], name)) for name in modules() for ways in [reached(name, imports())] for at in ways
               if name in imports()[at]]
    assert not circles, circles[:5]


def test_every_module_of_the_circuit_solves_or_is_data():
    own = {name.removeprefix("lostneutral.circuit").removeprefix(".") for name in modules() if layer(name) == "circuit"}
    assert own == DATA_OF_CIRCUIT | {s for s in SOLVERS if f"lostneutral.circuit.{s}" in modules()}


@pytest.mark.parametrize("folder", ["words", "report"])
def test_nothing_that_renders_imports_a_solver(folder):
    """Neither itself nor by way of others. `Result` is the one door: behind it stand the studies that it works out when asked."""
    solvers = {f"lostneutral.circuit.{name}" for name in SOLVERS}
    wrong = [" > ".join(way) for name in modules() if layer(name) == folder
             for other, way in reached(name, loads(), doors={"lostneutral.result"}).items() if other in solvers]
    assert not wrong, sorted(wrong, key=len)[:10]


ONE_MEANING = {
    "command": "the click command of each file of cli/",
    "from_keys": "makes a load's model from its keys: one a kind, called by one table",
    **dict.fromkeys(("cautions", "courses", "currents", "diverted", "joint", "joint_heat", "main_switch", "metalwork", "person", "picture",
                     "ranges", "readings", "settled_states", "transposed", "between_metalwork", "electrode_range", "hangs_on",
                     "observations", "voltages", "basis", "open_pen_devices"), "one thing at its stages: worked out, claimed, put into words, drawn, a section"),
}
"""Names that stand in several modules and mean the same there, and why."""
CONTRACTS = re.compile(r"lostneutral\.(case\.(kinds\.\w+|\w*schema)|report\.result\.\w+|verify\.of_\w+|desk(\.\w+)*)$")
"""Where a name is that of what is written down: models of the files' keys, questions of a check; and the workbench, whose
names are those of its pages."""


def test_a_name_has_one_meaning():
    defined = defaultdict(list)
    for module, tree in modules().items():
        for node in tree.body:
            if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_") and not CONTRACTS.match(module):
                defined[node.name].append(module)
    several = {name: where for name, where in defined.items() if len(where) > 1}
    assert not {n: where for n, where in several.items() if n not in ONE_MEANING}
    assert not ONE_MEANING.keys() - several.keys(), "no longer needed"
