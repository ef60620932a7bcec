"""Files of the two ends as the pages export them, written by hand for the tests."""

from datetime import datetime, timedelta

from antexp.field.book_columns import HANGING_COLUMNS, READING_COLUMNS
from antexp.field.book_file import to_csv

START = datetime.fromisoformat("2026-05-01T09:30:00+02:00")


class HangingDay:
    """The hanging end's file: each swap up for five minutes of every seven."""

    def __init__(self, swaps):
        self.swaps = {swap.swap: swap for swap in swaps.swaps}
        self.rows = []

    def add(self, number, what, minutes, **cells):
        swap = self.swaps[number]
        row = {**dict.fromkeys(HANGING_COLUMNS, ""), "swap": str(number), "block": swap.block, "word": swap.word,
               "what": what, "time": (START + timedelta(minutes=minutes)).isoformat(timespec="seconds"),
               "keep": "1" if what in ("up", "down") else "0", "entry": str(len(self.rows) + 1)}
        if what == "up":
            row |= {"candidate": swap.candidate, "specimen": swap.specimen, "place": swap.place}
        self.rows.append(row | cells)
        return self

    def hang(self, number, **cells):
        begin = 7 * (number - 1)
        return self.add(number, "up", begin + 1, **cells).add(number, "down", begin + 6)

    def hang_all(self, **cells):
        for number in self.swaps:
            self.hang(number, **cells)
        return self

    def write(self, path):
        path.write_text(to_csv(HANGING_COLUMNS, self.rows), encoding="utf-8")
        return path


class ReadingDay:
    """The reading end's file."""

    def __init__(self, swaps, receiver=""):
        self.swaps = {swap.swap: swap for swap in swaps.swaps}
        self.receiver = receiver
        self.rows = []

    def add(self, number, what, minutes, **cells):
        swap = self.swaps[number]
        counts = what in ("reading", "noise")
        self.rows.append({
            **dict.fromkeys(READING_COLUMNS, ""), "swap": str(number), "block": swap.block, "word": swap.word,
            "time": (START + timedelta(minutes=minutes)).isoformat(timespec="seconds"), "receiver": self.receiver,
            "what": what, "keep": "1" if counts else "0", "role": "off" if what == "noise" else "",
            "entry": str(len(self.rows) + 1), **cells})
        return self

    def read(self, number, levels, **cells):
        for place, level in enumerate(levels):
            minutes = 7 * (number - 1) + 2 + place
            self.add(number, "reading", minutes, reading=str(place + 1), level_db=str(level), **cells)
        return self

    def read_all(self, levels=(-67.0, -67.2)):
        for number in self.swaps:
            self.read(number, levels)
        return self

    def write(self, path):
        path.write_text(to_csv(READING_COLUMNS, self.rows), encoding="utf-8")
        return path
