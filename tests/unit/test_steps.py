"""The records' states: every pair of state and step."""

import pytest

from apps.inspections.models import Deviation, Inspection
from apps.inspections.services import (
    CERTIFICATE_STEPS,
    CONDITION_STEPS,
    DEVIATION_STEPS,
    INSPECTION_STEPS,
)
from apps.trades.models import Visit
from apps.trades.services import VISIT_STEPS
from apps.work.models import Task
from apps.work.services import TASK_STEPS
from apps.work.steps import next_state
from renovation.errors import Problem

TABLES = {
    "task": (TASK_STEPS, Task.Status),
    "visit": (VISIT_STEPS, Visit.State),
    "inspection": (INSPECTION_STEPS, Inspection.State),
    "condition": (CONDITION_STEPS, ["open", "cleared"]),
    "deviation": (DEVIATION_STEPS, Deviation.State),
    "certificate": (CERTIFICATE_STEPS, ["owed", "received"]),
}
# What is expected, apart from the tables: one line per state, its steps and where they lead.
EXPECTED = {
    "task": """
        to_do: start=doing finish=done drop=dropped
        doing: finish=done drop=dropped reopen=to_do
        done: reopen=doing
        dropped: reopen=to_do
    """,
    "visit": """
        wanted: ask=asked agree=agreed
        asked: agree=agreed withdraw=wanted
        agreed: agree=agreed done=done missed=missed withdraw=wanted
        done: reopen=agreed missed=missed withdraw=wanted
        missed: ask=asked agree=agreed done=done reopen=agreed withdraw=wanted
    """,
    "inspection": """
        due: notify=notified book=booked
        notified: book=booked withdraw-notice=due
        booked: book=booked unbook=notified
        accepted:
        accepted_with_conditions:
        rejected: notify=notified book=booked
    """,
    "condition": """
        open: clear=cleared
        cleared: open-again=open
    """,
    "deviation": """
        drafted: put=put
        put: accept=accepted refuse=refused back-to-draft=drafted
        accepted: back-to-draft=drafted
        refused: back-to-draft=drafted
    """,
    "certificate": """
        owed: receive=received
        received: receive=received not-received=owed
    """,
}


def expected(name):
    lines = (line.partition(":") for line in EXPECTED[name].split("\n") if line.strip())
    return {
        state.strip(): dict(pair.split("=") for pair in rest.split()) for state, _, rest in lines
    }


def pairs():
    for name in TABLES:
        ways = expected(name)
        steps = sorted({step for row in ways.values() for step in row})
        for state in ways:
            for step in steps:
                yield pytest.param(name, state, step, ways[state], id=f"{name}-{state}-{step}")


@pytest.mark.parametrize(("name", "state", "step", "ways"), list(pairs()))
def test_a_step_leads_on_or_is_refused_naming_what_is_allowed(name, state, step, ways):
    table, _ = TABLES[name]

    if step in ways:
        assert next_state(table, state, step, name="It") == ways[step]
    else:
        with pytest.raises(Problem) as refused:
            next_state(table, state, step, name="It")
        assert refused.value.code == "wrong-step"
        assert refused.value.extra == {"state": state, "allowed": list(ways)}


@pytest.mark.parametrize("name", sorted(TABLES))
def test_every_state_of_the_record_is_in_its_table(name):
    table, states = TABLES[name]

    assert set(table) == set(states)
    assert {to for ways in table.values() for to in ways.values()} <= set(states)


@pytest.mark.parametrize("name", ["task", "visit", "condition", "deviation", "certificate"])
def test_every_step_can_be_undone(name):
    table, states = TABLES[name]

    assert all(table[to] for ways in table.values() for to in ways.values())
    assert set(table) == set(states)
