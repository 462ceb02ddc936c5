"""The two published layouts of project instances, and files that are neither."""

from __future__ import annotations

from pathlib import Path

import pytest

from apps.planning.lists.question import question_of
from apps.planning.published.psplib import read_project
from tests.project_checker import read

DATA = Path(__file__).parents[1] / "external" / "data" / "rcpsp"
SCH = "1 1 0 0\n0 1 1 1 [0]\n1 1 1 2 [3]\n2 1 0\n0 1 0 0\n1 1 3 2\n2 1 0 0\n2\n"


@pytest.mark.parametrize("name", ["j301_1.sm", "psp26.sch"])
def test_a_file_is_read_as_an_independent_reader_reads_it(name):
    text = (DATA / name).read_text()
    asked, plain = question_of(read_project(text)), read(text)
    assert list(asked.durations) == plain.durations
    assert [list(demand) for demand in asked.demands] == plain.demands
    assert list(asked.capacities) == plain.capacities
    near = {(arc.before, arc.after, arc.lag) for arc in asked.arcs if arc.lag > -100_000}
    assert near == set(plain.waits)


def test_a_negative_wait_is_a_longest_wait_the_other_way():
    problem = read_project(SCH.replace("1 1 1 2 [3]", "1 1 2 2 0 [3] [-4]"))
    (back,) = [link for link in problem.links if link.max_lag is not None]
    assert (back.before, back.after, back.kind, back.max_lag) == ("0", "1", "SS", 4)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        ("once upon a time", "Line 1: 'once'"),
        (SCH.replace("1 1 3 2", "1 1 3"), "Line 6: not activity 1, mode 1"),
        (SCH.replace("[3]", "[3] [4]"), "Line 3: not activity 1, its successors"),
        (SCH.replace("1 1 1 2", "1 1 1 7"), "Line 3: a successor that is no activity"),
        (SCH.replace("\n2\n", "\n2 2\n"), "Line 8: not 1 capacities"),
        (SCH.replace("2 1 0\n", "", 1), "should have 8 lines and has 7"),
        (SCH.replace("1 1 3 2", "1 1 9999999 2"), "Line 6: 9999999 is not between"),
        ("PRECEDENCE RELATIONS:\n", "no section REQUESTS"),
    ],
)
def test_a_file_that_makes_no_sense_is_refused_by_its_line(text, words):
    with pytest.raises(ValueError, match=words.replace("[", r"\[")):
        read_project(text)


def test_a_job_of_several_modes_is_refused():
    text = (DATA / "j301_1.sm").read_text().replace("   2        1  ", "   2        2  ")
    with pytest.raises(ValueError, match="Line 20: not job 2 with one mode"):
        read_project(text)
