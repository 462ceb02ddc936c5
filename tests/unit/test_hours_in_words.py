"""Hours as a person says them."""

import pytest

from apps.planning.loading.hours import say_weekdays, say_weekly


@pytest.mark.parametrize(
    ("weekdays", "said"),
    [([0, 1, 2, 3, 4], "Mon–Fri"), ([5], "Sat"), ([5, 6], "Sat, Sun"), ([0, 2], "Mon, Wed")],
)
def test_weekdays_are_said_as_a_run_where_they_are_one(weekdays, said):
    assert say_weekdays(weekdays) == said


def test_the_hours_of_loud_work_are_given_in_one_sentence():
    rules = [
        {"weekdays": [0, 1, 2, 3, 4], "from": "08:00", "to": "18:00"},
        {"weekdays": [5], "from": "08:00", "to": "13:00"},
    ]

    assert say_weekly("Loud work", rules) == "Loud work only Mon–Fri 08:00–18:00, Sat 08:00–13:00."
