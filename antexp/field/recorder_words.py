"""The words that the terminal's recorder understands, and what each does to the record."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from antexp.field.book_columns import MORE_WHEN_WANDERING
from antexp.field.book_file import is_count
from antexp.field.clocks import other_clock
from antexp.field.reading_faults import counted
from antexp.field.record_book import Book, again_leaves_out, wrong_wire_leaves_out
from antexp.field.sources import SourceError
from antexp.field.swap_list import PlannedSwap
from antexp.field.ticks import NOTE, TICK, parse_tick
from antexp.field.typed_level import TypedLevel, odd_question, parse_level, parse_range, plain_number, shown_level

if TYPE_CHECKING:
    from antexp.field.recorder import Recorder, Talk

HELP = """\
  67.2            a level; decimal comma or point; on dBm the minus is understood (or S7, S9+10 on S units)
  66.5 to 68      no finer than a range
  w               it wanders: take more readings of this swap
  n 120.5         noise, with the source off
  u               undo          b  bring back what was undone
  r TEXT          remark
  k [WHY]         skip this swap
  e               enough readings: next swap
  a SWAP WHY      read a swap again; its readings so far are left out
  x SWAP [WHY]    a wrong wire was up in that swap
  swr 1.4         SWR of this swap            h 9.1   height in metres
  m -0.2          a monitor of the source, dB: comes off the levels; at every swap, or at none
  t SWAP 4 [TEXT] how that swap's wire handles: 1 a nuisance, 5 a pleasure; and a remark
  c 10:32:05      the other end's clock shows this now
  stop WHY        close the block: source into the dummy load first
  q               leave; the same command goes on from here"""

_ALIASES = {
    "w": "wanders", "n": "noise", "u": "undo", "b": "back", "r": "remark", "k": "skip", "e": "enough", "a": "again",
    "x": "wrong", "c": "clock", "h": "height", "m": "monitor", "t": "tick",
}
_RANGE = re.compile(r"(\S+)\s*(?:to|\.\.)\s*(\S+)", re.IGNORECASE)


class Words:
    """Does what a typed line says.

    Parameters
    ----------
    recorder : Recorder
    talk : Talk
    """

    def __init__(self, recorder: Recorder, talk: Talk) -> None:
        self.recorder = recorder
        self.talk = talk

    def do(self, line: str) -> None:
        """Do what a line says, and return once it is on the disk.

        Raises
        ------
        ValueError
            When the line cannot be understood; the message says why.
        FileError, ReadingsError
            When the record cannot be written.
        """
        head, _, rest = line.partition(" ")
        word = _ALIASES.get(head.lower(), head.lower())
        action = getattr(self, f"_{word}", None) if word in (*_ALIASES.values(), "stop", "swr") else None
        if action is not None:
            action(rest.strip())
        elif not line and self.recorder.settings.source is not None:
            self._from_source()
        else:
            self._level(line)

    def _swap(self) -> PlannedSwap:
        """Return the present swap."""
        swap = self.recorder.present
        if swap is None:
            raise ValueError("All swaps are done. a SWAP WHY reads one again.")
        return swap

    def _some_swap(self) -> PlannedSwap:
        """Return the present swap, the last one when all are done."""
        return self.recorder.present or self.recorder.settings.swaps.swaps[-1]

    def _named_swap(self, rest: str, word: str) -> tuple[PlannedSwap, str]:
        """Return the swap a line names by number, and the rest of the line; it must have been touched."""
        number, _, why = rest.partition(" ")
        known = {str(swap.swap): swap for swap in self.recorder.settings.swaps.swaps}
        touched = list(dict.fromkeys(row["swap"] for row in self.recorder.book.rows))
        if number not in known or number not in touched:
            raise ValueError(f"{word} needs the number of a swap that was begun: got {number or 'nothing'}; "
                             f"begun so far: {', '.join(touched) or 'none'}.")
        return known[number], why.strip()

    def _level(self, line: str) -> None:
        swap, facts = self._swap(), self.recorder.settings.facts
        found = _RANGE.fullmatch(line)
        level = parse_range(found[1], found[2], facts.scale) if found else parse_level(line, facts.scale)
        self._take(swap, level)

    def _from_source(self) -> None:
        swap, source = self._swap(), self.recorder.settings.source
        assert source is not None
        try:
            taken = source.read()
        except SourceError as error:
            raise ValueError(f"{error} Try again, or type the level.") from None
        self._take(swap, TypedLevel({"level_db": f"{taken.level_db:.10g}"}, taken.level_db), taken.note)

    def _take(self, swap: PlannedSwap, level: TypedLevel, note: str = "") -> None:
        """Take a reading; ask first where it looks like a slip."""
        book = self.recorder.book
        if not self._monitored(swap):
            return
        row = self.recorder.row(swap, "reading", reading=str(book.next_reading(swap.swap)), note=note,
                                **level.cells, **self._at_feed(swap))
        every = [other for other in book.rows if other["what"] == "reading" and other["keep"] == "1"]
        question = odd_question(level, book.readings(swap.swap), every, self.recorder.settings.facts.odd_db)
        if question and not self._yes(f"{question} Is {level.shown} right? [y/n] "):
            self.talk.say("Not taken.")
            return
        self._keep(book.with_entry([row]))
        self.talk.say(f"  {level.shown} taken." + (f" Swap {swap.swap} is done: source to dummy." if self._done(swap)
                                                   else ""))

    def _at_feed(self, swap: PlannedSwap) -> dict[str, str]:
        """Return SWR, height and the source's monitor as they were last given for the swap."""
        return {name: row[name] for row in self.recorder.book.standing(swap.swap, "feed")
                for name in ("swr", "height_m", "source_db") if row.get(name)}

    def _monitored(self, swap: PlannedSwap) -> bool:
        """Ask where the source's monitor stands on earlier readings and not on this one, which could not be judged."""
        every = [row for row in self.recorder.book.rows if row["what"] == "reading" and row["keep"] == "1"]
        if not any(row.get("source_db") for row in every) or "source_db" in self._at_feed(swap):
            return True
        if self._yes("The readings so far have the source's monitor, this swap has none yet (m LEVEL). Take it all the "
                     "same? The record is judged only when every reading has one. [y/n] "):
            return True
        self.talk.say("Not taken.")
        return False

    def _done(self, swap: PlannedSwap) -> bool:
        return self.recorder.book.is_read(swap.swap, self.recorder.settings.facts.readings)

    def _yes(self, question: str) -> bool:
        while True:
            try:
                answer = self.talk.ask(question).strip().lower()
            except EOFError:
                return False
            if answer in ("y", "yes", "n", "no"):
                return answer[0] == "y"

    def _keep(self, book: Book) -> None:
        self.recorder.keep(book)

    def _entry(self, swap: PlannedSwap, what: str, message: str, **cells: str) -> None:
        self._keep(self.recorder.book.with_entry([self.recorder.row(swap, what, **cells)]))
        self.talk.say(f"  {message}")

    def _wanders(self, rest: str) -> None:
        self._entry(self._swap(), "wanders", f"It wanders: {MORE_WHEN_WANDERING} more readings.", note=rest)

    def _noise(self, rest: str) -> None:
        swap = self._some_swap()
        level = parse_level(rest, self.recorder.settings.facts.scale)
        number = str(self.recorder.book.next_reading(swap.swap))
        self._entry(swap, "noise", f"Noise {level.shown} taken.", reading=number, role="off", **level.cells)

    def _remark(self, rest: str) -> None:
        if not rest:
            raise ValueError("The remark is empty.")
        self._entry(self._some_swap(), "remark", "Remark written down.", note=rest)

    def _skip(self, rest: str) -> None:
        swap = self._swap()
        self._entry(swap, "skip", f"Swap {swap.swap} skipped.", note=rest)

    def _enough(self, rest: str) -> None:
        swap = self._swap()
        if not self.recorder.book.readings(swap.swap):
            raise ValueError("There is no reading of this swap yet. k skips it.")
        self._entry(swap, "enough", f"Swap {swap.swap} ends here.", note=rest)

    def _again(self, rest: str) -> None:
        swap, why = self._named_swap(rest, "a")
        if not why:
            raise ValueError("Say why: a reason that does not speak of the level keeps the record honest.")
        row = self.recorder.row(swap, "again", note=why)
        self._keep(self.recorder.book.with_entry([row], again_leaves_out(swap.swap)))
        self.talk.say(f"  Swap {swap.swap}, {swap.word}: read it again.")

    def _wrong(self, rest: str) -> None:
        swap, why = self._named_swap(rest, "x")
        why = why or "a wrong wire was up"
        row, copies = self.recorder.row(swap, "wrong", note=why), []
        if self.recorder.settings.names and "correction" in self.recorder.columns:
            copies = self._as_really_hung(swap, why)
        leaves_out = wrong_wire_leaves_out(swap.swap)
        self._keep(self.recorder.book.with_entry([row, *copies], leaves_out))
        self.talk.say(f"  Swap {swap.swap}: " + ("its readings count for what really hung." if copies else
                                                  "its readings are left out."))

    def _as_really_hung(self, swap: PlannedSwap, why: str) -> list[dict[str, str]]:
        """Ask what hung, and return the swap's readings once more under its name; none when nobody knows."""
        hung = list(dict.fromkeys((other.candidate, other.specimen) for other in self.recorder.settings.swaps.swaps))
        for place, (candidate, specimen) in enumerate(hung, start=1):
            self.talk.say(f"  {place}  {candidate}, specimen {specimen}")
        answer = self.talk.ask("What really hung? Its number, or Enter if nobody knows> ").strip()
        if not answer:
            return []
        if not (is_count(answer) and 1 <= int(answer) <= len(hung)):
            raise ValueError(f"Not one of them: {answer}. Nothing was changed.")
        candidate, specimen = hung[int(answer) - 1]
        first = self.recorder.book.next_reading(swap.swap)
        return [{**row, "reading": str(first + place), "candidate": candidate, "specimen": specimen, "correction": why}
                for place, row in enumerate(self.recorder.book.readings(swap.swap))]

    def _stop(self, rest: str) -> None:
        current, book = self._swap(), self.recorder.book
        if not rest:
            raise ValueError("Say why: stop thunder, stop wind, stop dark.")
        readings = self.recorder.settings.facts.readings
        block = self.recorder.settings.swaps.of_block(current.block)
        rows = [self.recorder.row(swap, "stop", note=rest) for swap in block
                if not book.is_read(swap.swap, readings)]
        self._keep(book.with_entry(rows))
        self.talk.say(f"  Block {current.block} closed. Source into the dummy load before anything is lowered.")

    def _clock(self, rest: str) -> None:
        now = self.recorder.settings.clock()
        other = other_clock(rest, now)
        if other is None:
            raise ValueError(f"A clock time is needed, such as 10:32:05: got {rest or 'nothing'}.")
        ahead = round((other - now).total_seconds())
        way = "ahead" if ahead >= 0 else "behind"
        self._entry(self._some_swap(), "clock", f"The other clock is {abs(ahead)} s {way}.",
                    other_time=other.isoformat(timespec="seconds"))

    def _swr(self, rest: str) -> None:
        self._feed("swr", rest, 1.0, 1000.0)

    def _height(self, rest: str) -> None:
        self._feed("height_m", rest, 0.0, 1000.0)

    def _feed(self, name: str, rest: str, lowest: float, highest: float) -> None:
        plain, swap = plain_number(rest), self._swap()
        self._has_column(name)
        if plain is None or not lowest <= float(plain) <= highest:
            raise ValueError(f"{name} cannot be {rest or 'nothing'}; allowed: {lowest:g} to {highest:g}.")
        self._entry(swap, "feed", f"{name} {plain} stands on the readings of this swap from here on.", **{name: plain})

    def _monitor(self, rest: str) -> None:
        bare = sum(1 for row in self.recorder.book.rows
                   if row["what"] == "reading" and row["keep"] == "1" and not row.get("source_db"))
        if bare:
            raise ValueError(f"{counted(bare, 'reading')} so far without the source's monitor: it stands on every "
                             "reading or on none. Leave (q), fill the column source_db of the file, and go on.")
        self._feed("source_db", rest, -300.0, 300.0)

    def _tick(self, rest: str) -> None:
        if not self.recorder.settings.swaps.has_names:
            raise ValueError("How a wire handles is ticked at the hanging end, which knows what hangs.")
        self._has_column(TICK)
        swap, what = self._named_swap(rest, "t")
        tick, note = parse_tick(what)
        if not self.recorder.book.readings(swap.swap):
            raise ValueError(f"Swap {swap.swap} has no readings that count, on which it could stand.")
        self._entry(swap, TICK, f"Swap {swap.swap} handles {tick} of 5.", **{TICK: tick, NOTE: note})

    def _has_column(self, name: str) -> None:
        if name not in self.recorder.columns:
            raise ValueError("This file was begun without a column for it. Write a remark: r SWR 1.4.")

    def _undo(self, _: str) -> None:
        book = self.recorder.book
        if not book.rows:
            raise ValueError("There is nothing to undo.")
        gone = next(row for row in book.rows if row["entry"] == str(book.last_entry))
        self._keep(book.undo())
        what = shown_level(gone) if gone["what"] in ("reading", "noise") else gone["what"]
        self.talk.say(f"  Undone: swap {gone['swap']}, {what}.")

    def _back(self, _: str) -> None:
        if not self.recorder.book.undone:
            raise ValueError("There is nothing to bring back.")
        self._keep(self.recorder.book.bring_back())
        self.talk.say("  Brought back.")
