"""The board of the yard as rows, one a boat: its weeks, jobs, parts; for workbook and CSV."""

import math
from collections.abc import Sequence
from decimal import Decimal

from fleet.models import Fleet
from fleet.templatetags.wording import day

from .. import yard_board, yard_told
from ..models import YardPlan
from ..yard_board import Alongside, Board
from . import part_words
from .csv_rows import csv_of
from .workbook import Book, made, matching, rows_of, units, written

NAME = "Boats"
# Header, width, and how the cells are shown.
COLUMNS = (
    ("base", 16, "plain"), ("monday", 11, "day"), ("friday", 11, "day"), ("weeks", 7, "plain"),
    ("boat", 20, "plain"), ("mast", 7, "plain"), ("cannot wait", 9, "plain"),
    ("hours", 8, "hours"), ("jobs", 60, "plain"), ("parts to fit", 60, "plain"),
    ("parts ready", 11, "day"), ("kept by hand by", 18, "plain"), ("why", 50, "plain"),
    ("cost of the jobs", 13, "money"), ("a week later costs", 13, "money"),
)  # fmt: skip
HEADERS = tuple(header for header, _, _ in COLUMNS)
HOURS, COST = HEADERS.index("hours"), HEADERS.index("cost of the jobs")
WEEKS = "Weeks"
WEEK_COLUMNS = (
    ("base", 16, "plain"), ("monday", 11, "day"), ("boats begin", 8, "plain"),
    ("hours used", 9, "hours"), ("hours there are", 9, "hours"), ("masts down", 8, "plain"),
    ("masts there may be", 9, "plain"), ("berths used", 8, "plain"),
    ("berths there are", 9, "plain"), ("over", 24, "plain"), ("taken", 40, "plain"),
    ("booked", 40, "plain"),
)  # fmt: skip
WEEK_HEADERS = tuple(header for header, _, _ in WEEK_COLUMNS)
NOTES = (
    "Sums are formulas. A week begins on its Monday; hours of a boat of several weeks are spread "
    "evenly over them.",
    "An empty cell of what there is: not limited. Sizes are the record's; where one is missing, "
    "measure before ordering.",
    "A week later costs: empty where the boat may not be later.",
)


def alongside(boards: Sequence[Board]) -> list[Alongside]:
    """Return every boat of these bases, by week, those without one last at their base."""
    found = []
    for board in boards:
        found += [a for week in board.weeks for a in week.boats] + board.without
    return found


def rows(boards: Sequence[Board], fleet: Fleet) -> list[tuple]:
    """Return a row a boat, in the order of the page."""
    return [row(a, fleet) for a in alongside(boards)]


def row(a: Alongside, fleet: Fleet) -> tuple:
    visit = a.visit
    later = visit.week_later_minor
    place = (visit.base.name, a.monday, a.last_day, visit.weeks if a.monday else None)
    return (
        *place, visit.boat.name, "down" if visit.mast_down else "up",
        "yes" if visit.must else "no", round(visit.hours, 2), jobs_words(a), parts_words(a),
        visit.parts_ready, kept_words(a), visit.why, units(a.cost_minor, fleet),
        None if later is None else units(later, fleet),
    )  # fmt: skip


def kept_words(a: Alongside) -> str:
    """Return who keeps it in its week by hand; blank where nobody does."""
    visit = a.visit
    if visit.kept_at is None:
        return ""
    return (visit.kept_by.get_full_name() or visit.kept_by.username) if visit.kept_by else "unknown"


def jobs_words(a: Alongside) -> str:
    """Return its jobs with their hours: ``Backstay: 2.5 h; mast down and up again: 9 h``."""
    return "; ".join(f"{job_name(job)}: {yard_board.number(job.hours)} h" for job in a.jobs)


def job_name(job) -> str:
    return part_words.name(job.installation) if job.installation else "mast down and up again"


def parts_words(a: Alongside) -> str:
    """Return what is fitted, with diameter and length, as a cut sheet says it."""
    return "; ".join(part_line(job.installation) for job in a.jobs if job.installation)


