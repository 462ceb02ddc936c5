"""Sawing, recorded cut by cut, and taking the last one back."""

from __future__ import annotations

import pytest

from apps.timber.models import MoistureReading, Need, Piece
from tests import factories
from tests.api.asking import is_problem, refuses
from tests.api.cutting import (
    apply,
    cuts_of,
    dry_piece,
    keeps_its_length,
    made,
    need,
    only_bar,
    plan,
    read,
    take_back,
    undo,
)

pytestmark = pytest.mark.usefixtures("handed_out")


@pytest.fixture
def applied(client, house):
    """T14, 2000 mm: a long part, a short one, and 494 mm left over."""
    dry_piece(house, "T14", 2000, defects=[("knot", 1500, 1540)], grade_basis="assumed")
    need(house, "Long noggin", 900)
    need(house, "Short noggin", 400, priority=1)
    made = plan(client, house)
    return apply(client, made).json()


def test_the_last_cut_puts_the_offcut_on_the_pile_with_its_defects_and_readings(client, applied):
    long, short = cuts_of(applied)
    made(client, long, 900)
    made(client, short, 400)

    offcut = Piece.objects.get(mark="T14.1")
    assert (offcut.state, offcut.source, offcut.length_mm) == ("in_stock", "offcut", 494)
    assert offcut.cut_from.mark == "T14"
    assert offcut.cut_from.state == "used"
    knot = offcut.defects.get()
    assert (knot.kind, knot.from_mm, knot.to_mm) == ("knot", 1500 - 1406, 1540 - 1406)
    reading = MoistureReading.objects.get(piece=offcut)
    assert (reading.at_mm, reading.measured_pct) == (1800 - 1406, 15)
    assert "read at 1800 mm of T14" in reading.instrument
    assert read(client, applied)["state"] == "done"
    assert set(Need.objects.values_list("state", flat=True)) == {"met"}


def test_what_is_still_to_be_sawn_moves_along_when_a_part_comes_out_shorter(client, applied):
    long, _ = cuts_of(applied)

    made(client, long, 899)

    bar = only_bar(read(client, applied))
    assert [(c["from_mm"], c["to_mm"]) for c in bar["cuts"]] == [(100, 999), (1002, 1402)]
    assert keeps_its_length(bar)


def test_a_part_too_short_to_be_used_does_not_count_and_its_need_is_open_again(client, applied):
    long, _ = cuts_of(applied)

    answer = made(client, long, 880).json()

    assert answer["spoilt"]
    assert "20 mm short" in answer["told"]
    assert Need.objects.get(title="Long noggin").state == "open"


def test_a_part_that_finds_no_room_any_more_is_told_and_its_need_is_open(client, applied):
    long, short = cuts_of(applied)

    answer = made(client, long, 1500).json()

    assert "“Short noggin” (400 mm) finds no room on T14 any more" in answer["told"]
    assert Need.objects.get(title="Short noggin").state == "open"
    assert client.get(f"/api/v1/cuts/{short['id']}/").json()["pushed_off_by"] == long["id"]
    assert is_problem(made(client, short, 400), 409, "cut-pushed-off")
    assert keeps_its_length(only_bar(read(client, applied)))


def test_a_part_across_a_defect_that_came_to_light_since_does_not_count(client, applied):
    long, _ = cuts_of(applied)
    factories.DefectFactory(
        piece=Piece.objects.get(mark="T14"), kind="nails", from_mm=500, to_mm=520
    )

    answer = made(client, long, 900).json()

    assert answer["spoilt"]
    assert "Something noted on T14 since lies across it" in answer["told"]


def test_a_part_that_reaches_past_its_sound_length_does_not_count(client, house):
    dry_piece(house, "T14", 2000, defects=[("nails", 650, 700)])
    need(house, "Noggin", 500)
    (cut,) = cuts_of(apply(client, plan(client, house)).json())

    answer = made(client, cut, cut["sound_to_mm"] - cut["from_mm"] + 12).json()

    assert answer["spoilt"]
    assert "12 mm past the sound length" in answer["told"]


def test_cuts_are_recorded_in_sawing_order(client, applied):
    _, short = cuts_of(applied)

    answer = made(client, short, 400)

    assert is_problem(answer, 409, "cut-out-of-order")
    assert "Long noggin" in answer.json()["detail"]


