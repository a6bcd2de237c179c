"""The whole job on two invented fleets, then the pages."""

import os
import sys
import time

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from fleet import chart_script
from fleet.checks import OWN_CHECKS
from fleet.models import Fleet
from forecasting import demo


class Command(BaseCommand):
    requires_system_checks = OWN_CHECKS
    help = "Import two invented fleets, forecast, list the refit, queue reminders, and serve."

    def add_arguments(self, parser) -> None:
        parser.add_argument("--no-serve", action="store_true", help="end after the result")
        parser.add_argument("--fresh", action="store_true", help="begin anew with the fleets")
        parser.add_argument("--port", type=int)

    def handle(self, *args, **options) -> None:
        start = time.monotonic()
        try:
            demo.run(self.say, fresh=options["fresh"])
        except demo.Outdated as outdated:
            raise CommandError(str(outdated)) from outdated
        chart_script.ensure()
        self.say("\nThe result")
        for fleet in Fleet.objects.filter(as_of__isnull=False).order_by("kind", "name"):
            for line in demo.result(fleet):
                self.say(line)
        self.say("A forecast never clears a part: it says where to look, a rigger what stays up.")
        self.say("\nSign in as")
        for line in demo.logins():
            self.say(line)
        self.say(f"\nDone in {time.monotonic() - start:.0f} s.")
        if not options["no_serve"]:
            # A fresh process: what drew the charts must not be forked into the server's workers.
            manage = str(settings.BASE_DIR / "manage.py")
            port = [f"--port={options['port']}"] if options["port"] else []
            os.execv(sys.executable, [sys.executable, manage, "serve", *port])

    def say(self, text: str) -> None:
        self.stdout.write(text)
        self.stdout.flush()
