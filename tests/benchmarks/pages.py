"""Every list page of a fleet of 1,000 boats, opened as its manager would: time, queries, memory."""

import json
from pathlib import Path

from .children import manage, run, table
from .importing import prepared

SLOW = 1.0  # Seconds of the processor.
OPEN = """
import json, resource, sys, time, warnings
warnings.simplefilter("ignore")
import django; django.setup()
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext, setup_test_environment
from django.urls import reverse
from fleet.models import Fleet
setup_test_environment()
fleet, name = Fleet.objects.get(), sys.argv[1]
client = Client()
client.force_login(fleet.memberships.get().user, "django.contrib.auth.backends.ModelBackend")
url = reverse(name, kwargs={"fleet": fleet.slug})
client.get(url)
with CaptureQueriesContext(connection) as asked:
    start, busy = time.monotonic(), time.process_time()
    answer = client.get(url)
    body = b"".join(answer.streaming_content) if answer.streaming else answer.content
    took, busy = time.monotonic() - start, time.process_time() - busy
memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
print(json.dumps([answer.status_code, took, busy, len(asked), memory, len(body)]))
"""
LISTS = (
    "fleet", "boats", "outlook", "how", "refit", "budget", "inspections", "calendar", "reminders",
    "hand_ins", "works", "import", "fleet_settings", "boat_add", "budget_csv", "refit_csv",
    "refit_xlsx", "budget_xlsx", "refit_pdf", "budget_pdf", "export",
)  # fmt: skip


def lists_of_a_thousand_boats(folder: Path) -> None:
    """Import 1,000 boats, refresh the forecast, queue the reminders, and open every list."""
    workbook, var = prepared(folder, 1000)
    steps = [
        ("import_fleet", manage(var, "import_fleet", "thornquay", str(workbook), "--write"), ""),
        ("refresh", manage(var, "refresh"), ""),
        ("queue_reminders", manage(var, "queue_reminders"), ""),
    ]
    table("1,000 boats made ready", steps)
    opened(var)


def opened(var: Path) -> None:
    """Open every list twice in a process of its own, and print what the second time took."""
    print(f"\n{'page':<16} {'clock s':>8} {'cpu s':>7} {'queries':>8} {'MB':>6} {'KB sent':>8}")
    for name in LISTS:
        status, took, busy, asked, memory, sent = json.loads(run(var, OPEN, name).said)
        slow = "  slow" if busy > SLOW else ""
        wrong = f"  status {status}" if status != 200 else ""
        size = sent // 1024
        print(f"{name:<16} {took:>8.2f} {busy:>7.2f} {asked:>8} {memory:>6} {size:>8}{slow}{wrong}")
