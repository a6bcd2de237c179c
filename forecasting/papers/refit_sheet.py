"""The refit list as rows: a workbook whose sums are formulas, and CSV."""

import math
from decimal import Decimal
from itertools import groupby

from fleet.models import Fleet

from .. import reads
from ..models import RefitJob
from . import part_words
from .csv_rows import csv_of
from .refit_list import SET_UP
from .workbook import Book, made, matching, rows_of, units, written

NAME = "Refit list"
# Header, width, and how the cells are shown.
COLUMNS = (
    ("base", 16, "plain"), ("boat", 20, "plain"), ("off season", 10, "plain"),
    ("part", 28, "plain"), ("construction", 14, "plain"), ("diameter mm", 10, "plain"),
    ("pin to pin mm", 10, "plain"), ("lower terminal", 13, "plain"),
    ("upper terminal", 13, "plain"), ("pin mm", 8, "plain"), ("thread", 10, "plain"),
    ("thread hand", 12, "plain"), ("mast end fitting", 16, "plain"),
    ("adjuster setting", 18, "plain"), ("reason", 60, "plain"),
    ("cannot wait", 9, "plain"), ("hours", 8, "hours"), ("cost", 13, "money"),
    ("putting off costs", 13, "money"), ("chance condemned by the season's end", 14, "chance"),
)  # fmt: skip
HEADERS = tuple(header for header, _, _ in COLUMNS)
HOURS, COST, PUT_OFF = (HEADERS.index(name) for name in ("hours", "cost", "putting off costs"))
SUMMED = (HOURS, COST, PUT_OFF)
NOTES = (
    "Sums are formulas. Chances do not add and have no sum.",
    "Sizes are the record's; where a cell is empty, measure before ordering.",
)


def rows(fleet: Fleet) -> list[tuple]:
    """Return one row a job, in the order of the page."""
    return [row(job, fleet) for job in reads.refit_jobs(fleet)]


def row(job: RefitJob, fleet: Fleet) -> tuple:
    money = (units(job.cost_minor, fleet), units(job.put_off_minor, fleet))
    must = "yes" if job.must else "no"
    size = sizes(job.installation)
    what = part_words.name(job.installation) if job.installation else SET_UP
    place = (job.boat.base.name, job.boat.name, job.season, what)
    chance = round(job.chance, 4) if job.installation else None
    return (*place, *size, job.reason, must, round(job.hours, 2), *money, chance)


def sizes(part) -> tuple:
    if part is None:
        return ("", None, None, "", "", None, "", "", "", "")
    return (
        part.get_construction_display(),
        part.diameter_mm,
        part.length_mm,
        part.get_lower_terminal_display(),
        part.get_upper_terminal_display(),
        part.pin_mm,
        part.thread,
        part.get_hand_display(),
        part.mast_end,
        part.adjuster,
    )


def refit_workbook(fleet: Fleet) -> bytes:
    """Return the list as XLSX: jobs with their sums, and the sums of each base."""
    jobs = rows(fleet)
    with made(fleet, f"Refit list of {fleet.name}", NOTES) as book:
        job_sheet(book, jobs)
        base_sheet(book, jobs)
    return book.content


def job_sheet(book: Book, jobs: list[tuple]) -> None:
    page = written(book, NAME, COLUMNS, jobs, "Nothing on the refit list.")
    if not jobs:
        return
    total = len(jobs) + 2  # A row apart, so that sorting leaves it alone.
    book.write(page, total, 0, "Together", "words")
    for column in SUMMED:
        style = "sum" if column == HOURS else "total"
        book.add(page, total, column, rows_of(column, 1, len(jobs)), sum_of(jobs, column), style)


def sum_of(jobs: list[tuple], column: int) -> float | Decimal:
    values = [job[column] for job in jobs]
    return math.fsum(values) if column == HOURS else sum(values)


def base_sheet(book: Book, jobs: list[tuple]) -> None:
    """Write the sums of each base; they hold however the jobs are sorted."""
    page = book.sheet("By base", ("base", "hours", "cost", "putting off costs"), (24, 10, 14, 16))
    bases = [(base, list(own)) for base, own in groupby(jobs, key=lambda job: job[0])]
    names = rows_of(0, 1, len(jobs), NAME)
    for number, (base, own) in enumerate(bases, start=1):
        book.write(page, number, 0, base)
        for place, column in enumerate(SUMMED, start=1):
            style = "hours" if column == HOURS else "money"
            found = matching(names, f"A{number + 1}", rows_of(column, 1, len(jobs), NAME))
            book.add(page, number, place, found, sum_of(own, column), style)
    if bases:
        book.write(page, len(bases) + 1, 0, "Together", "words")
        for place, column in enumerate(SUMMED, start=1):
            style = "sum" if column == HOURS else "total"
            block = rows_of(place, 1, len(bases))
            book.add(page, len(bases) + 1, place, block, sum_of(jobs, column), style)


def refit_rows_csv(fleet: Fleet) -> bytes:
    """Return the list as CSV (RFC 4180, UTF-8), each row naming fleet, day and currency."""
    return csv_of(fleet, HEADERS, rows(fleet))
