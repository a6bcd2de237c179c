"""Record mail that came back, from a mail server's pipe or a cron job."""

import sys

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from fleet.checks import OWN_CHECKS
from inspections.reminding import bounces

MOST = 2 * 1024 * 1024


class Command(BaseCommand):
    requires_system_checks = OWN_CHECKS
    help = "Read one delivery status message (RFC 3464) from standard input and record it."

    def handle(self, *args, **options) -> None:
        content = sys.stdin.buffer.read(MOST + 1)
        if len(content) > MOST:
            raise CommandError("A delivery status message has at most 2 MB.")
        try:
            self.stdout.write(bounces.record(content, timezone.now()))
        except bounces.NotABounce as reason:
            raise CommandError(str(reason)) from reason
