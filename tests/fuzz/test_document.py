"""Every operation of the OpenAPI document, asked with what the document allows and with what it
forbids: never a 500, never an answer that the document does not describe.

schemathesis reads the document and draws the requests; in every run the same ones. Ids are real
(`site.py`), and a body mostly is a good one with two fields drawn anew: each operation must have
answered well at least once, and refused at least once, or the trial has shown nothing.
The document has no links; what follows from what is `test_going_on.py`'s.

`FUZZ_EXAMPLES` is how many requests of either kind an operation gets. A long run by hand:
`FUZZ_EXAMPLES=100 .venv/bin/pytest -n auto tests/fuzz`.
"""

from __future__ import annotations

import os
import zlib
from collections import Counter

import pytest
import schemathesis
from django.db import transaction
from drf_spectacular.generators import SchemaGenerator
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from renovation.wsgi import application
from tests.fuzz.site import prefix_of
from tests.fuzz.states import BEFORE, NEVER_REFUSED, OF_ANOTHER_STATE

NO_ID = 987_654_321
EXAMPLES = int(os.environ.get("FUZZ_EXAMPLES", "4"))
CHECKS = [
    not_a_server_error, status_code_conformance, content_type_conformance,
    response_headers_conformance, response_schema_conformance,
]  # fmt: skip
DOCUMENT = schemathesis.openapi.from_dict(SchemaGenerator().get_schema(request=None, public=True))
OPERATIONS = {
    f"{one.method.upper()} {one.path}": one
    for one in (found.ok() for found in DOCUMENT.get_all_operations())
}


def drawn(name):
    """Settings and seed for the requests of one operation."""

    def over(test):
        chosen = settings(
            max_examples=EXAMPLES,
            database=None,
            deadline=None,
            phases=[Phase.explicit, Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
        return seed(zlib.crc32(name.encode()))(chosen(test))

    return over


def varied(good, body, data, *, first):
    """First the good body as it is, then with up to two fields as drawn; the drawn one where none
    is known."""
    if isinstance(body, list) and good and first:
        return [good]
    if good is None or not isinstance(body, dict):
        return body
    changed = data.draw(st.sets(st.sampled_from(sorted({*good, *body})), max_size=2))
    return good if first else {**good, **{key: body[key] for key in changed if key in body}}


def was_answered(name, reached):
    """Whether it came to an answer of either sort, where one can be had."""
    well = name in OF_ANOTHER_STATE or any(200 <= status < 300 for status in reached)
    return well and (name in NEVER_REFUSED or any(400 <= status < 500 for status in reached))


def test_every_operation_is_asked():
    assert len(OPERATIONS) > 300
    assert {*OF_ANOTHER_STATE, *NEVER_REFUSED, *BEFORE} <= set(OPERATIONS)


def closed(environ, start_response):
    """The program, whose answers are closed as a server closes them: what asks here does not."""
    answer = application(environ, start_response)
    try:
        return [b"".join(answer)]
    finally:
        answer.close()


@pytest.mark.parametrize("name", OPERATIONS)
def test_every_answer_is_one_that_the_document_describes(site, name):
    operation = OPERATIONS[name]
    good = site.good_body(operation.method.upper(), operation.path) if operation.body else None
    reached, nowhere = Counter(), iter([NO_ID])

    @drawn(name)
    @given(case=operation.as_strategy(), data=st.data())
    def allowed(case, data):
        aim(case)
        if data.draw(st.integers(0, 3)) or not reached:
            case.headers = {}  # an odd If-Match seldom stands in the way
        prefix = prefix_of(operation.path)
        case.query = site.planted(prefix, dict(case.query or {}))
        body = site.planted(prefix, case.body)
        case.body = varied(good, body, data, first=not reached)
        reached[ask(case, BEFORE.get(name, ()))] += 1

    @drawn(name)
    @given(case=operation.as_strategy(generation_mode=GenerationMode.NEGATIVE))
    def forbidden(case):
        aim(case, next(nowhere, None))
        reached[ask(case)] += 1

    def aim(case, other=None):
        for key in case.path_parameters or {}:
            case.path_parameters[key] = other or site.ids.get(prefix_of(operation.path), 1)

    def ask(case, before=()):
        with transaction.atomic():
            for step, body in before:
                address = case.formatted_path.rsplit("/", 2)[0]
                assert site.client.post(f"{address}/{step}/", body).status_code == 200, step
            answer = case.call(app=closed, headers={"Authorization": f"Token {site.token}"})
            transaction.set_rollback(True)
        case.validate_response(answer, checks=CHECKS)
        return answer.status_code

    allowed()
    if name not in NEVER_REFUSED:
        forbidden()

    assert was_answered(name, reached), reached
