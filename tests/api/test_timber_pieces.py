"""The pile over HTTP: pieces, what is wrong along them, nails, scrap, sound lengths, drying."""

from __future__ import annotations

import pytest

from apps.timber.models import Defect, Piece
from apps.work.models import Task
from tests import factories
from tests.api.asking import ago, is_problem, refuses

PIECES = "/api/v1/timber-pieces/"
RAFTER = {"mark": "T14", "breadth_mm": 50, "depth_mm": 150, "length_mm": 3400}
DECAY = {"kind": "decay", "from_mm": 0, "to_mm": 300}
NAILS = {"kind": "nails", "from_mm": 900, "to_mm": 2100, "face": "top", "severity": "slight"}


def at(piece, action=""):
    return f"{PIECES}{piece.pk}/{action}"


def add(client, house, **said):
    return client.post(PIECES, {"property": house.pk, **RAFTER, **said})


def test_a_piece_comes_to_the_pile_with_its_defects_in_one_call(client, house):
    answer = add(client, house, defects=[NAILS, DECAY])

    assert answer.status_code == 201, answer.json()
    found = [(d["kind"], d["from_mm"], d["to_mm"], d["face"]) for d in answer.json()["defects"]]
    assert found == [("decay", 0, 300, "all"), ("nails", 900, 2100, "top")]
    assert answer.json()["state"] == "in_stock"


def test_a_bad_defect_keeps_the_whole_piece_off_the_pile(client, house):
    answer = add(client, house, defects=[DECAY, {**NAILS, "to_mm": 3401}])

    assert refuses(answer, "/defects/1/to_mm", "T14 is 3400 mm long")
    assert not Piece.objects.exists()


@pytest.mark.parametrize(
    ("defect", "pointer", "words"),
    [
        ({"kind": "decay", "from_mm": -1, "to_mm": 300}, "/defects/0/from_mm", "0 or more"),
        ({"kind": "decay", "from_mm": 300, "to_mm": 300}, "/defects/0", "to a greater"),
        ({"kind": "rot", "from_mm": 0, "to_mm": 300}, "/defects/0/kind", "rot"),
        ({"kind": "decay", "from_mm": 0}, "/defects/0/to_mm", "required"),
        ({"kind": "decay", "from_mm": 0, "to_mm": 0.3}, "/defects/0/to_mm", "whole millimetres"),
        ({**DECAY, "drawn": True}, "/defects/0", "Only nails can be drawn"),
        ({**DECAY, "id": 4711}, "/defects/0/id", "no defect of T14"),
    ],
)
def test_what_no_defect_can_be_is_refused_at_its_place(client, house, defect, pointer, words):
    piece = factories.PieceFactory(property=house, **RAFTER)

    answer = client.patch(at(piece), {"defects": [defect]})

    assert refuses(answer, pointer, words), answer.json()
    assert not piece.defects.exists()


@pytest.mark.parametrize(
    ("face", "other_face", "refused"),
    [("top", "top", True), ("all", "left", True), ("top", "bottom", False)],
)
def test_two_defects_of_a_kind_in_one_place_are_one(client, house, face, other_face, refused):
    answer = add(
        client, house,
        defects=[
            {"kind": "split", "from_mm": 100, "to_mm": 400, "face": face},
            {"kind": "split", "from_mm": 399, "to_mm": 500, "face": other_face},
        ],
    )  # fmt: skip

    assert refuses(answer, "/defects/1", "overlaps the split at 100–400 mm") is refused
    assert (answer.status_code == 201) is not refused


def test_defects_that_only_touch_and_those_of_two_kinds_may_be_neighbours(client, house):
    answer = add(
        client, house,
        defects=[DECAY, {**DECAY, "from_mm": 300, "to_mm": 400}, {**DECAY, "kind": "insect"}],
    )  # fmt: skip

    assert answer.status_code == 201, answer.json()


