"""Queue the reminders of the day, without sending them."""

from django.core.management.base import BaseCommand, CommandError

from fleet.checks import OWN_CHECKS
from inspections import rounds
from inspections.reminders import queue


class Command(BaseCommand):
    requires_system_checks = OWN_CHECKS
    help = "Queue what is due and withdraw what is done; send nothing."

    def add_arguments(self, parser) -> None:
        parser.add_argument("--fleet", default="", help="Only this fleet, as in its address.")

    def handle(self, *args, **options) -> None:
        try:
            fleets = rounds.fleets(options["fleet"])
        except LookupError as fault:
            raise CommandError(str(fault)) from fault
        for fleet in fleets:
            self.stdout.write(f"{fleet.name}: {rounds.told(queue(fleet, fleet.today()))}.")
