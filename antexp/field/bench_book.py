"""The bench book: resonance, SWR and feed impedance as measured at the bench or on the test post, in time order."""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.columns import BENCH_BOOK
from antexp.field.cells import CellTable, frame_cells
from antexp.field.csv_table import read_csv_table
from antexp.field.extras import POSSIBLE_HEIGHT, POSSIBLE_SWR, impedances
from antexp.field.numbers import Allowed, numbers
from antexp.field.reading_faults import FaultList, listed, nearest, shown
from antexp.plan.model import Plan
from antexp.plan.unit_guesses import megahertz

COLUMNS = BENCH_BOOK.names

_ANY = Allowed(0.0, 1e12, "a number above 0, with a decimal point")
_LEG = Allowed(0.01, 1000.0, "metres from 0.01 to 1000, with a decimal point")
_LEG_TIMES_MHZ = (20.0, 150.0)
"""Leg times resonance of anything near a quarter wave, loaded or covered; 71 is common."""
_FREQUENCY_WORDS = "MHz from 0.1 to 1000"


@dataclass(frozen=True)
class BenchBook:
    """Bench measurements, read and checked.

    Attributes
    ----------
    table : DataFrame, one row a measurement, in time order
        ``line`` (of the file), ``candidate, specimen`` (text), ``leg_m, resonance_mhz, swr, height_m`` (float, NaN
        where blank), ``feed_ohm`` (complex, NaN where blank), ``where, note`` (text).
    sha256 : str
        Digest of the file's bytes.
    path : str or None
        The file.
    """

    table: pd.DataFrame
    sha256: str
    path: str | None

    def last_match(self) -> pd.DataFrame:
        """Return the last measured ``swr`` or ``feed_ohm`` of each ``candidate, specimen``, one row each."""
        measured = self.table[self.table["swr"].notna() | self.table["feed_ohm"].notna()]
        columns = ["candidate", "specimen", "swr", "feed_ohm", "height_m", "where", "line"]
        return measured.groupby(["candidate", "specimen"], sort=False).tail(1)[columns].reset_index(drop=True)


def read_bench_book(source: str | os.PathLike[str] | pd.DataFrame, plan: Plan | None = None) -> BenchBook:
    """Read and check a bench book.

    Parameters
    ----------
    source : path-like or DataFrame
        A CSV file with the columns of `antexp.columns.BENCH_BOOK`; `candidate` and one measurement are needed.
    plan : Plan, optional
        Its candidates and specimens are the only ones allowed.

    Raises
    ------
    FileError
        When the file cannot be read.
    ReadingsError
        When anything in it is at fault: all faults at once.
    """
    if isinstance(source, pd.DataFrame):
        cells = frame_cells(source, "bench book")
    else:
        cells = read_csv_table(source, "bench book", COLUMNS)
    faults = FaultList(cells.name, cells.row_word, cells.faults)
    _check_header(cells, faults)
    table = pd.DataFrame(_columns(cells, faults))
    _check_rows(table, faults)
    if plan is not None:
        _check_names(table, plan, faults)
    faults.raise_if_any()
    return BenchBook(table, cells.sha256, cells.path)


def _check_header(cells: CellTable, faults: FaultList) -> None:
    """Raise when the candidate or every measurement is missing from the header."""
    unknown = [name for name in cells.columns if name not in COLUMNS]
    if "candidate" not in cells:
        near = nearest("candidate", unknown, 1)
        faults.add("a column is missing: candidate", at="the header", got=listed(cells.columns, 12),
                   do=f"Rename {shown(near[0])} to candidate, if that is it." if near else "Add it.")
    if not any(name in cells for name in ("resonance_mhz", "swr", "feed_ohm")):
        faults.add("a column is missing: a measurement", at="the header", got=listed(cells.columns, 12),
                   allowed="leg_m with resonance_mhz, or swr, or feed_ohm")
    for name in unknown:
        near = nearest(name, COLUMNS, 1)
        if near and near[0] not in cells:
            faults.add("a column's name is nearly that of a known one", at="the header", got=shown(name),
                       allowed=near[0], do="Write it exactly so, or name it quite differently.")
    faults.raise_if_any()


