"""Problems of the API against RFC 9457.

Source: RFC 9457, Problem Details for HTTP APIs (Nottingham, Wilde, Dalal, IETF, July 2023):
section 3.1 for the members, section 4.1 for what a type is, Appendix A for the JSON Schema,
typed in here without its descriptions (the schema is not normative, section 3.1 is).
RFC 6901, JSON Pointer (IETF, April 2013), section 4, for what a pointer leads to.
"""

import re

import jsonschema
import pytest
from rest_framework.test import APIClient

from tests import factories
from tests.api.walk import addresses, viewer_of

# RFC 9457, Appendix A.
SCHEMA = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "type": "object",
    "properties": {
        "type": {"type": "string", "format": "uri-reference"},
        "title": {"type": "string"},
        "status": {"type": "integer", "minimum": 100, "maximum": 599},
        "detail": {"type": "string"},
        "instance": {"type": "string", "format": "uri-reference"},
    },
}
# RFC 3986 appendix A: the characters of a URI reference (January 2005, from memory).
URI_REFERENCE = re.compile(r"([A-Za-z0-9\-._~:/?#\[\]@!$&'()*+,;=]|%[0-9A-Fa-f]{2})+")
# RFC 9457 section 3: the media type of a problem in JSON.
MEDIA_TYPE = "application/problem+json"

WAYS_TO_FAIL = {
    "not signed in": lambda c, h: APIClient().get("/api/v1/rooms/"),
    "not there": lambda c, h: c.get("/api/v1/rooms/0/"),
    "no such address": lambda c, h: c.get("/api/v1/attics/"),
    "not json": lambda c, h: c.generic("POST", "/api/v1/rooms/", "{", "application/json"),
    "wrong type": lambda c, h: c.generic("POST", "/api/v1/rooms/", "a=1", "text/plain"),
    "too large": lambda c, h: c.generic(
        "POST", "/api/v1/rooms/", "[" + " " * 3_000_000 + "]", "application/json"
    ),
    "wrong method": lambda c, h: c.delete("/api/v1/rooms/"),
    "wrong format": lambda c, h: c.get("/api/v1/rooms/", HTTP_ACCEPT="text/html"),
    "fields": lambda c, h: c.post("/api/v1/rooms/", {"use": "moat"}),
    "filter": lambda c, h: c.get("/api/v1/rooms/", {"storey": "x"}),
    "looking only": lambda c, h: viewer_of(h).patch(f"/api/v1/properties/{h.pk}/", {}),
    "stale": lambda c, h: c.patch(f"/api/v1/properties/{h.pk}/", {}, HTTP_IF_MATCH='"9"'),
    "in use": lambda c, h: c.delete(
        f"/api/v1/storeys/{factories.RoomFactory(property=h).storey_id}/"
    ),
}  # fmt: skip


@pytest.mark.parametrize("fail", WAYS_TO_FAIL.values(), ids=WAYS_TO_FAIL)
def test_a_problem_has_the_members_and_types_of_the_standard(client, house, fail):
    answer = fail(client, house)

    assert answer["Content-Type"] == MEDIA_TYPE
    jsonschema.validate(answer.json(), SCHEMA)
    assert URI_REFERENCE.fullmatch(answer.json()["type"])
    # Section 3.1.2: the same status as the answer's own, for whoever only sees the body.
    assert answer.json()["status"] == answer.status_code


@pytest.mark.parametrize("fail", WAYS_TO_FAIL.values(), ids=WAYS_TO_FAIL)
def test_a_title_is_of_the_type_and_the_detail_of_the_occurrence(client, house, fail):
    """Section 3.1.3: the title does not change from one occurrence to the next."""
    one, two = fail(client, house).json(), fail(client, house).json()

    assert (one["type"], one["title"]) == (two["type"], two["title"])
    assert one["title"] != one["detail"]


def test_types_and_titles_belong_together(client, house):
    problems = [fail(client, house).json() for fail in WAYS_TO_FAIL.values()]

    titles = {problem["type"]: problem["title"] for problem in problems}
    assert all(titles[problem["type"]] == problem["title"] for problem in problems)
    assert len(set(titles.values())) == len(titles)


@pytest.mark.parametrize("where", addresses(), ids=lambda where: where.template)
def test_every_address_refuses_in_the_shape_of_the_standard(db, where):
    for method in where.methods:
        jsonschema.validate(getattr(APIClient(), method)(where.at(1)).json(), SCHEMA)


def test_a_pointer_leads_to_the_value_that_is_wrong(client, house):
    body = {"property": house.pk, "name": "Loft", "level": "high/~up"}

    (error,) = client.post("/api/v1/storeys/", body).json()["errors"]

    assert pointed_at(body, error["pointer"]) == "high/~up"


def pointed_at(document, pointer):
    """RFC 6901 section 4: step by step, ~1 read as / and then ~0 as ~."""
    assert pointer == "" or pointer.startswith("/")
    for token in pointer.split("/")[1:]:
        step = token.replace("~1", "/").replace("~0", "~")
        document = document[int(step)] if isinstance(document, list) else document[step]
    return document