def test_defects_are_changed_added_and_removed_in_one_patch(client, house):
    made = add(client, house, defects=[DECAY, NAILS]).json()
    decay, nails = made["defects"]

    answer = client.patch(
        f"{PIECES}{made['id']}/",
        {"defects": [{**decay, "to_mm": 450}, {"kind": "knot", "from_mm": 500, "to_mm": 560}]},
    )

    found = {d["id"]: (d["kind"], d["to_mm"]) for d in answer.json()["defects"]}
    assert found.pop(decay["id"]) == ("decay", 450)
    assert list(found.values()) == [("knot", 560)]
    assert nails["id"] not in found
    assert answer.json()["version"] == made["version"] + 1


def test_a_new_piece_takes_no_defect_of_another(client, house):
    theirs = factories.DefectFactory(piece__property=house)

    answer = add(client, house, defects=[{**DECAY, "id": theirs.pk}])

    assert refuses(answer, "/defects/0/id", "leave out their ids")
    assert Defect.objects.get() == theirs


def test_what_is_not_said_of_a_defect_that_is_there_stays(client, house):
    nails = factories.DefectFactory(
        piece__property=house, kind="nails", face="top", severity="severe", drawn=True
    )

    answer = client.patch(at(nails.piece), {"defects": [{**NAILS, "id": nails.pk, "face": "left"}]})

    [kept] = answer.json()["defects"]
    assert (kept["id"], kept["face"], kept["severity"]) == (nails.pk, "left", "slight")
    assert kept["drawn"] is True


def test_a_patch_without_defects_leaves_them_as_they_are(client, house):
    made = add(client, house, defects=[DECAY]).json()

    answer = client.patch(f"{PIECES}{made['id']}/", {"stored": "dry"})

    assert answer.json()["defects"] == made["defects"]


def test_another_pieces_defect_cannot_be_taken_over(client, house):
    theirs = factories.DefectFactory(piece__property=house)
    piece = factories.PieceFactory(property=house)

    answer = client.patch(at(piece), {"defects": [{**DECAY, "id": theirs.pk}]})

    assert refuses(answer, "/defects/0/id", f"Id {theirs.pk}")
    theirs.refresh_from_db()
    assert theirs.piece_id != piece.pk


def test_a_piece_is_not_shortened_past_what_is_noted_along_it(client, house):
    defect = factories.DefectFactory(piece__property=house, from_mm=2500, to_mm=2900)

    answer = client.patch(at(defect.piece), {"length_mm": 2400})

    assert refuses(answer, "/length_mm", "decay at 2500–2900 mm, beyond 2400 mm")


@pytest.mark.parametrize("length", ["2.4 m", 2.4, "2400 mm", 2.0, "2.0", True, "8 ft"])
def test_a_length_in_another_unit_is_refused_with_the_right_one(client, house, length):
    answer = add(client, house, length_mm=length)

    assert refuses(answer, "/length_mm", "whole millimetres: 2400, not 2.4 m")


def test_a_length_in_metres_without_a_unit_is_too_short_to_be_true(client, house):
    assert refuses(add(client, house, length_mm=3), "", "50 to 20,000 mm long, in millimetres")


def test_the_breadth_is_the_smaller_side(client, house):
    answer = add(client, house, breadth_mm=150, depth_mm=50)

    assert refuses(answer, "", "the breadth is the smaller side")


def test_a_mark_is_there_once(client, house):
    add(client, house)

    assert refuses(add(client, house), "", "of this mark in the pile already")


def test_an_assumed_strength_class_says_who_assumes_it_and_why(client, house):
    alone = add(client, house, strength_class="C16")
    by_whom = add(client, house, strength_class="C16", graded_by="Mar")
    told = add(
        client, house, strength_class="c16", graded_by="Mar",
        grade_why="Clean redwood, all faces seen",
    )  # fmt: skip

    assert refuses(alone, "", "who assumes its strength class")
    assert refuses(by_whom, "", "why this strength class is assumed")
    assert told.json()["strength_class"] == "C16"


def test_a_strength_class_that_is_none_is_refused(client, house):
    answer = add(client, house, strength_class="C17", grade_basis="stamped")

    assert refuses(answer, "/strength_class", "no strength class")


def test_the_customary_size_is_a_label_of_the_measured_section(client, house):
    # Old full size and modern regularised carry one name: common practice, no source.
    old = add(client, house, mark="T1", breadth_mm=50, depth_mm=150).json()
    modern = add(client, house, mark="T2", breadth_mm=47, depth_mm=145).json()

    assert (old["customary_size"], modern["customary_size"]) == ("6x2", "6x2")


