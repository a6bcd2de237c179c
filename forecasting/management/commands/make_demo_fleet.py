"""Make the demo fleets' workbooks anew, or one fleet of a size to try things on."""

from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from fleet.checks import OWN_CHECKS
from forecasting.demo_fleet.growth import FEWEST, MOST, plan_of
from forecasting.demo_fleet.plans import PLANS, SEED
from forecasting.demo_fleet.workbook import write_all

FIXTURES = settings.BASE_DIR / "fixtures" / "demo"


class Command(BaseCommand):
    requires_system_checks = OWN_CHECKS
    help = "Write the workbooks of the two invented fleets and fleets.json."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--seed", type=int, default=SEED)
        parser.add_argument("--to", type=Path, help="the folder; without --boats fixtures/demo")
        parser.add_argument(
            "--boats", type=int, help=f"one fleet of so many boats instead, {FEWEST} to {MOST}"
        )

    def handle(self, *args, **options) -> None:
        for name, sheets in write_all(folder_of(options), options["seed"], plans(options)).items():
            counts = ", ".join(f"{rows} {sheet}" for sheet, rows in sheets.items())
            self.stdout.write(f"{name}: {counts}")


def plans(options: dict) -> tuple:
    if options["boats"] is None:
        return PLANS
    try:
        return (plan_of(options["boats"]),)
    except ValueError as trouble:
        raise CommandError(f"--boats: {trouble}", returncode=2) from None


def folder_of(options: dict) -> Path:
    """The demo's own folder is for the demo: a fleet of another size is asked where to go."""
    if options["boats"] is not None and options["to"] is None:
        raise CommandError("Say with --to FOLDER where a fleet of that size goes.", returncode=2)
    return options["to"] or FIXTURES
