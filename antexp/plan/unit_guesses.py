"""What a number out of range may have been meant as. A guess is said aloud and never applied."""

from __future__ import annotations


def probability(value: float) -> str:
    """Guess at per cent (95 for 0.95)."""
    if 1 < value < 100:
        return f"If {value:g} per cent is meant, write {value / 100:g}."
    return ""


def confidence(value: float) -> str:
    """Guess at per cent, or at the error probability (0.05 for 0.95)."""
    if 0 < value < 0.5:
        return f"If an error probability of {value:g} is meant, write {1 - value:g}."
    return probability(value)


def megahertz(value: float) -> str:
    """Guess at hertz, kilohertz or gigahertz."""
    for unit, factor in (("kHz", 1e-3), ("Hz", 1e-6), ("GHz", 1e3)):
        if 1 <= value * factor <= 1000:
            return f"If {value:.12g} is in {unit}, write {value * factor:.12g}."
    return ""


def millimetres(value: float) -> str:
    """Guess at metres."""
    return f"If {value:g} is in metres, write {value * 1000:g}." if 1e-5 <= value <= 0.0099 else ""


def micrometres(value: float) -> str:
    """Guess at metres or nanometres."""
    if 1e-8 <= value < 0.005:
        return f"If {value:g} is in metres, write {value * 1e6:g}."
    return f"If {value:g} is in nanometres, write {value / 1000:g}." if value > 5000 else ""


def ohm_metres(value: float) -> str:
    """Guess at square millimetres per metre or microhm centimetres."""
    if 0.001 < value <= 1:
        return f"If {value:g} is in ohm square millimetre per metre, write {value * 1e-6:g}."
    return f"If {value:g} is in microhm centimetre, write {value * 1e-8:g}." if 1 < value <= 1000 else ""
