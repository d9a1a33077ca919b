"""The waveform picture of a case, before and after its breaks, and the course between the two."""

import numpy as np

from lostneutral import data
from lostneutral.case.model import Case
from lostneutral.circuit.waveform.measures import traces, wave_state
from lostneutral.circuit.waveform.model import assumptions
from lostneutral.circuit.waveform.parts import rectifier_share
from lostneutral.circuit.waveform.steady import Repeating, after_opening, repeating
from lostneutral.circuit.waveform.waves import Waveforms, WaveState
from lostneutral.errors import NoSolutionError

SHOWN = 2  #: cycles before and after the break that figures show


def waveforms(case: Case, *, asked=False, steps=None, patience=None) -> Waveforms:
    """Return the waveforms of `case` before and after its breaks.

    `asked`: they are to be trusted whatever the share of such loads. `steps` per cycle between switching instants and `patience` in cycles have their defaults in ``waveform.toml``.
    The break comes at the start of a cycle of the supply's angle 0, with links, currents and the temperatures of
    lamps and heaters as they were. Range: conductors as lumped R and L at the supply's frequency, no skin effect, no
    capacitance of cables, bridges with a constant drop, supplies of constant power; frequencies up to about the 40th
    harmonic. Raises NoSolutionError if no course can be followed.
    """
    breaks, crosses = case.breaks_after(), case.crosses
    try:
        healthy = repeating(case, steps=steps, patience=patience)
    except NoSolutionError:
        healthy = None
    faulty = repeating(case, breaks, crosses, healthy, steps=steps, patience=patience)
    times, course = _course(case, breaks, crosses, healthy, faulty, steps)
    share = rectifier_share(case)
    limit = data.load("waveform")["share"]["value"]
    why = (f"rectifier and harmonic loads carry {share:.0%} of the connected power; from {limit:.0%} sine waves are not "
           f"trusted{' any more' if share > limit else ', but waveforms were asked for' if asked else ''}")
    return Waveforms(why, share, asked or share > limit, healthy and wave_state(case, "before", healthy),
                     wave_state(case, "after", faulty), times, course, assumptions(case))


def after_break(case: Case, steps=None) -> WaveState:
    """Return the state after the breaks alone, as `waveforms` gives it."""
    try:
        healthy = repeating(case, steps=steps)
    except NoSolutionError:
        healthy = None
    return wave_state(case, "after", repeating(case, case.breaks_after(), case.crosses, healthy, steps=steps))


def _course(case, breaks, crosses, healthy: Repeating | None, faulty: Repeating, steps):
    parts = []
    if healthy is not None:
        period = healthy.net.period
        drawn = traces(case, healthy)
        parts += [(healthy.times + (number - SHOWN) * period, drawn) for number in range(SHOWN)]
        first = after_opening(case, breaks, crosses, healthy, SHOWN, steps=steps)
        # The first instants after the break are an arc's, as long as inductive current is being cut: not shown.
        shown = first.times > first.net.period / (steps or data.load("waveform")["steps"]["value"])
        parts.append((first.times[shown], {key: values[shown] for key, values in traces(case, first).items()}))
    else:
        parts.append((faulty.times, traces(case, faulty)))
    keys = dict.fromkeys(key for _, drawn in parts for key in drawn)
    times = np.concatenate([t for t, _ in parts])
    return times, {key: np.concatenate([d.get(key, np.full(len(t), np.nan)) for t, d in parts]) for key in keys}
