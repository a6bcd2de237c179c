"""Do what a row of work asks for: run the job of its kind, show its progress, record its end."""

import datetime as dt
import logging
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from django.conf import settings
from django.db import OperationalError, connection
from django.utils import timezone
from django.utils.module_loading import import_string

from ..models import WorkRow
from .claiming import renew

log = logging.getLogger(__name__)
State = WorkRow.State
BEAT_SECONDS = 20
STEP_LENGTH = WorkRow._meta.get_field("step").max_length


class NotDone(Exception):
    """Raised by a job that cannot do what was asked: the words for the person who asked."""

    def __init__(self, words: str, seen_at: str = "") -> None:
        super().__init__(words)
        self.seen_at = seen_at


class Cancelled(Exception):
    """Somebody asked to cancel: raised between two steps."""


class PutBack(Exception):
    """This process is asked to end: raised between two steps; another takes the row up."""


class ClaimLost(Exception):
    """The row is somebody else's by now."""


@dataclass(frozen=True)
class Done:
    """What came of a job: words, where the result is seen, what to tidy once that is on record.

    ``made``: the name under which the file it wrote to ``files.path_of`` is downloaded.
    """

    words: str
    seen_at: str = ""
    then: Callable[[], None] = lambda: None
    made: str = ""


class Running:
    """What a job is handed: the row, and a way to say how far it is."""

    def __init__(self, row: WorkRow, stopping: Callable[[], bool]) -> None:
        self.row, self.stopping = row, stopping

    def plan(self, steps: int) -> None:
        """Say how many steps there will be."""
        self.row.steps = steps
        self.save(steps=steps)

    def say(self, step: str) -> None:
        """Commit that a step is done. Never called inside a transaction of the job.

        Raises Cancelled or PutBack where something is left to stop.
        """
        self.row.steps_done = min(self.row.steps_done + 1, self.row.steps)
        self.save(step=step[:STEP_LENGTH], steps_done=self.row.steps_done)
        if self.row.steps_done < self.row.steps:
            self.pause()

    def pause(self) -> None:
        """Give way between two pieces of one step; raises as ``say`` does."""
        if WorkRow.objects.filter(pk=self.row.pk, cancel_asked=True).exists():
            raise Cancelled
        if self.stopping():
            raise PutBack

    def save(self, **fields) -> None:
        ours = WorkRow.objects.filter(pk=self.row.pk, claim=self.row.claim, state=State.RUNNING)
        if ours.update(**fields) != 1:
            raise ClaimLost


def do(row: WorkRow, stopping: Callable[[], bool] = lambda: False) -> None:
    """Do a claimed row. Whatever happens is recorded in it, unless it was taken from us."""
    running = Running(row, stopping)
    try:
        with kept_alive(row):
            attempt(running)
    except ClaimLost:
        log.warning("Work %s was taken up by another worker; this one leaves it.", row.pk)
    except PutBack:
        # Its lease ends now, so that whoever comes next takes it up at once; no try is counted.
        running.save(lease_until=timezone.now() - dt.timedelta(seconds=1), tries=row.tries - 1)


def attempt(running: Running) -> None:
    row = running.row
    try:
        done = import_string(settings.STAYWARD_JOBS[row.kind])(running)
    except NotDone as reason:
        end(running, State.FAILED, str(reason), reason.seen_at)
    except Cancelled:
        after = WorkRow.objects.get(pk=row.pk).step
        end(running, State.CANCELLED, f"Cancelled after this step: {after}")
    except (ClaimLost, PutBack):
        raise
    except Exception as fault:
        # A fault of ours must not end the worker, nor leave the row without an answer.
        log.exception("Work %s broke off.", row.pk)
        said = f"{type(fault).__name__}: {fault}"[:300]
        end(running, State.FAILED, f"It broke off through a fault in the program ({said}). "
            "Who runs the server finds it in the log.")  # fmt: skip
    else:
        running.save(steps_done=row.steps, made=done.made)
        end(running, State.DONE, done.words, done.seen_at)
        done.then()


def end(running: Running, state: str, words: str, seen_at: str = "") -> None:
    now = timezone.now()
    running.save(state=state, outcome=words, seen_at=seen_at, ended_at=now, lease_until=None)


@contextmanager
def kept_alive(row: WorkRow) -> Iterator[None]:
    """Renew the lease from a thread of its own: one step may take longer than a lease."""
    over = threading.Event()
    beating = threading.Thread(target=_beat, args=(row, over), daemon=True)
    beating.start()
    try:
        yield
    finally:
        over.set()
        beating.join()


def _beat(row: WorkRow, over: threading.Event) -> None:
    while not over.wait(BEAT_SECONDS):
        try:
            renew(row, timezone.now())
        except OperationalError:  # A long write has the database; the lease outlasts a few beats.
            log.warning("The lease of work %s could not be renewed; trying again.", row.pk)
        finally:
            connection.close()
