"""Export a fleet as the workbook that import_fleet takes, or as CSV files into a folder."""

import io
from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from fleet.spreadsheets import exporting
from inspections.importing import SHEETS

from .import_fleet import fleet_called


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("fleet", help="the fleet's name in addresses, for example north-fleet")
        parser.add_argument("file", help="FILE.xlsx, or a folder for CSV files")

    def handle(self, *args, **options) -> None:
        fleet, path = fleet_called(options["fleet"]), Path(options["file"])
        try:
            if path.suffix.casefold() == ".xlsx":
                book = io.BytesIO()
                exporting.write_workbook(fleet, SHEETS, book)
                path.write_bytes(book.getvalue())
            else:
                write_folder(path, exporting.csv_files(fleet, SHEETS))
        except OSError as trouble:
            raise CommandError(f"{path} cannot be written: {trouble}.", returncode=2) from trouble
        self.stdout.write(f"{fleet.name} is in {path}.")


def write_folder(folder: Path, files: dict[str, str]) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        (folder / name).write_bytes(text.encode("utf-8-sig"))
