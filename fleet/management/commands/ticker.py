"""Do the long work and what the clock asks for, where no broker and no worker is run."""

import logging
import os
import signal
import threading
import time

from django.core.management.base import BaseCommand
from django.db import Error, connection
from django.utils import timezone

from fleet.checks import OWN_CHECKS
from fleet.work import rounds

log = logging.getLogger(__name__)
LOOK_SECONDS = 1
ROUND_SECONDS = 30


class Command(BaseCommand):
    requires_system_checks = OWN_CHECKS
    help = "Do the work that is asked for on the pages, and send the reminders of each day."

    def add_arguments(self, parser) -> None:
        parser.add_argument("--once", action="store_true", help="do what there is, and end")
        parser.add_argument("--beside", type=int, help="end when this process is no longer ours")

    def handle(self, *args, **options) -> None:
        if options["once"]:
            rounds.ask_due(timezone.now())
            self.stdout.write(f"{rounds.work_through()} works done.")
            return
        ended = threading.Event()
        for each in (signal.SIGTERM, signal.SIGINT):
            signal.signal(each, lambda number, frame: ended.set())
        self.keep_ticking(ended, options["beside"])

    def keep_ticking(self, ended: threading.Event, parent: int | None) -> None:
        def stopping() -> bool:
            return ended.is_set() or (parent is not None and os.getppid() != parent)

        next_round = time.monotonic()
        while not stopping():
            try:
                if time.monotonic() >= next_round:
                    next_round = time.monotonic() + ROUND_SECONDS
                    rounds.ask_due(timezone.now())
                rounds.work_through(stopping)
            except Error:
                # The database was busy or away. The next look finds everything as it was.
                log.exception("The database did not answer the ticker; it looks again.")
                connection.close()
            ended.wait(LOOK_SECONDS)
