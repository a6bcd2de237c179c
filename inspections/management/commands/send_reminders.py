"""Queue and send the reminders of the day. Run it daily; running it twice sends nothing twice."""

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from fleet.checks import OWN_CHECKS
from inspections import rounds
from inspections.reminding import preview


class Command(BaseCommand):
    requires_system_checks = OWN_CHECKS
    help = "Queue what is due and send it: one message per person and day."

    def add_arguments(self, parser) -> None:
        parser.add_argument("--fleet", default="", help="Only this fleet, as in its address.")

        parser.add_argument(
            "--let-go",
            action="store_true",
            help="Let the first sending go without a look at its page.",
        )

    def handle(self, *args, **options) -> None:
        try:
            fleets = rounds.fleets(options["fleet"])
        except LookupError as fault:
            raise CommandError(str(fault)) from fault
        failed = 0
        for fleet in fleets:
            if options["let_go"]:
                preview.approve(fleet, "the command line", timezone.now())
            done = rounds.queue_and_send(fleet, timezone.now())
            self.stdout.write(f"{fleet.name}: {done}.")
            failed += done.delivered.failed
        if failed:
            raise CommandError(
                f"{failed} reminders could not be sent. Each says why on the reminders page; "
                "the next run tries them again."
            )
