"""The Celery application: used in production only; the embedded mode runs no worker."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fleet.project.settings")

app = Celery("stayward")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
