"""What nothing in the file proves, as questions. A match is used when none is open."""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ..sheets import Layout, RawSheet
from ..sheets.faults import shown
from . import days, sizes
from .contents import Rows, sizes_under
from .headers import WHOLE_RIG
from .match import LEFT_OUT, UNDECIDED, ColumnMatch, Match
from .proposing import Layouts, dated, numbered

REPEATED = ("boat",)  # What is written once over the rows it is about.


@dataclass(frozen=True)
class Question:
    """One thing to be said. ``table`` counts the match's tables; ``part`` names what is open."""

    table: int
    part: str
    sentence: str


def questions(
    match: Match, raws: Sequence[RawSheet], layouts: Layouts, today: dt.date
) -> list[Question]:
    """Return everything still open, in the order in which it stands in the match."""
    found = []
    for number, table in enumerate(match.tables):
        if table.target == LEFT_OUT:
            continue
        asked = [("target", f"Which of our sheets is “{table.title}”?")]
        if table.target in layouts:
            rows, layout = Rows(raws[table.sheet], table), layouts[table.target]
            asked = [*about_columns(rows, layout), *about_rows(rows, layout, today)]
        found += [Question(number, part, sentence) for part, sentence in asked]
    if match.tables and all(table.target == LEFT_OUT for table in match.tables):
        found.append(Question(0, "target", "No sheet is read. Say for at least one what it is."))
    return found


def about_columns(rows: Rows, layout: Layout) -> Iterator[tuple[str, str]]:
    taken: dict[tuple[str, ...], ColumnMatch] = {}
    for place, column in enumerate(rows.table.columns):
        if column.to == UNDECIDED:
            yield f"to-{place}", f"What is in “{column.label or f'column {place + 1}'}”?"
        elif column.to != LEFT_OUT:
            if not column.sure:
                yield f"to-{place}", f"Is “{column.label}” our “{column.to}”{of_what(column)}?"
            yield from about_stay(place, column)
            yield from about_unit(place, column, rows)
            if (column.to, *column.about) in taken:
                other = taken[column.to, *column.about].label
                sentence = f"“{column.label}” and “{other}” become the same: leave one out."
                yield f"to-{place}", sentence
            taken[column.to, *column.about] = column
    wide = any(column.stay for _, column in rows.table.used())
    there = {column.to for _, column in rows.table.used()} | ({"stay"} if wide else set())
    for column in layout:
        if column.needed and column.header not in there | set(rows.table.fixed):
            sentence = f"No column says “{column.header}”. Which is it, or what is it on every row?"
            yield f"fixed-{column.header}", sentence


def of_what(column: ColumnMatch) -> str:
    if not column.part:
        return ""
    whole = column.stay == WHOLE_RIG
    return f" of every {column.part} of the boat" if whole else f" of the {column.part} there"


def about_stay(place: int, column: ColumnMatch) -> Iterator[tuple[str, str]]:
    if column.stay == "?":
        yield f"stay-{place}", f"Which stay is “{column.label}”: several could be called so?"
    elif column.stay.endswith("?"):
        yield f"stay-{place}", f"Is “{column.label}” port, starboard or both?"


def about_unit(place: int, column: ColumnMatch, rows: Rows) -> Iterator[tuple[str, str]]:
    if column.unit:
        return
    numbers = [cell for cell in sizes_under(rows, place, column) if sizes.bare(cell)]
    if numbers:
        sentence = f"{shown(numbers[0])} in “{column.label}”: millimetres, or of which unit?"
        yield f"unit-{place}", sentence


def about_rows(rows: Rows, layout: Layout, today: dt.date) -> Iterator[tuple[str, str]]:
    table = rows.table
    if not table.order and days.proven_order(cells := dated(rows, layout), today) is None:
        example = next((shown(cell) for cell in cells if doubtful(cell, today)), "03/04/2021")
        yield "order", f"What comes first in dates such as {example}?"
    if not table.decimal and sizes.proven_sign(cells := numbered(rows, layout)) is None:
        example = next((cell for cell in cells if isinstance(cell, str)
                        and sizes.THREE.fullmatch(cell.strip())), "1,250")  # fmt: skip
        yield "decimal", f"Is {example} a number with decimals, or with thousands?"
    for header, words in table.words.items():
        for number, (word, code) in enumerate(words.items()):
            if not code:
                yield f"word-{header}-{number}", f"What does “{word}” mean under “{header}”?"
    if not table.fill and has_gaps(rows):
        yield "fill", "Some rows have no boat. Do they belong to the boat above?"


def doubtful(cell: object, today: dt.date) -> bool:
    return isinstance(cell, str) and len(set(days.ways(days.stripped(cell), today).values())) > 1


def has_gaps(rows: Rows) -> bool:
    """Return whether a boat is left blank on a row below one that has it."""
    for place, column in rows.table.used():
        if column.to in REPEATED:
            above = False
            for row in rows:
                if rows.cell(row, place) is None and above and others(rows, row, place):
                    return True
                above = above or rows.cell(row, place) is not None
    return False


def others(rows: Rows, row: int, boat: int) -> bool:
    return any(rows.cell(row, place) is not None
               for place, _ in rows.table.used() if place != boat)  # fmt: skip
