"""What an alert is, and the alerts that follow from a plan.

Each has a code of the contract, a severity (`stop`: do not go on; `act`: do something soon;
`watch`: know it), the ids it is about and one sentence with its figures.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import timedelta
from typing import Any, Literal

from apps.inspections.models import Inspection
from apps.inspections.notices import working_days_before
from apps.planning import holds
from apps.planning.calendars import total
from apps.planning.clock import say_date
from apps.planning.loading.house import SIGNED_OFF, blocked_tasks, inspection_in_plan, ref
from apps.planning.loading.question import Question
from apps.planning.loading.waits import supply_expected
from apps.planning.problem import Link, Reason, Ref, Solution, Stint
from apps.planning.words import duration
from apps.work.models import Task

Severity = Literal["stop", "act", "watch"]
NOTICE_SOON = timedelta(days=3)
# When an office stops taking notices for the day: common practice, no source.
OFFICE_CLOSES = "17:00"


@dataclass(frozen=True, slots=True)
class Alert:
    """One thing a person should know; `figures` repeats the numbers of the sentence."""

    code: str
    severity: Severity
    sentence: str
    about: tuple[Ref, ...]
    figures: dict[str, Any]

    def as_dict(self) -> dict[str, Any]:
        return asdict(self)


@dataclass(frozen=True)
class Planned:
    """A solved question, indexed for the alerts."""

    question: Question
    solution: Solution
    reasons: dict[Stint, Reason]
    needs: list[holds.OpenNeed]
    board_times: dict[int, holds.BoardTimes]
    holds: tuple[holds.BoardHold, ...]

    def span(self, key: str | None) -> tuple[int, int] | None:
        """Start and end of an activity in the plan."""
        own = [stint for stint in self.solution.stints if stint.activity == key]
        return (min(s.start for s in own), max(s.end for s in own)) if own else None

    def working_quarters(self, start: int, end: int) -> int:
        """Quarter-hours of the crew's working time between two quarter-hours."""
        problem = self.question.problem
        crew = next(c for c in problem.calendars if c.key == problem.working_calendar)
        return total(crew.windows, (start, end))

    def ref(self, key: str) -> Ref:
        return self.refs[key]

    @property
    def refs(self) -> dict[str, Ref]:
        return {activity.key: activity.ref for activity in self.question.problem.activities}


def plan_alerts(planned: Planned) -> list[Alert]:
    """All alerts of a plan, the gravest first."""
    found = [alert for rule in RULES for alert in rule(planned)]
    return sorted(found, key=lambda alert: ("stop", "act", "watch").index(alert.severity))


def visits_unready(planned: Planned) -> Iterator[Alert]:
    """Agreed visits and booked looks whose preparation does not fit, and missed windows."""
    clock = planned.question.house.clock
    refs = planned.refs
    worst: dict[str, tuple[int, Link]] = {}
    for unready in planned.solution.unready:
        link = unready.link
        activity = next(a for a in planned.question.problem.activities if a.key == link.after)
        if activity.fixed and unready.short > worst.get(link.after, (0, link))[0]:
            worst[link.after] = (unready.short, link)
    for key, (short, link) in worst.items():
        span = planned.span(key)
        before = planned.span(link.before)
        when = f" on {clock.say(span[0])}" if span else ""
        work = planned.working_quarters(before[1] - short, before[1]) if before else 0
        why = (
            f"“{refs[link.before].name}” ends {clock.say(before[1])}, {duration(short)} too late; "
            f"{duration(work)} of working time more before it would do"
            if before
            else f"“{refs[link.before].name}” has no place in the plan"
        )
        yield Alert(
            "visit_unready", "act", f"“{refs[key].name}”{when} is not ready: {why}.",
            (refs[key], refs[link.before]),
            {"short_minutes": short * 15, "short_working_minutes": work * 15},
        )  # fmt: skip
    for activity in planned.question.problem.activities:
        span = planned.span(activity.key)
        late = span[1] - activity.due if span and activity.due is not None else 0
        if activity.ref.kind == "visit" and not activity.fixed and late > 0 and span:
            wanted = say_date(clock.on((activity.due or 1) - 1))
            yield Alert(
                "visit_unready", "act",
                f"“{activity.ref.name}” is wanted by {wanted}, and cannot be before "
                f"{clock.say(span[0])}.",
                (activity.ref,), {"late_minutes": late * 15},
            )  # fmt: skip


