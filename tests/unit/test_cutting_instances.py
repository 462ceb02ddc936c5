"""Reading published instances: both layouts, and what is wrong with a file."""

import pytest

from apps.timber.cutting.instances import read_instance


def test_bin_packing_has_one_size_a_line():
    instance = read_instance("4\n100\n50\n30\n50\n7\n")
    assert instance.capacity == 100
    assert instance.sizes == ((50, 2), (30, 1), (7, 1))


def test_cutting_stock_has_a_size_and_a_count_a_line():
    instance = read_instance("2\n100\n30\t11\n50\t2\n\n")
    assert instance.sizes == ((50, 2), (30, 11))


def test_both_heads_may_stand_on_one_line():
    assert read_instance("2 100\n30\n50\n") == read_instance("2\n100\n30\n50\n")


def test_as_a_question_every_bin_costs_one():
    problem = read_instance("2\n100\n30 11\n50 2\n").problem()
    assert [(part.length_mm, part.quantity) for part in problem.parts] == [(50, 2), (30, 11)]
    assert [(bin_.length_mm, bin_.cost) for bin_ in problem.bins] == [(100, 1)]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "must begin"),
        ("3\n100\n", "must begin"),
        ("1 2 3\n100\n5\n", "must begin"),
        ("3\n100\n50\n50\n", "says 3 entries and has 2"),
        ("2\n100\n50\n30 2\n", "Line 4: every entry"),
        ("1\n100\n50 2 3\n", "Line 3: every entry"),
        ("1\n100\n101\n", "Line 3: size 101"),
        ("1\n100\n0\n", "Line 3: size 0"),
        ("1\n100\n50 0\n", "Line 3: 0 is not a count"),
        ("1\n100\n-5\n", "Line 3: '-5'"),
        ("1\n1e2\n5\n", "Line 2: '1e2'"),
        ("1\n100\n5.5\n", "Line 3: '5.5'"),
        ("1\n100\n12345678901\n", "Line 3"),
    ],
)
def test_a_file_that_is_neither_is_refused_with_the_line(text, sentence):
    with pytest.raises(ValueError, match=sentence):
        read_instance(text)
