"""Long runs of what happens in a house, through the API, beside a model that fits in the head:
boards lie in states, a visit is in one, an inspection is as its last look left it.

Source of the model: docs/reference/api.md (board moves, visits, sign-offs), not the code.
"""

from __future__ import annotations

import os

from django.db import transaction
from django.utils import timezone
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from apps.inspections.verify import first_trouble
from tests import factories
from tests.clients import Client

API = "/api/v1"
BOARDS = 4
# Where each step leads; where none is named it is refused.
VISIT = {
    "ask": {"wanted": "asked", "missed": "asked"},
    "agree": dict.fromkeys(["wanted", "asked", "agreed", "missed"], "agreed"),
    "done": {"agreed": "done", "missed": "done"},
    "missed": {"agreed": "missed", "done": "missed"},
    "reopen": {"done": "agreed", "missed": "agreed"},
    "withdraw": dict.fromkeys(["asked", "agreed", "done", "missed"], "wanted"),
}
TIMES = {"starts": "2026-03-02T09:00:00Z", "ends": "2026-03-02T11:00:00Z"}


class House(RuleBasedStateMachine):
    """One floor of four boards, one visit, one inspection."""

    def __init__(self):
        super().__init__()
        self.kept_out = transaction.atomic()
        self.kept_out.__enter__()
        member = factories.MemberFactory(role="owner")
        self.house, self.api = member.property, Client(raise_request_exception=False)
        self.api.force_authenticate(member.user)
        floor = factories.FloorFactory(property=self.house)
        rows = [factories.BoardFactory(floor=floor, course=n + 1) for n in range(BOARDS)]
        self.floor, self.ids = floor.pk, [row.pk for row in rows]
        self.boards = dict.fromkeys(self.ids, "fixed")
        self.moves = []  # (id, what its boards were before)
        self.visit, self.visit_state = factories.VisitFactory(property=self.house).pk, "wanted"
        self.looked_at = factories.InspectionFactory(property=self.house).pk
        self.inspection_state, self.looks = "due", 0

    def teardown(self):
        transaction.set_rollback(True)
        self.kept_out.__exit__(None, None, None)

    def post(self, path, body=None):
        return self.api.post(f"{API}/{path}", body or {})

    @rule(
        picked=st.sets(st.integers(0, BOARDS - 1), min_size=1),
        to_state=st.sampled_from(["fixed", "loose", "up", "missing"]),
    )
    def move(self, picked, to_state):
        ids = [self.ids[n] for n in sorted(picked)]
        before = {pk: self.boards[pk] for pk in ids}
        answer = self.post(
            "board-moves/",
            {"boards": ids, "to_state": to_state, "moved_at": timezone.now().isoformat()},
        )
        if to_state in before.values():
            assert answer.status_code == 409, answer.content
            return
        assert answer.status_code == 201, answer.content
        self.boards.update(dict.fromkeys(ids, to_state))
        self.moves.append((answer.json()["id"], before))

    @rule(which=st.integers(0, 5))
    def take_back(self, which):
        if not self.moves:
            return
        at = max(0, len(self.moves) - 1 - which)
        move, before = self.moves[at]
        moved_since = {pk for _, later in self.moves[at + 1 :] for pk in later}
        answer = self.post(f"board-moves/{move}/undo/")
        if moved_since & set(before):
            assert answer.status_code == 409, answer.content
            return
        assert answer.status_code == 201, answer.content
        # The slip stays in the log: taking it back is more moves, one for each state.
        was = {pk: self.boards[pk] for pk in before}
        found = self.api.get(f"{API}/board-moves/", {"floor": self.floor, "page_size": 200}).json()
        known = {known for known, _ in self.moves}
        for row in sorted(found["results"], key=lambda row: row["id"]):
            if row["id"] not in known:
                back = [pk for pk in before if before[pk] == row["to_state"]]
                self.moves.append((row["id"], {pk: was[pk] for pk in back}))
        self.boards.update(before)

    @rule(step=st.sampled_from(sorted(VISIT)))
    def step_visit(self, step):
        answer = self.post(f"visits/{self.visit}/{step}/", TIMES if step == "agree" else {})
        to_state = VISIT[step].get(self.visit_state)
        assert answer.status_code == (200 if to_state else 409), answer.content
        self.visit_state = to_state or self.visit_state

    @rule(result=st.sampled_from(["accepted", "accepted_with_conditions", "rejected"]))
    def look(self, result):
        body = {"inspection": self.looked_at, "result": result, "seen_by": "A. Surveyor",
                "seen_at": timezone.now().isoformat()}  # fmt: skip
        if result == "accepted_with_conditions":
            body["conditions"] = [{"text": "Treat the cut ends"}]
        answer = self.post("sign-offs/", body)
        assert answer.status_code == 201, answer.content
        self.inspection_state, self.looks = result, self.looks + 1

    @invariant()
    def the_boards_lie_as_they_were_left(self):
        found = self.api.get(f"{API}/boards/", {"floor": self.floor, "page_size": 200}).json()
        assert {row["id"]: row["state"] for row in found["results"]} == self.boards

    @invariant()
    def every_move_is_in_the_log(self):
        found = self.api.get(f"{API}/board-moves/", {"floor": self.floor}).json()
        assert found["count"] == len(self.moves)

    @invariant()
    def the_visit_stands_where_it_was_brought(self):
        assert self.api.get(f"{API}/visits/{self.visit}/").json()["state"] == self.visit_state

    @invariant()
    def the_record_is_whole_and_its_last_look_counts(self):
        inspection = self.api.get(f"{API}/inspections/{self.looked_at}/").json()
        assert inspection["state"] == self.inspection_state
        found = self.api.get(f"{API}/sign-offs/", {"inspection": self.looked_at}).json()
        assert found["count"] == self.looks
        assert first_trouble(self.house) is None


def test_whatever_happens_the_house_is_as_the_model_says(db):
    House.TestCase.settings = settings(
        max_examples=int(os.environ.get("FUZZ_EXAMPLES", "4")),
        stateful_step_count=25,
        deadline=None,
        database=None,
        derandomize=True,
        suppress_health_check=list(HealthCheck),
    )
    House.TestCase("runTest").runTest()
