"""Invented sites of a campaign with known truth: a few records simulated and judged, then varied from site to site.

A varied site keeps a base record's standard errors, degrees of freedom and covariance. Its gaps are the campaign's
truth, plus that site's own deviation, plus the base's error of estimation with a sign drawn anew: errors of estimation
are symmetric about 0, so such sites are what new records would give. P values stay the base's: `pool` reads none.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from antexp.analysis.judge import judge
from antexp.analysis.pool import Pooled
from antexp.analysis.result import Judgement
from antexp.design.order import make_order
from antexp.design.order_document import Order
from antexp.mixed.verdict import classify
from antexp.plan.model import Plan
from antexp.plan.reader import plan_from_dict
from antexp.repeats.simulate import simulate

TRUTH_DB = {"wire 0": 0.0, "wire 1": 1.0, "wire 2": 0.2, "wire 3": 0.0, "wire 4": -0.6}
MATTER_DB = 0.5
SITE_SD_DB = 0.3
"""Of every wire's level between sites, the reference's too: a gap's is √2 times as large."""


def judged_bases(count: int, blocks: tuple[int, ...] = (4,)) -> list[Judgement]:
    """Simulate and judge records, all with the campaign's gaps, of days with so many blocks in turn."""
    planned = [_plan_and_order(number) for number in blocks]
    records = (simulate(*planned[seed % len(planned)], TRUTH_DB, seed=seed, specimen_sd_db=0.0)
               for seed in range(count))
    return [judge(record, reference="wire 0", matter_db=MATTER_DB) for record in records]


def _plan_and_order(blocks: int) -> tuple[Plan, Order]:
    """Return the plan of a day with so many blocks, and its order."""
    plan = plan_from_dict({"candidates": list(TRUTH_DB), "question": {"matter_db": MATTER_DB},
                           "field": {"blocks": blocks},
                           "meter": {"scale": "dBm", "step_db": 0.1, "reading_sd_db": 0.25, "readings": 3}})
    return plan, make_order(plan)


def varied_sites(bases: list[Judgement], count: int, seed: int, site_sd_db: float = SITE_SD_DB) -> list[Judgement]:
    """Return the judgements of that many sites."""
    random = np.random.default_rng(seed)
    deviation = site_sd_db * random.standard_normal((count, len(TRUTH_DB)))
    sign = random.choice([-1.0, 1.0], count)
    return [_varied(bases[site % len(bases)], dict(zip(TRUTH_DB, deviation[site], strict=True)), sign[site],
                    f"site {site + 1} of {seed}") for site in range(count)]


def _varied(base: Judgement, deviation_db: dict[str, float], sign: float, name: str) -> Judgement:
    """Return a base record as another site would give it."""
    table = base.gaps
    one, other = table["candidate"].to_numpy(), table["against"].to_numpy()
    true = np.array([TRUTH_DB[a] - TRUTH_DB[b] for a, b in zip(one, other, strict=True)])
    own = np.array([deviation_db[a] - deviation_db[b] for a, b in zip(one, other, strict=True)])
    gap = true + own + sign * (table["gap_db"].to_numpy() - true)
    half = table["resolution_db"].to_numpy()
    lower, upper = gap - half, gap + half
    gaps = table.assign(gap_db=gap, interval_db=[list(pair) for pair in zip(lower, upper, strict=True)],
                        verdict=[str(each) for each in classify(lower, upper, MATTER_DB)])
    provenance: dict[str, Any] = {**base.provenance, "readings_sha256": name}
    return replace(base, title=name, gaps=gaps, provenance=provenance)


def write_sites(bases: list[Judgement], count: int, seed: int, folder: Path) -> list[Path]:
    """Write each site's results file into a folder of its own."""
    places = []
    for number, site in enumerate(varied_sites(bases, count, seed), start=1):
        places.append(folder / f"site {number:04d}")
        places[-1].mkdir()
        (places[-1] / "results.json").write_text(site.to_json(), "utf-8")
    return places


def covered(pooled: Pooled, truth_db: dict[str, float]) -> list[bool]:
    """Tell of each pooled gap whether its limits hold the truth."""
    return [row.interval_db[0] <= truth_db[row.candidate] - truth_db[row.against] <= row.interval_db[1]
            for row in pooled.gaps.itertuples()]
