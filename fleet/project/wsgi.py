"""WSGI entry point for gunicorn."""

import os

from django.core.checks import run_checks
from django.core.exceptions import ImproperlyConfigured
from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fleet.project.settings")

application = get_wsgi_application()

# The commands of manage.py look at this by themselves, and so does Celery's worker.
if faults := [fault for fault in run_checks(tags=["stayward"]) if fault.is_serious()]:
    raise ImproperlyConfigured(" ".join(f"{fault.msg} {fault.hint}" for fault in faults))
