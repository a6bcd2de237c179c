"""Test past forecasts against what was found since: ``back_test [--fleet SLUG]``."""

from django.core.management.base import BaseCommand, CommandError

from forecasting import back_test
from forecasting.trust_words import summary
from inspections import rounds


class Command(BaseCommand):
    help = "Forecast each of the last years from the record as it was, and compare with the finds."

    def add_arguments(self, parser) -> None:
        parser.add_argument("--fleet", default="", metavar="NAME", help="name in the address")

    def handle(self, *args, **options) -> None:
        try:
            fleets = rounds.fleets(options["fleet"])
        except LookupError as fault:
            raise CommandError(str(fault)) from fault
        for fleet in fleets:
            self.stdout.write(f"{fleet.name}, as of {fleet.today():%d %b %Y}")
            tested = back_test.run(
                fleet, fleet.today(), say=lambda text: self.stdout.write(f"  {text}")
            )
            for row in tested.rows:
                self.stdout.write(
                    f"  {row.get_kind_display().capitalize()}s: {summary(row.result)}"
                )
