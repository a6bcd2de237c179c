"""Make refit lists and budgets anew by the models in force: ``plan [--fleet SLUG]``."""

from django.core.management.base import BaseCommand, CommandError

from fleet.checks import OWN_CHECKS
from forecasting import refresh
from forecasting.steps import runs
from inspections import rounds


class Command(BaseCommand):
    requires_system_checks = OWN_CHECKS
    help = "After a change of rules or prices: refit lists and budgets anew, fitting nothing."

    def add_arguments(self, parser) -> None:
        parser.add_argument("--fleet", default="", metavar="NAME", help="name in the address")

    def handle(self, *args, **options) -> None:
        try:
            fleets = rounds.fleets(options["fleet"])
        except LookupError as fault:
            raise CommandError(str(fault)) from fault
        for fleet in fleets:
            self.stdout.write(f"{fleet.name}, as of {fleet.today():%d %b %Y}")
            try:
                refresh.plan(fleet, fleet.today(), say=lambda text: self.stdout.write(f"  {text}"))
            except (runs.NoModels, runs.Superseded) as reason:
                raise CommandError(f"{fleet.name}: {reason}") from reason
