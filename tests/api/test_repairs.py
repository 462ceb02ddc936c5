"""Repairs over HTTP: from what was found to what is to be done, and back.

The joist of these tests is invented: 50 × 150 mm C16 over 2.2 m, its far end decayed.
"""

from __future__ import annotations

import itertools

import pytest

from apps.floors.models import Joist
from apps.inspections.models import Deviation, Inspection
from apps.repairs.models import Repair
from apps.timber.models import Need
from apps.trades.models import TemporaryMeasure
from apps.work.models import Finding, Link, Task, WorkPackage
from tests import factories
from tests.api.asking import ago, refuses

REPAIRS = "/api/v1/repairs/"
PROPOSE = f"{REPAIRS}propose/"
MADE = (WorkPackage, Task, Link, Need, Inspection, Deviation, Finding, TemporaryMeasure, Repair)


def counts():
    return {model.__name__: model.objects.count() for model in MADE}


def proposed(client, joist, **asked):
    answer = client.post(PROPOSE, {"joist": joist.pk, "rot": "wet", **asked})
    assert answer.status_code == 200, answer.json()
    return answer.json()


def option_of(proposal, name):
    return next(row for row in proposal["options"] if row["option"] == name)


def accepted(client, joist, option="lap_end", **more):
    evidence = proposed(client, joist)["evidence"]
    body = {"joist": joist.pk, "rot": "wet", "option": option, "evidence": evidence, **more}
    answer = client.post(REPAIRS, body)
    assert answer.status_code == 201, answer.json()
    return answer.json()


def is_refused(answer, code, words=""):
    told = answer.json()
    return (
        answer.status_code == 409 and told["type"].endswith(f"#{code}") and words in told["detail"]
    )


# Proposing


def test_four_options_come_ranked_and_nothing_is_written(client, house):
    joist = factories.decayed_joist(house)
    before = counts()

    found = proposed(client, joist)

    assert [row["rank"] for row in found["options"]] == [1, 2, 3, 4]
    assert {row["option"] for row in found["options"]} == {
        "lap_end", "sister", "sister_hanger", "replace",
    }  # fmt: skip
    assert found["options"][0]["passes"] is True
    assert all(row["why"] for row in found["options"])
    assert counts() == before


def test_a_new_end_reaches_from_the_bearings_outer_edge_to_the_cut_and_past_it(client, house):
    lap = option_of(proposed(client, factories.decayed_joist(house)), "lap_end")

    # The decay begins at 2150 mm; wet rot is cut 300 mm past it (customary).
    assert [cut["at_mm"] for cut in lap["cut_back"]] == [1850]
    (piece,) = lap["timber"]
    lapped = piece["length_mm"] - (2400 - 1850)
    assert lapped > 0
    assert f"{lapped} mm of lap" in piece["length_rule"]
    assert (piece["role"], piece["treated"]) == ("lap_end", True)


def test_a_hung_sister_stops_at_the_walls_face(client, house):
    found = proposed(client, factories.decayed_joist(house))

    assert option_of(found, "sister")["timber"][0]["length_mm"] == 2400
    assert option_of(found, "sister_hanger")["timber"][0]["length_mm"] == 2300
    assert option_of(found, "replace")["timber"][0]["length_mm"] == 2400


def test_every_option_says_what_it_was_checked_for_and_by_which_code(client, house):
    for row in proposed(client, factories.decayed_joist(house))["options"]:
        assert row["checks"]
        for check in row["checks"]:
            assert check["edition"].startswith("EN 1995-1-1")
            assert check["of"]
            assert check["governing"] in {item["code"] for item in check["checks"]}
            assert any("preliminary" in caution for caution in check["cautions"])
            for item in check["checks"]:
                assert item["clause"]
                assert item["capacity"] > 0
                assert item["demand"] >= 0
                assert item["passes"] == (item["utilisation"] <= 1)


def test_the_boards_over_the_work_are_named_and_those_that_are_down(client, house):
    joist = factories.decayed_joist(house)
    boards = {board.mark: board for board in joist.floor.boards.all()}
    for mark in ("B14.1", "B15.1", "B16.1"):
        boards[mark].change(state="up")

    lap = option_of(proposed(client, joist), "lap_end")
    everything = option_of(proposed(client, joist), "replace")

    up = {boards[mark].pk for mark in ("B14.1", "B15.1", "B16.1")}
    assert up <= set(lap["boards"])
    assert set(lap["boards_down"]) == set(lap["boards"]) - up
    assert set(everything["boards"]) == {board.pk for board in boards.values()}
    assert set(lap["boards"]) < set(everything["boards"])


