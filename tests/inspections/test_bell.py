"""The doorbell through a real Redis and a real worker: what production rings."""

import time

import pytest
from celery.contrib.testing.worker import start_worker
from django.utils import timezone

from fleet.models import WorkRow
from fleet.project.celery import app
from fleet.tasks import do_work, tick
from fleet.work import asking
from inspections.models import Reminder
from tests import builders

SECONDS = 20


@pytest.fixture
def worker(redis_url, settings, tmp_path, transactional_db):
    """A worker on an empty Redis, and mail into a folder of the test's own."""
    settings.EMAIL_FOLDER = tmp_path
    settings.EMAIL_BACKEND = "inspections.mail_folder.MailFolder"
    settings.CELERY_BROKER_URL = redis_url
    before = app.conf.broker_url
    app.conf.broker_url = redis_url
    with start_worker(app, perform_ping_check=False, pool="solo", loglevel="WARNING") as running:
        yield running
    app.conf.broker_url = before


@pytest.fixture
def fleet(transactional_db):
    fleet = builders.empty_fleet("harbour")
    builders.boat(fleet)
    builders.person("mona", fleet)
    return fleet


def unfinished() -> int:
    return WorkRow.objects.unfinished().count()


def wait() -> None:
    until = time.monotonic() + SECONDS
    while unfinished() and time.monotonic() < until:
        time.sleep(0.1)
    time.sleep(0.5)


def test_asking_rings_and_ringing_twice_sends_each_reminder_once(worker, fleet, tmp_path):
    row = asking.ask(fleet, "reminders", day=builders.TODAY)
    do_work.delay(row.pk)
    assert asking.ask(fleet, "reminders", day=builders.TODAY) == row
    wait()
    row.refresh_from_db()
    assert (row.state, row.tries) == ("done", 1), row.outcome
    assert list(Reminder.objects.values_list("state", flat=True)) == ["sent"] * 3
    assert len(list(tmp_path.glob("*.eml"))) == 1


def test_a_tick_rings_for_work_whose_bell_was_lost(worker, fleet, tmp_path):
    lost = WorkRow.objects.create(fleet=fleet, kind="reminders", asked_at=timezone.now())
    tick.delay()
    wait()
    lost.refresh_from_db()
    assert lost.state == "done", lost.outcome
    assert len(list(tmp_path.glob("*.eml"))) == 1
