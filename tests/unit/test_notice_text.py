"""A notice that can be sent as it is."""

from dataclasses import replace
from datetime import date, time

import pytest

from apps.inspections.notice_text import Notice, earliest_look, notice_text

FRIDAY = date(2026, 6, 5)
ORDINARY = Notice(
    what="Joist ends before boards",
    places=["Back parlour floor", "Back parlour"],
    house="14 Tidemill Lane",
    address="By the creek",
    reference="TL/0147",
    note="Sizes and bearings",
    working_days=1,
    earliest_on=date(2026, 6, 9),
    from_time=time(9),
    to_time=time(16),
    contact="Mar Penhale",
)


def test_a_notice_says_what_where_when_which_and_who():
    assert notice_text(ORDINARY) == (
        "Notice: Joist ends before boards\n"
        "\n"
        "Where: 14 Tidemill Lane, By the creek\n"
        "Part of the house: Back parlour floor, Back parlour\n"
        "Reference: TL/0147\n"
        "To be seen: Sizes and bearings\n"
        "Ready to be seen from Tue 9 Jun 2026 (1 clear working day after today), 09:00 to 16:00.\n"
        "The work stays open until it has been seen.\n"
        "Contact: Mar Penhale\n"
    )


def test_what_is_not_known_leaves_no_gap():
    bare = notice_text(replace(ORDINARY, places=[], address="", reference="", note=""))

    assert "Part of the house" not in bare
    assert "Reference: none yet" in bare
    assert "Where: 14 Tidemill Lane\n" in bare


@pytest.mark.parametrize(
    ("days", "words"), [(0, "(no notice after"), (2, "(2 clear working days after")]
)
def test_the_notice_is_counted_in_words(days, words):
    assert words.removesuffix(" after") in notice_text(replace(ORDINARY, working_days=days))


@pytest.mark.parametrize(
    ("working_days", "visiting_days", "office", "expected"),
    [
        (0, [], True, date(2026, 6, 8)),  # given on Friday, seen on Monday
        (0, [], False, date(2026, 6, 6)),  # an own check, on Saturday
        (1, [0, 1, 2, 3, 4], True, date(2026, 6, 9)),  # Monday elapses
        (1, [3], True, date(2026, 6, 11)),  # they come on Thursdays
        (0, [5], True, date(2026, 6, 6)),  # they say that they come on Saturdays
    ],
)
def test_the_first_look_is_on_a_day_they_come(working_days, visiting_days, office, expected):
    found = earliest_look(FRIDAY, working_days, visiting_days, office_days_only=office)

    assert found == expected


def test_a_look_on_their_day_off_moves_on_a_week():
    holiday = date(2026, 6, 11)

    assert earliest_look(FRIDAY, 1, [3], {holiday}) == date(2026, 6, 18)


def test_someone_who_never_comes_is_told_of():
    every_thursday = {date.fromordinal(FRIDAY.toordinal() + n) for n in range(1, 500)}

    with pytest.raises(ValueError, match="no day on which they come"):
        earliest_look(FRIDAY, 0, [3], every_thursday)
