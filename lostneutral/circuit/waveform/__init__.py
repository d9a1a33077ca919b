"""Voltages and currents as they run in time, for loads that draw pulses: `waveforms(case)` is the way in."""

from lostneutral.circuit.waveform.picture import (
    Waveforms,
    matters,
    rectifier_share,
    too_large,
    waveform_dict,
    waveforms,
)

__all__ = ["Waveforms", "matters", "rectifier_share", "too_large", "waveform_dict", "waveforms"]
