"""Every reader of files from outside, with sound files of its kind, for `tests/benchmarks/fuzzing.py`."""

from __future__ import annotations

import csv
import io
import shutil
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).parents[2]


@dataclass
class Reader:
    """A reader under test: sound files of its kind, the name a file gets, the call, what stands beside the file, and
    how many times fewer files it gets than the others, where each takes long.
    """

    seeds: list[bytes]
    name: str
    read: Callable[[Path], object]
    beside: dict[str, bytes] = field(default_factory=dict)
    slow: int = 1


def readers() -> dict[str, Reader]:
    """Return the readers by name; the sound files are the examples and what antexp itself writes."""
    import antexp
    from antexp.analysis.archive import keep
    from antexp.analysis.judge import judge
    from antexp.analysis.judged_folder import find_judged
    from antexp.analysis.results_file import read_results
    from antexp.design.order_file import order_files, read_order
    from antexp.field.bench_book import read_bench_book
    from antexp.field.book_columns import HANGING_COLUMNS, READING_COLUMNS
    from antexp.field.book_file import read_end_file, to_csv
    from antexp.field.level_log import Part, cut_log
    from antexp.field.readings import read_readings
    from antexp.field.swap_list import read_swap_list
    from antexp.plan.reader import read_plan
    from antexp.repeats.single_hangings_file import read_single_hangings
    from antexp.report.paragraphs import methods, newsletter
    from antexp.report.statements import statements

    folders = [ROOT / "examples" / name for name in ("clear-differences", "coarse-meter", "old-copper", "s-meter")]
    plans = [(folder / "plan.toml").read_bytes() for folder in folders]
    plan, order = read_plan(folders[0] / "plan.toml"), read_order(folders[0] / "order.csv")
    orders = [(folder / "order.csv").read_bytes() for folder in folders[:2]]
    recipe = next(text for path, text in order_files(antexp.make_order(plan), "o.csv").items() if str(path) == "o.json")
    readings = [_few_swaps((folder / "readings.csv").read_bytes(), 9) for folder in folders]
    first, second = plan.candidate_names[:2]
    bench = (f'candidate,specimen,leg_m,resonance_mhz,swr,feed_ohm,height_m,where,note\n"{first}",1,5.08,14.2,1.3,,9,'
             f'post,"fine, dry"\n"{second}",1,5.1,14.1,1.4,62+9j,9,,\n"{second}",1,,,,48-3j,,,again\n').encode()
    hangings = [b"name,level_db,swr\nred wire,-67,1.2\nblue wire,-69.5,1.4\ngrey wire,-70,1.3\n",
                b"candidate;level_s\nred wire;S7\nblue wire;S9+10\n",
                b"name,level_low_db,level_high_db\n\"red, wire\",-68,-66\nblue,-70,-68\n"]
    row = dict.fromkeys({*READING_COLUMNS, *HANGING_COLUMNS}, "") | {
        "swap": "1", "block": "1", "word": "banner", "what": "reading", "entry": "1", "keep": "1", "level_db": "-67.1",
        "time": "2026-05-01T09:30:00+02:00", "note": "=1+1"}
    ends = [to_csv(columns, [row, {**row, "entry": "2", "what": "up"}]).encode()
            for columns in (READING_COLUMNS, HANGING_COLUMNS)]
    judged = [judge(folder / "readings.csv", read_plan(folder / "plan.toml")) for folder in folders[:2]]
    results = [each.to_json().encode() for each in judged]
    archives = [_kept(folder, each, keep) for folder, each in zip(folders, judged, strict=False)]

    def tell(path: Path) -> object:
        """Read a results file, and say of it what antexp says to others."""
        found = read_results(path)
        return find_judged(path), statements(found), newsletter(found), methods(found)

    return {
        "plan": Reader(plans, "plan.toml", read_plan),
        "order": Reader(orders, "order.csv", read_order),
        "recipe": Reader([recipe.encode() if isinstance(recipe, str) else recipe], "order.json",
                         lambda path: read_order(path.with_name("order.csv")), {"order.csv": orders[0]}),
        "swap list": Reader([*orders, _first_columns(orders[0], 5)], "order.csv", read_swap_list),
        "bench book": Reader([bench], "bench.csv", lambda path: read_bench_book(path, plan)),
        "readings": Reader(readings, "readings.csv", lambda path: read_readings(path, scale="dB")),
        "readings, planned": Reader(readings[:1], "readings.csv", lambda path: read_readings(path, plan, order)),
        "single hangings": Reader(hangings, "table.csv", read_single_hangings),
        "results.json": Reader(results, "results.json", read_results),
        "results.json, told on": Reader(results, "results.json", tell),
        "entry page's file": Reader(ends, "end.csv", lambda path: read_end_file(path, ("swap", "entry"), "record")),
        "log of levels": Reader([_log(form) for form in ("2026-05-01T07:00:{:02d}", "{}.5")], "log.csv",
                                lambda path: (cut_log(path, [Part(20 * 10**9, 40 * 10**9)]),
                                              cut_log(path, [Part(DAY_NS + 5 * 10**9, DAY_NS + 50 * 10**9)]))),
        "archive": Reader(archives, "day.zip", _open, slow=8),
    }


DAY_NS = 1_777_618_800 * 10**9
"""2026-05-01T07:00 on a clock's own axis."""


def _log(form: str) -> bytes:
    return ("time,level_db\n" + "".join(f"{form.format(n)},{-67 - n % 7 / 10}\n" for n in range(60))).encode()


def _kept(folder: Path, judgement: object, keep: Callable[..., object]) -> bytes:
    """Return an archive of a judged example."""
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        for each in ("plan.toml", "order.csv", "readings.csv"):
            if (folder / each).is_file():
                shutil.copy(folder / each, place / each)
        (place / "results.json").write_text(judgement.to_json(), encoding="utf-8")  # type: ignore[attr-defined]
        keep(place, place / "day.zip")
        return (place / "day.zip").read_bytes()


def _open(path: Path) -> object:
    """Open an archive, and see that nothing was written but what belongs into its folder."""
    from antexp.analysis.archive import open_archive

    place = path.with_name("opened")
    shutil.rmtree(place, ignore_errors=True)
    try:
        return open_archive(path, place)
    finally:
        strangers = {each.name for each in path.parent.iterdir()} - {path.name, place.name, "corpus", "tokens"}
        assert not strangers and not Path("/tmp/evil").exists(), strangers


def ready(reader: Reader, folder: Path) -> Path:
    """Put beside the file what the reader looks for, and return the file's path."""
    for name, content in reader.beside.items():
        (folder / name).write_bytes(content)
    return folder / reader.name


def _few_swaps(content: bytes, swaps: int) -> bytes:
    """Return the rows of the first swaps: small files break the same ways and many more of them are tried."""
    lines = content.decode().splitlines(keepends=True)
    return "".join([lines[0], *(line for line in lines[1:] if line.split(",")[0].isdigit()
                                and int(line.split(",")[0]) <= swaps)]).encode()


def _first_columns(content: bytes, count: int) -> bytes:
    rows = [row[:count] for row in csv.reader(io.StringIO(content.decode()))]
    return "".join(",".join(row) + "\n" for row in rows).encode()
