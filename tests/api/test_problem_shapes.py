"""Every way to fail, and the one shape that all failures have (RFC 9457, pointers RFC 6901)."""

from __future__ import annotations

import json
import re

import pytest
from django.conf import settings
from django.db import DataError, IntegrityError, OperationalError
from django.test import Client, RequestFactory
from rest_framework.test import APIClient

from renovation import problems
from renovation.errors import Problem, field_problem
from tests import factories
from tests.api.walk import signed_in, viewer_of

ROOMS = "/api/v1/rooms/"
# RFC 6901 section 3: empty, or "/" before each token, "~" only as ~0 or ~1.
POINTER = re.compile(r"(/([^~/]|~[01])*)*")


def assert_problem(answer, status, code):
    """The shape of every problem; what a reader may count on."""
    body = json.loads(answer.content)
    assert answer.status_code == status, body
    assert answer["Content-Type"] == "application/problem+json"
    assert body["status"] == status
    assert body["type"] == f"/docs/reference/problems#{code}"
    assert body["title"]
    assert body["detail"].strip().endswith((".", "?", ")", "]", "…")) or " " in body["detail"]
    assert "Traceback" not in body["detail"]
    assert isinstance(body["errors"], list)
    for error in body["errors"]:
        assert set(error) >= {"pointer", "detail"}
        assert POINTER.fullmatch(error["pointer"]), error
        assert error["detail"]
    return body


def raw(client, body, content_type="application/json", **headers):
    return client.generic("POST", ROOMS, body, content_type=content_type, **headers)


def nested(depth):
    return "[" * depth + "]" * depth


@pytest.mark.parametrize(
    "body",
    [
        "", "{", "{]", "{'name': 1}", '{"name": NaN}', '{"name": Infinity}', '{"name": -Infinity}',
        '{"name": 1e999}', '{"name": "\t"}', "\ufeff{}", '{"name": 01}', "{}{}", "[1,]",
        '{"level": ' + "9" * 5000 + "}", nested(40), nested(900), nested(100_000),
        '{"a":' * 500 + "1" + "}" * 500,
    ],
    ids=lambda body: body[:12],
)  # fmt: skip
def test_a_body_that_is_not_json_is_malformed(client, body):
    answer = raw(client, body)

    # An empty body is no JSON text but a form without fields: each missing field is pointed at.
    if body:
        assert_problem(answer, 400, "malformed")
    else:
        assert_problem(answer, 400, "invalid")


@pytest.mark.parametrize("body", [b'{"name": "\xff"}', "{}".encode("utf-16"), b"\x00", b"\x80"])
def test_a_body_that_is_not_utf_8_is_malformed(client, body):
    assert_problem(raw(client, body), 400, "malformed")


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        (r'{"name": "a\u0000b"}', "/name"),
        (r'{"outline": [[0, "\ud800"]]}', "/outline/0/1"),
        (r'{"a/b": {"c~d": "\udc00"}}', "/a~1b/c~0d"),
        (r'{"\ud800": 1}', ""),
    ],
)
def test_characters_that_no_database_keeps_are_pointed_at(client, body, pointer):
    problem = assert_problem(raw(client, body), 400, "invalid")

    assert [error["pointer"] for error in problem["errors"]] == [pointer]


def test_a_pair_of_surrogates_is_a_character_like_any_other(client, house):
    answer = client.generic(
        "PATCH", f"/api/v1/properties/{house.pk}/", r'{"name": "House \ud83c\udfe0"}',
        content_type="application/json",
    )  # fmt: skip

    assert answer.status_code == 200
    assert answer.json()["name"] == "House 🏠"


@pytest.mark.parametrize("body", ["[]", "1", '"name"', "null", "true", "[[]]"])
def test_a_body_that_is_no_object_is_invalid(client, body):
    assert_problem(raw(client, body), 400, "invalid")


def test_a_body_of_ten_megabytes_is_too_large(client):
    body = '{"name": "' + "x" * 10_000_000 + '"}'

    problem = assert_problem(raw(client, body), 413, "too-large")

    assert "2048 KiB" in problem["detail"]
    assert settings.DATA_UPLOAD_MAX_MEMORY_SIZE == 2048 * 1024


