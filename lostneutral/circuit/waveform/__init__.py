"""Voltages and currents as they run in time, for loads that draw pulses: `picture.waveforms(case)` is the way in."""
