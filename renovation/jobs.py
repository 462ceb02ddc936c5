"""Rows that ask for work: told to the workers, claimed fairly, done once, never lost.

A job's row is its own outbox. Asking for one stores a `queued` row; the message that follows it
only wakes a worker, which then takes whichever row is next: of the house that was served longest
ago, and never two of one house at once. A message lost, sent twice or sent to nobody changes
nothing but the moment. Whoever works on a row says so every few seconds; a row of which nothing
is heard any more is given to another.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from threading import Event, Thread
from typing import Any, ClassVar

from celery.exceptions import SoftTimeLimitExceeded
from django.conf import settings
from django.db import (
    Error,
    IntegrityError,
    InterfaceError,
    OperationalError,
    connection,
    connections,
    models,
    transaction,
)
from django.db.models import F, OuterRef, Q, QuerySet, Subquery
from django.utils import timezone
from kombu.exceptions import OperationalError as BrokerError

from renovation.errors import Problem
from renovation.models import Record

log = logging.getLogger(__name__)

QUEUED, FAILED, CANCELLED, SUPERSEDED = "queued", "failed", "cancelled", "superseded"
HEARTBEAT_SECONDS = 10
LEFT_AFTER = timedelta(seconds=90)
"""So long without a word, its worker is gone; so long queued, its message is."""
MOST_ATTEMPTS = 3
"""A row that took so many workers down with it is not given to another."""
MOST_TRIES, MOST_AT_ONCE = 5, 500


class Job(Record):
    """A row that asks for work. `attempts` counts the claims, so that a worker which was given up
    for dead writes nothing when it comes back."""

    WORKING: ClassVar[str] = "solving"
    ENDED_AT: ClassVar[str] = "solved_at"
    SERVED: ClassVar[str] = "property"
    """Whom it is done for: of each of them one row is at work at a time, and all take turns."""
    state: models.CharField[Any, Any]

    progress_pct = models.PositiveSmallIntegerField(default=0)
    attempts = models.PositiveSmallIntegerField(default=0)
    handed_out_at = models.DateTimeField(null=True, blank=True, editable=False)
    claimed_at = models.DateTimeField(null=True, blank=True)
    progressed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        abstract = True


@dataclass(frozen=True)
class Kind:
    """One kind of job: its rows, what is done, and what a person is told when it fails.

    `task` is the Celery task that takes a row's id and calls `work`; a function, since tasks
    import services.
    """

    rows: type[Job]
    task: Callable[[], Any]
    do: Callable[[Any], None]
    failure: Callable[[Exception], str]

    @property
    def all(self) -> QuerySet[Any]:
        return self.rows._default_manager.all()


class GivenUp(Exception):
    """This row was cancelled, or handed to another worker, meanwhile."""


def hand_out(kind: Kind, job: Job) -> None:
    """Tell the workers once the row is stored."""
    transaction.on_commit(lambda: tell(kind, job.pk))


def tell(kind: Kind, job_id: int) -> bool:
    """Send the message that wakes a worker. False without a broker: the sweep tells it later."""
    try:
        kind.task().apply_async((job_id,))
    except BrokerError as exc:
        log.warning("%s %s waits for the sweep: no broker (%s)", kind.rows.__name__, job_id, exc)
        return False
    kind.all.filter(pk=job_id, state=QUEUED).update(handed_out_at=timezone.now())
    return True


def work(kind: Kind, job_id: int) -> None:
    """Take one row and do it: the next in turn, whichever row woke us.

    In-process the row itself, since whoever asked for it waits for the answer.
    """
    job = claim(kind, only=job_id if settings.CELERY_TASK_ALWAYS_EAGER else None)
    if job is None:
        return
    try:
        with heartbeat(job):
            kind.do(job)
    except GivenUp:
        log.warning("%s %s was cancelled or handed to another worker", kind.rows.__name__, job.pk)
    except SoftTimeLimitExceeded as exc:
        log.warning("%s %s took too long", kind.rows.__name__, job.pk)
        fail(job, kind.failure(exc))
    except (OperationalError, InterfaceError):
        # The database went away or was too busy, which heals: nothing is wrong with the row.
        log.exception("%s %s lost its database", kind.rows.__name__, job.pk)
        connection.close_if_unusable_or_obsolete()
        give_back(job)
    except Exception as exc:
        # Whatever went wrong, the person gets a sentence; the log keeps the rest.
        log.exception("%s %s failed", kind.rows.__name__, job.pk)
        fail(job, kind.failure(exc))
    # What came while this house was being served woke a worker in vain.
    with suppress(Error):
        same = {kind.rows.SERVED: getattr(job, kind.rows.SERVED)}
        waiting = kind.all.filter(**same, state=QUEUED).order_by("pk").first()
        if waiting is not None:
            tell(kind, waiting.pk)


def claim(kind: Kind, *, only: int | None = None) -> Any:
    """Take a queued row, so that nobody else does; None when there is none to take."""
    for _ in range(MOST_TRIES):
        found = in_turn(kind) if only is None else kind.all.filter(pk=only, state=QUEUED)
        job_id = found.values_list("pk", flat=True).first()
        if job_id is None:
            return None
        now = timezone.now()
        try:
            with transaction.atomic():
                taken = kind.all.filter(pk=job_id, state=QUEUED).update(
                    state=kind.rows.WORKING, claimed_at=now, progressed_at=now, progress_pct=0,
                    attempts=F("attempts") + 1, version=F("version") + 1,
                )  # fmt: skip
        except IntegrityError:
            # Its house is being served: the database allows one row of a house at work.
            if only is not None:
                return None
            continue
        if taken:
            return kind.all.select_related(kind.rows.SERVED).get(pk=job_id)
    return None


def in_turn(kind: Kind) -> QuerySet[Any]:
    """Queued rows of houses that are not being served: first whose house was served longest ago."""
    whom = kind.rows.SERVED
    served = (
        kind.all.filter(claimed_at__isnull=False, **{whom: OuterRef(whom)})
        .order_by("-claimed_at")
        .values("claimed_at")[:1]
    )
    busy = kind.all.filter(state=kind.rows.WORKING).values(whom)
    rows: QuerySet[Any] = (
        kind.all.filter(state=QUEUED)
        .exclude(**{f"{whom}__in": busy})
        .annotate(served_at=Subquery(served))
        .order_by(F("served_at").asc(nulls_first=True), "pk")
    )
    return rows


@contextmanager
def heartbeat(job: Job) -> Iterator[None]:
    """Say every few seconds that the row is being worked on."""
    over = Event()

    def beat() -> None:
        try:
            while not over.wait(HEARTBEAT_SECONDS):
                connection.close_if_unusable_or_obsolete()
                with suppress(Error):
                    ours(job).update(progressed_at=timezone.now())
        finally:
            connections.close_all()

    thread = Thread(target=beat, name=f"heartbeat {job}", daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()


def rows_like(job: Job) -> QuerySet[Any]:
    rows: QuerySet[Any] = type(job)._default_manager.all()
    return rows


def ours(job: Job) -> QuerySet[Any]:
    """The row, while this claim of it stands."""
    return rows_like(job).filter(pk=job.pk, state=job.WORKING, attempts=job.attempts)


def note_progress(job: Job, pct: int) -> None:
    """Say how far it is.

    Raises:
        GivenUp: it was cancelled or handed to another worker.
    """
    if pct == job.progress_pct:
        return
    change_ours(job, progress_pct=pct, progressed_at=timezone.now())
    job.progress_pct = pct


def finish(job: Job, *, state: str, **values: Any) -> None:
    """End the work on a row.

    Raises:
        GivenUp: it was cancelled or handed to another worker; nothing of it counts.
    """
    change_ours(job, state=state, **{job.ENDED_AT: timezone.now()}, **values)


def change_ours(job: Job, **values: Any) -> None:
    if not ours(job).update(version=F("version") + 1, **values):
        raise GivenUp


def fail(job: Job, sentence: str) -> None:
    with suppress(GivenUp, Error):
        finish(job, state=FAILED, failure=sentence)


def give_back(job: Job) -> None:
    """Let another worker try. Without a database the sweep does it, when no word comes."""
    with suppress(Error):
        requeue(ours(job), type(job))


def requeue(rows: QuerySet[Any], kind: type[Job]) -> None:
    """Queue rows again, but none for ever."""
    rows.filter(attempts__gte=MOST_ATTEMPTS).update(
        state=FAILED,
        failure=f"It was begun {MOST_ATTEMPTS} times and each time the worker was lost.",
        version=F("version") + 1,
        **{kind.ENDED_AT: timezone.now()},
    )
    rows.update(
        state=QUEUED, progress_pct=0, handed_out_at=None, version=F("version") + 1
    )  # fmt: skip


def release_left(rows: QuerySet[Any], *, now: datetime) -> None:
    """Queue again what is at work and was not heard of for a while."""
    silent = Q(progressed_at__lt=now - LEFT_AFTER) | Q(progressed_at=None)
    requeue(rows.filter(silent, state=rows.model.WORKING), rows.model)


def sweep(kind: Kind, *, now: datetime) -> None:
    """Hand out again what a crash left at work, and what no worker was told of."""
    release_left(kind.all, now=now)
    untold = Q(handed_out_at=None) | Q(handed_out_at__lt=now - LEFT_AFTER)
    if settings.CELERY_TASK_ALWAYS_EAGER:
        # Whoever asks works on it at once: only what waits longer was left by a crash.
        untold &= Q(requested_at__lt=now - LEFT_AFTER)
    for job_id in list(in_turn(kind).filter(untold).values_list("pk", flat=True)[:MOST_AT_ONCE]):
        if not tell(kind, job_id):
            return


def supersede(rows: QuerySet[Any], *, by: Job) -> None:
    """A newer request takes the place of those among the rows that nobody works on."""
    release_left(rows, now=timezone.now())
    rows.filter(state=QUEUED, pk__lt=by.pk).update(
        state=SUPERSEDED, superseded_by=by, version=F("version") + 1,
        **{by.ENDED_AT: timezone.now()},
    )  # fmt: skip


@transaction.atomic
def cancel(job: Job) -> None:
    """Stop a row that waits or is being worked on; what its worker still does counts for nothing.

    Raises:
        Problem: `wrong-step` when it has ended already.
    """
    stopped = (
        rows_like(job)
        .filter(pk=job.pk, state__in=(QUEUED, job.WORKING))
        .update(state=CANCELLED, version=F("version") + 1, **{job.ENDED_AT: timezone.now()})
    )
    job.refresh_from_db()
    if not stopped:
        raise Problem("wrong-step", f"The {job} cannot be stopped any more.", state=job.state)
