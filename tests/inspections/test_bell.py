"""The doorbell through a real Redis and a real worker: what production rings."""

import time

import pytest
from celery.contrib.testing.worker import start_worker

from fleet.project.celery import app
from inspections.models import Reminder
from inspections.tasks import send_reminders
from tests import builders

SECONDS = 20


@pytest.fixture
def worker(redis_url, settings, tmp_path, transactional_db):
    """A worker on an empty Redis, and mail into a folder of the test's own."""
    settings.EMAIL_FOLDER = tmp_path
    settings.EMAIL_BACKEND = "inspections.mail_folder.MailFolder"
    before = app.conf.broker_url
    app.conf.broker_url = redis_url
    with start_worker(app, perform_ping_check=False, pool="solo", loglevel="WARNING") as running:
        yield running
    app.conf.broker_url = before


def sent() -> int:
    return Reminder.objects.filter(state="sent").count()


def test_ringing_twice_sends_each_reminder_once(worker, tmp_path):
    fleet = builders.empty_fleet("harbour")
    builders.boat(fleet)
    builders.person("mona", fleet)
    send_reminders.delay("harbour")
    send_reminders.delay("harbour")
    until = time.monotonic() + SECONDS
    while sent() < 3 and time.monotonic() < until:
        time.sleep(0.1)
    time.sleep(0.5)
    assert (sent(), Reminder.objects.count()) == (3, 3)
    assert len(list(tmp_path.glob("*.eml"))) == 1
