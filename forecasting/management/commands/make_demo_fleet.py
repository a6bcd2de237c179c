"""Make the demo fleets' workbooks anew. Only after a change of the generator."""

from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandParser

from forecasting.demo_fleet.plans import SEED
from forecasting.demo_fleet.workbook import write_all


class Command(BaseCommand):
    help = "Write the workbooks of the two invented fleets and fleets.json."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--seed", type=int, default=SEED)
        parser.add_argument("--to", type=Path, default=settings.BASE_DIR / "fixtures" / "demo")

    def handle(self, *args, **options) -> None:
        for name, sheets in write_all(options["to"], options["seed"]).items():
            counts = ", ".join(f"{rows} {sheet}" for sheet, rows in sheets.items())
            self.stdout.write(f"{name}: {counts}")
