"""The page's star picture by itself: its scripts as one function, and what it needs of a settled state."""

from lostneutral.case.model import Case
from lostneutral.circuit.solution import Solution
from lostneutral.consequences.touch import touch_voltages
from lostneutral.page import _source
from lostneutral.page.content import _pair, _supply
from lostneutral.page.lumped import lumped_joint

SCRIPTS = ("words.js", "star.js")


def star_script(name: str) -> str:
    """Return a script that defines `name(svg, held, view)`: it draws into the svg element and returns the same in words."""
    parts = "\n".join(map(_source, SCRIPTS))
    return (f'"use strict";\nwindow.{name} = (() => {{\n{parts}\nreturn (svg, held, view) => {{ svg.replaceChildren();\n'
            "  new StarPicture(held, svg).show(view); return starWords(held, view); };\n})();\n")


def star_content(case: Case, state: Solution) -> dict:
    """Return {held, view} of `state`, seen from the point behind the joint: what `star_script` draws."""
    final = case.at_the_end()
    feeding, _ = lumped_joint(final)
    with_loads = {load.point for load in case.loads}
    point = next((p for p in case.points if p.name == feeding and p.name in with_loads), None) or next(
        (p for p in case.points if p.name in with_loads), case.points[0])
    at = state.nodes
    star = at.get((point.name, "N"))

    def apart(a, b):
        volts = state.between(a, b)
        return None if volts is None else abs(volts)

    touch = touch_voltages(final, state)
    metal = {"metal": touch[point.name]} if point.name in touch else {}
    seen = {"corners": {line: None if (v := at.get((point.name, line))) is None else _pair(v) for line in point.phases},
            "star": None if star is None else _pair(star), "shift": None if star is None else abs(star),
            "lines": {line: apart((point.name, line), (point.name, "N")) for line in point.phases},
            "alive": {line: None if (v := at.get((point.name, line))) is None else abs(v) for line in point.phases}} | metal
    view = {"reading": {"points": [seen]}, "point": 0, "hidden": False, "ghosts": [], "kept": None, "moving": False,
            "share": _shares(case, state)}
    return {"held": {"supply": _supply(case)}, "view": view, "point": point.name}


def _shares(case, state):
    """Return for each line how much of what is connected to the neutral it has, by conductance."""
    weights = dict.fromkeys(case.supply.lines, 0.0)
    for load in state.loads:
        if load.on and load.connect[1:] == ("N",) and load.voltage and load.power:
            weights[load.connect[0]] += load.power / abs(load.voltage) ** 2
    total = sum(weights.values()) or 1.0
    return [weights[line] / total for line in case.supply.lines]
