"""Time the two-layer wire: 10,000 wires at 100 frequencies at once, and against a loop over them.

Run with ``python tests/benchmarks/conductors.py``; it prints the figures of this machine.
"""

from __future__ import annotations

import time

import numpy as np

from antexp.radio.coated_wire import coated_wire_impedance_ohm_per_m

WIRES, FREQUENCIES, LOOPED = 10_000, 100, 2_000


def draw_wires(seed: int = 1) -> tuple[np.ndarray, ...]:
    """Return frequency (1, F) and six columns (W, 1) of wires as people hang them."""
    random = np.random.default_rng(seed)
    frequency_mhz = np.linspace(1.8, 30.0, FREQUENCIES)[None, :]
    diameter_mm = random.uniform(0.5, 4.0, (WIRES, 1))
    thickness_um = np.exp(random.uniform(np.log(0.5), np.log(200.0), (WIRES, 1)))
    core = np.exp(random.uniform(np.log(1e-7), np.log(1e-6), (WIRES, 1)))
    coating = np.exp(random.uniform(np.log(1.6e-8), np.log(1.2e-7), (WIRES, 1)))
    permeability = random.uniform(1.0, 200.0, (WIRES, 1))
    return frequency_mhz, diameter_mm, thickness_um, core, coating, permeability, np.ones((WIRES, 1))


def seconds_at_once(repeats: int = 3) -> float:
    """Return the shortest of some runs over all wires and frequencies, in seconds."""
    wires = draw_wires()
    taken = []
    for _ in range(repeats):
        start = time.perf_counter()
        impedance = coated_wire_impedance_ohm_per_m(*wires)
        taken.append(time.perf_counter() - start)
        assert impedance.shape == (WIRES, FREQUENCIES) and np.isfinite(impedance).all()
    return min(taken)


def seconds_in_a_loop() -> float:
    """Return the time that a Python loop, one wire and one frequency at a time, would take, in seconds."""
    columns = [array.ravel() for array in np.broadcast_arrays(*draw_wires())]
    some = [column[:: len(column) // LOOPED][:LOOPED].tolist() for column in columns]
    start = time.perf_counter()
    for values in zip(*some, strict=True):
        coated_wire_impedance_ohm_per_m(*values)
    return (time.perf_counter() - start) / LOOPED * WIRES * FREQUENCIES


if __name__ == "__main__":
    coated_wire_impedance_ohm_per_m(7.0, 1.0, 10.0, 1e-7, 1e-8)  # the table of Bessel ratios is made on first use
    whole = seconds_at_once()
    loop = seconds_in_a_loop()
    print(f"{WIRES} wires x {FREQUENCIES} frequencies at once: {whole:.3f} s")
    print(f"one at a time in a loop, from {LOOPED} of them: {loop:.1f} s; ratio {loop / whole:.0f}")