def _columns(cells: CellTable, faults: FaultList) -> dict[str, Any]:
    """Return the columns of the table, and note what is wrong in single cells."""
    specimen = cells.texts("specimen")
    feed = (impedances(cells, "feed_ohm", faults) if cells.has_values("feed_ohm")
            else np.full(len(cells), complex(np.nan, np.nan)))
    return {
        "line": cells.lines, "candidate": cells.texts("candidate"),
        "specimen": np.where(specimen == "", "1", specimen),
        "leg_m": numbers(cells, "leg_m", faults, _LEG),
        "resonance_mhz": _frequencies(cells, faults),
        "swr": numbers(cells, "swr", faults, POSSIBLE_SWR),
        "feed_ohm": feed,
        "height_m": numbers(cells, "height_m", faults, POSSIBLE_HEIGHT),
        "where": cells.texts("where"), "note": cells.texts("note"),
    }


def _frequencies(cells: CellTable, faults: FaultList) -> NDArray[np.float64]:
    """Read resonances; one in kHz or Hz is refused with the guess said aloud, never mended."""
    values = numbers(cells, "resonance_mhz", faults, _ANY)
    outside = np.flatnonzero((values < 0.1) | (values > 1000.0))
    guess = megahertz(float(values[outside[0]])) if len(outside) else ""
    faults.add_rows("resonance_mhz is not a frequency in MHz", cells.lines[outside], column="resonance_mhz",
                    got=[f"{value:.12g}" for value in values[outside]], allowed=_FREQUENCY_WORDS, do=guess)
    values[outside] = np.nan
    return values


def _check_rows(table: pd.DataFrame, faults: FaultList) -> None:
    """Note rows without a candidate, without a measurement, or with half of one."""
    lines = table["line"].to_numpy()
    blank = (table["candidate"] == "").to_numpy()
    faults.add_rows("candidate is blank", lines[blank], do="Say which candidate was measured.")
    if faults.faults:
        return  # a cell at fault reads as blank; what is missing for that reason is not said twice
    leg, resonance = table["leg_m"].notna().to_numpy(), table["resonance_mhz"].notna().to_numpy()
    other = (table["swr"].notna() | table["feed_ohm"].notna()).to_numpy()
    faults.add_rows("a resonance has no length", lines[resonance & ~leg], column="leg_m",
                    do="Measure the leg: without it nothing can be said about the cut.")
    _check_lengths(table, faults)
    faults.add_rows("a row measures nothing", lines[~resonance & ~other],
                    allowed="leg_m with resonance_mhz, or swr, or feed_ohm", do="Fill it in, or delete the row.")


def _check_lengths(table: pd.DataFrame, faults: FaultList) -> None:
    """Note legs that cannot resonate where it says, such as legs in centimetres; the guess is said, never applied."""
    leg, product = table["leg_m"].to_numpy(), (table["leg_m"] * table["resonance_mhz"]).to_numpy()
    wrong = np.flatnonzero((product < _LEG_TIMES_MHZ[0]) | (product > _LEG_TIMES_MHZ[1]))
    guesses = [f"If {leg[row]:g} is in {unit}, write {leg[row] / factor:g}." for row in wrong[:1]
               for unit, factor in (("centimetres", 100.0), ("millimetres", 1000.0))
               if _LEG_TIMES_MHZ[0] <= product[row] / factor <= _LEG_TIMES_MHZ[1]]
    faults.add_rows("leg and resonance do not belong together", table["line"].to_numpy()[wrong], column="leg_m",
                    got=[f"{leg[row]:g} m at {product[row] / leg[row]:g} MHz" for row in wrong],
                    allowed="a leg of about 71 m over the frequency in MHz", do=" ".join(guesses))


def _check_names(table: pd.DataFrame, plan: Plan, faults: FaultList) -> None:
    """Note candidates and specimens that the plan does not have."""
    lines, candidates = table["line"].to_numpy(), table["candidate"].to_numpy()
    for name in dict.fromkeys(candidates):
        here = candidates == name
        if name and name not in plan.candidate_names:
            near = nearest(name, plan.candidate_names, 1)
            faults.add_rows("the plan has no such candidate", lines[here], column="candidate", got=[shown(name)],
                            allowed=listed(map(shown, plan.candidate_names)),
                            do=f"Did you mean {shown(near[0])}?" if near else "")
        elif name:
            allowed = plan.specimens[name]
            strange = here & ~np.isin(table["specimen"].to_numpy(), allowed)
            faults.add_rows(f"the plan has no such specimen of {shown(name)}", lines[strange], column="specimen",
                            got=map(shown, table["specimen"].to_numpy()[strange]), allowed=listed(allowed),
                            do="Raise specimens in the plan, or correct it.")

