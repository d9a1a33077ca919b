"""What the models of the result file are made of."""

from pydantic import BaseModel, ConfigDict


class Part(BaseModel):
    model_config = ConfigDict(extra="forbid")


Number = float | None