@pytest.mark.parametrize(
    "content_type",
    ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x",
     "application/xml", "application/octet-stream", "nonsense"],
)  # fmt: skip
def test_other_formats_than_json_are_unsupported(client, content_type):
    answer = raw(client, "a=1", content_type=content_type)

    assert_problem(answer, 415, "unsupported-media-type")


def test_an_answer_in_another_format_is_not_to_be_had(client):
    assert_problem(client.get(ROOMS, HTTP_ACCEPT="text/csv"), 406, "not-acceptable")


@pytest.mark.parametrize("method", ["put", "patch", "delete", "options", "trace"])
def test_what_cannot_be_done_with_a_list_is_said(client, method):
    answer = client.generic(method.upper(), ROOMS, "{}", content_type="application/json")

    assert_problem(answer, 405, "method-not-allowed")
    assert set(answer["Allow"].split(", ")) == {"GET", "POST", "HEAD"} | (
        {"OPTIONS"} if "OPTIONS" in answer["Allow"] else set()
    )


@pytest.mark.parametrize("path", ["/api/v1/attics/", "/api/v2/", "/api/v1/rooms/1/paint/"])
def test_an_address_that_no_route_knows_is_not_found(client, path):
    assert_problem(client.get(path), 404, "not-found")


@pytest.mark.parametrize(
    "pk", ["0", "-1", "999999", "abc", "1e3", "9" * 40, "%00", "%ED%A0%80", "½"]
)
def test_an_id_that_is_not_there_is_not_found(client, pk):
    assert_problem(client.get(f"{ROOMS}{pk}/"), 404, "not-found")


def test_nobody_is_signed_in(db):
    answer = APIClient().get(ROOMS)

    assert_problem(answer, 401, "not-authenticated")
    assert answer["WWW-Authenticate"] == "Token"


@pytest.mark.parametrize("token", ["Token", "Token wrong", "Token a b", "Token \xff", "Bearer x"])
def test_a_wrong_token_is_no_token(db, token):
    assert_problem(APIClient().get(ROOMS, HTTP_AUTHORIZATION=token), 401, "not-authenticated")


def test_a_form_from_elsewhere_is_refused(house):
    """A browser that is signed in sends its cookie along with any site's form."""
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(house.owner)

    answer = browser.post("/api/v1/storeys/", "{}", content_type="application/json")

    assert_problem(answer, 403, "not-allowed")


def test_a_host_it_does_not_serve_is_told_so(db):
    assert_problem(Client().get(ROOMS, HTTP_HOST="elsewhere.example"), 400, "malformed")


def test_a_viewer_may_not_change(house):
    room = factories.RoomFactory(property=house)

    assert_problem(viewer_of(house).patch(f"{ROOMS}{room.pk}/", {}), 403, "not-allowed")


def test_all_that_is_wrong_is_said_at_once(client):
    problem = assert_problem(client.post(ROOMS, {"use": "moat"}), 400, "invalid")

    assert {error["pointer"] for error in problem["errors"]} >= {
        "/property",
        "/storey",
        "/name",
        "/use",
    }
    assert problem["detail"].endswith("more)")


def test_a_broken_rule_of_the_record_is_a_sentence(client, house):
    route = factories.HouseholdRouteFactory(property=house)

    answer = client.patch(f"/api/v1/household-routes/{route.pk}/", {"width_mm": 1})

    problem = assert_problem(answer, 400, "invalid")
    assert problem["errors"] == [
        {"pointer": "", "detail": "A way is between 300 and 2000 mm wide."}
    ]


def test_what_is_still_needed_is_not_removed(client, house):
    room = factories.RoomFactory(property=house)
    factories.DoorwayFactory(property=house, room_a=room)

    problem = assert_problem(client.delete(f"{ROOMS}{room.pk}/"), 409, "in-use")

    assert problem["detail"] == "It cannot go while it still has a doorway."