def part_line(part) -> str:
    """Return one part: ``Cap shroud, port: 1x19, 8 mm, pin to pin 14,000 mm``."""
    size = part_words.size(part)
    if "length" in size:
        across, along = _mm("", size["diameter"], "diameter"), size["length"]
        said = [size["construction"], across, _mm("pin to pin ", along, "pin to pin")]
    else:
        said = [_mm("pin ", size["pin"], "pin")]
    return f"{part_words.name(part)}: {', '.join(said)}"


def _mm(before: str, value: str, name: str) -> str:
    return f"{name}: {value}" if value == part_words.MEASURE else f"{before}{value} mm"


def week_rows(boards: Sequence[Board]) -> list[tuple]:
    """Return a row a week of every base: what is used of what there is."""
    return [week_row(board, week) for board in boards for week in board.weeks]


def week_row(board: Board, week) -> tuple:
    at = week.at
    over = "; ".join(each.words for each in week.over)
    taken = "; ".join(block_words(block) for block in at.blocks)
    counts = (at.masts, at.has_masts, at.berths, at.has_berths)
    return (board.base.name, at.monday, len(week.boats), round(at.hours, 2),
            None if at.has_hours is None else round(at.has_hours, 2), *counts, over, taken,
            ", ".join(week.away))  # fmt: skip


def block_words(block) -> str:
    whose = f", {block.boat.name}" if block.boat else ""
    note = f": {block.note}" if block.note else ""
    return f"{block.get_what_display()}{whose}, {day(block.first)} to {day(block.last)}{note}"


def about_plan(plan: YardPlan) -> str:
    """Return which board this is, so that a file says it by itself."""
    made_on = f"weeks worked out as of {day(plan.as_of)}" if plan.as_of else "no weeks worked out"
    return f"Board of the yard, {plan.season}, made from {yard_told.made_from(plan)}, {made_on}."


def yard_workbook(plan: YardPlan) -> bytes:
    """Return the board as XLSX: boats with their sums, weeks, and the sums of each base."""
    boards = yard_board.boards(plan)
    boats = rows(boards, plan.fleet)
    title = f"Board of the yard {plan.season}, {plan.fleet.name}"
    with made(plan.fleet, title, (about_plan(plan), *NOTES)) as book:
        boat_sheet(book, boats)
        written(book, WEEKS, WEEK_COLUMNS, week_rows(boards), "No week.")
        base_sheet(book, boats)
    return book.content


def boat_sheet(book: Book, boats: list[tuple]) -> None:
    page = written(book, NAME, COLUMNS, boats, "No boat is on this board.")
    if not boats:
        return
    last = len(boats) + 2  # A row apart, so that sorting leaves it alone.
    book.write(page, last, 0, "Together", "words")
    book.add(page, last, HOURS, rows_of(HOURS, 1, len(boats)), summed(boats, HOURS), "sum")
    book.add(page, last, COST, rows_of(COST, 1, len(boats)), summed(boats, COST), "total")


def summed(boats: Sequence[tuple], column: int) -> float | Decimal:
    values = [boat[column] for boat in boats]
    return math.fsum(values) if column == HOURS else sum(values)


def base_sheet(book: Book, boats: list[tuple]) -> None:
    """Write the sums of each base; they hold however the boats are sorted."""
    page = book.sheet("By base", ("base", "hours", "cost of the jobs"), (24, 10, 14))
    names = rows_of(0, 1, len(boats), NAME)
    bases = list(dict.fromkeys(boat[0] for boat in boats))
    for number, base in enumerate(bases, start=1):
        own = [boat for boat in boats if boat[0] == base]
        book.write(page, number, 0, base)
        for place, (column, style) in enumerate(((HOURS, "hours"), (COST, "money")), start=1):
            found = matching(names, f"A{number + 1}", rows_of(column, 1, len(boats), NAME))
            book.add(page, number, place, found, summed(own, column), style)


def yard_csv(plan: YardPlan) -> bytes:
    """Return the boats as CSV (RFC 4180, UTF-8), each row naming fleet, day, currency, board."""
    said = about_plan(plan)
    found = rows(yard_board.boards(plan), plan.fleet)
    return csv_of(plan.fleet, ("board", *HEADERS), [(said, *each) for each in found])
