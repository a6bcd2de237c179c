"""Where a worker is caught in the act: by the database in a claim or a record, by the mail server.

Nothing of the program is changed for it. Two triggers make an update that claims, or records, wait
for an advisory lock which the test holds; the mail server waits before it answers. Caught there the
worker is killed; what it left the database or the mail server with is then finished or undone.
"""

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from email.message import EmailMessage

import psycopg

from tests.production import Production
from tests.services import smtp

LOCKS = {"claiming": 471101, "recording": 471102}
TRIGGERS = """
CREATE OR REPLACE FUNCTION faults_wait() RETURNS trigger AS $$
BEGIN
    PERFORM pg_advisory_xact_lock_shared(TG_ARGV[0]::bigint);
    RETURN NEW;
END $$ LANGUAGE plpgsql;
DROP TRIGGER IF EXISTS faults_claiming ON inspections_reminder;
DROP TRIGGER IF EXISTS faults_recording ON inspections_reminder;
CREATE TRIGGER faults_claiming AFTER UPDATE ON inspections_reminder FOR EACH ROW
    WHEN (NEW.state = 'sending'
          AND (OLD.claimed_at IS NULL OR NEW.claimed_at > OLD.claimed_at))
    EXECUTE FUNCTION faults_wait({claiming});
CREATE TRIGGER faults_recording AFTER UPDATE ON inspections_reminder FOR EACH ROW
    WHEN (NEW.state = 'sent' AND OLD.state = 'sending') EXECUTE FUNCTION faults_wait({recording});
"""
WAITING = """SELECT pid FROM pg_locks WHERE locktype = 'advisory' AND NOT granted
    AND objid = %s"""
SECONDS = 0.02


def set_up(site: Production) -> None:
    site.sql(TRIGGERS.format(**LOCKS))


def take_down(site: Production) -> None:
    for name in LOCKS:
        site.sql(f"DROP TRIGGER faults_{name} ON inspections_reminder")


@dataclass
class Caught:
    """A worker is in the trap. ``finish``: let what it began come to its end, or undo it."""

    finish: bool
    session: psycopg.Connection | None = None
    held: int = 0
    backends: tuple[int, ...] = ()

    def let_go(self) -> None:
        """To be called when the worker is dead."""
        if self.session is None:
            return
        if not self.finish:
            for pid in self.backends:
                self.session.execute("SELECT pg_terminate_backend(%s)", [pid])
        self.session.execute("SELECT pg_advisory_unlock(%s)", [self.held])


@contextmanager
def in_database(site: Production, phase: str, finish: bool, ring) -> Iterator[Caught]:
    """Wait until a worker is in that phase; it stays there until the block ends.

    With ``finish`` the server ends the statement although its client is dead; a claim is a
    transaction and is undone all the same.
    """
    lock = LOCKS[phase]
    with psycopg.connect(site.env["STAYWARD_DATABASE"], autocommit=True) as session:
        session.execute("SELECT pg_advisory_lock(%s)", [lock])
        pids = patiently(lambda: session.execute(WAITING, [lock]).fetchall(), ring)
        caught = Caught(finish, session, lock, tuple(pid for (pid,) in pids))
        yield caught
        caught.let_go()


@contextmanager
def in_mail_server(sink: smtp.Sink, accept: bool, ring) -> Iterator[Caught]:
    """Wait until a message has been handed over; it is answered when the block ends.

    With ``accept`` the server takes it, and nobody is left to hear so; else it does not.
    """
    handed_over, gone, usual = threading.Event(), threading.Event(), sink.answer

    def hold(message: EmailMessage) -> str:
        if handed_over.is_set():
            return "451 4.3.0 not now"
        handed_over.set()
        gone.wait(30)
        return smtp.ACCEPTED if accept else "451 4.3.0 not now"

    sink.answer = hold
    try:
        patiently(handed_over.is_set, ring)
        yield Caught(accept)
    finally:
        gone.set()
        time.sleep(0.05)  # The answer is on its way to nobody.
        sink.answer = usual


def patiently(what, ring, seconds: float = 120):
    """Return the first true answer, ringing for work again and again; AssertionError at last."""
    until, again = time.monotonic() + seconds, 0.0
    while not (answer := what()):
        assert time.monotonic() < until, "no worker came into the trap"
        if time.monotonic() > again:
            again = time.monotonic() + 3
            ring()
        time.sleep(SECONDS)
    return answer


@contextmanager
def nowhere() -> Iterator[Caught]:
    """No trap: the worker is wherever it is."""
    yield Caught(finish=True)
