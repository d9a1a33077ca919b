"""A network solved by loop equations to 25 digits: another way than the node equations that the program uses."""

import mpmath
from solved_long import solved


def solve_loops(branches, root):
    """Return (currents, voltages) of {name: (a, b, impedance, emf)}: A from a to b, V to `root` where it is tied to it.

    The emf drives current from a to b. Each component of the network gets a spanning tree; every branch outside it
    closes one loop, in which the voltages add up to nothing.
    """
    with mpmath.workdps(30):
        branches = {n: (a, b, mpmath.mpc(z), mpmath.mpc(e)) for n, (a, b, z, e) in branches.items()}
        parent, closing = _tree(branches, root)
        loops = [_loop(branches, parent, name) for name in closing]
        rows = [{k: sum(one[n] * other[n] * branches[n][2] for n in shared) for k, other in enumerate(loops) if (shared := one.keys() & other.keys())}
                for one in loops]
        loop_currents = solved(rows, [sum(sign * branches[n][3] for n, sign in one.items()) for one in loops])
        currents = {n: mpmath.mpc(0) for n in branches}
        for loop, current in zip(loops, loop_currents):
            for name, sign in loop.items():
                currents[name] += sign * current
        voltages = {root: mpmath.mpc(0)}
        for node, (above, name, sign) in parent.items():  # parents come before their children
            if above in voltages:
                z, e = branches[name][2:]
                voltages[node] = voltages[above] + sign * (e - z * currents[name])
        return {n: complex(i) for n, i in currents.items()}, {n: complex(v) for n, v in voltages.items()}


def _tree(branches, root):
    """Return {node: (node above, branch, +1 if the branch leads down)} and the branches outside the tree."""
    nodes = [root, *(n for a, b, _, _ in branches.values() for n in (a, b))]
    parent, reached, used = {}, set(), set()
    for start in nodes:
        if start in reached:
            continue
        reached.add(start)
        todo = [start]
        while todo:
            here = todo.pop()
            for name, (a, b, _, _) in branches.items():
                for near, far, sign in ((a, b, 1), (b, a, -1)):
                    if near == here and far not in reached:
                        parent[far] = (here, name, sign)
                        reached.add(far)
                        used.add(name)
                        todo.append(far)
    return parent, [n for n in branches if n not in used]


def _loop(branches, parent, closing):
    """Return {branch: ±1} round the loop that `closing` makes, in its own direction."""
    a, b, _, _ = branches[closing]
    loop = {closing: 1}
    for end, way in ((b, -1), (a, 1)):  # from b up to the root, and from the root down to a
        while end in parent:
            end, name, sign = parent[end]
            loop[name] = loop.get(name, 0) + way * sign
    return {n: s for n, s in loop.items() if s}
