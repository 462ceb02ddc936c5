"""What the inspections' free-form columns take."""

import pytest
from django.core.exceptions import ValidationError

from apps.inspections.validators import required_evidence


def item(key="joist-ends", title="Joist ends"):
    return {"key": key, "title": title}


@pytest.mark.parametrize(
    "value", [[], [item()], [item(), item("vent-2")], [item(f"k{n}") for n in range(20)]]
)
def test_what_must_be_on_file_is_a_list_of_keys_and_titles(value):
    required_evidence(value)


@pytest.mark.parametrize(
    ("value", "words"),
    [
        ({}, "Give what must be on file"),
        ([{"key": "x"}], "Give what must be on file"),
        ([{**item(), "more": 1}], "Give what must be on file"),
        (["joist-ends"], "Give what must be on file"),
        ([item(f"k{n}") for n in range(21)], "at most 20"),
        ([item("Joist ends")], "small letters"),
        ([item("-joists")], "small letters"),
        ([item("a" * 41)], "small letters"),
        ([item(7)], "small letters"),
        ([item(title=" ")], "A title is"),
        ([item(title="x" * 201)], "A title is"),
        ([item(title=None)], "A title is"),
        ([item(), item(title="Again")], "once"),
    ],
)
def test_anything_else_is_refused_with_a_sentence(value, words):
    with pytest.raises(ValidationError, match=words):
        required_evidence(value)
