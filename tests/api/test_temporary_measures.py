"""Temporary measures over HTTP: looked at, cleared, and cleared by mistake."""

import pytest

from tests import factories
from tests.api.asking import ago, ids, is_problem, refuses

MEASURES = "/api/v1/temporary-measures/"


def prop(house, **fields):
    return factories.TemporaryMeasureFactory(property=house, **({"since": ago(48)} | fields))


def post(client, measure, step, body=None):
    return client.post(f"{MEASURES}{measure.pk}/{step}/", body or {})


def test_a_prop_is_noted_with_how_often_it_is_looked_at(client, house):
    task = factories.TaskFactory(package__property=house)

    answer = client.post(
        MEASURES,
        {
            "property": house.pk, "kind": "prop", "where": "Under J4", "since": ago(2).isoformat(),
            "check_every_hours": 24, "clear_before_task": task.pk,
        },
    )  # fmt: skip

    assert answer.status_code == 201
    assert answer.json()["cleared_at"] is None


@pytest.mark.parametrize(
    ("changes", "pointer", "words"),
    [
        ({"where": ""}, "/where", "blank"),
        ({"kind": "hope"}, "/kind", "not a valid choice"),
        ({"check_every_hours": 0}, "", "every 1 to 8784 hours"),
        ({"check_every_hours": 8785}, "", "every 1 to 8784 hours"),
        ({"since": None}, "/since", "null"),
    ],
)
def test_what_no_measure_can_be_is_refused(client, house, changes, pointer, words):
    assert refuses(client.patch(f"{MEASURES}{prop(house).pk}/", changes), pointer, words)


def test_a_measure_cannot_have_begun_after_it_was_looked_at_or_cleared(client, house):
    looked_at, cleared = prop(house, last_checked_at=ago(5)), prop(house, cleared_at=ago(5))
    later = {"since": ago(4).isoformat()}

    first = client.patch(f"{MEASURES}{looked_at.pk}/", later)
    second = client.patch(f"{MEASURES}{cleared.pk}/", later)

    assert refuses(first, "", "cannot be checked before it was set up")
    assert refuses(second, "", "cannot be cleared before it was set up")


def test_a_look_is_noted_and_a_wrong_time_put_right(client, house):
    measure = prop(house)

    post(client, measure, "check", {"at": ago(1).isoformat()})
    answer = post(client, measure, "check", {"at": ago(2).isoformat()})

    assert answer.json()["last_checked_at"] == ago(2).isoformat().replace("+00:00", "Z")


def test_a_clearing_is_noted_and_undone(client, house):
    measure = prop(house)

    cleared = post(client, measure, "clear", {"at": ago(1).isoformat()})
    too_late = post(client, measure, "check")
    undone = post(client, measure, "unclear")

    assert cleared.json()["cleared_at"] is not None
    assert is_problem(too_late, 409, "wrong-step")
    assert too_late.json()["allowed"] == ["unclear"]
    assert undone.json()["cleared_at"] is None


@pytest.mark.parametrize("step", ["check", "clear"])
def test_nothing_is_looked_at_or_cleared_before_it_was_set_up(client, house, step):
    measure = prop(house)

    answer = post(client, measure, step, {"at": ago(49).isoformat()})

    measure.refresh_from_db()
    assert refuses(answer, "/at", "was set up at")
    assert measure.version == 1


def test_what_was_not_cleared_cannot_be_uncleared(client, house):
    assert is_problem(post(client, prop(house), "unclear"), 409, "wrong-step")


def test_times_are_never_written_directly(client, house):
    answer = client.patch(f"{MEASURES}{prop(house).pk}/", {"cleared_at": ago(1).isoformat()})

    assert answer.json()["cleared_at"] is None


def test_a_strangers_measure_takes_no_step(client, house):
    theirs = factories.TemporaryMeasureFactory()

    answers = [post(client, theirs, step) for step in ("check", "clear", "unclear")]

    assert [answer.status_code for answer in answers] == [404, 404, 404]


def test_measures_are_filtered_by_kind_task_and_whether_they_are_out(client, house):
    task = factories.TaskFactory(package__property=house)
    standing = prop(house, clear_before_task=task)
    out = prop(house, kind="water_off", cleared_at=ago(1))

    assert ids(client.get(MEASURES, {"cleared_at__isnull": "true"})) == [standing.pk]
    assert ids(client.get(MEASURES, {"kind": "water_off"})) == [out.pk]
    assert ids(client.get(MEASURES, {"clear_before_task": task.pk})) == [standing.pk]
