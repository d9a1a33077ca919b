"""How each kind of load answers a voltage: one interface (`LoadModel`), one model a kind, all on arrays."""

from lostneutral.loads.base import LoadModel
from lostneutral.loads.build import BUILDERS, load_model
from lostneutral.loads.heater import Heater
from lostneutral.loads.lamp import Lamp
from lostneutral.loads.simple import Exponential, Impedance, Resistive

__all__ = ["BUILDERS", "Exponential", "Heater", "Impedance", "Lamp", "LoadModel", "Resistive", "load_model"]
