"""The cells under one of their headers: merged ones filled in, words for nothing taken away."""

import datetime as dt
from collections.abc import Iterator, Mapping
from functools import cached_property

from ..sheets import Choice, Layout, RawSheet, Reading, Unreadable, YesNo
from ..sheets.kinds import Cell, is_blank, written_out
from .headers import cell_at
from .match import ColumnMatch, TableMatch
from .sizes import SIZED
from .wires import IN_ONE_CELL, in_one_cell

MOST_WORDS = 60  # More different words than that are no list of ours.


class Rows:
    """The rows of one of their sheets below the headers.

    A merged cell holds for all the cells it covers: that is what merging says.
    """

    def __init__(self, raw: RawSheet, table: TableMatch) -> None:
        self.raw, self.table = raw, table
        self.empty = set(table.empty)
        self.filled = {
            (row, place): (top, left)
            for (top, left), (bottom, right) in raw.merged
            if top >= table.first
            for row in range(top, min(bottom, len(raw.rows) - 1) + 1)
            for place in range(left, right + 1)
        }

    def __iter__(self) -> Iterator[int]:
        """Yield the index of every row with something in it."""
        return iter(self.indexes)

    @cached_property
    def indexes(self) -> list[int]:
        return [
            index
            for index in range(self.table.first, len(self.raw.rows))
            if any(not is_blank(cell) for cell in self.raw.rows[index])
        ]

    def raw_cell(self, row: int, place: int) -> Cell:
        return cell_at(self.raw, *self.filled.get((row, place), (row, place)))

    def error(self, row: int, place: int) -> str:
        return self.raw.errors.get(self.filled.get((row, place), (row, place)), "")

    def cell(self, row: int, place: int) -> Cell:
        """Return a cell; None if it is blank or says that there is nothing."""
        cell = self.raw_cell(row, place)
        if is_blank(cell) or (isinstance(cell, str) and cell.strip().casefold() in self.empty):
            return None
        return cell

    def column(self, place: int) -> list[Cell]:
        """Return the filled cells of a column."""
        cells = (self.cell(row, place) for row in self)
        return [cell for cell in cells if cell is not None]


def word_of(cell: Cell) -> str:
    """Return the form in which a word is kept and looked up."""
    return " ".join(written_out(cell).casefold().split())


def words_under(rows: Rows, place: int, column: ColumnMatch) -> list[Cell]:
    """Return the cells of a column that are words, of a wire in one cell the word alone."""
    cells = rows.column(place)
    if column.to not in IN_ONE_CELL:
        return cells
    read = [(cell, in_one_cell(cell, said_in(rows))) for cell in cells]
    alone = column.to == "construction"
    return [wire.word if wire else cell for cell, wire in read if wire or alone]


def sizes_under(rows: Rows, place: int, column: ColumnMatch) -> list[Cell]:
    """Return the cells of a column that are sizes, of a wire in one cell the size alone."""
    if column.to not in (*SIZED, *IN_ONE_CELL):
        return []
    cells = rows.column(place)
    if column.to not in IN_ONE_CELL:
        return cells
    read = [(cell, in_one_cell(cell, said_in(rows))) for cell in cells]
    alone = column.to in SIZED
    return [wire.size if wire else cell for cell, wire in read if wire or alone]


def said_in(rows: Rows) -> Mapping[str, str]:
    return rows.table.words.get("construction", {})


def foreign_words(rows: Rows, layout: Layout, today: dt.date) -> dict[str, list[str]]:
    """Return, by header of ours, the words in their cells that our column would not read."""
    found: dict[str, dict[str, None]] = {}
    for place, column in rows.table.used():
        header = "construction" if column.to in IN_ONE_CELL else column.to
        if header not in layout.headers:
            continue
        kind = layout[header].kind
        if isinstance(kind, (Choice, YesNo)):
            words = found.setdefault(header, {})
            told = words_under(rows, place, column)
            for word, cell in {word_of(cell): cell for cell in told}.items():
                if len(words) < MOST_WORDS and not reads(kind, cell, today):
                    words[word] = None
    return {header: list(words) for header, words in found.items() if words}


def reads(kind: Choice | YesNo, cell: Cell, today: dt.date) -> bool:
    try:
        kind.read(cell, Reading(today))
    except Unreadable:
        return False
    return True
