"""Work that is asked for and then done: superseded, in turn, stopped, begun again, never lost."""

from __future__ import annotations

from datetime import timedelta

import pytest
from celery.exceptions import SoftTimeLimitExceeded
from django.db import OperationalError, connection
from django.utils import timezone
from kombu.exceptions import OperationalError as BrokerError

from apps.inspections.models import CompletionFile
from apps.planning import services
from apps.planning.models import Plan
from apps.timber.models import CuttingPlan
from renovation import jobs
from tests import factories
from tests.api.asking import is_problem
from tests.api.houses import MONDAY, crew, package, plan

UNHEARD = jobs.LEFT_AFTER + timedelta(seconds=1)


def queued(house, **fields):
    return Plan.objects.create(property=house, as_of=MONDAY, **fields)


def asked(house, **fields):
    return services.request_plan(house=house, as_of=MONDAY, horizon_days=7, seconds=1, **fields)


def state(row):
    row.refresh_from_db()
    return row.state


@pytest.fixture
def workers(settings):
    """As with workers: a message wakes one, and it takes what is next in turn."""
    settings.CELERY_TASK_ALWAYS_EAGER = False
    return lambda woken_by: jobs.work(services.KIND, woken_by.pk)


@pytest.fixture
def told(monkeypatch):
    """The ids that workers are told of, instead of telling them."""
    ids = []
    monkeypatch.setattr(jobs, "tell", lambda kind, job_id: ids.append(job_id) or True)
    return ids


def kind_that(do):
    return jobs.Kind(rows=Plan, task=services.task, do=do, failure=services.failure)


def test_a_newer_request_takes_the_place_of_a_queued_one_and_the_row_says_so(house):
    first, second = asked(house), asked(house)

    assert state(first) == "superseded"
    assert first.superseded_by == second
    assert first.solved_at
    assert state(second) == "queued"


def test_what_is_being_worked_on_is_not_superseded(house):
    first = queued(house, state="solving", progressed_at=timezone.now())

    asked(house)

    assert state(first) == "solving"


def test_a_supposition_takes_the_place_of_the_same_one_only(house):
    one, other = {"drop_tasks": [1]}, {"drop_tasks": [2]}
    rows = [asked(house), asked(house, what_if=one), asked(house, what_if=other)]

    again = asked(house, what_if=one)

    assert [state(row) for row in rows] == ["queued", "superseded", "queued"]
    assert rows[1].superseded_by == again


def test_a_quick_plan_leaves_the_thorough_one_in_the_queue(house):
    thorough, quick = asked(house), asked(house, quick=True)

    assert [state(thorough), state(quick)] == ["queued", "queued"]
    asked(house)
    assert [state(thorough), state(quick)] == ["superseded", "superseded"]


def test_another_house_is_left_alone(house):
    other = asked(factories.PropertyFactory())

    asked(house)

    assert state(other) == "queued"


def test_a_house_with_fifty_requests_does_not_starve_another(house, workers, told, monkeypatch):
    many = [queued(house, what_if={"drop_tasks": [n]}) for n in range(50)]
    other = factories.PropertyFactory()
    one = queued(other)
    served = []
    kind = kind_that(
        lambda job: (served.append(job.property), jobs.finish(job, state="failed", failure="x"))
    )

    for row in [*many[:2], one]:
        jobs.work(kind, row.pk)

    assert served == [house, other, house]


def test_the_house_served_longest_ago_is_next(house, told):
    houses = [house, *(factories.PropertyFactory() for _ in range(2))]
    now = timezone.now()
    for hours, each in zip((1, 3, 2), houses, strict=True):
        queued(each, state="failed", claimed_at=now - timedelta(hours=hours))
        queued(each)

    found = [row.property for row in jobs.in_turn(services.KIND)]

    assert found == [houses[1], houses[2], houses[0]]


def test_two_rows_of_one_house_are_never_worked_on_at_once(house):
    queued(house, state="solving", progressed_at=timezone.now())
    waiting = queued(house)

    assert jobs.claim(services.KIND) is None
    assert jobs.claim(services.KIND, only=waiting.pk) is None
    assert state(waiting) == "queued"


