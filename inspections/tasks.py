"""Doorbells for Celery. When they ring is the operator's cron or timer, not Celery's memory."""

from celery import shared_task
from django.utils import timezone

from . import rounds


@shared_task
def send_reminders(slug: str = "") -> None:
    """Queue and send what is due, for one fleet or for all."""
    for fleet in rounds.fleets(slug):
        rounds.queue_and_send(fleet, timezone.now())
