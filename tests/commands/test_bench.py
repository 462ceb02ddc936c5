"""`manage.py bench`: published instances through the product's own solvers."""

from __future__ import annotations

import json
from io import StringIO
from itertools import chain
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from tests.project_checker import broken, read


def bench(*arguments):
    out = StringIO()
    call_command("bench", *map(str, arguments), stdout=out)
    return [json.loads(line) for line in out.getvalue().splitlines()]


@pytest.fixture
def packing(tmp_path):
    file = tmp_path / "packing.txt"
    file.write_text("6\n100\n60\n50\n50\n40\n30\n70\n")
    return file


@pytest.fixture
def stock(tmp_path):
    file = tmp_path / "stock.txt"
    file.write_text("4\n100\n45\t97\n36\t610\n31\t395\n14\t211\n")
    return file


def test_one_line_for_each_instance_in_either_layout(packing, stock):
    first, second = bench("cutting", packing, stock, "--seconds", 5, "--workers", 1)
    assert first["instance"] == "packing.txt"
    assert (first["objective"], first["bound"], first["proven"]) == (3, 3, True)
    assert (second["objective"], second["bound"], second["proven"]) == (453, 453, True)
    assert second["seconds"] < 60


def test_the_patterns_are_lengths_that_fit_and_make_up_what_was_wanted(packing):
    (answer,) = bench("cutting", packing)
    assert len(answer["patterns"]) == answer["objective"]
    assert all(sum(pattern) <= 100 for pattern in answer["patterns"])
    assert sorted(chain.from_iterable(answer["patterns"])) == [30, 40, 50, 50, 60, 70]


def test_a_file_that_makes_no_sense_is_named_with_its_line_before_anything_is_solved(
    packing, tmp_path
):
    bad = tmp_path / "bad.txt"
    bad.write_text("2\n100\n50\n101\n")
    out = StringIO()
    with pytest.raises(CommandError, match=r"bad\.txt: Line 4: size 101"):
        call_command("bench", "cutting", str(packing), str(bad), stdout=out)
    assert out.getvalue() == ""


def test_a_file_that_is_not_there_or_not_text_is_said_so(tmp_path):
    with pytest.raises(CommandError, match="No such file"):
        bench("cutting", tmp_path / "nowhere.txt")
    picture = tmp_path / "picture.txt"
    picture.write_bytes(b"\xff\xd8\xff\xe0")
    with pytest.raises(CommandError, match="is not text"):
        bench("cutting", picture)


@pytest.mark.parametrize("arguments", [["--seconds", "0"], ["--seconds", "no"], ["--workers", "0"]])
def test_seconds_and_workers_that_make_no_sense_are_refused(packing, arguments):
    with pytest.raises(CommandError):
        bench("cutting", packing, *arguments)


def test_projects_are_scheduled_one_line_each_with_a_start_for_every_job_of_the_file():
    folder = Path(__file__).parents[1] / "external" / "data" / "rcpsp"
    found, none = bench(
        "rcpsp", folder / "j3018_1.sm", folder / "PSP219.SCH", "--seconds", 60, "--workers", 1
    )
    assert (found["instance"], found["makespan"], found["bound"]) == ("j3018_1.sm", 53, 53)
    assert found["status"] == "proven"
    assert broken(read((folder / "j3018_1.sm").read_text()), found["starts"]) == []
    assert 0 < found["first_solution_seconds"] <= found["seconds"] < 60
    assert (none["status"], none["makespan"], none["starts"]) == ("impossible", None, [])


def test_a_family_nobody_knows_is_refused():
    with pytest.raises(CommandError, match="invalid choice"):
        bench("knitting", "x.txt")
