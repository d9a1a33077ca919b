"""Every settled state of many samples at once, where loads may settle in several ways: Newton's method from a spread of starts."""

from dataclasses import replace

import numpy as np

from lostneutral.circuit.dynamics import Dynamics
from lostneutral.circuit.equations import Equations, Samples, take
from lostneutral.circuit.many import AIM, chunk_size, solve_linear_many
from lostneutral.circuit.network import Network
from lostneutral.circuit.newton import newton_rows
from lostneutral.circuit.sameness import distinct
from lostneutral.circuit.search import FAR, mode_choices
from lostneutral.circuit.starts import floating_neutrals
from lostneutral.frozen import dataclass

RINGS, ANGLES = (0.3, 0.6, 0.9, 1.2), 12  #: star points to start from: rings in nominal voltages, places on each
EFFORTS = ((30, 4), (60, 20))  #: steps and halvings of Newton's method from each start; the second where nothing was found


@dataclass(frozen=True, eq=False)
class ManyStates:
    """Attracting settled states, a row each."""

    sample: np.ndarray  #: which sample a row belongs to
    voltages: np.ndarray  #: (rows, nodes), complex, V


def states_of_many(net: Network, samples: Samples, nominal, tick=None) -> ManyStates:
    """Return every attracting settled state that is found of every sample.

    Started from the usual guess, from rings of star points, and from circles round every line where a load cuts off:
    states held there are narrow. A state attracts if the eigenvalues of its load states' Jacobian say so; one that
    they leave open (marginal) counts only where there is no other. Loads that can change their mode are tried in each. No proof that there is no other state.
    """
    samples = samples if samples.models else replace(samples, models=net.models)
    together, found = max(chunk_size(net) // len(_positions(net, nominal)), 1), []
    for at in range(0, samples.size, together):
        rows = np.arange(at, min(at + together, samples.size))
        for steps, halvings in EFFORTS:
            new = list(_states(net, take(samples, rows), nominal, steps, halvings))
            found += [(rows[k], v) for k, v in new]
            rows = np.delete(rows, [k for k, _ in new])
            if not len(rows):
                break
        if tick:
            tick(min(together, samples.size - at))
    nodes = net.free + len(net.fixed)
    return ManyStates(np.array([k for k, _ in found], int),
                      np.array([v for _, v in found], complex).reshape(-1, nodes))


def _states(net, samples, nominal, steps, halvings):
    """Return (sample, voltages of all nodes) of every attracting state; of marginal ones only where nothing attracts."""
    positions = _positions(net, nominal)
    which = np.repeat(np.arange(samples.size), len(positions))
    neutrals = np.concatenate([*floating_neutrals(net), np.zeros(0, int)]).astype(int)
    found = [[] for _ in range(samples.size)]
    for models in mode_choices(replace(net, models=samples.models))[0]:
        moded = replace(samples, models=models)
        base = solve_linear_many(net, moded, nominal)
        start = base[which].reshape(samples.size, len(positions), -1)
        start[:, 1:, neutrals] = np.array(positions[1:])[None, :, None]
        roots = newton_rows(Equations(net, take(moded, which)), start.reshape(len(which), -1), steps=steps,
                            shortest=0.5**halvings, aim=AIM)
        v, solved = roots.voltages, roots.solved & (np.abs(roots.voltages).max(axis=1) < FAR * nominal)
        for k in range(samples.size):
            roots = v[(which == k) & solved]
            own = network_of(net, moded, k) if len(roots) else None
            new = [roots[n] for n in distinct(own, roots, nominal)] if len(roots) else ()
            found[k] += [(growth, root) for root in new if (growth := _growth(own, root, nominal)) <= 0]
    for k, each in enumerate(found):
        firm = [root for growth, root in each if growth < 0] or [root for _, root in each]
        if firm:  # a load that is off is in every mode alike
            yield from ((k, firm[n]) for n in distinct(network_of(net, samples, k), firm, nominal))


def network_of(net: Network, samples: Samples, k: int) -> Network:
    """Return the network of the sample numbered `k`, its loads that are off with none in parallel."""
    one = take(samples, np.array([k]))
    models = tuple(_single(m) for m in one.models)
    return replace(net, models=models, count=net.count if one.count is None else one.count[0],
                   element_admittance=net.element_admittance if one.element_admittance is None
                   else one.element_admittance[0], fixed=net.fixed if one.fixed is None else one.fixed[0])


def _single(model):
    """A model whose array parameters have one value, as one with plain numbers."""
    from dataclasses import fields

    plain = {f.name: getattr(model, f.name).item() for f in fields(model)
             if isinstance(getattr(model, f.name), np.ndarray) and getattr(model, f.name).shape == (1,)}
    return replace(model, **plain) if plain else model


def _growth(net, v, nominal):
    """The fastest growth (1/s) of a disturbance of the state `v` (V); infinite if a load that is on cannot stay in its mode."""
    on = net.count > 0
    live = replace(net, count=np.where(on, net.count, 1e-12))  # what is off still ties a neutral down that floats without it
    size = np.abs(live.across(v))
    states = live.settled(size)
    holds = live.each(lambda model, x, u: model.margin(x, u), states, size) > 0
    if not holds[on].all():
        return np.inf
    try:
        return Dynamics(live, nominal).growth(states)
    except np.linalg.LinAlgError:  # a part in which every load has cut off hangs on nothing, and eigenvalues say nothing of it
        return 0.0


def _positions(net, nominal):
    """Star points from which to start, V (the first stands for the usual guess): rings round the middle, and circles round the lines where loads cut off."""
    turn = np.exp(2j * np.pi * (np.arange(ANGLES) + 0.02) / ANGLES)
    rings = [nominal * r * turn for r in RINGS]
    tight = np.exp(2j * np.pi * (np.arange(2 * ANGLES) + 0.02) / (2 * ANGLES))
    circles = [centre + v * tight for v in _edges(net, nominal) for centre in net.fixed if abs(centre) > 0]
    return [0j, *np.concatenate([*rings, *circles])]


def _edges(net, nominal):
    """Voltages at which a load's current falls off as its supply cuts off, V."""
    ends = {tuple(float(np.mean(volts)) for volts in m.cuts_off) for m in net.models if m.cuts_off is not None}
    return sorted({round((a + b) / 2, 3) for a, b in ends})