def fixes_before_access(planned: Planned) -> Iterator[Alert]:
    """Boards somebody plans to fix, or wants fixed by a date, while another needs them open."""
    house = planned.question.house
    fixing = [
        task
        for task in house.tasks.values()
        if task.floor_action == Task.FloorAction.FIX and ("task", task.pk) in house.touched
    ]
    fixes = []
    for task in fixing:
        boards = tuple(house.touched["task", task.pk])
        if span := planned.span(planned.question.aliases.get(f"task:{task.pk}")):
            fixes.append(holds.Fix(boards, house.clock.at(span[0]), task.title, task.pk))
        if task.due is not None and task.status == Task.Status.TO_DO:
            fixes.append(holds.Fix(boards, task.due, f"{task.title} (by its due date)", task.pk))
    for conflict in holds.fix_conflicts(planned.holds, fixes, zone=house.clock.zone):
        task = house.tasks[conflict.fix.task_id or 0]
        need = next(row for row in house.needs if row.pk == conflict.holds[0].need_id)
        yield Alert(
            "fix_before_access", "act", conflict.sentence, (ref(task), ref(need)),
            {"boards": len(conflict.holds)},
        )  # fmt: skip


def nobody_opens(planned: Planned) -> Iterator[Alert]:
    house = planned.question.house
    as_of = house.clock.at(house.now)
    for missing in holds.nobody_opens(
        planned.needs, planned.board_times, as_of=as_of, zone=house.clock.zone
    ):
        kind = "accessneed" if missing.need.for_kind != "task" or missing.need.id else "task"
        about = Ref(kind, missing.need.id or missing.need.for_id, missing.need.purpose)
        yield Alert(
            "nobody_opens", "act", missing.sentence, (about,),
            {"boards": len(missing.board_ids), "late": len(missing.late_ids)},
        )  # fmt: skip


def hold_points_open(planned: Planned) -> Iterator[Alert]:
    """Work that must not start before someone has looked: or has, all the same."""
    house = planned.question.house
    for row in house.inspections.values():
        if row.state in SIGNED_OFF:
            continue
        blocked = [house.tasks[pk] for pk in blocked_tasks(house, row)]
        begun = [task for task in blocked if task.status in {Task.Status.DOING, Task.Status.DONE}]
        waiting = [task for task in blocked if task.status == Task.Status.TO_DO]
        for task in begun:
            yield Alert(
                "hold_point_open", "stop",
                f"“{task}” was begun, but “{row}” is not signed off: stop covering and ask "
                "whoever has to see it.",
                (ref(row), ref(task)), {},
            )  # fmt: skip
        if not waiting:
            continue
        names = f"“{waiting[0]}”" + (f" and {len(waiting) - 1} more" if len(waiting) > 1 else "")
        span = planned.span(f"inspection:{row.pk}")
        if not inspection_in_plan(house, row):
            sentence = f"“{row}” was booked for a day that has passed: record the sign-off."
        elif span is None:
            sentence = f"“{row}” has no place in the plan, and {names} waits for it."
        else:
            sentence = (
                f"{names} cannot start before “{row}” is signed off ({house.clock.say(span[0])})."
            )
        severity: Severity = "watch" if span else "act"
        yield Alert(
            "hold_point_open", severity, sentence, (ref(row), *(ref(t) for t in waiting)), {}
        )


def notices_due(planned: Planned) -> Iterator[Alert]:
    house = planned.question.house
    for row in house.inspections.values():
        span = planned.span(f"inspection:{row.pk}")
        unasked = row.state in {Inspection.State.DUE, Inspection.State.REJECTED}
        if not (span and unasked) or row.by == Inspection.By.OWN_CHECK:
            continue
        look_on = house.clock.on(span[0])
        give_by = working_days_before(look_on, row.notice_working_days, house.days_off)
        today = house.clock.on(house.now)
        yield Alert(
            "notice_due", "act" if give_by - today <= NOTICE_SOON else "watch",
            f"Give notice by {say_date(give_by)}, {OFFICE_CLOSES}, for a look on "
            f"{say_date(look_on)}: “{row}”.",
            (ref(row),),
            {"give_by": give_by.isoformat(), "look_on": look_on.isoformat()},
        )  # fmt: skip


def evidence_missing(planned: Planned) -> Iterator[Alert]:
    """Required evidence that is not on file while what needs it is to be covered."""
    house = planned.question.house
    for missing in house.missing:
        row = missing.inspection
        covering = [
            house.tasks[pk]
            for pk in blocked_tasks(house, house.inspections[row.pk])
            if house.tasks[pk].status in {Task.Status.TO_DO, Task.Status.DOING}
        ]
        if not covering:
            continue
        starts = [span[0] for t in covering if (span := planned.span(f"task:{t.pk}"))]
        when = f" ({house.clock.say(min(starts))})" if starts else ""
        yield Alert(
            "evidence_missing", "act",
            f"{missing.sentence} “{covering[0]}”{when} does not start without it.",
            (ref(row), *(ref(task) for task in covering)), {"tasks": len(covering)},
        )  # fmt: skip


