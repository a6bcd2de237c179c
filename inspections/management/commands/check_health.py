"""Ask from outside whether reminders run: for cron, or whatever watches over the machine."""

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from fleet.checks import OWN_CHECKS
from fleet.models import Fleet
from inspections.models import Notice
from inspections.reminding import health, notices
from inspections.reminding.notice_mail import send_notices

NOT_LET_GO = "no reminder goes out before somebody in charge lets the first sending go."


class Command(BaseCommand):
    requires_system_checks = OWN_CHECKS
    help = "Say of every fleet whether its reminders run. Ends with code 1 where they do not."

    def add_arguments(self, parser) -> None:
        parser.add_argument(
            "--tell", action="store_true", help="also write to the managers, once a day"
        )

    def handle(self, *args, **options) -> None:
        now, faulty = timezone.now(), 0
        for fleet in Fleet.objects.all():
            state = health.of(fleet, now)
            faulty += bool(state.faults)
            runs = "reminders run." if state.approved else NOT_LET_GO
            self.stdout.write(f"{fleet.name}: {' '.join(state.faults) or runs}")
            if options["tell"] and state.faults and state.approved:
                self.tell(fleet, state, now)
        if faulty:
            raise CommandError(
                f"Reminders of {faulty} fleet{'' if faulty == 1 else 's'} do not run."
            )

    def tell(self, fleet: Fleet, state: health.Health, now) -> None:
        text = "Reminders do not run as they should:\n\n" + "\n".join(state.faults) + "\n"
        day = now.date().isoformat()
        notices.tell(fleet, Notice.Kind.SILENCE, day, "reminders do not run", text, now)
        self.stdout.write(f"{fleet.name}: {send_notices(fleet, now)} told.")