def test_a_piece_of_the_pile_brings_an_option_forward(client, house):
    joist = factories.decayed_joist(
        house, bearings=[
            {"at_mm": 0, "length_mm": 100, "kind": "wall_plate"},
            {"at_mm": 2300, "length_mm": 100, "kind": "wall_plate"},
        ],
    )  # fmt: skip
    factories.PieceFactory(
        property=house, mark="T1", breadth_mm=50, depth_mm=150, length_mm=2700,
        strength_class="C16", grade_basis="stamped",
    )  # fmt: skip

    best = proposed(client, joist)["options"][0]

    assert best["from_pile"] is True
    assert best["cost_pence"] == 0
    assert best["timber"][0]["supply"]["pieces"][0]["mark"] == "T1"


def test_the_yards_price_is_in_the_answer_and_unknown_without_one(client, house):
    joist = factories.decayed_joist(house)

    unknown = option_of(proposed(client, joist), "replace")["cost_pence"]
    factories.StockLengthFactory(
        property=house, breadth_mm=50, depth_mm=150, length_mm=2700, treated=True,
        price_pence_per_m=None, price_pence_per_length=1890,
    )  # fmt: skip
    known = option_of(proposed(client, joist), "replace")["cost_pence"]

    assert (unknown, known) == (None, 1890)


def test_other_timber_than_specified_comes_with_a_deviation_to_draft(client, house):
    joist = factories.decayed_joist(house)

    same = option_of(proposed(client, joist), "replace")
    other = option_of(proposed(client, joist, breadth_mm=63), "replace")

    assert same["deviation"] is None
    assert other["deviation"]["specified"] == "J7: 50 × 150 mm C16"
    assert "63 × 150 mm C16" in other["deviation"]["built"]


def test_a_joist_of_the_same_timber_that_spans_too_far_gets_a_stouter_one(client, house):
    joist = factories.decayed_joist(house)
    joist.floor.change(outline=[[0, 0], [3600, 0], [3600, 2700], [0, 2700], [0, 0]])
    joist.change(
        line=[[1200, 0], [1200, 2700]],
        bearings=[
            {"at_mm": 0, "length_mm": 100, "kind": "wall_plate"},
            {"at_mm": 2600, "length_mm": 100, "kind": "wall_plate"},
        ],
        decayed=[{"from_mm": 2500, "to_mm": 2700}],
    )

    replaced = option_of(proposed(client, joist), "replace")

    # 50 mm passes to 2425 mm, this one spans 2500 mm.
    assert replaced["passes"] is True
    assert replaced["timber"][0]["breadth_mm"] > 50
    assert replaced["deviation"] is not None


def test_asbestos_that_nobody_has_decided_on_stops_every_proposal_on_its_floor(client, house):
    joist = factories.decayed_joist(house)
    finding = factories.FindingFactory(
        property=house, kind="asbestos_suspected", title="Black adhesive", floor=joist.floor
    )

    refused = client.post(PROPOSE, {"joist": joist.pk})
    finding.change(decision="Sampled: none found", decided_at=ago(1))

    assert is_refused(refused, "asbestos-suspected", "Black adhesive")
    assert refused.json()["findings"] == [{"id": finding.pk, "title": "Black adhesive"}]
    assert client.post(PROPOSE, {"joist": joist.pk}).status_code == 200


def test_asbestos_in_a_room_over_the_floor_counts_and_elsewhere_does_not(client, house):
    joist = factories.decayed_joist(house)
    storey = joist.floor.storey
    over = factories.RoomFactory(property=house, storey=storey)
    beside = factories.RoomFactory(
        property=house, storey=storey,
        outline=[[9000, 0], [9900, 0], [9900, 900], [9000, 900], [9000, 0]],
    )  # fmt: skip
    finding = factories.FindingFactory(property=house, kind="asbestos_suspected", room=beside)

    elsewhere = client.post(PROPOSE, {"joist": joist.pk})
    finding.change(room=over)

    assert elsewhere.status_code == 200
    assert is_refused(client.post(PROPOSE, {"joist": joist.pk}), "asbestos-suspected")


