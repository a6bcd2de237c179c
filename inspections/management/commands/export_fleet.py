"""Export a fleet as the workbook that import_fleet takes, or as CSV files into a folder."""

from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from fleet.checks import OWN_CHECKS
from inspections import exporting

from .import_fleet import fleet_called


class Command(BaseCommand):
    requires_system_checks = OWN_CHECKS
    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("fleet", help="the fleet's name in addresses, for example north-fleet")
        parser.add_argument("file", help="FILE.xlsx, or a folder for CSV files")

    def handle(self, *args, **options) -> None:
        fleet, path = fleet_called(options["fleet"]), Path(options["file"])
        try:
            if path.suffix.casefold() == ".xlsx":
                exporting.write(fleet, path, "xlsx")
            else:
                exporting.write_folder(fleet, path)
        except OSError as trouble:
            raise CommandError(f"{path} cannot be written: {trouble}.", returncode=2) from trouble
        self.stdout.write(f"{fleet.name} is in {path}.")
