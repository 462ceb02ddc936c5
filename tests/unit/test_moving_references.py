"""Ids inside JSON columns are numbered anew, each as what it is of, and nothing else."""

from __future__ import annotations

from apps.moving import references

THOUSANDS = {"task": 1000, "visit": 2000, "person": 3000, "board": 4000, "tool": 5000,
             "trade": 6000, "workpackage": 7000, "need": 8000, "piece": 9000, "stocklength": 10000,
             "inspection": 11000, "room": 12000, "floor": 13000}  # fmt: skip


def renumber(kind, pk):
    return THOUSANDS[kind] + pk


def test_what_a_sentence_is_about_at_any_depth():
    alert = {"code": "x", "about": [{"kind": "task", "id": 7, "name": "Lift 7"}],
             "figures": {"minutes": 7, "kind": "hours"},
             "remedies": [{"what_if": {"drop_tasks": [7]}, "about": None}]}  # fmt: skip

    assert references.told([alert], renumber) == [
        {"code": "x", "about": [{"kind": "task", "id": 1007, "name": "Lift 7"}],
         "figures": {"minutes": 7, "kind": "hours"},
         "remedies": [{"what_if": {"drop_tasks": [1007]}, "about": None}]}
    ]  # fmt: skip


def test_a_supposition_with_everything_in_it():
    asked = {
        "visits": [{"id": 1, "starts": "a", "ends": "b"}],
        "days_off": [{"person": 2, "date": "2026-03-02"}],
        "more_hours": [{"person": 3, "date": "2026-03-02", "starts": "18:00", "ends": "19:00"}],
        "drop_tasks": [4],
        "add_tasks": [
            {"title": "More", "package": 5, "likely_minutes": 60, "room": 6, "floor": 7,
             "trade": 8, "tools": [9], "after": [10, -2], "before": [11], "due_weight": 4},
        ],
    }  # fmt: skip

    assert references.what_if(asked, renumber) == {
        "visits": [{"id": 2001, "starts": "a", "ends": "b"}],
        "days_off": [{"person": 3002, "date": "2026-03-02"}],
        "more_hours": [{"person": 3003, "date": "2026-03-02", "starts": "18:00", "ends": "19:00"}],
        "drop_tasks": [1004],
        "add_tasks": [
            {"title": "More", "package": 7005, "likely_minutes": 60, "room": 12006, "floor": 13007,
             "trade": 6008, "tools": [5009], "after": [1010, -2], "before": [1011],
             "due_weight": 4},
        ],
    }  # fmt: skip


def test_what_a_plan_was_made_from_keeps_its_order():
    facts = {"task:9": {"name": "9", "place": ["lift", 2, 30], "tools": [1], "trade": None,
                        "on": ["task:12", "task:9"], "week": [[0, "08:00", "12:00"]]}}  # fmt: skip

    assert references.inputs(facts, lambda kind, pk: pk + 1) == {
        "task:10": {"name": "9", "place": ["lift", 3, 31], "tools": [2], "trade": None,
                    "on": ["task:10", "task:13"], "week": [[0, "08:00", "12:00"]]}
    }  # fmt: skip


def test_needs_that_are_not_met_and_what_would_meet_them():
    row = {"need": 1, "title": "J7", "count": 1, "length_mm": 2400,
           "changes": [{"kind": "longer", "figures": {"mm": 40, "piece": 2}, "words": ""},
                       {"kind": "buy_more", "figures": {"stock": 3}, "words": ""}]}  # fmt: skip

    (found,) = references.unmet([row], renumber)

    assert found["need"] == 8001
    assert [one["figures"] for one in found["changes"]] == [
        {"mm": 40, "piece": 9002}, {"stock": 10003},
    ]  # fmt: skip


def test_a_repair_and_nothing_of_a_check_that_is_none():
    kept = {"option": "lap_end", "boards": [1, 2], "boards_down": [2], "cost_pence": 100,
            "timber": [{"supply": {"pieces": [{"id": 3, "mark": "T3"}]}}]}  # fmt: skip

    found = references.proposal(kept, renumber)

    assert (found["boards"], found["boards_down"]) == ([4001, 4002], [4002])
    assert found["timber"][0]["supply"]["pieces"] == [{"id": 9003, "mark": "T3"}]
    assert found["cost_pence"] == 100
    assert references.proposal({"boards": [1]}, renumber) == {"boards": [1]}
