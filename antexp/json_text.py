"""Results as JSON text: plain values, and nothing that JSON cannot hold."""

from __future__ import annotations

import json
import math
from typing import Any

import numpy as np


def plain(value: Any) -> Any:
    """Turn a value into what JSON holds; NaN and infinities become None."""
    if isinstance(value, dict):
        return {str(key): plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple | np.ndarray):
        return [plain(inner) for inner in value]
    if isinstance(value, np.bool_ | bool):
        return bool(value)
    if isinstance(value, int | np.integer):
        return int(value)
    if isinstance(value, float | np.floating):
        return float(value) if math.isfinite(value) else None
    return value if value is None or isinstance(value, str) else str(value)


def as_json(document: dict[str, Any]) -> str:
    """Return a document as JSON text."""
    return json.dumps(plain(document), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


class JsonText:
    """A result that can be written as JSON text."""

    def to_dict(self) -> dict[str, Any]:
        """Return the result in plain types."""
        raise NotImplementedError

    def to_json(self) -> str:
        """Return the JSON document."""
        return as_json(self.to_dict())
