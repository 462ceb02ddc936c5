"""What every command pays for at its start."""

from __future__ import annotations

import pytest

from tests.installation import Installation

HEAVY = ("ortools", "pandas", "numpy", "shapely", "holidays", "icalendar", "rich")
LOADED = """
import sys
from django.core.management import call_command
import renovation.urls
call_command("check")
answer = sorted({name.partition(".")[0] for name in sys.modules})
"""


@pytest.fixture(scope="module")
def loaded(tmp_path_factory):
    return Installation(tmp_path_factory.mktemp("light")).run(LOADED)


@pytest.mark.parametrize("name", HEAVY)
def test_no_solver_geometry_or_calendar_is_loaded_to_check(loaded, name):
    assert "rest_framework" in loaded
    assert name not in loaded