def test_what_came_while_its_house_was_served_is_done_after_it(house, handed_out):
    crew(house)
    factories.TaskFactory(package=package(house))
    waiting = queued(house, what_if={"drop_tasks": []})

    made = plan(house)

    assert [state(made), state(waiting)] == ["ready", "ready"]
    made.refresh_from_db()
    assert made.is_current


def test_a_plan_that_is_stopped_before_it_begins_is_not_made(house, told):
    row = queued(house)

    services.cancel_plan(plan=row)

    assert jobs.claim(services.KIND) is None
    assert state(row) == "cancelled"


def test_what_is_stopped_while_it_is_worked_on_counts_for_nothing(house, told):
    crew(house)
    good = queued(house, state="ready", is_current=True)
    row = queued(house)
    kind = kind_that(
        lambda job: (services.cancel_plan(plan=Plan.objects.get(pk=job.pk)), services.make(job))
    )

    jobs.work(kind, row.pk)

    assert state(row) == "cancelled"
    assert not row.stints.exists()
    assert Plan.objects.get(is_current=True) == good


@pytest.mark.parametrize(
    ("path", "factory", "word"),
    [
        ("plans", queued, "state"),
        ("cutting-plans", lambda house: factories.CuttingPlanFactory(property=house), "state"),
        ("completion-files", lambda house: CompletionFile.objects.create(property=house), "state"),
    ],
)
def test_each_kind_is_stopped_over_the_api_and_only_once(client, house, path, factory, word):
    row = factory(house)
    type(row).objects.filter(pk=row.pk).update(state="queued")
    address = f"/api/v1/{path}/{row.pk}/cancel/"

    stopped, again = client.post(address), client.post(address)

    assert stopped.status_code == 200
    assert stopped.json().get("status", stopped.json().get("state")) == "cancelled"
    assert is_problem(again, 409, "wrong-step")


def test_a_viewer_stops_nothing(house):
    from tests.clients import Client

    viewer = Client()
    viewer.force_authenticate(factories.MemberFactory(property=house, role="viewer").user)
    row = queued(house)

    assert is_problem(viewer.post(f"/api/v1/plans/{row.pk}/cancel/"), 403, "not-allowed")
    assert state(row) == "queued"


def test_a_broker_that_is_down_costs_the_request_nothing(client, house, settings, monkeypatch):
    crew(house)
    settings.CELERY_TASK_ALWAYS_EAGER = False

    class Unreachable:
        @staticmethod
        def apply_async(arguments):
            raise BrokerError("connection refused")

    kind = jobs.Kind(rows=Plan, task=lambda: Unreachable, do=services.make,
                     failure=services.failure)  # fmt: skip
    monkeypatch.setattr(services, "KIND", kind)
    monkeypatch.setattr(jobs.transaction, "on_commit", lambda act: act())

    answer = client.post("/api/v1/plans/", {"property": house.pk, "seconds": 1})

    assert (answer.status_code, answer.json()["status"]) == (202, "queued")
    assert Plan.objects.get().handed_out_at is None


def test_the_sweep_tells_of_what_nobody_was_told_of(house, told, workers):
    untold, told_now = queued(house), queued(factories.PropertyFactory())
    Plan.objects.filter(pk=told_now.pk).update(handed_out_at=timezone.now())

    jobs.sweep(services.KIND, now=timezone.now())

    assert told == [untold.pk]


def test_the_sweep_queues_again_what_is_not_heard_of_any_more(house, told, workers):
    now = timezone.now()
    lost = queued(house, state="solving", attempts=1, progressed_at=now - UNHEARD)
    alive = queued(
        factories.PropertyFactory(), state="solving", attempts=1, progressed_at=now
    )  # fmt: skip

    jobs.sweep(services.KIND, now=now)

    assert [state(lost), state(alive)] == ["queued", "solving"]
    assert told == [lost.pk]


def test_a_row_that_takes_every_worker_with_it_fails_in_the_end(house, told):
    now = timezone.now()
    row = queued(house, state="solving", attempts=jobs.MOST_ATTEMPTS, progressed_at=now - UNHEARD)

    jobs.sweep(services.KIND, now=now)

    assert state(row) == "failed"
    assert "3 times" in row.failure
    assert told == []


