"""Every antexp command that writes files, once over files that stand there, and what it needs to begin with."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Writing:
    """A command as it is typed in the folder that `prepare` filled.

    Attributes
    ----------
    again : str
        The command that is disturbed.
    first : str
        The command that made the old files; none where it overwrites nothing.
    typed, typed_first : str
        What is typed at its prompts.
    marked : bool
        The command always writes the same: the old files get a line of their own.
    """

    again: str
    first: str = ""
    typed: str = ""
    typed_first: str = ""
    marked: bool = False


_DAY = "--plan plan.toml --order order.csv --bench bench.csv"

WRITING = {
    "demo": Writing("demo shown", "demo shown", marked=True),
    "new": Writing("new next.toml"),
    "new --from": Writing("new after.toml --from one --plan plan.toml"),
    "expect": Writing("expect plan.toml -o expected --detectable 0.5", "expect other.toml -o expected"),
    "repeats": Writing("repeats plan.toml --records 0 -o repeats", "repeats other.toml --records 0 -o repeats"),
    "order": Writing("order plan.toml -o swaps.csv", "order other.toml -o swaps.csv"),
    "order --pilot": Writing("order plan.toml --pilot -o pilot.csv", "order other.toml --pilot -o pilot.csv"),
    "sheet": Writing("sheet order.csv --plan plan.toml -o paper", "sheet order.csv --plan other.toml -o paper"),
    "record": Writing("record field.csv -o typed.csv", "record field.csv -o typed.csv", "-61\n", "-60\n-60.1\n"),
    "record --from log": Writing("record field.csv -o cut.csv --from log log.csv --times times.csv"),
    "join": Writing("join field.csv later-end.csv -o joined.csv", "join field.csv end.csv -o joined.csv"),
    "judge": Writing(f"judge later.csv {_DAY} -o judged", f"judge day.csv {_DAY} -o judged"),
    "choose": Writing("choose later.csv --plan plan.toml -o choice", "choose day.csv --plan plan.toml -o choice"),
    "say": Writing("say two --plan plan.toml -o said", "say one --plan plan.toml -o said"),
    "compare": Writing("compare one two -o days", "compare one three -o days"),
    "pool": Writing("pool one two -o pooled", "pool one three -o pooled"),
    "keep": Writing(f"keep one --readings day.csv {_DAY} -o kept.zip"),
    "open": Writing("open day.zip -o opened"),
}
"""By the command's name, and the option with which it writes something else."""

WRITING_NOTHING = {
    "check": "check day.csv --plan plan.toml --order order.csv",
    "trim": "trim plan.toml --bench bench.csv",
    "gap": "gap 1.2",
    "pilot": "pilot form.csv --plan plan.toml",
}
"""The commands that only print."""

_PLAN = """candidates = ["Alder", "Birch", "Cedar"]
frequency_mhz = 14.2
matter_db = 1
[field]
blocks = 3
"""
_OTHER_PLAN = f"""title = "Another day"
{_PLAN.replace("14.2", "7.1").replace("blocks = 3", "blocks = 4")}seed = 7
[meter]
scale = "dB"
"""
_BENCH = "candidate,leg_m,resonance_mhz\nBirch,5.02,14.31\n"
FIELD = """swap,block,position,minutes,word,candidate,specimen,place,role
1,1,1,0,banner,Alder,1,1,reference
2,1,2,7,garlic,Birch,1,1,candidate
3,1,3,14,tennis,Alder,1,1,reference
"""
_TIMES = """swap,block,word,what,time,candidate,specimen,place,swr,height_m,height_mark,handling,handling_note,keep,\
note,other_time,entry,left_out_by
1,1,banner,up,2026-05-01T09:31:00+02:00,Alder,1,1,,,,,,1,,,1,
1,1,banner,down,2026-05-01T09:36:00+02:00,,,,,,,,,1,,,2,
"""


def prepare(folder: Path, run: Callable[[str, str], None]) -> None:
    """Fill a folder with what the commands start from; all of it is invented.

    Parameters
    ----------
    folder : Path
        An empty folder; it is also where ``run`` runs.
    run : callable ``(command, typed)``
        Runs an antexp command there, and raises when it fails.
    """
    texts = {"plan.toml": _PLAN, "other.toml": _OTHER_PLAN, "bench.csv": _BENCH, "field.csv": FIELD,
             "times.csv": _TIMES}
    minutes = [f"2026-05-01T09:3{minute}:{second:02d},-67.{minute}\n" for minute in range(8) for second in range(60)]
    texts["log.csv"] = "time,level_db\n" + "".join(minutes)
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8")
    run("order plan.toml -o order.csv", "")
    run("order plan.toml --pilot -o trial.csv", "")
    fill_form(folder / "trial.form.csv", folder / "form.csv")
    _write_days(folder)
    run("record field.csv -o end.csv", "-60\n" * 9)
    run("record field.csv -o later-end.csv", "-61\n" * 9)
    for name, readings in (("one", "day.csv"), ("two", "later.csv"), ("three", "last.csv")):
        run(f"judge {readings} {_DAY} -o {name}", "")
    run(f"keep one --readings day.csv {_DAY} -o day.zip", "")


def _write_days(folder: Path) -> None:
    """Write the readings of three invented days of one and the same order."""
    from antexp.design.order_file import read_order
    from antexp.plan.reader import read_plan
    from antexp.repeats.simulate import simulate

    plan, order = read_plan(folder / "plan.toml"), read_order(folder / "order.csv")
    for seed, name in enumerate(("day", "later", "last"), start=3):
        simulate(plan, order, {"Birch": -2.0}, seed=seed).to_csv(folder / f"{name}.csv", index=False)


def fill_form(blank: Path, filled: Path) -> None:
    """Fill in the form of a pilot that finds nothing wrong."""
    import csv

    with blank.open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    for number, row in enumerate(rows):
        down = {"dummy load": 40, "attenuator in": 10}.get(row["step"], 0)
        row["level_db"] = f"{-50 - down + 0.1 * int(row['swap']) + 0.05 * (number % 3):.2f}"
        row["attenuator_db"] = "10" if row["step"] == "attenuator in" else ""
    with filled.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, rows[0])
        writer.writeheader()
        writer.writerows(rows)


def files_in(folder: Path) -> dict[str, bytes]:
    """Return every file in a folder and below it by its name from there."""
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*"))
            if path.is_file()}


def mark(folder: Path, before: dict[str, bytes]) -> None:
    """Add a line to every file that was not there before."""
    for name, content in files_in(folder).items():
        if name not in before:
            (folder / name).write_bytes(content + b"\nold\n")
