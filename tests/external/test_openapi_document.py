"""The document at /api/schema/ against the OpenAPI specification.

Source: OpenAPI Specification 3.1.0 (OpenAPI Initiative, 2021), by its published JSON Schema as
`openapi-spec-validator` carries it.
"""

import subprocess
import sys

import pytest
from django.urls import reverse
from drf_spectacular.drainage import GENERATOR_STATS
from drf_spectacular.generators import SchemaGenerator
from openapi_spec_validator import OpenAPIV31SpecValidator
from rest_framework.test import APIClient

from tests.api.walk import addresses

# Specification extensions begin with x-.
WARNINGS = "x-warnings"
METHODS = ("get", "post", "put", "patch", "delete")


@pytest.fixture(scope="module")
def document():
    """As a client gets it, and what the generator had to say about it."""
    GENERATOR_STATS.reset()
    made = SchemaGenerator().get_schema(request=None, public=True)
    return {**made, WARNINGS: [*GENERATOR_STATS._warn_cache, *GENERATOR_STATS._error_cache]}


def operations(document):
    return {
        f"{method} {path}": item[method]
        for path, item in document["paths"].items()
        for method in METHODS
        if method in item
    }


def test_the_document_is_valid_openapi(document):
    assert document["openapi"].startswith("3.1")
    assert list(OpenAPIV31SpecValidator(document).iter_errors()) == []


def test_a_document_that_is_not_openapi_would_be_noticed(document):
    broken = {
        **document,
        "paths": {"/rooms/": {"get": {"responses": {"200": {}}}}},
        "components": {},
    }

    assert list(OpenAPIV31SpecValidator(broken).iter_errors()) != []


def test_the_document_is_served(db):
    answer = APIClient().get(reverse("schema"))

    assert answer.status_code == 200
    assert answer["Content-Type"].startswith("application/vnd.oai.openapi")


def test_every_address_and_method_is_described(document):
    described = {operation.replace("{id}", "{pk}") for operation in operations(document)}

    walked = {f"{method} {where.template}" for where in addresses() for method in where.methods}
    assert walked - described == set()


def test_every_operation_says_what_it_is_for(document):
    silent = [
        name
        for name, operation in operations(document).items()
        if len(operation.get("summary", "") + operation.get("description", "")) < 20
    ]

    assert silent == []


def test_every_operation_says_how_it_refuses(document):
    for name, operation in operations(document).items():
        method = name.split()[0]
        expected = {"400", "401", "404"} | (set() if method == "get" else {"403", "409", "412"})
        answers = operation["responses"]

        assert expected <= set(answers), name
        for status in expected:
            assert "application/problem+json" in answers[status]["content"], (name, status)


def test_every_write_names_its_conditions(document):
    for name, operation in operations(document).items():
        headers = {p["name"] for p in operation.get("parameters", []) if p["in"] == "header"}
        method = name.split()[0]

        if method == "post":
            assert "Idempotency-Key" in headers, name
        elif method != "get":
            assert "If-Match" in headers, name


def test_no_warning_is_left_in_making_the_document(document):
    assert document[WARNINGS] == []


def test_the_addresses_load_without_the_heavy_libraries():
    """A command, a worker or a web process starts without the solver and the geometry."""
    script = (
        "import sys, django; django.setup(); import renovation.urls; "
        "print(*sorted({'ortools', 'shapely', 'holidays', 'rich', 'numpy'} & set(sys.modules)))"
    )

    loaded = subprocess.run(
        [sys.executable, "-c", script],
        capture_output=True,
        text=True,
        check=True,
        env={"DJANGO_SETTINGS_MODULE": "renovation.settings", "PATH": ""},
    )

    assert loaded.stdout.split() == []
