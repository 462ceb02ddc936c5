"""An owner who will not have a task wait says why, and that goes into the record."""

import pytest

from apps.inspections.models import SignOff
from apps.property.outlines import rectangle
from tests import factories
from tests.api.asking import ago, ids, is_problem, refuses
from tests.api.houses import floor_with_boards
from tests.api.walk import signed_in, viewer_of

REASON = "The inspector agreed by telephone; photos are on file."


def look(house, *blocked, **fields):
    inspection = factories.InspectionFactory(property=house, **fields)
    inspection.blocks.set(blocked)
    return inspection


def task_of(house, **fields):
    return factories.TaskFactory(package__property=house, **fields)


def post(client, task, step="start", **body):
    return client.post(f"/api/v1/tasks/{task.pk}/{step}/", body)


@pytest.mark.parametrize(("step", "status"), [("start", "doing"), ("finish", "done")])
def test_an_owner_takes_the_step_and_the_reason_is_recorded(client, house, step, status):
    lay = task_of(house, title="Lay")
    inspection = look(house, lay, title="Joist ends")

    answer = post(client, lay, step, at=ago(2).isoformat(), override_reason=REASON)

    row = SignOff.objects.get()
    assert (answer.status_code, answer.json()["status"]) == (200, status)
    assert (row.inspection, row.task, row.result) == (inspection, lay, "overridden")
    assert (row.reason, row.seen_by, row.seen_at) == (REASON, house.owner.username, ago(2))
    assert row.stated["stood_against"] == ["Lay waits until “Joist ends” is signed off; it is due."]


def test_an_override_is_no_sign_off(client, house):
    lay = task_of(house)
    inspection = look(house, lay)

    post(client, lay, override_reason=REASON)

    inspection.refresh_from_db()
    assert inspection.state == "due"
    assert is_problem(post(client, lay, "finish"), 409, "hold-point-open")


def test_each_look_that_stood_against_it_has_its_row(client, house):
    lay = task_of(house)
    looks = [look(house, lay), look(house, lay), look(house, lay, state="accepted")]

    post(client, lay, override_reason=REASON)

    overridden = SignOff.objects.filter(result="overridden").order_by("number")
    assert [row.inspection for row in overridden] == looks[:2]
    assert [row.number for row in overridden] == [1, 2]


def test_a_condition_and_missing_evidence_are_overridden_too(client, house):
    lay = task_of(house)
    asked = [{"key": "joist-ends", "title": "Joist ends"}]
    bare = look(house, lay, state="accepted", required_evidence=asked)
    conditional = look(house)
    factories.condition(conditional, blocks=[lay], recorded_by=house.owner)

    answer = post(client, lay, override_reason=REASON)

    rows = SignOff.objects.filter(result="overridden")
    assert answer.status_code == 200
    assert {row.inspection for row in rows} == {bare, conditional}


def test_a_task_that_would_cover_what_was_not_seen_is_overridden_in_the_same_way(client, house):
    floor = floor_with_boards(house)
    lay = task_of(house, floor=floor, floor_action="fix", area=rectangle(2000, 500))
    inspection = look(house, floor=floor, area=rectangle(1000, 300))

    refused = post(client, lay)
    started = post(client, lay, override_reason=REASON)

    assert is_problem(refused, 409, "hold-point-open")
    assert [row["id"] for row in refused.json()["inspections"]] == [inspection.pk]
    assert started.status_code == 200
    assert SignOff.objects.get().inspection == inspection


def test_a_helper_does_not_override(house):
    lay = task_of(house)
    look(house, lay)
    helper = signed_in(factories.MemberFactory(property=house, role="helper").user)

    answer = post(helper, lay, override_reason=REASON)

    lay.refresh_from_db()
    assert is_problem(answer, 403, "owners-only")
    assert lay.status == "to_do"
    assert not SignOff.objects.exists()


def test_a_viewer_does_not_override(house):
    lay = task_of(house)
    look(house, lay)

    assert post(viewer_of(house), lay, override_reason=REASON).status_code == 403
    assert not SignOff.objects.exists()


def test_a_reason_for_nothing_is_not_recorded(client, house):
    answer = post(client, task_of(house), override_reason=REASON)

    assert answer.status_code == 200
    assert not SignOff.objects.exists()


@pytest.mark.parametrize(("reason", "words"), [(" ", "blank"), ("x" * 1001, "1000")])
def test_the_reason_is_in_words(client, house, reason, words):
    lay = task_of(house)
    look(house, lay)

    assert refuses(post(client, lay, override_reason=reason), "/override_reason", words)


def test_a_step_that_is_refused_for_another_reason_leaves_no_override(client, house):
    lay = task_of(house, status="dropped")
    look(house, lay)

    answer = post(client, lay, override_reason=REASON)

    assert is_problem(answer, 409, "wrong-step")
    assert not SignOff.objects.exists()


def test_held_boards_leave_no_override_behind(client, house):
    floor = floor_with_boards(house)
    lay = task_of(house, floor=floor, floor_action="fix", area=rectangle(2000, 500))
    look(house, lay)
    floor.boards.update(state="up")
    factories.AccessNeedFactory(property=house, floor=floor, area=rectangle(1000, 300))

    answer = post(client, lay, "finish", override_reason=REASON)

    lay.refresh_from_db()
    assert is_problem(answer, 409, "board-held")
    assert lay.status == "to_do"
    assert not SignOff.objects.exists()


def test_overrides_are_found_among_the_sign_offs(client, house):
    lay = task_of(house)
    look(house, lay)
    post(client, lay, override_reason=REASON)
    factories.SignOffFactory(inspection=look(house), recorded_by=house.owner)

    rows = client.get("/api/v1/sign-offs/", {"result": "overridden"}).json()["results"]

    assert [(row["result"], row["task"]) for row in rows] == [("overridden", lay.pk)]
    assert len(ids(client.get("/api/v1/sign-offs/", {"task": lay.pk}))) == 1


def test_a_task_with_an_override_is_kept(client, house):
    lay = task_of(house)
    look(house, lay)
    post(client, lay, override_reason=REASON)

    assert client.delete(f"/api/v1/tasks/{lay.pk}/").status_code == 409
