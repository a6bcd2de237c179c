"""What a sheet seems to say: a match proposed, with everything left open that nothing proves."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import replace

from ..sheets import Day, Layout, Number, RawSheet, YesNo
from ..sheets.kinds import Cell
from . import days, sizes, wires
from .contents import Rows, foreign_words, sizes_under, word_of
from .headers import Headers, filled_rows, find_headers, read_headers
from .match import LEFT_OUT, UNDECIDED, ColumnMatch, Match, TableMatch
from .stay_words import stay_called
from .vocabulary import code_for, said_nothing, yes_or_no

Layouts = Mapping[str, Layout]
ENOUGH = 2  # Known headers below which nobody can say what a sheet is.
BY_WORD = 0.6  # Share of a column's cells that must read so before it is taken for dates or sizes.


def propose(raws: Sequence[RawSheet], layouts: Layouts, today: dt.date) -> Match:
    """Return the match that their sheets prove; what they do not prove stays undecided."""
    tables = []
    for number, raw in enumerate(raws):
        if filled_rows(raw):
            tables += [filled_in(table, raw, layouts, today)
                       for table in targets(number, raw, layouts)]  # fmt: skip
    return Match(tuple(tables))


def targets(number: int, raw: RawSheet, layouts: Layouts) -> list[TableMatch]:
    """Return which of our sheets theirs may be; a row a boat may be its boats and their parts."""
    read = {name: find_headers(raw, layout) for name, layout in layouts.items()}
    ranked = sorted(layouts, key=lambda name: -worth(read[name], layouts[name]))
    best, second = ranked[0], ranked[1] if len(ranked) > 1 else ranked[0]
    tied = best != second and worth(read[best], layouts[best]) == worth(
        read[second], layouts[second]
    )
    if read[best].known < ENOUGH or tied:
        return [table_of(number, raw, UNDECIDED, Headers(filled_rows(raw)[0], 1, (), 0))]
    names = [best]
    if {"boats", "parts"} <= set(layouts) and best in ("boats", "parts"):
        wide = any(column.stay for column in read["parts"].columns)
        names = (
            ["boats", "parts"] if wide and not missing(read["boats"], layouts["boats"]) else names
        )
    return shared_out([table_of(number, raw, name, read[name]) for name in names])


def shared_out(tables: list[TableMatch]) -> list[TableMatch]:
    """Leave out of each table what only another table of the same sheet knows."""
    known = [{place for place, column in enumerate(table.columns)
              if column.sure and (column.to or any(column.about))} for table in tables]  # fmt: skip
    made = []
    for number, table in enumerate(tables):
        theirs = set().union(*(known[n] for n in range(len(tables)) if n != number))
        columns = tuple(
            replace(column, to=LEFT_OUT, sure=True) if place in theirs - known[number] else column
            for place, column in enumerate(table.columns)
        )
        made.append(replace(table, columns=columns))
    return made


def worth(headers: Headers, layout: Layout) -> float:
    """Rank a reading of the headers: many known columns, and few that our sheet needs missing."""
    stays = sum(bool(column.stay) for column in headers.columns)
    return headers.known - 0.75 * len(missing(headers, layout)) + (0.75 if stays else 0)


def missing(headers: Headers, layout: Layout) -> list[str]:
    there = {column.to for column in headers.columns if column.sure}
    return [column.header for column in layout if column.needed and column.header not in there]


def table_of(number: int, raw: RawSheet, target: str, headers: Headers) -> TableMatch:
    return TableMatch(number, raw.name, target, headers.top, headers.count, headers.columns)


def filled_in(table: TableMatch, raw: RawSheet, layouts: Layouts, today: dt.date) -> TableMatch:
    """Return the table with all that its cells prove, where nobody has said it before."""
    if table.target not in layouts:
        return table
    layout = layouts[table.target]
    if not table.empty:
        table = replace(table, empty=said_nothing(text_cells(Rows(raw, table))))
    table = replace(table, columns=by_contents(Rows(raw, table), today))
    return settled(table, raw, layout, today)


def settled(table: TableMatch, raw: RawSheet, layout: Layout, today: dt.date) -> TableMatch:
    """Return the table with units, orders and words for the columns as they are matched now."""
    rows = Rows(raw, table)
    columns = tuple(
        replace(column, unit=column.unit
                or sizes.proven_unit(sizes_under(rows, place, column)))
        for place, column in enumerate(table.columns)
    )  # fmt: skip
    return replace(
        table,
        columns=columns,
        order=table.order or days.proven_order(dated(rows, layout), today) or "",
        decimal=table.decimal or sizes.proven_sign(numbered(rows, layout)) or "",
        words=words_for(rows, layout, today),
    )


def rematched(table: TableMatch, raw: RawSheet, layouts: Layouts, today: dt.date) -> TableMatch:
    """Return the table proposed anew for its target and header rows, which somebody has said."""
    bare = TableMatch(table.sheet, table.title, table.target, table.top, table.header_rows)
    if table.target not in layouts:
        return bare
    headers = read_headers(raw, layouts[table.target], table.top, table.header_rows)
    return filled_in(replace(bare, columns=headers.columns), raw, layouts, today)


def settled_match(
    match: Match, raws: Sequence[RawSheet], layouts: Layouts, today: dt.date
) -> Match:
    """Return the match with what this file proves beyond it, and its new words to be asked."""
    return Match(
        tuple(
            settled(table, raws[table.sheet], layouts[table.target], today)
            if table.target in layouts
            else table
            for table in match.tables
        )
    )


def text_cells(rows: Rows) -> set[str]:
    return {cell.strip().casefold() for index in rows for cell in rows.raw.rows[index]
            if isinstance(cell, str)}  # fmt: skip


def by_contents(rows: Rows, today: dt.date) -> tuple[ColumnMatch, ...]:
    """Return the columns, those about one stay told by their cells, empty ones left out."""
    made = []
    for place, column in enumerate(rows.table.columns):
        cells = rows.column(place)
        if not cells and not column.label:
            column = replace(column, to=LEFT_OUT)
        elif column.to == UNDECIDED and any(column.about):
            column = replace(column, to=held_by(cells, today))
        made.append(column)
    return tuple(made)


def held_by(cells: Sequence[Cell], today: dt.date) -> str:
    """Return whether a stay's column holds when it was fitted or its size; "" if neither."""
    if not cells:
        return UNDECIDED
    dates = sum(is_date(cell, today) for cell in cells)
    marked = sum(is_size(cell) for cell in cells)
    if dates > BY_WORD * len(cells):
        return "fitted"
    return "diameter mm" if marked > BY_WORD * len(cells) else UNDECIDED


