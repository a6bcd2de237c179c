"""Dates as people write them in words: "March 2019", "c. 2015", "new 03/04/21", "spring 2016"."""

import datetime as dt
import re
from collections.abc import Iterable

from ..sheets import Reading, Unreadable
from ..sheets.dates import DAY_NUMBERS, MONTHS, day_in_text
from ..sheets.kinds import Cell

ORDERS = {"day": "the day", "month": "the month", "year": "the year"}
FIGURES = re.compile(r"([0-9]{1,2})\s?[-/.]\s?([0-9]{1,2})\s?[-/.]\s?([0-9]{4}|[0-9]{2})\.?")
YEAR_FIRST = re.compile(r"[0-9]{4}[-/.][0-9]{1,2}[-/.][0-9]{1,2}")
MONTH_YEAR = re.compile(r"([a-z]+)[.,]?[ -]+'?([0-9]{4}|[0-9]{2})")
NUMBER_YEAR = re.compile(r"([0-9]{1,2})[/.-]([0-9]{4})")
YEAR_NUMBER = re.compile(r"([0-9]{4})[/.-]([0-9]{1,2})")
SEASON_YEAR = re.compile(r"(?:spring|summer|autumn|fall|winter|season)\s+(?:of\s+)?([0-9]{4})")
ABOUT = re.compile(r"^(?:c\.?|ca\.?|circa|about|approx\.?|approximately|abt\.?|~|around)\s*")
CERTAIN = re.compile(r"^(?:new|renewed|fitted|installed|rigged|re-?rigged|in|since|on)[: ]+")
YEAR = re.compile(r"'?([0-9]{4})")
OLDEST = 1950  # Nobody keeps a wire of before: two figures of a year are not a century's riddle.

Known = tuple[dt.date | int, str]  # The date, and its certainty ("": as the import takes it).


def full_year(text: str, today: dt.date) -> int | None:
    """Return the year; of two figures the only one between OLDEST and today."""
    if len(text) == 4:
        return int(text)
    years = [year for year in (1900 + int(text), 2000 + int(text)) if OLDEST <= year <= today.year]
    return years[0] if len(years) == 1 else None


def in_order(text: str, order: str, today: dt.date) -> dt.date | None:
    """Return 3/4/21 read in that order, or None if there is no such day."""
    made = FIGURES.fullmatch(text)
    if not made or (order == "year" and len(made[3]) == 4):
        return None
    first, second, last = made.groups()
    places = {"day": (last, second, first), "month": (last, first, second)}
    year, month, day = places.get(order, (first, second, last))
    try:
        return dt.date(full_year(year.zfill(2), today) or 0, int(month), int(day))
    except ValueError:
        return None


def ways(text: str, today: dt.date) -> dict[str, dt.date]:
    """Return the days that figures may mean, by which comes first."""
    read = {order: in_order(text, order, today) for order in ORDERS}
    return {order: day for order, day in read.items() if day and day <= today}


def proven_order(cells: Iterable[Cell], today: dt.date) -> str | None:
    """Return which comes first; "" if no cell depends on it, None if nothing proves it."""
    possible, doubtful = set(ORDERS), False
    for text in {cell for cell in cells if isinstance(cell, str)}:
        read = ways(stripped(text), today)
        if read:
            possible &= set(read)
            doubtful = doubtful or len(set(read.values())) > 1
    if not doubtful:
        return ""
    return possible.pop() if len(possible) == 1 else None


def stripped(text: str) -> str:
    return CERTAIN.sub("", " ".join(text.casefold().split())).strip()


def known(cell: Cell, order: str, today: dt.date, epoch: dt.date) -> Known | None:
    """Return the date of a cell and how surely it is known; None if it cannot be read.

    A month and year become the 15th, known to the year; "about 2015" is estimated.
    """
    if isinstance(cell, dt.datetime):
        return cell.date(), ""
    if isinstance(cell, dt.date):
        return cell, ""
    if isinstance(cell, bool) or not isinstance(cell, (int, float, str)):
        return None
    if not isinstance(cell, str):
        if DAY_NUMBERS[0] <= cell <= DAY_NUMBERS[1]:
            return epoch + dt.timedelta(days=int(cell)), ""
        return (int(cell), "") if cell == int(cell) and 1850 <= cell <= 2150 else None
    text = stripped(cell)
    rough = ABOUT.sub("", text).rstrip("? ").strip()
    read = in_words(rough, order, today)
    return read if rough == text or read is None else (read[0], "estimated")


def in_words(text: str, order: str, today: dt.date) -> Known | None:
    if made := YEAR.fullmatch(text):
        return int(made[1]), ""
    if made := SEASON_YEAR.fullmatch(text):
        return int(made[1]), ""
    if FIGURES.fullmatch(text):
        read = ways(text, today)
        if order in read:
            return read[order], ""
        days = set(read.values())
        return (days.pop(), "") if len(days) == 1 and not order else None
    if made := MONTH_YEAR.fullmatch(text):
        return month_of(MONTHS.get(made[1]), full_year(made[2], today))
    if made := NUMBER_YEAR.fullmatch(text):
        return month_of(int(made[1]), int(made[2]))
    if made := YEAR_NUMBER.fullmatch(text):
        return month_of(int(made[2]), int(made[1]))
    try:
        return day_in_text(text, Reading(today)), ""
    except Unreadable:
        return None


def month_of(month: int | None, year: int | None) -> Known | None:
    if not month or not year or not 1 <= month <= 12 or not 1850 <= year <= 2150:
        return None
    return dt.date(year, month, 15), "year"
