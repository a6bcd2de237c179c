"""Project plumbing: settings, addresses, workers. Names the apps by string."""

from .celery import app as celery_app  # Without this import `delay` would look for AMQP.

__all__ = ["celery_app"]