def test_an_undecided_cable_is_a_warning(client, house):
    joist = factories.decayed_joist(house)
    factories.FindingFactory(
        property=house, kind="electrical", title="Brittle cable", floor=joist.floor
    )

    assert any("Brittle cable" in told for told in proposed(client, joist)["warnings"])


def test_a_joist_whose_bearings_nobody_noted_has_no_span_to_check(client, house):
    joist = factories.decayed_joist(house, bearings=[])

    assert is_refused(client.post(PROPOSE, {"joist": joist.pk}), "span-unknown", "J7")


def test_a_joist_nothing_is_noted_on_needs_no_repair(client, house):
    joist = factories.decayed_joist(house, condition="sound", decayed=[])

    assert is_refused(client.post(PROPOSE, {"joist": joist.pk}), "nothing-to-repair", "J7")


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"rot": "brown"}, "/rot"),
        ({"own_allowance_mm": -1}, "/own_allowance_mm"),
        ({"breadth_mm": 20}, "/breadth_mm"),
        ({"strength_class": "C99"}, "/strength_class"),
        ({"joist": None}, "/joist"),
    ],
)
def test_what_cannot_be_asked_is_refused_where_it_stands(client, house, changes, pointer):
    body = {"joist": factories.decayed_joist(house).pk, **changes}

    assert refuses(client.post(PROPOSE, body), pointer, "")


def test_a_missing_joist_can_only_be_replaced(client, house):
    found = proposed(client, factories.decayed_joist(house, condition="missing", decayed=[]))

    assert [row["option"] for row in found["options"] if row["possible"]] == ["replace"]


# Accepting


def test_accepting_makes_everything_it_takes_in_its_order(client, house):
    joist = factories.decayed_joist(house)

    repair = accepted(client, joist)

    tasks = {task.pk: task for task in Task.objects.filter(repairs=repair["id"])}
    assert [tasks[key].floor_action for key in repair["tasks"]] == [
        "lift", "work_open", "work_open", "work_open", "work_open", "work_open", "fix",
    ]  # fmt: skip
    assert all(task.floor == joist.floor and task.area for task in tasks.values())
    assert set(repair["tasks"]) == set(tasks)
    links = {(link.before_id, link.after_id) for link in Link.objects.all()}
    chain = repair["tasks"]
    assert set(itertools.pairwise(chain)) <= links
    (need,) = Need.objects.filter(repairs=repair["id"])
    assert (need.joist, need.state, need.treated) == (joist, "open", True)
    assert need.task.title == "Fit the new end of J7"
    look = Inspection.objects.get(pk=repair["inspection"])
    assert [task.title for task in look.looks_at.all()] == ["Fit the new end of J7"]
    assert [task.floor_action for task in look.blocks.all()] == ["fix"]
    assert look.required_evidence
    assert WorkPackage.objects.get(pk=repair["package"]).kind == "structure"


def test_the_closing_task_waits_until_the_repair_was_seen(client, house):
    repair = accepted(client, factories.decayed_joist(house))

    answer = client.post(f"/api/v1/tasks/{repair['tasks'][-1]}/start/", {})

    assert is_refused(answer, "hold-point-open")


def test_the_preservative_dries_before_the_boards_close(client, house):
    accepted(client, factories.decayed_joist(house))

    waits = {
        (link.before.title, link.after.floor_action): link.min_lag_minutes
        for link in Link.objects.select_related("before", "after")
    }
    assert waits["Treat the cut faces at J7", "fix"] == 2 * 24 * 60


def test_the_finding_is_decided_by_it_unless_somebody_had_decided(client, house):
    joist = factories.decayed_joist(house)
    finding = factories.FindingFactory(property=house, joist=joist, at_mm=2200)

    repair = accepted(client, joist, finding=finding.pk)

    finding.refresh_from_db()
    assert repair["finding"] == finding.pk
    assert finding.decision.startswith("J7: New end of")
    assert finding.decided_at is not None

    other = factories.decayed_joist(house, mark="J8")
    told = factories.FindingFactory(property=house, decision="Splice it", decided_at=ago(1))
    accepted(client, other, finding=told.pk)
    told.refresh_from_db()
    assert told.decision == "Splice it"


