"""The recorder for a laptop's terminal: each entry is on the disk before the next prompt."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Protocol

from antexp.errors import Fault, FileError, ReadingsError
from antexp.field.book_columns import READING_COLUMNS
from antexp.field.book_file import is_count, read_end_file, remove_leftovers, save
from antexp.field.facts import FieldFacts
from antexp.field.reading_faults import counted
from antexp.field.record_book import Book, Row
from antexp.field.recorder_words import HELP, Words
from antexp.field.sources import LevelSource
from antexp.field.swap_list import PlannedSwap, SwapList
from antexp.field.ticks import NOTE, TICK, with_ticks
from antexp.interrupts import interrupts_wait

NAME_COLUMNS = ("candidate", "specimen", "place")
TERMINAL_COLUMNS = (*READING_COLUMNS[:3], *NAME_COLUMNS, *READING_COLUMNS[3:-2], "swr", "height_m", "source_db",
                    TICK, NOTE, "correction", *READING_COLUMNS[-2:])
BARE_COLUMNS = tuple(name for name in TERMINAL_COLUMNS if name not in (*NAME_COLUMNS, TICK, NOTE, "correction"))


class Talk(Protocol):
    """The terminal, or what stands for it in a test."""

    def say(self, text: str) -> None:
        """Show a line."""
        ...

    def ask(self, prompt: str) -> str:
        """Show a prompt and return the line typed.

        Raises
        ------
        EOFError
            When there will be no more.
        """
        ...


@dataclass(frozen=True)
class Settings:
    """What the recorder works with.

    Attributes
    ----------
    path : Path
        The readings file.
    swaps : SwapList
    facts : FieldFacts
    receiver : str
        Stands on every row; "" where there is one only.
    names : bool
        Whether it may show what hangs.
    source : LevelSource or None
        Where a level comes from when only Enter is pressed.
    clock : callable
        Returns the time with its zone.
    """

    path: Path
    swaps: SwapList
    facts: FieldFacts
    receiver: str = ""
    names: bool = False
    source: LevelSource | None = None
    clock: Callable[[], datetime] = lambda: datetime.now().astimezone()


class Recorder:
    """The record of a day and the file it stands in.

    Parameters
    ----------
    settings : Settings

    Raises
    ------
    FileError, ReadingsError
        When a file stands there that cannot be gone on with.
    """

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.columns: tuple[str, ...] = TERMINAL_COLUMNS if settings.swaps.has_names else BARE_COLUMNS
        self.book = Book()
        self._on_disk: bytes | None = None
        remove_leftovers(settings.path)
        if settings.path.exists():
            self._take_up()

    @property
    def present(self) -> PlannedSwap | None:
        """Return the swap that is to be read now; None when all are done."""
        return self.book.present(self.settings.swaps, self.settings.facts.readings)

    def keep(self, book: Book) -> None:
        """Make a book the present one; it is on the disk when this returns.

        Raises
        ------
        FileError
            When it cannot be written; then nothing changed.
        ReadingsError
            When something else wrote to the file in the meantime; then nothing changed.
        """
        found = self.settings.path.read_bytes() if self.settings.path.exists() else None
        if found != self._on_disk:
            raise ReadingsError(Fault("something else wrote to the readings file", str(self.settings.path),
                                      do="Close it there, and start the recorder again: it goes on from what the file "
                                      "holds now."))
        book = with_ticks(book, self.book)
        with interrupts_wait():  # what is said to be on the disk is what stands there
            self._on_disk = save(self.settings.path, self.columns, book.rows)
            self.book = book

    def row(self, swap: PlannedSwap, what: str, **cells: str) -> Row:
        """Return a row of a swap, stamped with the present time."""
        own = {name: getattr(swap, name) for name in NAME_COLUMNS if name in self.columns}
        return {**dict.fromkeys(self.columns, ""), "swap": str(swap.swap), "block": swap.block, "word": swap.word,
                "time": self.settings.clock().isoformat(timespec="seconds"), "receiver": self.settings.receiver,
                "what": what, **own, **cells}

    def _take_up(self) -> None:
        """Go on with the record that stands in the file."""
        path = self.settings.path
        found = read_end_file(path, READING_COLUMNS, "readings file")
        words = {str(swap.swap): swap.word for swap in self.settings.swaps.swaps}
        faults = [Fault("the swap and its word are not in this order", f"{path}, line {line}",
                        f"swap {row['swap']}, word {row['word']}",
                        f"word {words[row['swap']]}" if row["swap"] in words else "",
                        "Is this the readings file of another day? Choose another name with -o.")
                  for line, row in zip(found.lines, found.rows, strict=True) if words.get(row["swap"]) != row["word"]]
        faults += [Fault("reading is not a number", f"{path}, line {line}, column reading", row["reading"])
                   for line, row in zip(found.lines, found.rows, strict=True)
                   if row["reading"] and not is_count(row["reading"])]
        if faults:
            raise ReadingsError(faults[:10])
        self.columns = found.columns
        self.book = Book(found.rows)
        self._on_disk = path.read_bytes()


def record(settings: Settings, talk: Talk) -> Book:
    """Lead through the order, swap by swap, until all are done or the user leaves.

    Returns
    -------
    Book
        What is on the disk.

    Raises
    ------
    InputError
        When the file cannot be gone on with, or cannot be written and the user gives up.
    """
    recorder = Recorder(settings)
    words = Words(recorder, talk)
    if recorder.book.rows:
        talk.say(f"Going on: {_counted(recorder.book)} on the disk.")
    talk.say("Type a level and press Enter. Type ? for the other words.")
    try:
        _lead(recorder, words, talk)
    except KeyboardInterrupt:
        talk.say("\n" + _on_the_disk(recorder))
        raise
    talk.say(_on_the_disk(recorder))
    return recorder.book


def _lead(recorder: Recorder, words: Words, talk: Talk) -> None:
    """Ask and do until the user leaves or nothing more can be typed."""
    with suppress(EOFError):
        while (line := talk.ask(prompt(recorder)).strip()).lower() not in ("q", "quit"):
            if line == "?" or line.lower() == "help":
                talk.say(HELP)
            else:
                _do(words, line, talk)


def _do(words: Words, line: str, talk: Talk) -> None:
    """Do what a line says; what cannot be understood or written is said, and nothing is lost."""
    while True:
        try:
            words.do(line)
        except ValueError as error:
            if isinstance(error, ReadingsError):
                raise
            if isinstance(error, FileError):
                talk.say(f"NOT on the disk: {error}")
                _wait_for_room(talk, error)
                continue
            talk.say(str(error))
        return


def _wait_for_room(talk: Talk, error: FileError) -> None:
    """Wait until the user wants to try once more; where nothing more can be typed, the fault stands."""
    try:
        talk.ask("Make room, then press Enter to try once more. ")
    except EOFError:
        raise error from None


def _on_the_disk(recorder: Recorder) -> str:
    """Say what is on the disk, and how to go on."""
    return f"{_counted(recorder.book)} on the disk in {recorder.settings.path}. The same command goes on from here."


def prompt(recorder: Recorder) -> str:
    """Return the prompt: which swap, which word, which reading."""
    swap, facts = recorder.present, recorder.settings.facts
    if swap is None:
        return "All swaps are done (a = read one again, q = leave)> "
    number = len(recorder.book.readings(swap.swap)) + 1
    wanted = recorder.book.wanted(swap.swap, facts.readings)
    name = f", {swap.candidate}, specimen {swap.specimen}" if recorder.settings.names and swap.candidate else ""
    source = f", Enter = from {recorder.settings.source.name}" if recorder.settings.source else ""
    return (f"Block {swap.block}, swap {swap.swap}, word {swap.word}{name}: reading {number} of {wanted}, "
            f"{facts.scale}{source}> ")


def _counted(book: Book) -> str:
    """Return how many readings of how many swaps count."""
    rows = [row for row in book.rows if row["what"] == "reading" and row["keep"] == "1"]
    return f"{counted(len(rows), 'reading')} of {counted(len({row['swap'] for row in rows}), 'swap')}"
