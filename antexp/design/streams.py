"""What a seed draws: each draw has a stream of random numbers of its own, so that none moves when another changes.

A generator is made of the seed and one of these numbers. They are part of the promise that the same plan and seed give
the same files, so that none is ever changed or used for something else.
"""

from __future__ import annotations

THRESHOLD = 1
"""Stream A: many orders, which set the largest variance that an order may have."""

ORDERS = 2
"""Stream B: the orders of which the first good one is kept."""

RULE_TRIALS = 3
"""Trial orders, which show what rules the slots can keep."""

WORDS = 4
"""Check words."""

BLOCKS = 5
"""Which candidates hang in which block."""

PLACES = 6
"""Which of a block's candidates hang on which place."""