def test_it_joins_a_package_and_an_inspection_that_are_named(client, house):
    package = factories.WorkPackageFactory(property=house)
    look = factories.InspectionFactory(property=house)

    repair = accepted(
        client, factories.decayed_joist(house), package=package.pk, inspection=look.pk
    )

    assert (repair["package"], repair["inspection"]) == (package.pk, look.pk)
    assert package.tasks.count() == len(repair["tasks"])
    assert look.blocks.get().floor_action == "fix"
    assert Inspection.objects.count() == WorkPackage.objects.count() == 1


def test_another_section_drafts_a_deviation_with_its_checks(client, house):
    joist = factories.decayed_joist(house)
    evidence = proposed(client, joist, breadth_mm=63)["evidence"]

    repair = client.post(
        REPAIRS,
        {
            "joist": joist.pk, "rot": "wet", "breadth_mm": 63, "option": "replace",
            "evidence": evidence,
        },
    ).json()  # fmt: skip

    row = Deviation.objects.get(pk=repair["deviation"])
    assert (row.state, row.joist) == ("drafted", joist)
    assert row.check_result["checks"][0]["edition"].startswith("EN 1995-1-1")


def test_a_proposal_whose_evidence_changed_is_refused_and_makes_nothing(client, house):
    joist = factories.decayed_joist(house)
    evidence = proposed(client, joist)["evidence"]
    joist.change(decayed=[{"from_mm": 2100, "to_mm": 2400}])
    before = counts()

    answer = client.post(
        REPAIRS, {"joist": joist.pk, "rot": "wet", "option": "lap_end", "evidence": evidence}
    )

    assert is_refused(answer, "proposal-stale", "propose again")
    assert answer.json()["evidence"] == proposed(client, joist)["evidence"]
    assert counts() == before


def test_what_was_asked_for_is_part_of_what_is_accepted(client, house):
    joist = factories.decayed_joist(house)
    evidence = proposed(client, joist)["evidence"]

    answer = client.post(
        REPAIRS, {"joist": joist.pk, "rot": "dry", "option": "lap_end", "evidence": evidence}
    )

    assert is_refused(answer, "proposal-stale")


def test_what_cannot_be_done_is_not_accepted(client, house):
    joist = factories.decayed_joist(house, condition="missing", decayed=[])
    evidence = proposed(client, joist)["evidence"]
    body = {"joist": joist.pk, "rot": "wet", "option": "lap_end", "evidence": evidence}

    assert is_refused(client.post(REPAIRS, body), "repair-not-possible", "missing")


def test_what_does_not_pass_is_accepted_only_on_somebodys_word(client, house):
    joist = factories.decayed_joist(house)
    evidence = proposed(client, joist, imposed_kn_m2=15)["evidence"]
    body = {
        "joist": joist.pk, "rot": "wet", "option": "lap_end", "imposed_kn_m2": 15,
        "evidence": evidence,
    }  # fmt: skip

    refused = client.post(REPAIRS, body)
    taken = client.post(REPAIRS, {**body, "reason": "As the engineer drew it on 2 March."})

    assert is_refused(refused, "repair-does-not-pass", "Say in `reason` who decided")
    assert refused.json()["checks"]
    assert taken.status_code == 201
    assert taken.json()["reason"] == "As the engineer drew it on 2 March."


def test_a_joist_has_one_repair_in_hand(client, house):
    joist = factories.decayed_joist(house)
    first = accepted(client, joist)
    body = {"joist": joist.pk, "rot": "wet", "option": "replace",
            "evidence": proposed(client, joist)["evidence"]}  # fmt: skip

    second = client.post(REPAIRS, body)
    Task.objects.update(status="done", finished_at=ago(1))

    assert is_refused(second, "repair-in-hand", first["title"])
    assert client.post(REPAIRS, body).status_code == 201


def test_a_finding_of_another_joist_is_not_decided_by_it(client, house):
    joist = factories.decayed_joist(house)
    other = factories.JoistFactory(floor=joist.floor, mark="J9")
    finding = factories.FindingFactory(property=house, joist=other)
    body = {
        "joist": joist.pk, "rot": "wet", "option": "lap_end", "finding": finding.pk,
        "evidence": proposed(client, joist)["evidence"],
    }  # fmt: skip

    assert refuses(client.post(REPAIRS, body), "/finding", "not about J7")


