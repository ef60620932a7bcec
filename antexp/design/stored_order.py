"""The order's companion in JSON, read back: nothing in it is believed before its types are checked."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pydantic import ConfigDict, TypeAdapter, ValidationError, with_config

from antexp.design.precision import GapPrecision
from antexp.errors import Fault, OrderError
from antexp.files import decode_text, has_unwritable, read_raw
from antexp.notices import Notice

MAX_BYTES = 64 * 2**20
"""The largest companion that is believed."""


@with_config(ConfigDict(allow_inf_nan=False))
@dataclass(frozen=True)
class StoredOrder:
    """What an order's companion holds besides the table.

    Attributes
    ----------
    seed, recipe, precision_kept, gaps, minutes_per_swap, block_starts, hung, plan_sha256
        As in `antexp.design.order_document.Order`.
    warnings : tuple of Notice
        Its notices.
    """

    seed: int | None = None
    recipe: dict[str, Any] = field(default_factory=dict)
    precision_kept: float | None = None
    gaps: tuple[GapPrecision, ...] = ()
    warnings: tuple[Notice, ...] = ()
    minutes_per_swap: float | None = None
    block_starts: tuple[float | None, ...] = ()
    hung: int = 0
    plan_sha256: str | None = None


def read_stored(path: Path) -> StoredOrder:
    """Read an order's companion.

    Raises
    ------
    FileError, OrderError
        When it cannot be read, is not JSON, or holds what antexp never writes there.
    """
    text = decode_text(read_raw(path, "recipe of the order", MAX_BYTES), path, "recipe of the order")
    try:
        found = json.loads(text)
    except json.JSONDecodeError as error:
        raise OrderError(Fault("the recipe of the order is not JSON", f"{path}, line {error.lineno}",
                               do="Make the order again, or move the file away.")) from None
    except (ValueError, RecursionError) as error:  # a number of 5000 digits, lists 1000 deep
        raise OrderError(Fault("the recipe of the order is not JSON", str(path), str(error)[:80],
                               do="Make the order again, or move the file away.")) from None
    if has_unwritable(found):
        raise OrderError(Fault("the recipe of the order has text with control characters in it", str(path),
                               do="Make the order again, or move the file away."))
    if not isinstance(found, dict):
        raise OrderError(Fault("the recipe of the order is not a JSON object", str(path)))
    try:
        return TypeAdapter(StoredOrder).validate_python(found)
    except ValidationError as error:
        raise OrderError(stored_faults(error, str(path))) from None
    except KeyError as error:  # a warning's code that this antexp does not know
        raise OrderError(Fault("the recipe of the order is not as antexp writes it", f"{path}, key warnings",
                               str(error.args[0])[:100], do="Make the order again, or move the file away.")) from None


def stored_faults(error: ValidationError, where: str) -> list[Fault]:
    """Return what is wrong with something stored, key by key."""
    return [Fault("the recipe of the order is not as antexp writes it",
                  f"{where}, key {'.'.join(map(str, each['loc']))[:100]}", each["msg"][:100],
                  do="Make the order again, or move the file away.") for each in error.errors()[:10]]