def test_a_worker_given_up_for_dead_writes_nothing_when_it_comes_back(house, told):
    crew(house)
    row = queued(house)
    late = jobs.claim(services.KIND)
    Plan.objects.filter(pk=row.pk).update(progressed_at=timezone.now() - UNHEARD)
    jobs.sweep(services.KIND, now=timezone.now())
    second = jobs.claim(services.KIND)

    services.make(second)
    with pytest.raises(jobs.GivenUp):
        services.make(late)

    row.refresh_from_db()
    assert (row.state, row.attempts, row.is_current) == ("ready", 2, True)


def test_a_database_that_goes_away_meanwhile_is_nobodys_fault(
    house, workers, told, caplog, monkeypatch
):
    # The connection holds this test's own transaction: it is not dropped here.
    monkeypatch.setattr(connection, "close_if_unusable_or_obsolete", lambda: None)
    row = queued(house)

    def lose(job):
        raise OperationalError("the connection is lost")

    jobs.work(kind_that(lose), row.pk)

    assert state(row) == "queued"
    assert told == [row.pk]


def test_what_takes_too_long_says_so(house, told, caplog):
    row = queued(house)

    def dawdle(job):
        raise SoftTimeLimitExceeded

    jobs.work(kind_that(dawdle), row.pk)

    assert state(row) == "failed"
    assert "took too long" in row.failure


def test_a_crash_without_workers_is_made_good_by_the_next_request(client, house, handed_out):
    crew(house)
    left = queued(house, state="solving", attempts=1, progressed_at=timezone.now() - UNHEARD)

    answer = client.post("/api/v1/plans/", {"property": house.pk, "seconds": 1})

    assert (answer.status_code, answer.json()["status"]) == (201, "ready")
    assert state(left) == "superseded"


def test_progress_is_told_on_the_row(house, told):
    crew(house)
    row = queued(house)
    seen = []
    job = jobs.claim(services.KIND)

    services.work_out(
        job, told=lambda pct: (jobs.note_progress(job, pct), seen.append(
            Plan.objects.get(pk=row.pk).progress_pct))
    )  # fmt: skip

    assert seen == sorted(seen)
    assert len(set(seen)) >= 3


def test_a_cutting_plan_of_everything_takes_the_place_of_a_queued_one(house):
    from apps.timber.services.cutting import request_cutting_plan

    need = factories.NeedFactory(property=house)
    first = request_cutting_plan(house=house)
    some = request_cutting_plan(house=house, needs=[need])
    second = request_cutting_plan(house=house)

    assert [state(row) for row in (first, some, second)] == ["superseded", "queued", "queued"]
    assert CuttingPlan.objects.get(pk=first.pk).superseded_by == second


def test_an_answer_is_kept_with_the_work_for_whoever_hears_none(client, house, monkeypatch):
    """The process ends between the commit and the answer: the key finds the plan, not a second."""
    crew(house)
    send = {"property": house.pk, "seconds": 1}
    headers = {"Idempotency-Key": "k1"}
    from apps.planning.api.plans import PlanViewSet

    answered = PlanViewSet.answered
    calls = []

    def killed(self, asked_plan):
        calls.append(asked_plan)
        if len(calls) == 2:
            raise SystemExit
        return answered(self, asked_plan)

    monkeypatch.setattr(PlanViewSet, "answered", killed)
    with pytest.raises(SystemExit):
        client.post("/api/v1/plans/", send, headers=headers)

    again = client.post("/api/v1/plans/", send, headers=headers)

    assert (again.status_code, again["Idempotency-Replayed"]) == (202, "true")
    assert again.json()["id"] == Plan.objects.get().pk


def test_a_rule_that_could_not_be_asked_is_not_told_as_broken(client, house, monkeypatch):
    """Django answers a failed question about a constraint with "violated"; it was the database."""
    from django.core.exceptions import ValidationError

    def lost(self, *args, **kwargs):
        connection.errors_occurred = True
        raise ValidationError("The fields property must make a unique set.")

    monkeypatch.setattr(Plan, "validate_constraints", lost)
    try:
        answer = client.post("/api/v1/plans/", {"property": house.pk, "seconds": 1})
    finally:
        connection.errors_occurred = False

    assert is_problem(answer, 503, "database-away")
    assert not Plan.objects.exists()
