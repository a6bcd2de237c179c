"""Celery's doorbell to the refresh; the command of the same name calls the same function."""

from celery import shared_task

from fleet.models import Fleet

from . import refresh


@shared_task
def refresh_fleet(fleet_id: int) -> None:
    """Fit, forecast and plan for one fleet as of its today."""
    fleet = Fleet.objects.get(pk=fleet_id)
    refresh.run(fleet, fleet.today())