def test_a_photo_is_of_the_same_house_and_no_document(client, house):
    photo = factories.EvidenceFactory(property=house)
    letter = factories.EvidenceFactory(
        property=house, kind="document", content_type="application/pdf"
    )
    elsewhere = factories.EvidenceFactory(
        property=factories.MemberFactory(user=house.owner, role="owner").property
    )

    assert add(client, house, photo=photo.pk).status_code == 201
    assert refuses(add(client, house, mark="T2", photo=letter.pk), "/photo", "not a photo")
    assert refuses(add(client, house, mark="T2", photo=elsewhere.pk), "/photo", "another house")


@pytest.mark.parametrize("state", ["reserved", "cut", "used"])
def test_what_a_plan_counts_on_keeps_its_section_and_length(client, house, state):
    piece = factories.PieceFactory(property=house, state=state)

    answers = [
        client.patch(at(piece), {name: 60}) for name in ("breadth_mm", "depth_mm", "length_mm")
    ]

    assert all(is_problem(answer, 409, "piece-committed") for answer in answers)
    assert is_problem(client.delete(at(piece)), 409, "piece-committed")
    assert client.patch(at(piece), {"stored": "dry", "length_mm": 3000}).status_code == 200


def test_a_defect_found_while_sawing_can_be_noted_on_a_reserved_piece(client, house):
    piece = factories.PieceFactory(property=house, state="reserved")

    assert client.patch(at(piece), {"defects": [DECAY]}).json()["defects"][0]["to_mm"] == 300


def test_scrap_says_why_and_can_be_brought_back(client, house):
    piece = factories.PieceFactory(property=house)

    silent = client.post(at(piece, "scrap/"), {})
    scrapped = client.post(at(piece, "scrap/"), {"reason": "Rotten through"}).json()
    twice = client.post(at(piece, "scrap/"), {"reason": "Rotten through"})
    back = client.post(at(piece, "bring-back/")).json()

    assert refuses(silent, "/reason", "required")
    assert (scrapped["state"], scrapped["scrap_reason"]) == ("scrapped", "Rotten through")
    assert is_problem(twice, 409, "wrong-step")
    assert twice.json()["allowed"] == ["bring-back"]
    assert (back["state"], back["scrap_reason"]) == ("in_stock", "")


def test_a_reserved_piece_is_not_scrapped(client, house):
    piece = factories.PieceFactory(property=house, state="reserved")

    assert is_problem(client.post(at(piece, "scrap/"), {"reason": "Split"}), 409, "wrong-step")


def test_what_offcuts_came_from_stays(client, house):
    piece = factories.PieceFactory(property=house)
    factories.PieceFactory(property=house, cut_from=piece, source="offcut")

    assert is_problem(client.delete(at(piece)), 409, "in-use")


def sound(client, piece, role="joist"):
    answer = client.get(at(piece, "sound-lengths/"), {"role": role})
    return [(run["from_mm"], run["to_mm"]) for run in answer.json()["runs"]]


def test_drawn_nails_end_no_sound_length_and_can_be_put_back(client, house):
    nails = factories.DefectFactory(piece__property=house, kind="nails", from_mm=1000, to_mm=1200)
    piece = nails.piece
    before = sound(client, piece)

    drawn = client.post(at(piece, "nails-drawn/"), {"defects": [nails.pk]})
    without = sound(client, piece)
    client.post(at(piece, "nails-not-drawn/"), {"defects": [nails.pk]})

    assert len(before) == 2
    assert drawn.json()["defects"][0]["drawn"] is True
    assert without == [(before[0][0], before[1][1])]
    assert sound(client, piece) == before


def test_only_the_nails_of_this_piece_are_drawn(client, house):
    decay = factories.DefectFactory(piece__property=house)
    others = factories.DefectFactory(piece__property=house, kind="nails")

    for wrong in (decay, others):
        answer = client.post(at(decay.piece, "nails-drawn/"), {"defects": [wrong.pk]})
        assert refuses(answer, "/defects", "no nails in")
    assert not Defect.objects.filter(drawn=True).exists()


