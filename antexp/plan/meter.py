"""What is read, and how."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import model_validator

from antexp.plan.frozen import Frozen
from antexp.plan.quantities import number, whole, word
from antexp.plan.words import SCALES, Scale

SCALE_DEFAULTS: dict[str, dict[str, float]] = {
    # common practice, no source: what a step and a scatter usually are on each scale
    "S units": {"step_db": 6.0, "reading_sd_db": 1.5},
    "attenuator": {"step_db": 1.0, "reading_sd_db": 0.5},
}


class Meter(Frozen):
    """What is read, and how.

    Attributes
    ----------
    scale : str
        ``"dBm"``; ``"minus dBm"``: 67 means −67 dBm; ``"dB"``: higher is stronger; ``"attenuator"``: more is
        stronger; ``"S units"``.
    step_db : float or None
        Step of the display, dB; None where it was not declared.
    bandwidth_hz : float or None
        Noise bandwidth of the receiver, Hz.
    reading_sd_db : float
        Scatter of repeated readings of one swap, standard deviation, dB.
    readings : int
        How many readings a swap gets.
    """

    scale: Annotated[Scale, word(SCALES)] = "dBm"
    step_db: Annotated[float | None, number(0, 20, "dB", above=True)] = None
    bandwidth_hz: Annotated[float | None, number(0, 1e8, "hertz", above=True)] = None
    reading_sd_db: Annotated[float, number(0, 30, "dB")] = 0.25
    readings: Annotated[int, whole(1, 1000)] = 3

    @model_validator(mode="before")
    @classmethod
    def _as_the_scale_goes(cls, data: Any) -> Any:
        """Let step and scatter follow the scale where they are left out."""
        scale = data.get("scale") if isinstance(data, dict) else None
        return {**SCALE_DEFAULTS[scale], **data} if isinstance(scale, str) and scale in SCALE_DEFAULTS else data
