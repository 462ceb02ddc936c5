"""`manage.py cutlist`: the cutting plan printed for whoever stands at the saw."""

from __future__ import annotations

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from tests import factories


def cutlist(*arguments):
    out = StringIO()
    call_command("cutlist", *arguments, stdout=out)
    return " ".join(out.getvalue().split()) if "--json" not in arguments else out.getvalue()


@pytest.fixture
def cut(house):
    """One noggin from an old rafter, not applied yet."""
    return factories.CutFactory(
        bar__plan__property=house, title="Noggin [north]", bar__piece__mark="T14"
    )


def test_strokes_are_printed_in_sawing_order_from_the_marked_end(cut):
    printed = cutlist()

    assert "T14 50 × 100 × 3000 mm" in printed
    strokes = [
        "100 mm saw before 97 mm off the old end",
        "449 mm saw beyond Noggin [north], 349 mm",
        "2900 mm saw beyond 2448 mm left over",
    ]
    assert [printed.count(stroke) for stroke in strokes] == [1, 1, 1]
    assert sorted(strokes, key=printed.index) == strokes


def test_what_is_bought_left_and_missing_is_said(house):
    plan = factories.CuttingPlanFactory(
        property=house,
        unmet=[{"need": 1, "title": "Trimmer", "count": 1, "length_mm": 1860, "changes": [],
                "sentence": "“Trimmer” is not met."}],
    )  # fmt: skip
    bar = factories.CuttingBarFactory(
        plan=plan, piece=None, mark="new 1", bought=True, cost_pence=1020,
        trims_mm=0, kerfs_mm=3, offcuts_mm=2648,
    )  # fmt: skip
    factories.CutFactory(bar=bar, from_mm=0, to_mm=349, sound_from_mm=0, sound_to_mm=3000)

    printed = cutlist()

    assert "1 of 50 × 100 × 3000 mm: 10.20" in printed
    assert "2648 mm of new 1, 352 to 3000 mm" in printed
    assert "“Trimmer” is not met." in printed


def test_the_plan_being_sawn_goes_before_a_newer_proposal(cut, house):
    applied = factories.CuttingPlanFactory(
        property=house, state="applied", applied_at="2026-03-02T19:00:00Z"
    )
    newest = factories.CuttingPlanFactory(property=house)

    assert f"Cutting plan {applied.pk} · applied" in cutlist()
    assert f"Cutting plan {newest.pk} · ready" in cutlist("--plan", str(newest.pk))


def test_json_is_the_same_answer_as_the_api_s(cut, client):
    found = json.loads(cutlist("--json"))

    assert found == client.get(f"/api/v1/cutting-plans/{cut.bar.plan_id}/").json()
    assert found["bars"][0]["strokes"]


def test_without_a_plan_it_says_how_to_make_one(house):
    with pytest.raises(CommandError, match="POST /api/v1/cutting-plans/"):
        cutlist()


def test_a_plan_that_is_not_there_is_named(house):
    with pytest.raises(CommandError, match="no cutting plan 987"):
        cutlist("--plan", "987")
