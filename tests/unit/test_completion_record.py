"""record.json: its form, and bytes that depend on nothing but what it says."""

from __future__ import annotations

import json

import jsonschema
import pytest

from apps.inspections.completion.record import (
    SCHEMA_FILE,
    complete,
    name_in_bundle,
    record_bytes,
)
from tests.unit.records import AS_OF, board, floor, joist, package, record, room

SCHEMA = json.loads(SCHEMA_FILE.read_text(encoding="utf-8"))


def check(content):
    jsonschema.Draft202012Validator(
        SCHEMA, format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER
    ).validate(content)


def test_the_schema_is_a_json_schema_2020_12():
    jsonschema.Draft202012Validator.check_schema(SCHEMA)

    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_a_house_of_which_nothing_is_noted_has_a_record():
    check(record())


def test_floors_rooms_and_work_fit_the_schema():
    check(
        record(
            storeys=[{"id": 1, "name": "Ground floor", "level": 0}],
            rooms=[room()],
            floors=[floor(joists=[joist()], boards=[board()])],
            packages=[package("Lift the boards")],
        )
    )


@pytest.mark.parametrize(
    "part",
    [
        {"floors": [floor(joists=[joist(condition="tired")])]},
        {"rooms": [{**room(), "colour": "green"}]},
        {"house": {"id": 1}},
        {"sign_offs": [{"id": 1, "digest": "abc", "entry": {}}]},
    ],
)
def test_what_is_no_record_does_not_pass(part):
    with pytest.raises(jsonschema.ValidationError):
        check(record(**part))


def test_a_missing_part_is_refused_and_named():
    with pytest.raises(ValueError, match="evidence"):
        complete({"house": {}}, as_of=AS_OF)


def test_the_same_record_has_the_same_bytes_whatever_the_order_of_its_names():
    one = record(packages=[package("Lift")])
    other = dict(reversed(one.items()))

    assert record_bytes(one) == record_bytes(other)
    assert json.loads(record_bytes(one)) == one


def test_letters_of_all_scripts_are_written_as_themselves():
    assert "床を上げる 🪵".encode() in record_bytes(record(packages=[package("床を上げる 🪵")]))


def test_it_says_that_it_decides_nothing():
    told = " ".join(record()["cautions"])

    for word in ("preliminary", "structural engineer", "electrical", "gas", "asbestos",
                 "Building control"):  # fmt: skip
        assert word in told


def test_the_name_of_evidence_in_the_zip_is_made_of_its_id_and_digest():
    assert name_in_bundle(7, "ab" * 32, "image/jpeg") == "evidence/0007-abababababab.jpg"
    assert name_in_bundle(7, "ab" * 32, "../../x") == "evidence/0007-abababababab.bin"
