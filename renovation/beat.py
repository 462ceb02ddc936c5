"""What happens by itself where there is no Redis: a thread beside the server does what beat and a
worker do elsewhere.

It wakes the tasks of `CELERY_BEAT_SCHEDULE` one after another. Of several processes on one data
folder one does so; when it ends, another takes over. Requests never wait for it.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from threading import Event, Thread
from time import monotonic
from typing import Any

from django.conf import settings
from django.db import close_old_connections, connections
from django.utils import timezone
from django.utils.module_loading import import_string

from renovation.locks import FileLock
from renovation.timetable import Timetable

log = logging.getLogger(__name__)

LONGEST_WAIT_SECONDS = 30.0
"""A laptop that wakes looks after so long at the latest, whatever was due meanwhile."""
SHORTEST_WAIT_SECONDS = 0.05
PATIENCE_SECONDS = 10
"""So long the end of the server waits for what is under way; what takes longer is begun again the
next time, as after a crash."""
SILENT_SECONDS = 2 * 3600
"""The longest task is stopped after half an hour in a worker; here nobody stops it."""


class Beat(Thread):
    """The thread. `clock` tells the time on the wall."""

    def __init__(
        self,
        schedule: Mapping[str, Any],
        folder: Path,
        *,
        clock: Callable[[], datetime] = timezone.now,
    ) -> None:
        super().__init__(name="beat", daemon=True)
        self.timetable = Timetable({it["task"]: it["schedule"] for it in schedule.values()})
        self.lock = FileLock(folder / "beat.lock")
        self.clock = clock
        self.over = Event()
        self.looked_at = monotonic()

    def run(self) -> None:
        try:
            while not self.over.is_set():
                self.look()
                left = self.timetable.seconds_left(self.clock())
                self.over.wait(min(max(left, SHORTEST_WAIT_SECONDS), LONGEST_WAIT_SECONDS))
        finally:
            connections.close_all()
            self.lock.leave()

    def look(self) -> None:
        """Do what is due, unless another process of this folder does it."""
        self.looked_at = monotonic()
        try:
            ours = self.lock.take()
        except OSError as error:
            log.warning("nothing happens by itself: %s cannot be made (%s)", self.lock.path, error)
            return
        if not ours:
            # By the time that one is gone everything has to be looked at.
            self.timetable.begun_at.clear()
            return
        for name in list(self.timetable.due(self.clock())):
            if self.over.is_set():
                return
            self.timetable.begun(name, self.clock())
            self.looked_at = monotonic()
            do(name)

    def well(self) -> bool:
        return self.is_alive() and monotonic() - self.looked_at < SILENT_SECONDS


def do(name: str) -> None:
    """Run a task here and now. One that fails is tried again when it is next due."""
    try:
        import_string(name).apply(throw=True)
    except Exception:
        log.exception("%s failed; it is tried again when it is next due", name)
    finally:
        close_old_connections()


running: Beat | None = None
"""The one of this process, for `/readyz`."""


@contextmanager
def beating() -> Iterator[None]:
    """Let things happen by themselves meanwhile, where no beat and worker see to them."""
    global running  # noqa: PLW0603 (one for the whole process)
    if settings.REDIS_URL:
        yield
        return
    running = Beat(settings.CELERY_BEAT_SCHEDULE, settings.DATA_DIR)
    running.start()
    try:
        yield
    finally:
        running.over.set()
        # Whoever presses Ctrl-C once more does not want to wait.
        with suppress(KeyboardInterrupt):
            running.join(PATIENCE_SECONDS)
        running = None