def test_an_inspection_that_is_over_sees_no_more(client, house):
    joist = factories.decayed_joist(house)
    look = factories.InspectionFactory(property=house, state="accepted")
    body = {
        "joist": joist.pk, "rot": "wet", "option": "lap_end", "inspection": look.pk,
        "evidence": proposed(client, joist)["evidence"],
    }  # fmt: skip

    assert refuses(client.post(REPAIRS, body), "/inspection", "signed off")


# Props


def test_props_are_looked_at_daily_and_out_before_the_boards_close(client, house):
    repair = accepted(client, factories.decayed_joist(house))

    answer = client.post(f"{REPAIRS}{repair['id']}/propped/", {"at": ago(1).isoformat()})

    measure = TemporaryMeasure.objects.get(pk=answer.json()["measure"])
    assert (measure.kind, measure.check_every_hours, measure.since) == ("prop", 24, ago(1))
    assert measure.clear_before_task_id == repair["tasks"][-1]
    again = client.post(f"{REPAIRS}{repair['id']}/propped/", {})
    assert is_refused(again, "wrong-step", "propped already")


# Undoing


def undone(client, repair):
    answer = client.post(f"{REPAIRS}{repair['id']}/undo/", {})
    assert answer.status_code == 200, answer.json()
    return answer.json()


def test_undo_removes_everything_that_nobody_began(client, house):
    joist = factories.decayed_joist(house)
    finding = factories.FindingFactory(property=house, joist=joist)
    before = {**counts(), "Repair": 1}

    repair = undone(client, accepted(client, joist, finding=finding.pk))

    assert counts() == before
    assert repair["kept"] == []
    assert repair["undone_at"] is not None
    finding.refresh_from_db()
    assert (finding.decision, finding.decided_at) == ("", None)
    assert Joist.objects.filter(pk=joist.pk).exists()
    assert is_refused(client.post(f"{REPAIRS}{repair['id']}/undo/", {}), "wrong-step")


def test_what_was_begun_stays_and_is_named(client, house):
    repair = accepted(client, factories.decayed_joist(house))
    lift, prop = repair["tasks"][:2]
    client.post(f"/api/v1/tasks/{lift}/finish/", {"minutes": 30})
    client.post(f"/api/v1/tasks/{prop}/start/", {})

    left = undone(client, repair)

    assert left["tasks"] == [lift, prop]
    assert [(item["kind"], item["id"], item["why"]) for item in left["kept"]] == [
        ("task", lift, "it is done"), ("task", prop, "it is doing"),
    ]  # fmt: skip
    assert WorkPackage.objects.filter(pk=repair["package"]).exists()


def test_time_noted_on_a_task_keeps_it(client, house):
    repair = accepted(client, factories.decayed_joist(house))
    client.post(
        "/api/v1/time-entries/",
        {"task": repair["tasks"][0], "starts": ago(2).isoformat(), "minutes": 20},
    )

    kept = undone(client, repair)["kept"]

    assert [(item["kind"], item["why"]) for item in kept] == [
        ("task", "a time entry is noted on it")
    ]


def test_props_that_stand_stay_and_no_longer_wait_for_a_task_that_is_gone(client, house):
    repair = accepted(client, factories.decayed_joist(house))
    client.post(f"{REPAIRS}{repair['id']}/propped/", {})

    left = undone(client, repair)

    measure = TemporaryMeasure.objects.get()
    assert measure.clear_before_task is None
    assert [item["kind"] for item in left["kept"]] == ["temporary_measure"]


def test_timber_that_is_met_stays_for_no_task_in_particular(client, house):
    repair = accepted(client, factories.decayed_joist(house))
    Need.objects.update(state="met", state_reason="From the neighbour")

    left = undone(client, repair)

    assert Need.objects.get().task is None
    assert [(item["kind"], item["why"]) for item in left["kept"]] == [("timber_need", "it is met")]
    assert left["tasks"] == []


def test_an_inspection_that_was_asked_for_stays(client, house):
    repair = accepted(client, factories.decayed_joist(house))
    client.post(f"/api/v1/inspections/{repair['inspection']}/notify/", {})

    left = undone(client, repair)

    assert [(item["kind"], item["why"]) for item in left["kept"]] == [
        ("inspection", "it is notified")
    ]


