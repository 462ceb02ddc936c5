"""Small houses for planning tests: a crew with evenings, a floor with boards."""

from __future__ import annotations

from datetime import UTC, datetime, time

from tests import factories

# A Monday, in winter time, so that local and UTC are the same in England.
MONDAY = datetime(2026, 1, 5, 8, 0, tzinfo=UTC)


def at(day: int, hour: int, minute: int = 0) -> datetime:
    """An instant on the n-th day from that Monday."""
    return datetime(2026, 1, 5 + day, hour, minute, tzinfo=UTC)


def crew(house, *, weekdays=range(5), starts=time(18), ends=time(20)):
    """A crew with the same hours on some weekdays; two hours each weekday evening."""
    person = factories.PersonFactory(property=house, name="Mar", role="crew")
    for weekday in weekdays:
        factories.WorkingTimeFactory(person=person, weekday=weekday, starts=starts, ends=ends)
    return person


def floor_with_boards(house, courses=4, **floor):
    """A 3 × 4 m floor with joists at 400 and the first `courses` boards of 3000 × 150 mm."""
    made = factories.FloorFactory(property=house, **floor)
    for n in range(8):
        x = 25 + 400 * n
        factories.JoistFactory(floor=made, mark=f"J{n + 1}", line=[[x, 0], [x, 4000]])
    for course in range(1, courses + 1):
        factories.BoardFactory(floor=made, course=course, mark=f"B{course}.1")
    return made


def package(house, **fields):
    return factories.WorkPackageFactory(property=house, **fields)


def plan(house, *, as_of=MONDAY, **fields):
    """The plan of a house as of that Monday morning, solved here and now."""
    from apps.planning import services
    from apps.planning.models import Plan

    row = Plan.objects.create(
        property=house, as_of=as_of, **{"horizon_days": 14, "seconds": 2.0, **fields}
    )
    services.solve(plan_id=row.pk)
    return Plan.objects.prefetch_related("stints").get(pk=row.pk)


def times(made, task):
    """When a task's stints are, as (day of month, hour, minutes long)."""
    return [
        (s.starts.day, s.starts.hour, int((s.ends - s.starts).total_seconds() // 60))
        for s in made.stints.all()
        if s.task_id == task.pk
    ]