def test_drawing_nails_can_become_a_task(client, house):
    nails = factories.DefectFactory(piece__property=house, kind="nails", from_mm=900, to_mm=2100)
    package = factories.WorkPackageFactory(property=house)

    answer = client.post(at(nails.piece, "draw-nails-task/"), {"package": package.pk})

    assert answer.status_code == 201, answer.json()
    task = Task.objects.get(pk=answer.json()["id"])
    assert (task.package, task.title) == (package, f"Draw the nails in {nails.piece}")
    assert "900–2100 mm" in task.note


def test_no_task_for_nails_that_are_not_there(client, house):
    drawn = factories.DefectFactory(piece__property=house, kind="nails", drawn=True)
    package = factories.WorkPackageFactory(property=house)
    elsewhere = factories.WorkPackageFactory(
        property=factories.MemberFactory(user=house.owner, role="owner").property
    )

    none = client.post(at(drawn.piece, "draw-nails-task/"), {"package": package.pk})
    wrong = client.post(at(drawn.piece, "draw-nails-task/"), {"package": elsewhere.pk})

    assert is_problem(none, 409, "no-nails")
    assert refuses(wrong, "/package", "another house")
    assert not Task.objects.exists()


def test_sound_lengths_say_what_ends_them_and_carry_the_cautions(client, house):
    piece = factories.PieceFactory(property=house, length_mm=3400)
    factories.DefectFactory(piece=piece, kind="decay", from_mm=0, to_mm=300)
    factories.DefectFactory(piece=piece, kind="split", from_mm=2440, to_mm=2600)

    answer = client.get(at(piece, "sound-lengths/"), {"role": "joist"}).json()

    first = answer["runs"][0]
    assert (first["why_left"], first["why_right"]) == ("decay", "split")
    assert first["length_mm"] == first["to_mm"] - first["from_mm"]
    assert first["from_mm"] >= 300
    assert first["to_mm"] <= 2440
    assert f"{first['length_mm']} mm between decay and split" in answer["sentence"]
    assert any("not graded" in caution for caution in answer["cautions"])


@pytest.mark.parametrize("query", [{}, {"role": "rafter"}, {"role": "joist", "rol": "x"}])
def test_sound_lengths_are_for_a_known_role(client, house, query):
    piece = factories.PieceFactory(property=house)

    assert client.get(at(piece, "sound-lengths/"), query).status_code == 400


def test_drying_is_honest_where_a_piece_never_gets_dry(client, house):
    piece = factories.PieceFactory(property=house, stored="outside")
    factories.MoistureReadingFactory(piece=piece, measured_pct=26, read_at=ago(24))

    answer = client.get(at(piece, "drying/"), {"limit_pct": 16}).json()

    assert (answer["outlook"], answer["dry_on"]) == ("never", None)
    assert answer["settles_pct"] > 16
    assert "equilibrium" in answer["sentence"]


def test_drying_names_a_day_between_an_early_and_a_late_one(client, house):
    piece = factories.PieceFactory(property=house, stored="dry")
    for days, pct in ((20, 27.0), (10, 24.5), (1, 22.6)):
        factories.MoistureReadingFactory(piece=piece, measured_pct=pct, read_at=ago(24 * days))

    answer = client.get(at(piece, "drying/"), {"limit_pct": 18}).json()

    assert answer["outlook"] == "date"
    assert answer["early_on"] <= answer["dry_on"] <= answer["late_on"]
    assert (answer["readings"], answer["latest_pct"]) == (3, 22.6)
    assert all(p["low_pct"] <= p["likely_pct"] <= p["high_pct"] for p in answer["points"])


def test_without_a_reading_nothing_is_said_of_drying(client, house):
    answer = client.get(at(factories.PieceFactory(property=house), "drying/")).json()

    assert (answer["outlook"], answer["points"], answer["readings"]) == ("no_reading", [], 0)


@pytest.mark.parametrize("limit", ["", "wet", "NaN", "101", "-3", "inf"])
def test_a_limit_is_a_percentage(client, house, limit):
    piece = factories.PieceFactory(property=house)

    answer = client.get(at(piece, "drying/"), {"limit_pct": limit})

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/limit_pct"
