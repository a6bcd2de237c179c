"""A raw sheet into typed rows and faults, column by column."""

import datetime as dt
from dataclasses import dataclass

from .dates import Day, proven_order
from .faults import MOST_FAULTS, Fault, Reading, Unreadable, and_more, nearest, shown
from .kinds import Cell, folded, is_blank
from .layout import Column, Layout, RawSheet, Row, Table

HEADER_WITHIN = 10  # Title lines above the header are common; further down it is not looked for.


def read_sheet(layout: Layout, raw: RawSheet, today: dt.date) -> Table:
    """Return the typed rows of a sheet with every fault in it; one sheet at most as long."""
    if not any(not is_blank(cell) for row in raw.rows for cell in row):
        return _broken(layout, 0, "", "", "The sheet is empty.", "Fill it, or leave it out.")
    top = header_row(layout, raw.rows)
    places, faults = match_headers(layout, raw.rows[top], raw.number(top))
    if faults:
        return Table(layout.name, faults=tuple(faults), broken=True)
    return _Reader(layout, raw, top, places, today).table()


def _broken(layout: Layout, row: int, column: str, value: str, wrong: str, right: str) -> Table:
    fault = Fault(layout.name, row, column, value, wrong, right)
    return Table(layout.name, faults=(fault,), broken=True)


def header_row(layout: Layout, rows: list[list[Cell]]) -> int:
    """Return the index of the row, among the first ones, that holds the most known headers."""
    known = {folded(header) for header in layout.headers}

    def hits(index: int) -> int:
        return sum(folded(shown(cell)) in known for cell in rows[index])

    filled = [n for n, row in enumerate(rows) if any(not is_blank(cell) for cell in row)]
    candidates = [n for n in filled if n < HEADER_WITHIN] or filled[:1]
    return max(candidates, key=lambda index: (hits(index), -index))


def match_headers(
    layout: Layout, cells: list[Cell], number: int
) -> tuple[dict[str, int], list[Fault]]:
    """Return where each known column stands, and what is wrong with the header row."""
    known = {folded(header): header for header in layout.headers}
    places: dict[str, int] = {}
    faults = []
    unknown = []
    for place, cell in enumerate(cells):
        header = known.get(folded(shown(cell)))
        if is_blank(cell):
            continue
        if header is None:
            unknown.append(shown(cell))
        elif header in places:
            wrong = "This column is there twice."
            faults.append(
                Fault(layout.name, number, header, header, wrong, "Keep one and delete the other.")
            )
        else:
            places[header] = place
    free = [header for header in layout.headers if header not in places]
    faults += [_unknown_header(layout, number, word, free) for word in unknown]
    faults += [
        Fault(layout.name, number, column.header, "", "This column is missing.",
              f"Add it, with the header “{column.header}”.")
        for column in layout
        if column.needed and column.header not in places
    ]  # fmt: skip
    return places, faults


def _unknown_header(layout: Layout, number: int, word: str, free: list[str]) -> Fault:
    hint = nearest(word, free)
    right = f"{hint} Rename the column, or delete it.".strip()
    if not hint and free:
        right = f"Delete it, or give it one of the headers: {', '.join(free)}."
    return Fault(layout.name, number, word, word, "This sheet has no column of that name.", right)


@dataclass
class _Reader:
    layout: Layout
    raw: RawSheet
    top: int
    places: dict[str, int]
    today: dt.date

    def table(self) -> Table:
        self.faults: list[Fault] = []
        self.columns = [c for c in self.layout if c.header in self.places]
        self.readings = {c.header: self._reading(c) for c in self.columns}
        self.merged = self._merged_rows()
        good, bad = [], []
        for index in range(self.top + 1, len(self.raw.rows)):
            cells = self.raw.rows[index]
            if any(not is_blank(cell) for cell in cells) or index in self.merged:
                row, fine = self._row(index, cells)
                (good if fine and index not in self.merged else bad).append(row)
            if len(self.faults) > MOST_FAULTS:
                faults = (and_more(self.layout.name), *self.faults[:MOST_FAULTS])
                return Table(self.layout.name, faults=faults, broken=True)
        return Table(self.layout.name, tuple(good), tuple(bad), tuple(self.faults))

    def _reading(self, column: Column) -> Reading:
        order = None
        if isinstance(column.kind, Day):
            place = self.places[column.header]
            rows = self.raw.rows[self.top + 1 :]
            order = proven_order(row[place] for row in rows if place < len(row))
        return Reading(self.today, order, self.raw.epoch)

    def _row(self, index: int, cells: list[Cell]) -> tuple[Row, bool]:
        values, fine = {}, True
        for column in self.columns:
            place = self.places[column.header]
            cell = cells[place] if place < len(cells) else None
            try:
                values[column.header] = self._value(column, index, cell)
            except Unreadable as trouble:
                fine = False
                self._fault(self.raw.number(index), column, cell, trouble)
        return Row(self.raw.number(index), values), fine and not self._stray(index, cells)

    def _value(self, column: Column, index: int, cell: Cell):
        error = self.raw.errors.get((index, self.places[column.header]))
        if error:
            raise Unreadable(
                f"The formula in this cell gives the error {error}.",
                "Put the value itself there, or empty the cell.",
            )
        if not is_blank(cell):
            return column.kind.read(cell, self.readings[column.header])
        if column.needed and index not in self.merged:
            raise Unreadable(
                "This cell is empty.",
                "Fill it on every row, also where the row above says the same.",
            )
        return column.kind.blank

    def _fault(self, number: int, column: Column, cell: Cell, trouble: Unreadable) -> None:
        self.faults.append(
            Fault(
                self.layout.name, number, column.header, shown(cell), trouble.wrong, trouble.right
            )
        )

    def _stray(self, index: int, cells: list[Cell]) -> bool:
        """Note cells under no header: they would be lost without a word."""
        under = set(self.places.values())
        stray = [n for n, cell in enumerate(cells) if n not in under and not is_blank(cell)]
        for place in stray:
            right = "Give the column a header of this sheet, or empty the cell."
            self.faults.append(
                Fault(self.layout.name, self.raw.number(index), letters_of(place),
                      shown(cells[place]), "This cell stands under no header.", right)
            )  # fmt: skip
        return bool(stray)

    def _merged_rows(self) -> set[int]:
        """Note each merged range below the header; return the rows it covers."""
        covered: set[int] = set()
        for (top, left), (bottom, right) in self.raw.merged:
            if bottom < self.top:
                continue
            covered.update(range(max(top, self.top + 1), min(bottom + 1, len(self.raw.rows))))
            area = f"{letters_of(left)}{top + 1}:{letters_of(right)}{bottom + 1}"
            wrong = "These cells are merged, so only the first of them holds the value."
            self.faults.append(
                Fault(self.layout.name, top + 1, letters_of(left), area, wrong,
                      "Unmerge them and repeat the value on every row.")
            )  # fmt: skip
        return covered


def letters_of(place: int) -> str:
    """Return the letters of a column counted from 0: A, B ... Z, AA."""
    letters = ""
    place += 1
    while place:
        place, rest = divmod(place - 1, 26)
        letters = chr(65 + rest) + letters
    return letters
