"""A bare number, or a table of single hangings, in the terminal."""

from __future__ import annotations

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from antexp.mixed.verdict import CANNOT_TELL, NO_GAP_THAT_MATTERS
from antexp.repeats.bare_gap import BareGap
from antexp.repeats.settling_plan import SettlingPlan
from antexp.repeats.single_hangings import TableAgainstChance
from antexp.report.narrow_tables import print_table
from antexp.report.numbers import decibels, percent
from antexp.report.printed import print_answer
from antexp.report.repeats_text import hours_and_minutes

_PAIRS_SHOWN = 10


def print_bare_gap(found: BareGap, console: Console | None = None) -> None:
    """Print what a bare number is worth."""
    console = print_answer(gap_answer(found), console)
    for sentence in gap_sentences(found):
        console.print(Text(sentence))
    for sentence in found.assumptions:
        console.print(Text(f"  {sentence}"))


def gap_answer(found: BareGap) -> str:
    """Return the answer to a bare number as one sentence."""
    size = f"{decibels(found.own_gap_db, signed=True)} dB"
    chance = "may be chance" if found.verdict in (CANNOT_TELL, NO_GAP_THAT_MATTERS) else "is more than chance"
    return (f"{size} between two wires hung {_hung(found.hangings)} each {chance}: two equal wires differ by as much "
            f"in {chance_words(found.p_value)}.")


def gap_sentences(found: BareGap) -> list[str]:
    """Return what stands behind the answer, and what would settle it."""
    said = []
    if found.mismatch_gap_db is not None:
        said.append(f"Of the {decibels(found.gap_db, True)} dB given, {decibels(found.mismatch_gap_db, True)} dB are "
                    "mismatch (the two SWR); judged is the rest.")
    low, high = (decibels(limit, True) for limit in found.interval_db)
    said.append(f"At {percent(found.confidence)} the true gap lies between {low} and {high} dB; gaps beyond "
                f"{decibels(found.resolution_db)} dB count as real. Verdict: {found.verdict}.")
    edge = found.noise_above_rehang_sd_db
    said.append(f"It would be noise if re-hanging a wire moved the level by more than {decibels(edge)} dB (standard "
                "deviation)." if edge > 0 else "The scatter of the readings alone can make a gap of this size.")
    if found.hangings == 1:
        said.append("One hanging of each cannot show how far it scatters: the answer stands and falls with the spread "
                    "put in.")
    said.append(_needed(found))
    return said


def _needed(found: BareGap) -> str:
    """Say how many hangings would settle the gap."""
    if found.own_gap_db == 0.0:
        return "A gap of nothing at all cannot be settled by repeats; ask how small a gap may be (antexp repeats)."
    if found.hangings_needed is None:
        return "More than ten thousand hangings of each would be needed to notice a true gap of this size."
    return (f"To notice a true gap of this size with a chance of {percent(found.chance)}, hang each wire "
            f"{_hung(found.hangings_needed)}, in fair order.")


def _hung(times: int) -> str:
    """Write a number of hangings."""
    return {1: "once", 2: "twice"}.get(times, f"{times} times")


def chance_words(p_value: float) -> str:
    """Write the share of comparisons in which equal wires differ so much."""
    if p_value < 1e-4:
        return "fewer than 1 of 10,000 such comparisons"
    return f"{percent(float(f'{p_value:.2g}'))} of such comparisons"


def print_table_against_chance(
    found: TableAgainstChance, plan: SettlingPlan | None = None, console: Console | None = None
) -> None:
    """Print what a table of single hangings is worth, and the plan that would settle it."""
    console = print_answer(table_answer(found), console)
    for sentence in table_sentences(found):
        console.print(Text(sentence))
    print_table(console, _scatter_table(found))
    print_table(console, _pair_table(found))
    if plan is not None:
        console.print(Text(settling_sentence(found, plan)))
        lines = "\n".join(f"    {line}".rstrip() for line in plan.toml.strip().splitlines())
        console.print(Text(f"\n{lines}\n"), soft_wrap=True)  # to be pasted: a wrapped line would be no TOML
    for sentence in found.assumptions:
        console.print(Text(f"  {sentence}"))


def table_answer(found: TableAgainstChance) -> str:
    """Return the answer to a table of single hangings as one sentence."""
    wires = len(found.table)
    head = f"The {wires} wires spread over {decibels(found.spread_db)} dB"
    equal = (f"{wires} equal wires, hung once each, spread over {decibels(found.spread_of_equal_db)} dB in the median "
             f"and stay below {decibels(found.spread_limit_db)} dB in {percent(found.confidence)} of tables")
    if found.p_value > 1.0 - found.confidence:
        return f"{head}, and chance alone does that: {equal}."
    return f"{head}, more than chance: {equal}."


def table_sentences(found: TableAgainstChance) -> list[str]:
    """Return what stands behind the answer."""
    edge = found.noise_above_rehang_sd_db
    said = [f"The whole table would be noise if re-hanging a wire moved the level by more than {decibels(edge)} dB "
            "(standard deviation)." if edge > 0 else "The scatter of the readings alone can make such a table."]
    if found.table["mismatch_loss_db"].notna().any():
        said.append("The mismatch loss of each wire's SWR has been given back before comparing.")
    else:
        said.append("No SWR was given: mismatch is part of these gaps.")
    real = int(found.pairs["real"].sum())
    said.append(f"{real} of {len(found.pairs)} gaps would be real at this scatter, all taken together.")
    return said


def settling_sentence(found: TableAgainstChance, plan: SettlingPlan) -> str:
    """Say what would settle the table."""
    gap = f"a gap of {decibels(plan.matter_db)} dB between any wire and “{found.table['name'].iloc[0]}”"
    if plan.blocks is None or plan.hours is None:
        return f"No plan settles {gap}: not even 200 blocks notice it with a chance of {percent(plan.chance)}."
    blocks = f"{plan.blocks} block{'s' if plan.blocks > 1 else ''}"
    return (f"What would settle it: {blocks} in fair order, {plan.swaps} swaps, "
            f"{hours_and_minutes(plan.hours)}, notice {gap} with a chance of {percent(plan.chance)}. As a plan file:")


def _scatter_table(found: TableAgainstChance) -> Table:
    """Return the table against one re-hanging scatter after another."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False, title="If re-hanging scattered by …", title_justify="left")
    for name in ("scatter dB", "gap is real from dB", "equal wires spread dB", "gaps real"):
        table.add_column(name, justify="right")
    for row in found.by_scatter.to_dict(orient="records"):
        mine = row["rehang_sd_db"] == found.scatter.rehang_sd_db
        table.add_row(f"{row['rehang_sd_db']:g}", decibels(row["resolution_db"]), decibels(row["spread_of_equal_db"]),
                      str(row["pairs_real"]), style="bold" if mine else "")
    return table


def _pair_table(found: TableAgainstChance) -> Table:
    """Return the largest gaps and the scatter up to which each would be real."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False, title="The largest gaps", title_justify="left")
    for name in ("stronger", "weaker"):
        table.add_column(name)
    for name in ("gap dB", "real up to scatter dB"):
        table.add_column(name, justify="right")
    for row in found.pairs.head(_PAIRS_SHOWN).to_dict(orient="records"):
        edge = row["real_below_rehang_sd_db"]
        table.add_row(Text(str(row["candidate"])), Text(str(row["against"])), decibels(row["gap_db"], True),
                      decibels(edge) if edge > 0 else "never", style="bold" if row["real"] else "")
    return table
