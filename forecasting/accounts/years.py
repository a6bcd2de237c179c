"""A fleet's fiscal years as days."""

import datetime as dt

from fleet.models import Fleet


def year_of(fleet: Fleet, day: dt.date) -> int:
    """Return the year in which the fiscal year of that day begins."""
    return day.year - (day.month < fleet.fiscal_year_start)


def bounds(fleet: Fleet, year: int) -> tuple[dt.date, dt.date]:
    """Return the first day of a fiscal year and the first after it."""
    month = fleet.fiscal_year_start
    return dt.date(year, month, 1), dt.date(year + 1, month, 1)


def chosen(fleet: Fleet, asked: str | None) -> int:
    """Return the fiscal year asked for in an address; the one under way for none or nonsense."""
    now = year_of(fleet, fleet.today())
    year = int(asked) if asked and asked.isascii() and asked.isdigit() else now
    return year if now - 60 <= year <= now else now
