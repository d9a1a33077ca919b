"""What must hold of every result, whatever the case: each rule is `rule(result, texts) -> list of faults in words`.

`texts` is what `renderings.renderings` returns. A new rule is one more function in `RULES`, with its kind beside it.
"""

import json
import re
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from math import isfinite

import numpy as np
from balance import imbalances

NOT_WORDS = re.compile(r"(?<![\w-])(?:nan|-?inf|[+-]?nanj?|NaN|Infinity)(?![\w-])")
UNKNOWN_BY_DESIGN = {"residual", "times", "traces", "course"}
"""Fields that hold nan where something floats or is not worked out; what is printed of them is looked at in the texts."""


def figures_are_finite(result, texts):
    """Invariant: no nan and no infinity among the figures, be it in the result, in its file or in words."""
    found = [f"{where} is {value}" for part in ("before", "after", "harms", "readings", "waveforms")
             for where, value in _not_finite(getattr(result, part), part)]
    json.loads(texts["file"], parse_constant=lambda word: found.append(f"{word} in the result file"))
    for name, text in texts.items():
        found += [f"{name} says {text[max(0, m.start() - 40):m.end() + 20]!r}" for m in NOT_WORDS.finditer(text)]
    return found


def _not_finite(value, where):
    if is_dataclass(value):
        value = {f.name: getattr(value, f.name) for f in fields(value) if f.name not in UNKNOWN_BY_DESIGN}
    if isinstance(value, Mapping):
        for k, v in value.items():
            yield from _not_finite(v, f"{where}.{k}")
    elif isinstance(value, (list, tuple)):
        for k, v in enumerate(value):
            yield from _not_finite(v, f"{where}[{k}]")
    elif isinstance(value, (int, float, complex, np.number)) and not (isfinite(value.real) and isfinite(value.imag)):
        yield where, value


def currents_balance(result, texts):
    """Independent, invariant: at every node of every settled state the currents sum to zero, to 1e-8 of the largest."""
    result, found = result.sines or result, []  # true r.m.s. values of waveforms have no sum
    final = result.case.at_the_end()
    for case, state, breaks, crosses in ((result.case, result.before, (), ()), (final, result.after, final.breaks, final.crosses)):
        for number, solution in enumerate(state.solutions):
            found += [f"{state.name} {number}: {amps:.3g} A left over at {terminals} (allowed {allowed:.1g} A)"
                      for terminals, amps, allowed in imbalances(case, solution, breaks, crosses)]
    return found


def pulses_balance(result, texts):
    """Invariant: in the waveforms, the currents into every line terminal sum to zero, harmonic by harmonic."""
    waves, case, found = result.waveforms, result.case, []
    for state, crossed in ((waves.before, ()), (waves.after, case.crosses)) if waves else ():
        if state is None:
            continue
        swap = {(c.point, a): (c.point, b) for c in crossed for a, b in (c.conductors, c.conductors[::-1])}
        total, largest, unknown = {}, 1e-9, set()

        def add(terminal, wave, sign):
            nonlocal largest
            if wave is None:
                return unknown.add(terminal)
            amps = np.array(wave.harmonics) * np.exp(1j * np.radians(wave.angles))
            largest = max(largest, np.abs(amps).max())
            total[terminal] = total.get(terminal, 0) + sign * amps

        for (point, conductor), wave in state.currents.items():
            add((case.point(point).fed_from, conductor), wave, 1)
            add(swap.get((point, conductor), (point, conductor)), wave, -1)
        for load, seen in zip(case.loads, state.loads):
            if load.on:
                add((load.point, load.connect[0]), seen.current, 1)
                if len(load.connect) == 2:
                    add((load.point, load.connect[1]), seen.current, -1)
                else:
                    unknown |= {(load.point, "L2"), (load.point, "L3")}
        found += [f"{state.name}: {np.abs(i).max():.3g} A left over at {terminal}" for terminal, i in total.items()
                  if terminal[0] != "supply" and terminal[1][0] == "L" and terminal not in unknown
                  and not np.abs(i).max() <= 1e-6 * largest]
    return found


RULES = [figures_are_finite, currents_balance, pulses_balance]
