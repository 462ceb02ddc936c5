"""Boards and sheets on joists: what the answers say, and what is no deck."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.checks.decks import (
    KINDS,
    RANGES,
    SENTENCES,
    DeckInput,
    DeckSettings,
    allowed_cantilever_mm,
    allowed_span_mm,
    check_deck,
    least_thickness_mm,
)


def deck(**fields):
    usual = {"kind": "boards", "thickness_mm": 21, "centres_mm": 400}
    return check_deck(DeckInput(**usual | fields))


def test_old_boards_over_a_lost_joist_span_too_far():
    answer = deck(centres_mm=800)
    assert answer.outcome.passes is False
    assert answer.allowed_span_mm == 635
    assert "800 mm" in answer.outcome.sentence


def test_a_long_free_end_fails_where_the_span_passes():
    answer = deck(cantilever_mm=200)
    assert answer.outcome.governing == "deck_cantilever"
    assert answer.outcome.passes is False


def test_what_centres_want_is_said_where_the_deck_is_too_thin():
    answer = deck(kind="chipboard", thickness_mm=18, centres_mm=600)
    assert answer.least_thickness_mm == 22
    assert "deck-thickness-wanted" in {note.code for note in answer.outcome.warnings}


def test_a_deck_thinner_than_any_table_is_given_no_span():
    answer = deck(kind="plywood", thickness_mm=12)
    assert (answer.outcome.passes, answer.allowed_span_mm) == (None, None)
    assert allowed_cantilever_mm("plywood", 12) is None


def test_the_tables_hold_for_a_home_only():
    answer = deck(imposed_kn_m2=3)
    assert {note.code for note in answer.outcome.blocked} == {"deck-load-too-great"}


def test_boards_over_one_span_are_a_warning():
    assert "deck-over-few-joists" in {note.code for note in deck(spans=1).outcome.warnings}


def test_no_table_reaches_joists_a_metre_apart():
    assert least_thickness_mm("boards", 1000) is None


def test_a_setting_may_forbid_free_ends():
    strict = DeckSettings(cantilever_most_mm=0)
    answer = deck(cantilever_mm=10, settings=strict)
    assert answer.outcome.passes is None
    assert deck(settings=strict).outcome.passes


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: deck(kind="glass"),
        lambda: deck(thickness_mm=float("nan")),
        lambda: deck(centres_mm=0),
        lambda: deck(cantilever_mm=-1),
        lambda: DeckSettings(boards_table="memory"),
        lambda: DeckSettings(cantilever_span_share=2),
    ],
)
def test_what_is_no_deck_is_refused_in_a_sentence(wrong):
    with pytest.raises(ValueError, match=r"\.$"):
        wrong()


def test_every_setting_has_a_sentence():
    fields = set(DeckSettings.__dataclass_fields__)
    assert fields == set(SENTENCES)
    assert fields - {"boards_table", "between_rows"} == set(RANGES)


@settings(max_examples=60)
@given(st.sampled_from(KINDS), st.floats(6, 100), st.floats(0, 20), st.booleans())
def test_a_thicker_deck_never_spans_less(kind, thick, more, between):
    choice = DeckSettings(between_rows=between)
    thin = allowed_span_mm(kind, thick, choice) or 0
    assert (allowed_span_mm(kind, min(thick + more, 100), choice) or 0) >= thin
