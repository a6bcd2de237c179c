"""The Celery application: used in production only; the embedded mode runs no worker."""

import os

from celery import Celery, signals
from django.conf import settings

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fleet.project.settings")

app = Celery("stayward")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()


@signals.celeryd_init.connect
@signals.beat_init.connect
def needs_a_broker(**kwargs) -> None:
    """End a worker or a beat that would otherwise look for a broker of another kind for ever."""
    if not settings.CELERY_BROKER_URL:
        raise SystemExit("STAYWARD_REDIS is not set: workers and beat need redis://host:6379/0.")
