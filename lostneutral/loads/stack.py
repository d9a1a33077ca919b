"""Loads of one kind as one model whose parameters are arrays, so that a circuit asks once for all of them."""

from dataclasses import fields, is_dataclass, replace

import numpy as np

from lostneutral.loads.base import LoadModel


def alike(model: LoadModel):
    """Return what two models must have in common to be stacked: kind, modes, and every parameter that is no number."""
    if not is_dataclass(model):
        return id(model)
    return (type(model), model.modes, *(_word(getattr(model, f.name)) for f in fields(model)))


def stacked(models) -> LoadModel:
    """Return one model that answers for all of `models` (which must be `alike`) along the last axis of an array.

    Parameters that are arrays over samples, of one length, come before that axis; those that are the same in all stay
    plain.

    >>> from lostneutral.loads.simple import Resistive
    >>> stacked([Resistive(100.0, 230.0), Resistive(200.0, 230.0)])
    Resistive(power=array([100., 200.]), voltage=230.0)
    """
    kinds = {id(model): model for model in models}  # like loads often share one model
    first = models[0]
    if len(kinds) == 1 and not _sampled(first):
        return first
    number = {key: k for k, key in enumerate(kinds)}
    which = np.array([number[id(model)] for model in models])
    values = {f.name: _spread(_together([getattr(model, f.name) for model in kinds.values()]), which) for f in fields(first)}
    if len(first.ports) > 1:  # the ports come last
        values = {name: _before_ports(value) for name, value in values.items()}
    return replace(first, **values)


def _spread(value, which):
    """The values of kinds, in the last axis of an array, as those of the loads that are `which` of them."""
    if isinstance(value, tuple):
        return tuple(_spread(part, which) for part in value)
    return value[..., which] if isinstance(value, np.ndarray) else value


def _before_ports(value):
    if isinstance(value, tuple):
        return tuple(_before_ports(v) for v in value)
    return value[..., None] if isinstance(value, np.ndarray) else value


def _word(value):
    if isinstance(value, tuple):
        return tuple(_word(v) for v in value)
    return value if value is None or isinstance(value, (str, bool)) else 0.0


def _sampled(model):
    return is_dataclass(model) and any(np.ndim(getattr(model, f.name)) and not isinstance(getattr(model, f.name), tuple)
                                       for f in fields(model))


def _together(values):
    first = values[0]
    if first is None or isinstance(first, (str, bool)):
        return first
    if isinstance(first, tuple):
        return tuple(_together(parts) for parts in zip(*values, strict=True))
    if not any(np.ndim(v) for v in values):
        return first if all(v == first for v in values) else np.array(values, float)
    return np.stack(np.broadcast_arrays(*(np.asarray(v, float) for v in values)), axis=-1)
