"""The empty workbook to fill in: a notes sheet, then one sheet each with its header row."""

import datetime as dt
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import BinaryIO

from xlsxwriter import Workbook
from xlsxwriter.worksheet import Worksheet

from ..sheets import Choice, Column, DayOrYear, Layout, Text, YesNo
from ..sheets.dates import Day
from .exporting import add_sheet, new_workbook

NOTES = "notes"
HEADERS = ("sheet", "column", "needed", "what it is", "what may be written", "example")
WIDTHS = (14, 24, 9, 60, 60, 30)
LONGEST_LIST = 255  # Characters a drop-down list may have in the file format.
ROWS_PREPARED = 5000

GENERAL = (
    "This sheet explains the others and is not read.",
    "Fill in what you know. Bold columns must be filled on every row; of the others each may be "
    "left blank, and a column you do not need may be deleted.",
    "Dates: as dates, or as text like 2016-05-31. Numbers: alone, in the unit of the header.",
    "One row is one thing: repeat names on every row, and merge no cells.",
    "Importing the same rows again changes nothing. Rows that are not in the file stay as they "
    "are in the fleet.",
    "A whole rig in one row: stay “whole rig” gives every wire, turnbuckle and chainplate of the "
    "boat's rig (common practice; a real rig may differ). A row for one stay goes before it. On a "
    "boat older than its wires, the chainplates are taken as those it was built with.",
)


def write_template(layouts: Iterable[Layout], target: Path | str | BinaryIO) -> None:
    """Write the template with these sheets, in this order."""
    layouts = list(layouts)
    with new_workbook(target, "Template", dt.date(2026, 1, 1)) as book:
        write_notes(book, layouts)
        for layout in layouts:
            page = add_sheet(book, layout)
            for place, column in enumerate(layout):
                prepare(book, page, place, column)


def prepare(book: Workbook, page: Worksheet, place: int, column: Column) -> None:
    """Format an empty column, and offer its words where there are few."""
    shape = number_format(column)
    if shape:
        width = max(len(column.header), len(column.example)) + 3
        page.set_column(place, place, min(width, 40), book.add_format({"num_format": shape}))
    words = words_of(column)
    if words and len(",".join(words)) <= LONGEST_LIST:
        offer = {"validate": "list", "source": words, "error_type": "information",
                 "input_message": column.about[:255]}  # fmt: skip
        page.data_validation(1, place, ROWS_PREPARED, place, offer)


def number_format(column: Column) -> str:
    """Text keeps leading zeros; a cell that may hold a year alone must not be formatted."""
    if isinstance(column.kind, Text):
        return "@"
    if isinstance(column.kind, Day) and not isinstance(column.kind, DayOrYear):
        return "yyyy-mm-dd"
    return ""


def words_of(column: Column) -> list[str]:
    if isinstance(column.kind, YesNo):
        return ["yes", "no"]
    words = list(column.kind.words.values()) if isinstance(column.kind, Choice) else []
    # A drop-down list separates its words by commas, so none may hold one.
    return [] if any("," in word for word in words) else words


def write_notes(book: Workbook, layouts: Iterable[Layout]) -> None:
    page = book.add_worksheet(NOTES)
    wrap = book.add_format({"text_wrap": True, "valign": "top"})
    bold = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})
    for place, width in enumerate(WIDTHS):
        page.set_column(place, place, width)
    for number, sentence in enumerate(GENERAL):
        page.merge_range(number, 0, number, len(WIDTHS) - 1, "", wrap)
        page.write_string(number, 0, sentence, wrap)
        page.set_row(number, 32)
    top = len(GENERAL) + 1
    page.write_row(top, 0, HEADERS, bold)
    for number, cells in enumerate(note_rows(layouts), top + 1):
        for place, cell in enumerate(cells):
            page.write_string(number, place, cell, wrap)


def note_rows(layouts: Iterable[Layout]) -> Iterator[tuple[str, ...]]:
    """Yield, for each sheet, a row about it and then one for each column."""
    for layout in layouts:
        yield layout.name, "", "", layout.about, "", ""
        for column in layout:
            needed = "yes" if column.needed else ""
            yield (
                layout.name, column.header, needed, column.about, column.kind.allowed,
                column.example,
            )  # fmt: skip
