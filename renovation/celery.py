"""The Celery application: in-process without `REDIS_URL`, a real broker with it."""

from __future__ import annotations

import os
from typing import Any

from celery import Celery, signals

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "renovation.settings")

app = Celery("renovation")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()


@signals.worker_init.connect
@signals.beat_init.connect
def refuse_wrong_settings(**kwargs: Any) -> None:
    """End a worker or beat that could do nothing: Celery runs the checks and drops the answer."""
    from django.core.checks import run_checks  # noqa: PLC0415 (Django is set up by now)

    wrong = [message for message in run_checks() if message.is_serious()]
    if wrong:
        raise SystemExit(
            "\n".join(f"{message.id}: {message.msg} {message.hint}" for message in wrong)
        )