def supplies_late(planned: Planned) -> Iterator[Alert]:
    """Deliveries that hold work up, are overdue, or have no date."""
    house = planned.question.house
    waiting = {
        by.id: planned.ref(stint.activity)
        for stint, reason in planned.reasons.items()
        if reason.code == "supply"
        for by in reason.by
    }
    for supply in house.supplies:
        tasks = [task for task in supply.tasks.all() if task.status in {"to_do", "doing"}]
        if not tasks:
            continue
        expected = supply_expected(house, supply)
        due = min((house.clock.floor(t.due) for t in tasks if t.due), default=None)
        if expected is None:
            why = "has no delivery date"
        elif expected <= house.now:
            why = f"was expected {house.clock.say(expected)} and has not come"
        elif supply.pk in waiting or (due is not None and expected > due):
            why = f"is expected {house.clock.say(expected)}"
        else:
            continue
        late = expected - due if expected is not None and due is not None and expected > due else 0
        by_due = f", {duration(late)} after it is due" if late else ""
        yield Alert(
            "supply_late", "act", f"{supply} {why}; “{tasks[0]}” waits for it{by_due}.",
            (ref(supply), *(ref(task) for task in tasks)), {"late_minutes": late * 15},
        )  # fmt: skip


def timber_wet(planned: Planned) -> Iterator[Alert]:
    """Pieces spoken for that are too wet: where they are for ever, past the due date, or yet."""
    house = planned.question.house
    for wet in house.wet:
        task = house.tasks.get(wet.task_id)
        if task is None or task.status in {Task.Status.DONE, Task.Status.DROPPED}:
            continue
        about = (ref(wet.piece), ref(wet.need), ref(task))
        if wet.dry_on is None:
            yield Alert(
                "timber_wet", "act",
                f"{wet.sentence} “{task}” waits for it: bring it where it is warmer and drier, or "
                "use another piece.",
                about, {},
            )  # fmt: skip
            continue
        due = task.due and task.due.astimezone(house.clock.zone).date()
        late = due is not None and wet.dry_on > due
        yield Alert(
            "timber_wet", "act" if late else "watch",
            f"{wet.sentence} “{task}” waits for it"
            + (f" and is due by {say_date(due)}." if late and due else "."),
            about, {"dry_on": wet.dry_on.isoformat()},
        )  # fmt: skip


def link_circles(planned: Planned) -> Iterator[Alert]:
    refs = planned.refs
    for circle in planned.solution.circles:
        names = [f"“{refs[link.before].name}”" for link in circle]
        yield Alert(
            "link_circle", "act",
            f"These wait for each other and can never start: {' → '.join([*names, names[0]])}.",
            tuple(refs[link.before] for link in circle), {"tasks": len(circle)},
        )  # fmt: skip


def dues_missed(planned: Planned) -> Iterator[Alert]:
    """Due dates that the plan does not keep, tasks with a due date and no place, long waits."""
    clock = planned.question.house.clock
    for activity in planned.question.problem.activities:
        if activity.due is None or activity.ref.kind != "task":
            continue
        span = planned.span(activity.key)
        if span is None:
            why = next(
                (u.sentence for u in planned.solution.unplaced if u.activity == activity.key), ""
            )
            yield Alert(
                "due_missed", "act",
                f"“{activity.ref.name}” is due {clock.say(activity.due)} and has no place. {why}",
                (activity.ref,), {"late_minutes": None},
            )  # fmt: skip
        elif span[1] > activity.due:
            late = span[1] - activity.due
            yield Alert(
                "due_missed", "act",
                f"“{activity.ref.name}” is due {clock.say(activity.due)} and ends "
                f"{clock.say(span[1])}, {duration(late)} late.",
                (activity.ref,), {"late_minutes": late * 15},
            )  # fmt: skip
    refs = planned.refs
    fixed = {a.key for a in planned.question.problem.activities if a.fixed}
    for unready in planned.solution.unready:
        link = unready.link
        if link.after not in fixed:
            yield Alert(
                "due_missed", "act",
                f"“{refs[link.after].name}” comes {duration(unready.short)} too long after "
                f"“{refs[link.before].name}”. {link.reason}".rstrip(),
                (refs[link.after], refs[link.before]), {"late_minutes": unready.short * 15},
            )  # fmt: skip


RULES = (
    visits_unready,
    fixes_before_access,
    nobody_opens,
    hold_points_open,
    notices_due,
    evidence_missing,
    supplies_late,
    timber_wet,
    link_circles,
    dues_missed,
)
