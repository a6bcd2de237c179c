"""The whole fleet as files that the import takes: the command and the work row write it alike."""

import os
from collections.abc import Callable
from pathlib import Path

from fleet.models import Fleet
from fleet.spreadsheets import exporting

from .importing import EVERY_SHEET

Say = Callable[[str], None]
STEPS = len(EVERY_SHEET) + 1  # each sheet, and the file closed
FORMS = {"xlsx": ".xlsx", "csv": ".zip"}  # what was asked for -> how its one file is named


def write(fleet: Fleet, path: Path, form: str, say: Say = lambda step: None) -> None:
    """Write the workbook, or for ``form`` "csv" a ZIP of CSV files; whole or not at all.

    Raises OSError where it cannot be written.
    """
    draft = path.with_name(f".{path.name}.part")
    try:
        if form == "csv":
            draft.write_bytes(exporting.csv_archive(fleet, EVERY_SHEET, say))
        else:
            with draft.open("wb") as handle:
                exporting.write_workbook(fleet, EVERY_SHEET, handle, say)
        os.replace(draft, path)
    finally:
        draft.unlink(missing_ok=True)


def write_folder(fleet: Fleet, folder: Path, say: Say = lambda step: None) -> None:
    """Write a CSV file for each sheet into the folder. Raises OSError where it cannot."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in exporting.csv_files(fleet, EVERY_SHEET, say).items():
        (folder / name).write_bytes(text.encode("utf-8-sig"))
