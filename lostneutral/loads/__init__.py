"""How each kind of load answers a voltage: one interface (`LoadModel`), one model a kind, all on arrays."""

from lostneutral.loads.base import LoadModel
from lostneutral.loads.build import BUILDERS, load_model

__all__ = ["BUILDERS", "LoadModel", "load_model"]
