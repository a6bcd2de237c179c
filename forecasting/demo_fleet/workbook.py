"""Writing the sheets as a workbook whose bytes depend on nothing but its rows."""

import json
from datetime import date, datetime
from pathlib import Path
from typing import Any

from xlsxwriter import Workbook
from xlsxwriter.worksheet import Worksheet

from .fleets import settings
from .generate import generate
from .plans import PLANS, SEED, Plan
from .sheets import Rows, sheets

MADE = datetime(2026, 10, 14, 8, 0)  # a fixed creation date: the file's own, not the clock's
PLAIN = {"strings_to_numbers": False, "strings_to_formulas": False, "strings_to_urls": False}


def write_all(
    folder: Path, seed: int = SEED, plans: tuple[Plan, ...] = PLANS
) -> dict[str, dict[str, int]]:
    """Write each fleet's workbook and ``fleets.json``; return rows per sheet, by file name."""
    folder.mkdir(parents=True, exist_ok=True)
    fleets, counts = generate(seed, plans=plans), {}
    for fleet in fleets:
        tables, name = sheets(fleet), f"{fleet.plan.slug}.xlsx"
        write(folder / name, tables)
        counts[name] = {sheet: len(rows) - 1 for sheet, rows in tables.items()}
    text = json.dumps(settings(seed, plans), indent=2, ensure_ascii=False)
    (folder / "fleets.json").write_text(text + "\n", encoding="utf-8")
    return counts


def write(path: Path, tables: dict[str, Rows]) -> None:
    """Write one workbook, a sheet per table, header row first and frozen."""
    with Workbook(path, PLAIN) as book:
        book.set_properties({"created": MADE, "title": path.stem})
        head = book.add_format({"bold": True, "bottom": 1})
        day = book.add_format({"num_format": "yyyy-mm-dd"})
        for name, rows in tables.items():
            sheet = book.add_worksheet(name)
            sheet.freeze_panes(1, 0)
            sheet.write_row(0, 0, rows[0], head)
            _fit_columns(sheet, rows)
            for i, row in enumerate(rows[1:], start=1):
                _write_row(sheet, i, row, day)


def _write_row(sheet: Worksheet, i: int, row: tuple[Any, ...], day: Any) -> None:
    for j, cell in enumerate(row):
        if isinstance(cell, date):
            sheet.write_datetime(i, j, cell, day)
        elif isinstance(cell, str):
            sheet.write_string(i, j, cell)
        elif cell is not None:
            sheet.write_number(i, j, cell)


def _fit_columns(sheet: Worksheet, rows: Rows) -> None:
    for j, head in enumerate(rows[0]):
        longest = max((len(str(row[j])) for row in rows[:200] if row[j] is not None), default=8)
        sheet.set_column(j, j, min(max(longest, len(head)) + 2, 42))
