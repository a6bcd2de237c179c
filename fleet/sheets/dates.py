"""Dates as people and spreadsheet programs write them. What can be read two ways is asked back."""

import calendar
import datetime as dt
import re
from collections.abc import Iterable
from dataclasses import dataclass

from .faults import EPOCH, Reading, Unreadable
from .kinds import Cell, plain

YEARS = (1850, 2150)
DAY_NUMBERS = (20_000, 90_000)  # 1954 to 2146 as spreadsheet day numbers.

YEAR = re.compile(r"[0-9]{4}")
YEAR_FIRST = re.compile(r"([0-9]{4})([-/.])([0-9]{1,2})\2([0-9]{1,2})(?:[ T][0-9:.]+Z?)?")
YEAR_LAST = re.compile(r"([0-9]{1,2})\s?([-/.])\s?([0-9]{1,2})\s?\2\s?([0-9]{4})\.?")
SHORT_YEAR = re.compile(r"[0-9]{1,2}[-/. ]+([0-9]{1,2}|[A-Za-z]+)[-/. ]+'?[0-9]{2}")
NAMED = re.compile(r"([0-9]{1,2})(?:st|nd|rd|th)?[-. ]+([A-Za-z]+)[-., ]+([0-9]{4})")
NAMED_FIRST = re.compile(r"([A-Za-z]+)\.?[- ]+([0-9]{1,2})(?:st|nd|rd|th)?,?[- ]+([0-9]{4})")
MONTHS = {name.casefold(): n for n, name in enumerate(calendar.month_name) if name} | {
    name.casefold(): n for n, name in enumerate(calendar.month_abbr) if name
} | {"sept": 9}  # fmt: skip


@dataclass(frozen=True)
class Day:
    """A day, not after ``Reading.today`` unless ``future``."""

    future: bool = False
    blank: None = None

    @property
    def allowed(self) -> str:
        return "date, YYYY-MM-DD" + (", may be to come" if self.future else "")

    def read(self, cell: Cell, reading: Reading) -> dt.date:
        refuse_year_shown_as_date(cell)
        day = day_in(cell, reading)
        if not YEARS[0] <= day.year <= YEARS[1]:
            raise Unreadable(
                f"The year {day.year} is not possible.", "Write the date as YYYY-MM-DD."
            )
        if day > reading.today and not self.future:
            raise Unreadable(
                f"{day} is still to come: today is {reading.today}.",
                "Write the day it happened, or leave the row out until it has.",
            )
        return day

    def write(self, value: dt.date | None) -> Cell:
        return value


@dataclass(frozen=True)
class DayOrYear(Day):
    """A day, or a year alone: then an int, kept as such because less is known."""

    @property
    def allowed(self) -> str:
        return "date, YYYY-MM-DD, or a year alone"

    def read(self, cell: Cell, reading: Reading) -> dt.date | int:
        year = year_alone(cell)
        if year is None:
            return super().read(cell, reading)
        if year > reading.today.year:
            raise Unreadable(f"The year {year} is still to come.", "Write the year it was fitted.")
        return year

    def write(self, value: dt.date | int | None) -> Cell:
        return value


def refuse_year_shown_as_date(cell: Cell) -> None:
    """Refuse day number 2016, which is what typing 2016 into a date cell gives: a day in 1905."""
    if not isinstance(cell, dt.date):
        return
    number = (dt.date(cell.year, cell.month, cell.day) - EPOCH).days
    if YEARS[0] <= number <= YEARS[1]:
        raise Unreadable(
            f"This is a day in 1905: it looks like the year {number}, typed into a date cell.",
            "Write the whole date; for a year alone, format the cell as a number first.",
        )


def year_alone(cell: Cell) -> int | None:
    if isinstance(cell, bool) or not isinstance(cell, (int, float, str)):
        return None
    text = str(plain(cell)) if isinstance(cell, float) else str(cell).strip()
    year = int(text) if YEAR.fullmatch(text) else 0
    return year if YEARS[0] <= year <= YEARS[1] else None


def day_in(cell: Cell, reading: Reading) -> dt.date:
    if isinstance(cell, dt.datetime):
        return cell.date()
    if isinstance(cell, dt.date):
        return cell
    if year_alone(cell):
        raise Unreadable("This is a year alone.", "Write the whole date as YYYY-MM-DD.")
    if isinstance(cell, str):
        return day_in_text(cell.strip(), reading)
    return day_of_number(cell, reading)


def day_of_number(cell: Cell, reading: Reading) -> dt.date:
    if isinstance(cell, bool) or not isinstance(cell, (int, float)):
        raise Unreadable("This is not a date.", "Write the date as YYYY-MM-DD.")
    if not DAY_NUMBERS[0] <= cell <= DAY_NUMBERS[1]:
        raise Unreadable("This number is not a date.", "Write the date as YYYY-MM-DD.")
    return reading.epoch + dt.timedelta(days=int(cell))


def day_in_text(text: str, reading: Reading) -> dt.date:
    if found := YEAR_FIRST.fullmatch(text):
        return made(int(found[1]), int(found[3]), int(found[4]))
    if found := YEAR_LAST.fullmatch(text):
        return in_some_order(int(found[1]), int(found[3]), int(found[4]), reading)
    if found := NAMED.fullmatch(text):
        return made(int(found[3]), month_called(found[2]), int(found[1]))
    if found := NAMED_FIRST.fullmatch(text):
        return made(int(found[3]), month_called(found[1]), int(found[2]))
    if SHORT_YEAR.fullmatch(text):
        raise Unreadable(
            "The year has two figures, so the century is not said.", "Write the date as YYYY-MM-DD."
        )
    raise Unreadable("This is not a date.", "Write the date as YYYY-MM-DD, for example 2016-05-31.")


def month_called(word: str) -> int:
    try:
        return MONTHS[word.casefold()]
    except KeyError:
        raise Unreadable(
            f"“{word}” is not the English name of a month.", "Write the date as YYYY-MM-DD."
        ) from None


def in_some_order(first: int, second: int, year: int, reading: Reading) -> dt.date:
    """Read 03/04/2016: by its own figures, else by what the column proves, else ask."""
    if first > 12 or first == second:
        return made(year, second, first)
    if second > 12:
        return made(year, first, second)
    if reading.day_first is not None:
        return made(year, second, first) if reading.day_first else made(year, first, second)
    raise Unreadable(
        "This date can be read two ways.",
        f"Write {made(year, second, first)} if the day comes first, {made(year, first, second)} "
        "if the month does.",
    )


def made(year: int, month: int, day: int) -> dt.date:
    try:
        return dt.date(year, month, day)
    except ValueError:
        if (month, day) == (2, 29):
            wrong = f"{year} has no 29 February: it is not a leap year."
        else:
            wrong = f"There is no day {day} of month {month} in {year}."
        raise Unreadable(wrong, "Write the date as YYYY-MM-DD.") from None


def proven_order(cells: Iterable[Cell]) -> bool | None:
    """Return True if the column's text dates put the day first, False if the month, else None."""
    proofs = set()
    for cell in cells:
        found = YEAR_LAST.fullmatch(cell.strip()) if isinstance(cell, str) else None
        if not found:
            continue
        first, second = int(found[1]), int(found[3])
        if first > 12 >= second:
            proofs.add(True)
        elif second > 12 >= first:
            proofs.add(False)
    return proofs.pop() if len(proofs) == 1 else None
