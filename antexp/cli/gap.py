"""`antexp gap`: what a bare number, or somebody's table of single hangings, is worth."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from antexp.cli.options import Json, Matter
from antexp.cli.print_json import print_json
from antexp.errors import Fault, RepeatsError


def command(
    gap_db: Annotated[
        Optional[float], typer.Argument(metavar="DB", help="Gap in dB; positive: the first is stronger.",
                                        show_default=False)
    ] = None,
    table: Annotated[
        Optional[Path],
        typer.Option(metavar="FILE", help="Table of single hangings (CSV: name, level_db, swr).", show_default=False),
    ] = None,
    hangings: Annotated[int, typer.Option(metavar="H", help="Hangings of each.")] = 1,
    readings: Annotated[int, typer.Option(metavar="R", help="Readings of each hanging.")] = 1,
    rehang_sd: Annotated[
        Optional[float],
        typer.Option(metavar="S", help="Scatter between hangings of one wire, dB; left out: a plan's default.",
                     show_default=False),
    ] = None,
    reading_sd: Annotated[
        Optional[float],
        typer.Option(metavar="S", help="Scatter of readings of one hanging, dB; left out: a plan's default.",
                     show_default=False),
    ] = None,
    step: Annotated[
        Optional[float], typer.Option(metavar="DB", help="Step of the meter's display.", show_default=False)
    ] = None,
    swr: Annotated[
        Optional[tuple[float, float]],
        typer.Option(metavar="FIRST SECOND", help="SWR of the two: their mismatch comes off first.",
                     show_default=False),
    ] = None,
    confidence: Annotated[float, typer.Option(metavar="P", help="Of the limits.")] = 0.95,
    chance: Annotated[float, typer.Option(metavar="P", help="Wanted for noticing a true gap.")] = 0.80,
    matter: Matter = None,
    scale: Annotated[
        Optional[str],
        typer.Option(metavar="WORD", help='Of the table\'s levels: dBm, "minus dBm", dB, attenuator.',
                     show_default=False),
    ] = None,
    json: Json = False,
) -> None:
    """Say what a bare gap, or a table of single hangings, is worth against chance."""
    if (gap_db is None) == (table is None):
        raise RepeatsError(Fault("gap needs a number or a table", got="both" if table else "neither",
                                 allowed="antexp gap DB, or antexp gap --table FILE"))
    if table is not None:
        _judge_table(table, scale, json, hangings, swr, matter, chance, rehang_sd_db=rehang_sd,
                     reading_sd_db=reading_sd, readings=readings, step_db=step, confidence=confidence)
        return
    from antexp.repeats.bare_gap import bare_gap

    assert gap_db is not None
    found = bare_gap(gap_db, hangings=hangings, readings=readings, rehang_sd_db=rehang_sd, reading_sd_db=reading_sd,
                     step_db=step, swr=swr, confidence=confidence, chance=chance, matter_db=matter)
    if json:
        print_json(found.to_dict())
        return
    from antexp.report.gap_text import print_bare_gap

    print_bare_gap(found)


def _judge_table(
    path: Path, scale: str | None, json: bool, hangings: int, swr: tuple[float, float] | None, matter: float | None,
    chance: float, **spreads: object
) -> None:
    """Judge a table of single hangings."""
    from antexp.repeats.settling_plan import settling_plan
    from antexp.repeats.single_hangings import against_chance
    from antexp.repeats.single_hangings_file import read_single_hangings

    if hangings != 1 or swr is not None:
        raise RepeatsError(Fault("--hangings and --swr belong to a bare number", got="--table",
                                 allowed="a table has one hanging a row, and its swr in a column"))
    found = against_chance(read_single_hangings(path, scale), **spreads)  # type: ignore[arg-type]
    plan = settling_plan(found, matter, chance) if found.spread_db > 0 or matter is not None else None
    if json:
        print_json({**found.to_dict(), "settled_by": None if plan is None else plan.to_dict()})
        return
    from antexp.report.gap_text import print_table_against_chance

    print_table_against_chance(found, plan)
