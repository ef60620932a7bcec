"""The two kinds of array of the kernel, as words for annotations."""

from __future__ import annotations

from typing import Any, TypeAlias

from numpy.typing import NDArray

Floats: TypeAlias = NDArray[Any]
"""Doubles."""

Integers: TypeAlias = NDArray[Any]
"""Codes and positions."""