def test_a_stale_change_comes_with_the_current_object(client, house):
    room = factories.RoomFactory(property=house)

    answer = client.patch(f"{ROOMS}{room.pk}/", {"name": "Den"}, HTTP_IF_MATCH='"9"')

    assert assert_problem(answer, 412, "stale")["current"]["id"] == room.pk


def test_a_key_for_another_request_is_refused(client, house):
    body = {"property": house.pk, "name": "Loft", "level": 2}
    client.post("/api/v1/storeys/", body, HTTP_IDEMPOTENCY_KEY="k")

    answer = client.post("/api/v1/storeys/", {**body, "level": 3}, HTTP_IDEMPOTENCY_KEY="k")

    assert_problem(answer, 422, "key-reused")


@pytest.mark.parametrize("key", ["k" * 201, "with \x07 bell", "ключ"])
def test_a_key_that_is_no_key_is_refused(client, house, key):
    body = {"property": house.pk, "name": "Loft", "level": 2}

    assert_problem(
        client.post("/api/v1/storeys/", body, HTTP_IDEMPOTENCY_KEY=key), 400, "malformed"
    )


@pytest.mark.parametrize(
    ("exc", "status", "code"),
    [
        (IntegrityError("UNIQUE constraint failed"), 409, "conflict"),
        (DataError("integer out of range"), 400, "invalid"),
        (OverflowError("Python int too large"), 400, "invalid"),
        (OperationalError("database is locked"), 503, "busy"),
        (Problem("board-held", "B1.1 is held for the plumber."), 409, "board-held"),
        (field_problem("/area", "An outline must close."), 400, "invalid"),
    ],
)  # fmt: skip
def test_what_the_database_and_services_raise_is_translated(exc, status, code):
    problem = problems.as_problem(exc)

    assert (problem.status_code, problem.code) == (status, code)
    assert "constraint" not in problem.detail


@pytest.mark.parametrize(
    "exc", [OperationalError("no such column: joist_mark"), KeyError("x"), ValueError("x")]
)
def test_an_error_of_our_own_is_not_explained_away(exc):
    assert problems.as_problem(exc) is None


def test_an_error_of_our_own_tells_nothing_of_the_inside():
    answer = problems.server_error(RequestFactory().get(ROOMS))

    problem = assert_problem(answer, 500, "failed")
    assert problem["detail"] == "Something went wrong here; nothing was changed."


def test_nested_errors_become_pointers():
    detail = {
        "stops": [{}, {"from/to": ["Wrong."]}],
        "a~b": ["First.", "Second."],
        "non_field_errors": ["Both."],
    }

    assert list(problems.pointed(detail, "")) == [
        {"pointer": "/stops/1/from~1to", "detail": "Wrong."},
        {"pointer": "/a~0b", "detail": "First."},
        {"pointer": "/a~0b", "detail": "Second."},
        {"pointer": "", "detail": "Both."},
    ]


def test_a_refused_write_changed_nothing(client, house):
    """The first of two changes in one request goes back when the second is refused."""
    floor = factories.FloorFactory(property=house, construction="solid")

    answer = client.post(
        f"/api/v1/floors/{floor.pk}/set-out/", {"max_board_length_mm": 2400},
        HTTP_IDEMPOTENCY_KEY="lay",
    )  # fmt: skip
    client.patch(f"/api/v1/floors/{floor.pk}/", {"construction": "suspended_timber"})
    again = client.post(
        f"/api/v1/floors/{floor.pk}/set-out/", {"max_board_length_mm": 2400},
        HTTP_IDEMPOTENCY_KEY="lay",
    )  # fmt: skip

    assert_problem(answer, 409, "floor-is-solid")
    assert again.status_code == 201


def test_every_sentence_of_a_stranger_is_the_same(house):
    """Whether an id is taken in another house cannot be told from the answer."""
    room = factories.RoomFactory(property=house)
    outside = signed_in(factories.MemberFactory(role="owner").user)

    taken, free = outside.get(f"{ROOMS}{room.pk}/"), outside.get(f"{ROOMS}987654321/")

    # Each names its own request, and nothing else differs.
    assert {**taken.json(), "instance": ""} == {**free.json(), "instance": ""}
