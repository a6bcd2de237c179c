"""CSV as in RFC 4180, with a guard against text that a spreadsheet program takes for a formula.

The guard is an apostrophe before such text. It is put on by the export and taken off by the
import, and nothing else begins with one: ``'t Veer`` is a name and stays as it is.
"""

import csv
import io
import re
from collections.abc import Iterable

from ..sheets import Fault, RawSheet
from ..sheets.kinds import Cell
from .encodings import text_of

GUARDED = re.compile(r"'*[=+\-@\t\r]")
MOST_CELLS = 5_000_000  # Empty ones count.
CELL_LIMIT = 131_072  # Characters; Python's own limit for a CSV cell.


def guard(cell: Cell) -> Cell:
    """Return text with an apostrophe before it if a spreadsheet program would compute it."""
    return f"'{cell}" if isinstance(cell, str) and GUARDED.match(cell) else cell


def unguard(text: str) -> str:
    """Return the text that ``guard`` was given."""
    return text[1:] if text.startswith("'") and GUARDED.match(text) else text


def write_csv(rows: Iterable[Iterable[Cell]]) -> str:
    """Return rows as CSV with CRLF line ends; dates in ISO 8601."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    for row in rows:
        writer.writerow([guard(cell) for cell in row])
    return out.getvalue()


def read_csv(name: str, content: bytes, most_rows: int) -> tuple[RawSheet, list[Fault]]:
    """Return the cells of a CSV file as text, and what is wrong with the file."""
    text = text_of(name, content)
    if isinstance(text, Fault):
        return RawSheet(name, []), [text]
    rows: list[list[Cell]] = []
    room = MOST_CELLS
    try:
        for cells in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter_of(text)):
            rows.append([unguard(cell) for cell in cells])
            room -= len(cells)
            if len(rows) > most_rows or room < 0:
                return RawSheet(name, []), [too_long(name, most_rows, room)]
    except csv.Error:
        wrong = f"A cell is longer than {CELL_LIMIT:,} characters: a quotation mark may be missing."
        return RawSheet(name, []), [
            Fault(name, len(rows) + 1, "", "", wrong, "Close the quotation mark.")
        ]
    return RawSheet(name, rows), []


def too_long(name: str, most_rows: int, room: int) -> Fault:
    most = f"{most_rows:,} rows" if room >= 0 else f"{MOST_CELLS:,} cells"
    wrong = f"The sheet has more than {most}."
    return Fault(name, 0, "", "", wrong, "Split it by years or boats.")


def delimiter_of(text: str) -> str:
    """Return what separates the cells of the first line: programs differ by country."""
    first = text.lstrip().partition("\n")[0]
    return max(",;\t", key=first.count)
