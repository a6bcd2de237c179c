"""What is wrong with a spreadsheet, said so that its owner can put it right."""

import datetime as dt
import difflib
from collections.abc import Iterable
from dataclasses import dataclass

SHOWN = 60  # Characters of a faulty cell that are shown back.
MOST_FAULTS = 2_000  # Of a sheet or a file; nobody mends more one by one.
EPOCH = dt.date(1899, 12, 30)  # Day 0 of spreadsheet day numbers, the 1900 system.


@dataclass(frozen=True, order=True)
class Fault:
    """One thing wrong. ``row`` is counted as in the file, from 1; 0 is the whole sheet or file."""

    sheet: str
    row: int
    column: str
    value: str
    wrong: str
    right: str

    def __str__(self) -> str:
        place = [self.sheet or "the file", f"row {self.row}" if self.row else "", self.column]
        value = f" ({self.value})" if self.value else ""
        return f"{', '.join(filter(None, place))}{value}: {self.wrong} {self.right}".rstrip()


def and_more(sheet: str) -> Fault:
    """Return what is said in place of the faults beyond the most."""
    wrong = f"There are more than {MOST_FAULTS:,} faults, so the rest was not checked."
    return Fault(sheet, 0, "", "", wrong, "Put these right first, then hand the file in again.")


class Unreadable(ValueError):
    """A cell that cannot be read: what is wrong, and what would be right. Two sentences."""

    def __init__(self, wrong: str, right: str) -> None:
        super().__init__(wrong, right)
        self.wrong, self.right = wrong, right


@dataclass(frozen=True)
class Reading:
    """What is known beyond the cell itself while a column is read.

    ``day_first`` is what the column proves about dates such as 03/04/2016 (None: nothing, or both
    orders); ``epoch`` is day 0 of the file's day numbers.
    """

    today: dt.date
    day_first: bool | None = None
    epoch: dt.date = EPOCH


def shown(cell: object) -> str:
    """Return a cell as its owner sees it, shortened, without control characters."""
    if cell is None:
        return ""
    if isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e15:
        cell = int(cell)
    text = "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in str(cell))
    return text if len(text) <= SHOWN else f"{text[: SHOWN - 1]}…"


def nearest(word: str, known: Iterable[str]) -> str:
    """Return `` Did you mean ...?`` for the nearest known word, or nothing when none is near."""
    by_fold = {name.casefold(): name for name in known}
    near = difflib.get_close_matches(word.casefold(), by_fold, n=1, cutoff=0.6)
    return f"Did you mean “{by_fold[near[0]]}”?" if near else ""