def test_new_timber_that_is_being_fitted_is_seen_all_the_same(client, house):
    joist = factories.decayed_joist(house)
    evidence = proposed(client, joist, breadth_mm=63)["evidence"]
    repair = client.post(
        REPAIRS,
        {
            "joist": joist.pk, "rot": "wet", "breadth_mm": 63, "option": "replace",
            "evidence": evidence,
        },
    ).json()  # fmt: skip
    fit = Task.objects.get(title="Fit the new J7")
    client.post(f"/api/v1/tasks/{fit.pk}/start/", {})

    left = undone(client, repair)

    assert {item["kind"] for item in left["kept"]} == {"task", "inspection", "deviation"}
    assert left["inspection"] == repair["inspection"]


def test_a_deviation_that_was_put_to_somebody_stays(client, house):
    joist = factories.decayed_joist(house)
    evidence = proposed(client, joist, breadth_mm=63)["evidence"]
    repair = client.post(
        REPAIRS,
        {
            "joist": joist.pk, "rot": "wet", "breadth_mm": 63, "option": "replace",
            "evidence": evidence,
        },
    ).json()  # fmt: skip
    client.post(f"/api/v1/deviations/{repair['deviation']}/put/", {})

    left = undone(client, repair)

    assert [(item["kind"], item["why"]) for item in left["kept"]] == [("deviation", "it is put")]


def test_a_decision_that_was_rewritten_since_stays(client, house):
    joist = factories.decayed_joist(house)
    finding = factories.FindingFactory(property=house, joist=joist)
    repair = accepted(client, joist, finding=finding.pk)
    finding.refresh_from_db()
    finding.change(decision="The engineer wants it replaced.")

    undone(client, repair)

    finding.refresh_from_db()
    assert finding.decision == "The engineer wants it replaced."
    assert finding.decided_at is not None


def test_a_task_that_is_removed_by_itself_makes_another_answer(client, house):
    repair = accepted(client, factories.decayed_joist(house))
    at = f"{REPAIRS}{repair['id']}/"
    first = client.get(at)

    client.delete(f"/api/v1/tasks/{repair['tasks'][1]}/")

    again = client.get(at, HTTP_IF_NONE_MATCH=first["ETag"])
    assert again.status_code == 200
    assert len(again.json()["tasks"]) == len(repair["tasks"]) - 1


def test_timber_that_came_since_and_changes_the_section_makes_a_proposal_stale(client, house):
    joist = factories.decayed_joist(house)
    evidence = proposed(client, joist)["evidence"]
    factories.StockLengthFactory(
        property=house, breadth_mm=50, depth_mm=147, length_mm=2700, treated=True
    )

    answer = client.post(
        REPAIRS, {"joist": joist.pk, "rot": "wet", "option": "replace", "evidence": evidence}
    )

    assert is_refused(answer, "proposal-stale")


def test_a_cut_stands_in_timber_that_was_probed_once_somebody_probed(client, house):
    joist = factories.decayed_joist(house, decayed=[])
    guessed = client.post(PROPOSE, {"joist": joist.pk, "rot": "wet"})
    for at_mm, depth in ((1300, 1), (1850, 2), (2250, 25)):
        factories.JoistProbeFactory(joist=joist, at_mm=at_mm, probe_mm=depth)

    found = proposed(client, joist)

    # Decayed, nobody said where: until it is probed the whole joist counts as lost.
    assert [row["option"] for row in guessed.json()["options"] if row["possible"]] == ["replace"]
    (cut,) = found["damage"]["cuts"]
    assert (cut["cut_mm"], cut["proven"]) == (1850, True)


def test_a_new_reading_makes_a_proposal_stale(client, house):
    joist = factories.decayed_joist(house)
    evidence = proposed(client, joist)["evidence"]
    factories.JoistProbeFactory(joist=joist, at_mm=1500, probe_mm=1)

    answer = client.post(
        REPAIRS, {"joist": joist.pk, "rot": "wet", "option": "replace", "evidence": evidence}
    )

    assert is_refused(answer, "proposal-stale")


def test_a_class_of_the_old_code_is_refused_with_what_it_roughly_is(client, house):
    joist = factories.decayed_joist(house)
    joist.floor.change(strength_class="SC3")
    joist.change(strength_class="")
    body = {"joist": joist.pk, "strength_class": "C16", "old_strength_class": "C16"}

    assert refuses(client.post(PROPOSE, {"joist": joist.pk}), "", "roughly C16")
    assert client.post(PROPOSE, body).status_code == 200
