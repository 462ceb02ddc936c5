"""The Celery application: in-process without `REDIS_URL`, a real broker with it."""

from __future__ import annotations

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "renovation.settings")

app = Celery("renovation")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
