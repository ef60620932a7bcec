"""Where a judgement comes from: versions and digests of what went in."""

from __future__ import annotations

from importlib.metadata import PackageNotFoundError, version
from typing import Any

from antexp import __version__
from antexp.analysis.settings import Settings
from antexp.design.order_document import Order
from antexp.field.bench_book import BenchBook
from antexp.field.record import Record
from antexp.plan.model import Plan


def provenance(record: Record, plan: Plan | None, settings: Settings, order: Order | None = None,
               bench: BenchBook | None = None) -> dict[str, Any]:
    """Return what somebody needs to make the same judgement again.

    Parameters
    ----------
    record : Record
        The readings.
    plan : Plan or None
        The plan.
    settings : Settings
        What was asked.
    order : Order, optional
        That the record followed.
    bench : BenchBook, optional
        That matches were taken from.

    Returns
    -------
    dict
        ``antexp``, versions of the libraries that compute, ``plan_sha256``, ``readings_sha256``, ``order_sha256``,
        ``bench_sha256`` (None where there was none, or none that was read from a file), ``seed`` and the settings.
    """
    return {
        "antexp": __version__,
        "libraries": {name: _version(name) for name in ("numpy", "scipy", "pandas")},
        "plan_sha256": plan.sha256 if plan else None,
        "readings_sha256": record.sha256,
        "order_sha256": order.sha256 if order else None,
        "bench_sha256": bench.sha256 if bench else None,
        "seed": plan.field.seed if plan else None,
        "settings": {name: getattr(settings, name) for name in settings.__dataclass_fields__},
    }


def _version(name: str) -> str | None:
    """Return a library's version, or None when it was not installed as a package."""
    try:
        return version(name)
    except PackageNotFoundError:
        return None
