"""How numbers are written for people: the only place that rounds."""

from __future__ import annotations

import math

MINUS = "−"


def decibels(value: float | None, signed: bool = False) -> str:
    """Write dB to two digits after the point, with a true minus sign; a dash where there is no number."""
    if value is None or not math.isfinite(value):
        return "–"
    value = round(value, 2) + 0.0  # no minus before a zero
    text = f"{value:+.2f}" if signed else f"{value:.2f}"
    return text.replace("-", MINUS)


def interval(limits: list[float]) -> str:
    """Write limits as "low … high"."""
    if not all(math.isfinite(limit) for limit in limits):
        return "no limits"
    return f"{decibels(limits[0], True)}\u00a0…\u00a0{decibels(limits[1], True)}"


def degrees(value: float | None) -> str:
    """Write degrees of freedom, which are real numbers, to one digit."""
    return "–" if value is None or not math.isfinite(value) else f"{value:.1f}"


def probability(value: float | None) -> str:
    """Write a p-value to two significant digits, never as 0 or 1."""
    if value is None or not math.isfinite(value):
        return "–"
    if value < 1e-4:
        return "below 0.0001"
    return "above 0.99" if value >= 0.995 else f"{value:.2g}"


def percent(value: float) -> str:
    """Write a share in per cent, without a needless digit."""
    return f"{100 * value:.3g} %"


def amount(value: float | None) -> str:
    """Write a price, a mass or a force to three significant digits; a dash where there is none."""
    if value is None or not math.isfinite(value):
        return "–"
    if value == 0 or 0.01 <= abs(value) < 1000:
        return f"{value:.3g}".replace("-", MINUS)
    return f"{value:,.0f}".replace(",", "\u2009") if abs(value) >= 1000 else f"{value:.2g}"


def money(value: float | None) -> str:
    """Write a price to two digits after the point; a dash where there is none."""
    return "–" if value is None or not math.isfinite(value) else f"{value:,.2f}".replace(",", "\u2009")


def joined(names: list[str]) -> str:
    """Write names as a list that ends in "and"."""
    if len(names) <= 1:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"
