"""The timber screen: a piece put right, what is wanted, parts kept on their bars; all undone."""

from __future__ import annotations

import pytest

from apps.timber.models import Cut, Need, Piece
from tests import factories
from tests.api.test_pages_timber import browser, cut_of, piece_of, post, signed_in, text, undo

__all__ = ["browser"]
WRITTEN = (
    "mark", "length_mm", "breadth_mm", "depth_mm", "source", "stored", "origin", "species",
    "strength_class", "grade_basis", "graded_by", "grade_why", "note",
)  # fmt: skip
WANTED = {
    "title": "New end of J4", "role": "lap_end", "quantity": "2", "length_mm": "1.2m",
    "breadth_mm": "150", "depth_mm": "50", "moisture_limit_pct": "20",
}  # fmt: skip


def as_sent(piece, **changed):
    """The form of a piece as a browser sends it back."""
    return {**{name: getattr(piece, name) for name in WRITTEN}, "version": piece.version, **changed}


def facts(row):
    row.refresh_from_db()
    return {one.attname: getattr(row, one.attname) for one in row._meta.concrete_fields
            if one.attname not in {"version", "changed_at"}}  # fmt: skip


def test_a_piece_is_put_right_and_the_slip_undone(browser, house):
    piece = piece_of(house, mark="T9", length_mm=2400, treated=True)
    before = facts(piece)

    filled_in = browser.get(f"/timber/piece/{piece.pk}/change/")
    answer = post(
        browser, f"/timber/piece/{piece.pk}/changed/",
        **as_sent(piece, length_mm="2.35m", breadth_mm="12cm", species="Redwood"),
    )  # fmt: skip
    after = facts(piece)
    undo(browser, answer)

    assert 'value="2400"' in text(filled_in)
    assert (after["length_mm"], after["species"], after["treated"]) == (2350, "Redwood", False)
    assert after["breadth_mm"] <= after["depth_mm"]
    assert facts(piece) == before


def test_a_piece_that_changed_since_the_form_was_opened_is_not_overwritten(browser, house):
    piece = piece_of(house, mark="T9")
    sent = as_sent(piece, origin="The loft")
    piece.change(note="Split at the end")

    answer = browser.post(f"/timber/piece/{piece.pk}/changed/", sent, headers={"X-From-Queue": "1"})

    assert answer.status_code == 412
    assert answer.json()["current"]["note"] == "Split at the end"
    assert Piece.objects.get().origin != "The loft"


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"mark": "T1"}, "mark"),
        ({"length_mm": "2.4"}, "length_mm"),
        ({"length_mm": "1100"}, "length_mm"),
        ({"strength_class": "C16", "graded_by": ""}, "graded_by"),
    ],
)
def test_what_cannot_be_of_a_piece_is_said_at_its_field(browser, house, wrong, field):
    piece_of(house, mark="T1")
    piece = piece_of(house, mark="T9", length_mm=2400)
    factories.DefectFactory(piece=piece, from_mm=1000, to_mm=1200)
    before = facts(piece)

    answer = browser.post(f"/timber/piece/{piece.pk}/changed/", as_sent(piece, **wrong))

    assert answer.status_code == 400
    assert f'id="id_{field}_error"' in text(answer)
    assert facts(piece) == before


def test_a_piece_that_a_plan_counts_on_keeps_its_length(browser, house):
    piece = piece_of(house, mark="T9", state="reserved")
    path, back = f"/timber/piece/{piece.pk}/changed/", f"/timber/piece/{piece.pk}/"

    answer = post(browser, path, back=back, **as_sent(piece, length_mm="1m"))

    assert "keeps the section and length it was planned with" in text(answer)


def test_what_is_wanted_is_written_down_and_taken_off_again(browser, house):
    answer = post(browser, "/timber/need/add/", **WANTED)
    need = Need.objects.get()
    undo(browser, answer)

    assert (need.length_mm, need.breadth_mm, need.depth_mm) == (1200, 50, 150)
    assert (need.quantity, need.state, need.moisture_limit_pct) == (2, "open", 20)
    assert not Need.objects.exists()


@pytest.mark.parametrize(
    ("wrong", "field"),
    [({"title": ""}, "title"), ({"length_mm": "5"}, "length_mm"), ({"quantity": "0"}, "quantity")],
)
def test_what_nobody_can_want_is_said_at_its_field(browser, house, wrong, field):
    answer = browser.post("/timber/need/add/", {**WANTED, **wrong})

    assert answer.status_code == 400
    assert f'id="id_{field}_error"' in text(answer)
    assert not Need.objects.exists()


@pytest.mark.parametrize(("how", "state"), [("drop", "dropped"), ("met", "met")])
def test_a_need_is_dropped_or_met_from_elsewhere_and_both_ways_back(browser, house, how, state):
    need = factories.NeedFactory(property=house)

    answer = post(browser, f"/timber/need/{need.pk}/{how}/", reason="The neighbour had one")
    first = facts(need)
    again = undo(browser, answer)
    second = facts(need)
    undo(browser, again)

    assert (first["state"], first["state_reason"]) == (state, "The neighbour had one")
    assert (second["state"], second["state_reason"]) == ("open", "")
    assert facts(need) == first


def test_a_need_is_not_dropped_without_a_reason(browser, house):
    need = factories.NeedFactory(property=house)

    answer = post(browser, f"/timber/need/{need.pk}/drop/", back=f"/timber/need/{need.pk}/")

    assert "Say why, in a few words." in text(answer)
    assert facts(need)["state"] == "open"


def test_a_part_is_kept_on_its_bar_and_let_go_again(browser, house):
    cut = cut_of(house, state="ready")

    answer = post(browser, f"/timber/cut/{cut.pk}/pin/", pinned="yes")
    kept = Cut.objects.get().pinned
    undo(browser, answer)

    assert kept is True
    assert "1 part stays here" in text(answer)
    assert Cut.objects.get().pinned is False


@pytest.mark.parametrize(
    "path",
    ["/timber/piece/{piece}/changed/", "/timber/need/add/", "/timber/need/{need}/drop/",
     "/timber/need/{need}/met/", "/timber/need/{need}/reopen/", "/timber/need/{need}/remove/",
     "/timber/cut/{cut}/pin/"],
)  # fmt: skip
def test_only_who_may_change_the_house_changes_its_timber(house, path):
    cut, need = cut_of(house), factories.NeedFactory(property=house)
    path = path.format(piece=cut.bar.piece_id, need=need.pk, cut=cut.pk)
    viewer, needs = (
        factories.MemberFactory(property=house, role="viewer").user,
        Need.objects.count(),
    )

    answers = [
        signed_in(who).post(path, {"reason": "x", "property": house.pk})
        for who in (viewer, factories.UserFactory())
    ]

    assert [answer.status_code for answer in answers] == [403, 404]
    assert (Need.objects.count(), facts(need)["state"]) == (needs, "open")
