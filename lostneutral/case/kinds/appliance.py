"""The kind of load that is named by what it is: an entry of the catalogue."""

from typing import Literal

from pydantic import Field, create_model

from lostneutral.case.load_schema import COMMON, KINDS, LoadEntry
from lostneutral.case.values import Name


def _appliance():
    """The model of an appliance: its name in the catalogue, and any key of the underlying kind."""
    plain = [KINDS[kind] for kind in KINDS if kind != "appliance"]
    keys = {key: (field.rebuild_annotation(), Field(None, description=field.description + " (overrides)"))
            for model in plain for key, field in model.model_fields.items() if key not in COMMON}
    return create_model(
        "Appliance", __base__=LoadEntry,
        __doc__="An appliance by its everyday name; any key of the underlying kind may be overridden.",
        kind=(Literal["appliance"], Field(description="Kind of load")),
        model=(Name, Field(description="Name in the catalogue, which `lostneutral loads` lists")), **keys)


Appliance = _appliance()
