"""A small fleet's workbook by hand, and ways to write it, for tests of the import."""

import datetime as dt
import io
from collections.abc import Callable
from copy import deepcopy

from xlsxwriter import Workbook

from fleet.models import Fleet
from fleet.spreadsheets.csv_files import write_csv
from fleet.spreadsheets.workbooks import NamedFile
from inspections.importing import SHEETS

TODAY = dt.date(2026, 10, 14)
D = dt.date

SMALL = {
    "grounds": [["ground", "corrosivity"], ["Inner Sound", "C4"], ["Lake", "C2"]],
    "bases": [["base", "ground", "rigger hours"], ["Hollow Quay", "Inner Sound", 300]],
    "boats": [
        ["boat", "base", "design", "rig", "spreader pairs", "length m", "build year", "joined"],
        ["Tern", "Hollow Quay", "Sloop 38", "sloop", 2, 11.6, 2008, D(2010, 4, 1)],
        ["Skua", "Hollow Quay", "Sloop 38", "sloop", 2, 11.6, 2009, D(2011, 4, 1)],
    ],
    "parts": [
        [
            "boat", "stay", "side", "part", "construction", "diameter mm", "fitted",
            "date certainty", "invoice", "removed", "removal reason", "place",
        ],
        ["Tern", "cap shroud", "port", "wire", "1x19", 8, D(2008, 5, 1), "invoice or log", "R-1",
         D(2016, 3, 1), "condemned", "lower end"],
        ["Tern", "cap shroud", "port", "wire", "1x19", 8, D(2016, 3, 1), "invoice or log", "R-2",
         None, None, None],
        ["Tern", "cap shroud", "starboard", "wire", "1x19", 8, 2016, "known to the year", None,
         None, None, None],
        ["Tern", "cap shroud", "port", "turnbuckle", None, None, None, "unknown", None,
         None, None, None],
        ["Skua", "forestay", None, "wire", "rod", 7.5, D(2009, 6, 1), "estimated", None,
         None, None, None],
    ],
    "use": [["boat", "season", "ground", "miles", "mast down"], ["Tern", 2024, "Lake", 900, "yes"]],
    "inspections": [
        ["boat", "date", "level", "person", "competence", "method", "note"],
        ["Tern", D(2015, 3, 2), "aloft", "R. Rigger", "rigger", "loupe", "In the yard."],
        ["Tern", D(2024, 3, 2), "aloft", "R. Rigger", "rigger", "eye", None],
        ["Skua", D(2024, 3, 3), "deck check", "C. Crew", "crew", "eye", None],
    ],
    "findings": [
        ["boat", "date", "level", "person", "stay", "side", "part", "place", "sign", "measure",
         "cleaned", "note", "made good on", "made good by"],
        ["Tern", D(2015, 3, 2), "aloft", "R. Rigger", "cap shroud", "port", "wire", "lower end",
         "Crack along the barrel of the terminal", None, None, None, None, None],
        ["Tern", D(2024, 3, 2), None, None, "cap shroud", "port", "turnbuckle", "whole part",
         "Turnbuckle not locked", None, None, None, D(2024, 3, 3), "R. Rigger"],
        ["Skua", D(2024, 3, 3), None, None, "forestay", None, "wire", "lower end", "not seen",
         None, None, "sail on", None, None],
    ],
    "prices": [["item", "construction", "diameter mm", "price", "hours"],
               ["wire, per metre", "1x19", 8, 14.5, 0], ["rigger, per hour", None, None, 65, 0]],
}  # fmt: skip


def small() -> dict[str, list[list]]:
    return deepcopy(SMALL)


def changed(sheet: str, row: int, **cells) -> dict[str, list[list]]:
    """Return the small workbook with cells of one row changed; rows as in the file, from 1."""
    book = small()
    headers = book[sheet][0]
    for name, value in cells.items():
        header = name.replace("_", " ")
        if header not in headers:
            headers.append(header)
            for other in book[sheet][1:]:
                other.append(None)
        book[sheet][row - 1][headers.index(header)] = value
    return book


def xlsx(tables: dict[str, list[list]], draw: Callable | None = None) -> list[NamedFile]:
    """Write tables as a workbook; ``draw(book)`` may add what plain cells cannot say."""
    out = io.BytesIO()
    plain = {"strings_to_formulas": False, "strings_to_numbers": False, "strings_to_urls": False}
    with Workbook(out, {"in_memory": True, **plain}) as book:
        day = book.add_format({"num_format": "yyyy-mm-dd"})
        for name, rows in tables.items():
            page = book.add_worksheet(name)
            for number, row in enumerate(rows):
                for place, cell in enumerate(row):
                    if isinstance(cell, dt.date):
                        page.write_datetime(number, place, cell, day)
                    elif cell is not None:
                        page.write(number, place, cell)
        if draw:
            draw(book)
    return [NamedFile("fleet.xlsx", out.getvalue())]


def csv(tables: dict[str, list[list]]) -> list[NamedFile]:
    return [NamedFile(f"{name}.csv", write_csv(rows).encode()) for name, rows in tables.items()]


def contents(fleet: Fleet) -> dict[str, list[dict]]:
    """Return every row of the fleet, field by field, sheet by sheet, by the export's own order."""
    return {sheet.name: [dict(row) for row in sheet.rows(fleet)] for sheet in SHEETS}
