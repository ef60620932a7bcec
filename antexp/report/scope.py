"""What an answer is about: the sentence that stands next to every answer."""

from __future__ import annotations

import pandas as pd

from antexp.plan.model import Plan


def scope_sentence(gaps: pd.DataFrame, plan: Plan | None = None) -> str:
    """Say for which band, height and specimens an answer holds.

    Parameters
    ----------
    gaps : DataFrame
        A judgement's gaps; their ``scope`` decides what is said of specimens.
    plan : Plan, optional
        Gives band and height their numbers.

    Returns
    -------
    str
        One sentence.
    """
    return f"This holds for {scope_words(gaps, plan)} only."


def scope_words(gaps: pd.DataFrame, plan: Plan | None = None) -> str:
    """Return band, height and specimens as words: "10.12 MHz, 9 m high, this place and these specimens"."""
    specimens = "these specimens" if (gaps["scope"] == "these specimens").any() else "wire like these specimens"
    if plan is None:
        return f"this band, this height, this place and {specimens}"
    radio = plan.radio
    height_m = radio.height_m if radio.swap_end == "source" else radio.receive_height_m
    band = "this band" if radio.frequency_mhz is None else f"{radio.frequency_mhz:g} MHz"
    height = "this height" if height_m is None else f"{height_m:g} m high"
    return f"{band}, {height}, this place and {specimens}"
