"""The chain of sign-offs: what breaks it, and where that is first seen."""

import hashlib
import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.inspections.chain import (
    LARGEST_NUMBER,
    Link,
    canonical,
    digest_of,
    first_mismatch,
    instant,
)

values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-LARGEST_NUMBER, LARGEST_NUMBER)
    | st.text(st.characters(exclude_categories=["Cs"]), max_size=20),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.text(st.characters(codec="ascii"), max_size=8), inner, max_size=4)
    ),
    max_leaves=12,
)
notes = st.lists(values, min_size=1, max_size=8)


def chain_of(said):
    links, before = [], ""
    for number, note in enumerate(said, 1):
        entry = {"number": number, "note": note, "previous_digest": before}
        before = digest_of(entry)
        links.append(Link(entry, before))
    return links


@given(values)
def test_canonical_json_says_the_same_as_the_value_it_is_of(value):
    assert json.loads(canonical(value)) == value


@given(st.dictionaries(st.text(st.characters(codec="ascii"), max_size=8), values))
def test_the_order_in_which_keys_were_put_makes_no_difference(value):
    turned = dict(reversed(list(value.items())))

    assert canonical(turned) == canonical(value)


@pytest.mark.parametrize(
    "value", [1.5, LARGEST_NUMBER + 1, {"ß": 1}, {1: 2}, [b"raw"], float("nan")], ids=repr
)
def test_a_value_without_a_canonical_form_is_refused(value):
    with pytest.raises(ValueError, match=r"canonical form|not ASCII"):
        canonical(value)


def test_an_instant_is_written_in_utc_with_six_decimals_whatever_its_zone():
    half_past_seven = datetime(2026, 3, 2, 19, 30, tzinfo=UTC)

    assert instant(half_past_seven) == "2026-03-02T19:30:00.000000Z"
    assert instant(half_past_seven.astimezone(timezone(timedelta(hours=5)))) == instant(
        half_past_seven
    )
    with pytest.raises(ValueError, match="no zone"):
        instant(half_past_seven.replace(tzinfo=None))


def test_a_digest_can_be_worked_out_by_hand():
    entry = {"previous_digest": "", "number": 1, "note": "Öl"}

    by_hand = hashlib.sha256('{"note":"Öl","number":1,"previous_digest":""}'.encode()).hexdigest()
    assert digest_of(entry) == by_hand


def test_nothing_recorded_yet_is_no_mismatch():
    assert first_mismatch([]) is None


@given(notes)
def test_an_untouched_chain_holds(said):
    assert first_mismatch(chain_of(said)) is None


@given(notes, st.data())
def test_a_changed_row_is_named(said, data):
    links = chain_of(said)
    at = data.draw(st.integers(0, len(links) - 1))
    links[at] = replace(links[at], entry={**links[at].entry, "note": "never said"})

    assert first_mismatch(links).number == at + 1


@given(notes, st.data())
def test_a_row_changed_together_with_its_digest_shows_in_the_next(said, data):
    links = [*chain_of(said), *chain_of([*said, "after"])[-1:]]
    at = data.draw(st.integers(0, len(links) - 2))
    entry = {**links[at].entry, "note": "never said"}
    links[at] = Link(entry, digest_of(entry))

    found = first_mismatch(links)

    assert found.number == at + 2
    assert "does not follow" in found.sentence


@given(notes, st.data())
def test_a_row_that_was_taken_out_is_missed(said, data):
    links = [*chain_of(said), *chain_of([*said, "after"])[-1:]]
    del links[data.draw(st.integers(0, len(links) - 2))]

    assert first_mismatch(links) is not None


@given(notes)
def test_a_row_slipped_in_twice_is_found(said):
    links = chain_of(said)

    assert first_mismatch([*links, links[-1]]) is not None


def test_the_method_says_what_it_cannot_see():
    """Rows cut off at the end leave a chain that holds: another copy of the last digest tells."""
    links = chain_of(["first", "second", "third"])

    assert first_mismatch(links[:2]) is None
    assert links[1].digest != links[2].digest