def is_date(cell: Cell, today: dt.date) -> bool:
    if isinstance(cell, str) and (days.FIGURES.fullmatch(days.stripped(cell))):
        return True
    if isinstance(cell, (int, float)) and not 1950 <= cell <= today.year:
        return False
    return days.known(cell, "", today, today) is not None


def is_size(cell: Cell) -> bool:
    wire = wires.in_one_cell(cell, {})
    size = sizes.millimetres(wire.size if wire and wire.code else cell, "mm", ".")
    return size is not None and 0 < size < 60


def dated(rows: Rows, layout: Layout) -> list[Cell]:
    return under(Day, rows, layout)


def numbered(rows: Rows, layout: Layout) -> list[Cell]:
    return under(Number, rows, layout)


def under(kind: type, rows: Rows, layout: Layout) -> list[Cell]:
    """Return the cells of all columns that become columns of that kind."""
    return [
        cell
        for place, column in rows.table.used()
        if column.to in layout.headers and isinstance(layout[column.to].kind, kind)
        for cell in rows.column(place)
    ]


def words_for(rows: Rows, layout: Layout, today: dt.date) -> dict[str, dict[str, str]]:
    """Return our code for each of their words; "" where it is not known for sure."""
    said = rows.table.words
    return {
        header: {
            word: said.get(header, {}).get(word) or code_of(layout, header, word) for word in words
        }
        for header, words in foreign_words(rows, layout, today).items()
    }


def code_of(layout: Layout, header: str, word: str) -> str:
    if isinstance(layout[header].kind, YesNo):
        return yes_or_no(word)
    if layout.name == "parts" and header == "stay":
        return stay_called(word_of(word))
    return code_for(header, word)
