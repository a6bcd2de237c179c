"""Hand over to the suite; see tests/__main__.py for what it does."""

import os
import sys

from django.conf import settings
from django.core.management.base import BaseCommand


class Command(BaseCommand):
    help = "Run the tests on SQLite and PostgreSQL, with the pages in Chromium."
    requires_system_checks = ()

    def run_from_argv(self, argv: list[str]) -> None:
        """Become the suite: its options are pytest's, which Django's parser would refuse."""
        os.chdir(settings.BASE_DIR)
        os.execv(sys.executable, [sys.executable, "-m", "tests", *argv[2:]])
