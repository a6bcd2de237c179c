"""The servers, a worker, and fleets whose boats are all due."""

import signal
import subprocess
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.production import Production, environment, wait_for
from tests.services import postgres_restarted, processes, redis_server, smtp

TICK = "fleet.tasks.tick"
# Every boat is late for three looks; its owner and the bosun are told of each.
MADE = """
from fleet.models import Boat, Fleet
from tests import builders
for number in range({fleets}):
    fleet = builders.empty_fleet(f"{slug}-{{number}}", reminders_from=0)
    base = builders.base(fleet)
    Boat.objects.bulk_create(Boat(
        fleet=fleet, base=base, name=f"Tern {{each}}", length_m=12, build_year=2014,
        joined="2014-04-01", owner_name=f"Owner {{each}}",
        owner_email=f"owner{{each:03}}@{slug}-{{number}}.example.org",
    ) for each in range({boats}))
    builders.person(f"bo-{slug}-{{number}}", fleet, "bosun")
Fleet.objects.filter(slug__startswith="{slug}-").update(as_of=None)
"""

# Not those that ran out before: their time would move on, as if they were claimed.
IN_HAND = "claimed_at > now() - interval '15 minutes'"
RUN_OUT = """UPDATE {table} SET {column} = {to} WHERE id IN (
    SELECT id FROM {table} WHERE state = '{state}' AND {older} FOR UPDATE SKIP LOCKED)"""


@dataclass
class Stage:
    """A production site whose servers can be ended, and what runs on it."""

    site: Production
    postgres: postgres_restarted.Restarted
    redis_port: int
    stack: ExitStack
    redis: subprocess.Popen | None = None

    def start_redis(self) -> None:
        """Start an empty Redis on the port that stays the same."""
        server = redis_server.running_on(self.redis_port)
        _, self.redis = self.stack.enter_context(server)

    def worker(self, name: str) -> None:
        """Start one more worker, with one process that does the tasks."""
        how = ("worker", "--concurrency=1", "-n", f"{name}@%h")
        self.site.workers.append(self.stack.enter_context(self.site.celery(name, *how)))
        wait_for(lambda: " ready." in self.site.log(name), 120)

    def beat(self, name: str) -> None:
        self.stack.enter_context(self.site.beat(name))


def fleets_due(site: Production, slug: str, fleets: int, boats: int) -> None:
    """Make fleets whose every boat is late; nobody has asked for their reminders yet."""
    site.manage("shell", "-c", MADE.format(slug=slug, fleets=fleets, boats=boats))


def leases_run_out(site: Production) -> None:
    """Let the time pass after which work, and a message in hand, count as given up.

    To be called when every process that did the work is dead. Rows that a dead client's last
    statement still holds are left for the next time.
    """
    site.sql(RUN_OUT.format(table="fleet_workrow", state="running", older="true",
                            column="lease_until", to="now() - interval '1 second'"))  # fmt: skip
    site.sql(RUN_OUT.format(table="inspections_reminder", state="sending", older=IN_HAND,
                            column="claimed_at", to="now() - interval '16 minutes'"))  # fmt: skip
    no_breath(site)


def old_leases_run_out(site: Production) -> None:
    """The same for what nobody alive can have: not renewed for 25 s, in hand for 20 s."""
    site.sql(RUN_OUT.format(table="fleet_workrow", state="running", column="lease_until",
                            older="lease_until < now() + interval '95 seconds'",
                            to="now() - interval '1 second'"))  # fmt: skip
    site.sql(RUN_OUT.format(table="inspections_reminder", state="sending", column="claimed_at",
                            older=f"{IN_HAND} AND claimed_at < now() - interval '20 seconds'",
                            to="now() - interval '16 minutes'"))  # fmt: skip
    no_breath(site)


def no_breath(site: Production) -> None:
    """A round that ended badly may be asked for again at once."""
    site.sql("UPDATE fleet_workrow SET ended_at = ended_at - interval '6 minutes' "
             "WHERE state = 'failed'")  # fmt: skip


def waits_are_over(site: Production) -> None:
    """Let the time pass after which what failed is tried again."""
    site.sql("UPDATE inspections_reminder SET next_try_at = now() WHERE state = 'failed'")


@contextmanager
def running() -> Iterator[Stage]:
    """Yield a stage with everything but a worker."""
    with ExitStack() as stack:
        folder = Path(stack.enter_context(TemporaryDirectory(prefix="stayward-faults-")))
        database = stack.enter_context(postgres_restarted.running())
        port = processes.free_port()
        sink = stack.enter_context(smtp.running())
        env = environment(folder, database.url, f"redis://127.0.0.1:{port}/0", sink.url, 1)
        site = Production("", folder, env | {"STAYWARD_BACKUPS": "0"}, sink)
        stage = Stage(site, database, port, stack)
        stage.start_redis()
        site.manage("migrate")
        yield stage
        for worker in site.workers:  # Nobody is left to wait for.
            worker.send_signal(signal.SIGKILL)
