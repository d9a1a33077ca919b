"""A star of rectifiers worked out again with other inlets and capacitors: the values of its supplies that are least known."""

from dataclasses import replace

from lostneutral.case.model import Case
from lostneutral.circuit.waveform.parts import bridge_of
from lostneutral.circuit.waveform.picture import after_break
from lostneutral.circuit.waveform.waves import WaveState
from lostneutral.consequences.waves import opened
from lostneutral.errors import NoSolutionError
from lostneutral.frozen import dataclass

MOST_BRIDGES = 12  #: rectifier loads up to which the case is worked out again
COARSE = 96  #: steps a cycle; twelve divides it
FACTORS = ((0.2, 1.0), (2.0, 1.0), (1.0, 3.0), (1.0, 0.5))  #: of the inlets' resistance, of the capacitors


@dataclass(frozen=True)
class OtherInlets:
    """The state after the break with every supply's inlet and capacitor changed by a factor; None with a reason where there are none."""

    inlet: float  #: factor of the inlets' resistance
    capacitor: float  #: factor of the bulk capacitors
    state: WaveState | None
    reason: str = ""


def other_inlets(case: Case) -> tuple[OtherInlets, ...]:
    """Return what `FACTORS` make of `case`; nothing without a broken neutral, without rectifiers or with too many of them."""
    bridges = sum(load.on and bridge_of(load) is not None for load in case.loads)
    if not 0 < bridges <= MOST_BRIDGES or not opened(case):
        return ()
    return tuple(_again(case, *factors) for factors in FACTORS)


def _again(case, inlet, capacitor):
    other = replace(case, loads=tuple(_with(load, inlet, capacitor) for load in case.loads))
    try:
        return OtherInlets(inlet, capacitor, after_break(other, COARSE))
    except NoSolutionError as error:
        return OtherInlets(inlet, capacitor, None, str(error))


def _with(load, inlet, capacitor):
    bridge = bridge_of(load) if load.on else None
    if bridge is None:
        return load
    branches = load.branches  # a load's capacitance is that of its branches together
    return replace(load, parameters={**load.parameters, "inlet_resistance": inlet * load.count * bridge.resistance,
                                     "capacitance": capacitor * branches * bridge.capacitance / load.count})
