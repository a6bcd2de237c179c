"""Delete photos that belong to no inspection after 30 days."""

from django.core.management.base import BaseCommand
from django.utils import timezone

from fleet.checks import OWN_CHECKS
from inspections.photos import keeping


class Command(BaseCommand):
    requires_system_checks = OWN_CHECKS
    help = "Delete photos that belong to no inspection after 30 days. `serve` does it daily."

    def handle(self, *args, **options) -> None:
        number = keeping.prune(timezone.now())
        self.stdout.write(f"{number} taken out.")
