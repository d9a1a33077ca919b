"""What must hold of every result, whatever the case: each rule is `rule(result, texts) -> list of faults in words`.

`texts` is what `renderings.renderings` returns. A new rule is one more function in `RULES`, with its kind beside it.
"""

import json
import re
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from math import isfinite

import numpy as np
from balance import imbalances, pulse_imbalances

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
    for case, state, breaks, crosses in ((result.case, result.before, (), ()), (final, result.after, final.breaks_after(), final.crosses)):
        for number, solution in enumerate(state.solutions):
            found += [f"{state.name} {number}: {amps:.3g} A left over at {terminals} (allowed {allowed:.1g} A)"
                      for terminals, amps, allowed in imbalances(case, solution, breaks, crosses)]
    return found


def pulses_balance(result, texts):
    """Invariant: in the waveforms the currents into every line terminal sum to zero, harmonic by harmonic, to 1e-6."""
    waves, case = result.waveforms, result.case
    states = [(waves.before, ()), (waves.after, case.crosses)] if waves else []
    return [f"waveforms {state.name}: {amps:.3g} A left over at {terminal}" for state, crosses in states if state
            for terminal, amps in pulse_imbalances(case, state, crosses)]


RULES = [figures_are_finite, currents_balance, pulses_balance]
