"""The block of the result file on waveforms."""

from lostneutral.circuit.waveform.waves import Wave, Waveforms, WaveState


def waveform_dict(result: Waveforms) -> dict:
    """Return the `waveforms` block of the result file: plain numbers, texts, lists and dicts.

    Voltages V, currents A, r.m.s. if not said otherwise; `harmonics` of orders 1 to 40 in r.m.s., `angles` in degrees.
    """
    return {"why": result.why, "share": result.share, "trusted": result.trusted,
            "states": [wave_state_dict(s) for s in (result.before, result.after) if s is not None]}


def wave_state_dict(state: WaveState) -> dict:
    """Return one state of waveforms as the result file has it."""
    return {
        "name": state.name, "ends": state.ends, "attracting": state.attracting, "duration": state.duration,
        "points": [{"name": name, "neutral": _wave(star),
                    "phases": [{"name": line, "voltage": _wave(wave)}
                               for (point, line), wave in state.phases.items() if point == name]}
                   for name, star in state.stars.items()],
        "runs": [{"feeding": feeding, "currents": {c: _wave(wave) for (run, c), wave in state.currents.items()
                                                   if run == feeding}}
                 for feeding in dict.fromkeys(run for run, _ in state.currents)],
        "loads": [{"name": load.name, "connect": "-".join(load.connect), "on": load.on, "voltage": _wave(load.voltage),
                   "current": _wave(load.current), "power": load.power,
                   "link": None if load.link is None else dict(zip(("mean", "lowest", "highest"), load.link))}
                  for load in state.loads]}


def _wave(wave: Wave | None):
    if wave is None:
        return None
    return {"rms": wave.rms, "crest": wave.crest, "average_reading": wave.average_reading, "thd": wave.thd,
            "harmonics": list(wave.harmonics), "angles": list(wave.angles)}
