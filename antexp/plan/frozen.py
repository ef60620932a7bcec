"""What all tables of a plan have in common."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Frozen(BaseModel):
    """A table of the plan: no unknown keys, no changes."""

    model_config = ConfigDict(frozen=True, extra="forbid")
