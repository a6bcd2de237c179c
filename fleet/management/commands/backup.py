"""Copy the whole database into a file, while it is in use."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from fleet import backup
from fleet.checks import OWN_CHECKS


class Command(BaseCommand):
    requires_system_checks = OWN_CHECKS
    help = "Copy the whole database into a file: every fleet, and every member's sign-in."

    def add_arguments(self, parser) -> None:
        parser.add_argument("file", help="a file that is not there yet, on another disk at best")

    def handle(self, *args, **options) -> None:
        path = Path(options["file"]).resolve()
        try:
            size = backup.write(path)
        except backup.NotBackedUp as reason:
            raise CommandError(str(reason), returncode=2) from reason
        self.stdout.write(f"The database is in {path} ({size / 1e6:,.1f} MB).")
