"""Project-wide mechanism: settings, errors, and what every endpoint shares."""

from renovation.celery import app as celery_app

__all__ = ["celery_app"]
