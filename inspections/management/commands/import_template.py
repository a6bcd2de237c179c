"""Write the empty workbook to fill in, with its notes sheet."""

from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from fleet.checks import OWN_CHECKS
from fleet.spreadsheets.template_workbook import write_template
from inspections.importing import SHEETS


class Command(BaseCommand):
    requires_system_checks = OWN_CHECKS
    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", help="FILE.xlsx")

    def handle(self, *args, **options) -> None:
        path = Path(options["file"])
        if path.suffix.casefold() != ".xlsx":
            raise CommandError("The template is an XLSX workbook: name it FILE.xlsx.", returncode=2)
        if not path.parent.is_dir():
            raise CommandError(f"There is no folder {path.parent}.", returncode=2)
        write_template((sheet.layout for sheet in SHEETS), path)
        self.stdout.write(f"The template is in {path}.")
