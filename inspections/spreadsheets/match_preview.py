"""The first rows of a file as they would be read by a match."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from fleet.matching import Match, Matched, apply
from fleet.sheets import Fault, Layout, RawSheet, Row, read_sheet
from fleet.sheets.faults import shown

from .matched_files import LAYOUTS

FIRST = 8


@dataclass(frozen=True)
class FirstRows:
    """Our sheet, its headers, and rows: their number and (header, words) cell by cell."""

    sheet: str
    headers: list[str]
    rows: list[tuple[str, list[tuple[str, str]]]]
    faults: list[Fault]


def preview(match: Match, raws: Sequence[RawSheet], today: dt.date) -> list[FirstRows]:
    """Return the first rows of each sheet of ours as typed values, with what cannot be read."""
    made = apply(match, raws, LAYOUTS, today, most=FIRST)
    return [first_rows(LAYOUTS[name], raw, made, today) for name, raw in made.sheets.items()]


def first_rows(layout: Layout, raw: RawSheet, made: Matched, today: dt.date) -> FirstRows:
    table = read_sheet(layout, raw, today)
    headers = [str(cell) for cell in raw.rows[0]]
    rows = sorted((*table.rows, *table.bad), key=lambda row: row.number)[:FIRST]
    faults = list(dict.fromkeys(made.theirs(fault) for fault in table.faults))
    return FirstRows(
        layout.name, headers, [typed(layout, row, headers, made) for row in rows], faults[:FIRST]
    )


def typed(
    layout: Layout, row: Row, headers: list[str], made: Matched
) -> tuple[str, list[tuple[str, str]]]:
    cells = [
        (header, shown(layout[header].kind.write(row[header])) if header in row else "cannot read")
        for header in headers
    ]
    return str(made.origins[row.number].row), cells
