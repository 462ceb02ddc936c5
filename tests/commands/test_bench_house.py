"""`manage.py bench house`: a year through the product's own engine, checked from the file."""

from __future__ import annotations

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from apps.planning.published.house_year_checker import broken_rules, cost_of
from tests.benchmarks.house_year_instances import house_year


def bench(*arguments):
    out = StringIO()
    call_command("bench", "house", *map(str, arguments), stdout=out)
    return [json.loads(line) for line in out.getvalue().splitlines()]


def test_one_line_for_each_house_with_a_cost_that_the_starts_bear_out(tmp_path):
    house, _ = house_year(3, tasks=30, weeks=10, load=0.4)
    file = tmp_path / "house.json"
    file.write_text(json.dumps(house))
    (answer,) = bench(file, "--seconds", 0.5, "--workers", 1)
    assert answer["instance"] == "house.json"
    assert answer["cost"] == cost_of(house, answer["starts"]) >= answer["bound"]
    assert answer["feasible"] == (broken_rules(house, answer["starts"]) == [])
    assert answer["peak_mb"] > 0


def test_a_house_that_makes_no_sense_is_named_with_its_line(tmp_path):
    file = tmp_path / "bad.json"
    file.write_text('{\n"horizon": oops')
    with pytest.raises(CommandError, match=r"bad\.json: Line 2: this is not JSON"):
        bench(file)
