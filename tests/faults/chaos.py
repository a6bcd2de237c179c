"""Two beats and two workers; servers ended and started again in the middle; a full disk."""

import os
import subprocess
import time
from collections.abc import Callable
from contextlib import contextmanager

from tests.faults import kills, stage, tally
from tests.production import Production, wait_for
from tests.services import smtp

BOATS = 20  # x 3 looks x (owner, bosun) x 2 fleets: 240 reminders.
Say = Callable[[str], None]


def run_all(here: stage.Stage, say: Say) -> list[str]:
    """Do each, on fleets of its own; return what went wrong in words."""
    here.worker("worker-2")
    here.beat("beat-1")
    here.beat("beat-2")
    failed = []
    say("| in the middle of it | reminders | delivered | copies | seconds |\n|---|---|---|---|---|")
    for slug, (what, trouble, copies) in TROUBLES.items():
        start = time.monotonic()
        stage.fleets_due(here.site, slug, 2, BOATS)
        trouble(here, slug)
        kills.to_the_end(here.site, slug)
        result = tally.tally(here.site, slug)
        delivered = result.reminders - len(result.undelivered)
        say(f"| {what} | {result.reminders} | {delivered} | {result.copies} | "
            f"{time.monotonic() - start:.0f} |")  # fmt: skip
        allowed = {("anywhere", ""): copies}
        failed += [f"{what}: {fault}" for fault in result.faults(allowed)]
    return failed


def sent(site: Production, slug: str) -> int:
    return sum(f"@{slug}-" in (message["To"] or "") for message in site.sink.messages)


def in_the_middle(here: stage.Stage, slug: str) -> None:
    """Wait until some of it has been sent, and some has not."""
    here.site.ring(stage.TICK)
    wait_for(lambda: sent(here.site, slug) >= 3, 120)


def nothing(here: stage.Stage, slug: str) -> None:
    for _ in range(10):  # As many beats more.
        here.site.ring(stage.TICK)


def redis_restarts(here: stage.Stage, slug: str) -> None:
    in_the_middle(here, slug)
    here.redis.kill()
    here.redis.wait()
    time.sleep(1)
    here.start_redis()


def postgres_restarts(here: stage.Stage, slug: str) -> None:
    in_the_middle(here, slug)
    here.postgres.end()
    time.sleep(1)
    here.postgres.start()


def mail_server_restarts(here: stage.Stage, slug: str) -> None:
    in_the_middle(here, slug)
    with smtp.stopped(here.site.sink):
        time.sleep(2)


def disk_is_full(here: stage.Stage, slug: str) -> None:
    """The mail folder on a file system of a few pages; without the right to mount, a file."""
    mail = here.site.folder / "var" / "mail"
    with full(mail):
        here.site.ring(stage.TICK)
        failed = "SELECT count(*) FROM inspections_reminder WHERE state = 'failed'"
        wait_for(lambda: here.site.sql(failed)[0][0] > 0, 120)


@contextmanager
def full(folder):
    aside = folder.with_name("mail-aside")
    folder.mkdir(parents=True, exist_ok=True)
    if os.geteuid() == 0 and mounted(folder):
        try:
            (folder / "filled").write_bytes(bytes(4096))
            yield
        finally:
            subprocess.run(["umount", folder], check=True)
        return
    folder.rename(aside)
    folder.write_text("")
    yield
    folder.unlink()
    aside.rename(folder)


def mounted(folder) -> bool:
    tiny = ["mount", "-t", "tmpfs", "-o", "size=8k", "tmpfs", folder]
    return subprocess.run(tiny, check=False, capture_output=True).returncode == 0


# By the slug of its fleets: what happens, how, and how many copies it may cost. A restart of the
# database may cut off two workers between "accepted" and the record of it; so may that of the
# mail server, whose answers are lost.
TROUBLES = {
    "pair": ("two beats, two workers", nothing, 0),
    "redis": ("Redis ended, empty when it is back", redis_restarts, 0),
    "postgres": ("PostgreSQL ended with SIGQUIT", postgres_restarts, 2),
    "mail": ("the mail server restarted", mail_server_restarts, 2),
    "disk": ("no room for the copies of messages", disk_is_full, 0),
}