def test_a_part_cut_by_two_people_is_recorded_once(client, house, applied):
    long, _ = cuts_of(applied)
    made(client, long, 900)

    answer = made(client, long, 901)

    assert is_problem(answer, 409, "cut-made-already")
    assert answer.json()["actual_mm"] == 900


def test_the_same_record_sent_twice_with_its_key_is_one(client, applied):
    long, _ = cuts_of(applied)

    answers = [made(client, long, 900, HTTP_IDEMPOTENCY_KEY="k") for _ in range(2)]

    assert [answer.status_code for answer in answers] == [200, 200]
    assert answers[0].json() == answers[1].json()


def test_a_part_longer_than_the_bar_is_refused(client, applied):
    long, _ = cuts_of(applied)

    assert refuses(made(client, long, 1901), "/actual_mm", "has only 1900 mm left")


@pytest.mark.parametrize("actual", [0, -5, 20001, 900.5, "0.9 m", None])
def test_a_length_that_is_none_is_refused(client, applied, actual):
    long, _ = cuts_of(applied)

    answer = made(client, long, actual)

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/actual_mm"


def test_nothing_is_recorded_of_a_plan_that_is_not_applied(client, house):
    dry_piece(house, "T14", 2000)
    need(house, "Noggin", 500)
    (cut,) = cuts_of(plan(client, house))

    assert is_problem(made(client, cut, 500), 409, "plan-not-applied")


def test_once_a_cut_is_recorded_the_application_stays(client, applied):
    long, _ = cuts_of(applied)
    made(client, long, 900)

    assert is_problem(undo(client, applied), 409, "cut-made-already")


def test_the_last_cut_is_taken_back_with_its_offcut(client, applied):
    long, short = cuts_of(applied)
    made(client, long, 900)
    before = read(client, applied)
    made(client, short, 398)

    answer = take_back(client, short)

    assert answer.status_code == 200
    assert not Piece.objects.filter(mark="T14.1").exists()
    after = read(client, applied)
    assert only_bar(after)["cuts"][1]["to_mm"] == 1403
    assert [bar["offcuts_mm"] for bar in after["bars"]] == [
        bar["offcuts_mm"] for bar in before["bars"]
    ]
    assert after["state"] == "applied"
    assert Need.objects.get(title="Short noggin").state == "planned"


def test_taking_every_cut_back_leaves_all_as_it_was_applied(client, applied):
    long, short = cuts_of(applied)
    made(client, long, 1500)

    take_back(client, long)

    after = read(client, applied)
    assert [(c["from_mm"], c["to_mm"], c["pushed_off_by"]) for c in cuts_of(after)] == [
        (long["from_mm"], long["to_mm"], None),
        (short["from_mm"], short["to_mm"], None),
    ]
    assert Piece.objects.get(mark="T14").state == "reserved"
    assert undo(client, after).status_code == 200


def test_a_cut_whose_offcut_was_touched_stands(client, applied):
    long, short = cuts_of(applied)
    made(client, long, 900)
    made(client, short, 400)
    offcut = Piece.objects.get(mark="T14.1")
    client.patch(f"/api/v1/timber-pieces/{offcut.pk}/", {"note": "For the shed"})

    answer = take_back(client, short)

    assert is_problem(answer, 409, "offcut-touched")
    assert Piece.objects.filter(pk=offcut.pk).exists()


def test_only_the_last_cut_of_a_bar_is_taken_back(client, applied):
    long, short = cuts_of(applied)
    made(client, long, 900)
    made(client, short, 400)

    assert is_problem(take_back(client, long), 409, "cut-not-last")


def test_a_cut_that_is_not_made_is_not_taken_back(client, applied):
    assert is_problem(take_back(client, cuts_of(applied)[0]), 409, "cut-not-made")


def test_a_bought_bar_is_on_the_pile_from_its_first_cut_and_leaves_an_offcut(client, house):
    factories.StockLengthFactory(property=house, length_mm=2400, strength_class="C16")
    need(house, "Noggin", 1100)
    applied = apply(client, plan(client, house)).json()

    made(client, cuts_of(applied)[0], 1100)

    bought, offcut = Piece.objects.get(mark="N1"), Piece.objects.get(mark="N1.1")
    assert (bought.source, bought.state) == ("bought", "used")
    assert (offcut.length_mm, offcut.grade_basis) == (2400 - 1103, "graded_by")
    assert only_bar(read(client, applied))["mark"] == "N1"
