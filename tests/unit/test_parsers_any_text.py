"""Whatever is typed is read or refused with a sentence: lengths, sizes, times, lengths of time."""

from __future__ import annotations

from datetime import UTC, datetime, time
from zoneinfo import ZoneInfo

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from apps.pages.typed_lengths import typed_length_mm
from apps.pages.typed_sizes import typed_size_mm
from apps.work.task_csv import read_before, read_minutes, read_moment, read_whole

LONDON = ZoneInfo("Europe/London")
# Mostly what these texts are made of, so that a good part of them comes past the first look.
SIGNS = "0123456789" * 3 + " .,:;'\"/-+x×½⅞¼ftinmcbyhTZ" + "\0\n١²½′″’𝟙éＡ"
TEXTS = st.text(st.sampled_from(SIGNS), max_size=16) | st.text(max_size=12)


def read_or_refused(read, text):
    """What was read; None where it was refused, which it was in words."""
    try:
        return read(text)
    except ValueError as exc:
        refused = str(exc)
    assert refused.endswith(".")
    assert len(refused) > 10
    return None


@given(TEXTS)
@example("1'0/0\"")
@example("9999'99999\"")
def test_any_text_is_a_length_or_refused_in_words(text):
    mm = read_or_refused(typed_length_mm, text)

    assert mm is None or (isinstance(mm, int) and 0 <= mm < 10**10)


@given(TEXTS, st.sampled_from(["x", "×", " by ", "*", ""]), TEXTS)
def test_any_two_texts_are_a_size_or_refused_in_words(one, between, other):
    size = read_or_refused(typed_size_mm, f"{one}{between}{other}")

    assert size is None or min(size) > 0


@given(TEXTS)
def test_any_text_is_a_length_of_time_or_refused_in_words(text):
    minutes = read_or_refused(read_minutes, text)

    assert minutes is None or 0 <= minutes < 10**8


@given(st.integers(0, 99), st.integers(0, 59))
def test_a_length_of_time_is_the_same_in_every_spelling(hours, minutes):
    whole = hours * 60 + minutes

    spelt = [
        f"{whole}",
        f"{whole} min",
        f"{hours}:{minutes:02}",
        f"{hours}h{minutes}",
        f"{hours} h {minutes}m",
    ]

    assert {read_minutes(text) for text in spelt} == {whole}


@given(TEXTS | st.datetimes().map(lambda at: f"{at:%Y-%m-%d %H:%M}"))
def test_any_text_is_a_time_or_refused_in_words(text):
    at = read_or_refused(lambda said: read_moment(said, LONDON, alone=time.min), text)

    assert at is None or at.tzinfo is UTC


@given(st.datetimes(datetime(1950, 1, 1), datetime(2150, 1, 1), timezones=st.just(UTC)))
def test_a_time_with_its_offset_is_that_instant(at):
    at = at.replace(microsecond=0)

    assert read_moment(at.isoformat(), LONDON, alone=time.min) == at


@given(TEXTS)
def test_any_text_names_what_comes_before_or_is_refused(text):
    before = read_or_refused(read_before, text)

    assert before is None or len(before) <= 20


@pytest.mark.parametrize("written", ["", "²", "١٢", "1e3", "+1", "-1", "1_0", "9" * 40])
def test_what_only_looks_like_a_whole_number_is_refused(written):
    assert read_or_refused(read_whole, written) is None
