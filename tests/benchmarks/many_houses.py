"""Many houses at once for the load benchmarks: the demo house copied row by row, and a large one.

Copies are rows only: what JSON columns name by id (reasons, alerts) still names the first house,
which no reading follows. The large house's plan is written down, not worked out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from itertools import pairwise
from time import process_time
from typing import Any

from django.apps import apps
from django.contrib.auth.models import User
from django.db import connection, models, transaction
from django.utils import timezone

from apps.floors.models import Board, Floor, Joist
from apps.planning.demo import load_demo
from apps.planning.models import Person, Plan, Stint, WorkingTime
from apps.planning.services import request_plan
from apps.property.models import Doorway, HouseholdRoute, Member, Property, Room, Storey
from apps.property.outlines import rectangle
from apps.trades.models import AccessNeed, Visit
from apps.work.models import Link, Task, Trade, WorkPackage
from renovation.models import Record
from renovation.tokens import make_token

HOUSES_A_CREW = 4
AT_ONCE = 2000
APPS = ("property", "floors", "work", "trades", "inspections", "timber", "repairs", "planning")


def build(houses: int, after_each_step: Callable[[], Any] = int) -> dict[str, Any]:
    """The houses, each crew with a few of them, and the large one for the first crew."""
    first = User.objects.create_user("crew0")
    demo = load_demo(owner=first, today=timezone.localdate())
    used = plan_seconds(demo.pk, first)
    after_each_step()
    crews = [first] + [
        User.objects.create_user(f"crew{n}") for n in range(1, -(-houses // HOUSES_A_CREW))
    ]
    copies = copied(demo, houses - 1)
    Member.objects.bulk_create(
        Member(property_id=pk, user=crews[n // HOUSES_A_CREW], role=Member.Role.OWNER)
        for n, pk in enumerate(copies, start=1)
    )
    after_each_step()
    large = large_house(first)
    after_each_step()
    settle()
    return {
        "demo": demo.pk, "copies": copies, "large": large.pk, "crews": crews, "plan_seconds": used,
    }  # fmt: skip


def plan_seconds(house_id: int, by: User) -> float:
    """Seconds of processor that a plan of four weeks takes."""
    house = Property.objects.get(pk=house_id)
    used = process_time()
    plan = request_plan(
        house=house, as_of=timezone.now(), horizon_days=28, seconds=1, requested_by=by
    )
    used = process_time() - used
    plan.refresh_from_db()
    assert plan.state == Plan.State.READY, plan.state
    return used


def settle() -> None:
    """Let the database look at what it holds now, as it does by itself in a day."""
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def rows_of(house: Property) -> Iterator[tuple[type[models.Model], models.QuerySet[Any]]]:
    """Every kind of row of a house, each after those it names."""
    kinds = {model: path for model in in_order() if (path := path_to_house(model)) is not None}
    for model, path in kinds.items():
        yield model, model._default_manager.filter(**{path: house.pk}).order_by("pk")


def in_order() -> list[type[models.Model]]:
    left = [
        model for label in APPS for model in apps.get_app_config(label).get_models(True)
        if model is not Property and model is not Member
    ]  # fmt: skip
    done: list[type[models.Model]] = []
    while left:
        ready = [m for m in left if not needs(m, True) & set(left) - {m}] or [
            m for m in left if not needs(m, False) & set(left) - {m}
        ]
        assert ready, f"a circle: {left}"
        done += ready
        left = [model for model in left if model not in ready]
    return done


def needs(model: type[models.Model], nullable: bool) -> set[type[models.Model]]:
    """The kinds that a row names: all of them, or those it cannot do without."""
    return {
        field.related_model for field in model._meta.concrete_fields
        if field.is_relation and (nullable or not field.null)
    }  # fmt: skip


def path_to_house(model: type[models.Model]) -> str | None:
    """The query path to the house; through tables go by the first side that has one."""
    if issubclass(model, Record):
        return model.scope_path
    for field in model._meta.concrete_fields:
        if field.related_model is Property:
            return field.name
        if field.is_relation and issubclass(field.related_model, Record):
            path = path_to_house(field.related_model)
            return f"{field.name}__{path}" if path else field.name
    return None


def copied(house: Property, times: int) -> list[int]:
    """Copies of a house and all its rows; their ids."""
    names = [f"{house.name} {n}" for n in range(2, times + 2)]
    new_ids: dict[tuple[type[models.Model], int], list[int]] = {}
    fresh = Property.objects.bulk_create(renamed(house, name) for name in names)
    new_ids[Property, house.pk] = [row.pk for row in fresh]
    with transaction.atomic():
        for model, rows in rows_of(house):
            for row in rows:
                again = (anew(model, row, new_ids, n) for n in range(times))
                made = model._default_manager.bulk_create(list(again), AT_ONCE)
                new_ids[model, row.pk] = [one.pk for one in made]
    return new_ids[Property, house.pk]


def renamed(house: Property, name: str) -> Property:
    fields = {f.attname: getattr(house, f.attname) for f in house._meta.concrete_fields}
    return Property(**{**fields, "id": None, "name": name})


def anew(model: type[models.Model], row: Any, new_ids: Any, n: int) -> models.Model:
    fields = {}
    for field in model._meta.concrete_fields:
        value = getattr(row, field.attname)
        if field.is_relation and value is not None:
            known = new_ids.get((field.related_model, value))
            # A row that is named before it is made is one that the copy can do without.
            value = known[n] if known else None if field.null else value
        fields[field.attname] = value
    return model(**{**fields, model._meta.pk.attname: None})


def large_house(owner: User, *, tasks: int = 2000, boards: int = 5000) -> Property:
    """Eight floors on two storeys, everything planned ahead for months, some boards up."""
    house = Property.objects.create(name="The large house", timezone="Europe/London")
    Member.objects.create(property=house, user=owner, role=Member.Role.OWNER)
    now = timezone.now().replace(minute=0, second=0, microsecond=0)
    floors = [
        floor_of(storey, count, boards // 8)
        for storey in storeys_of(house)
        for count in range(4)
    ]  # fmt: skip
    crew = Person.objects.create(property=house, name="Crew", role=Person.Role.CREW)
    WorkingTime.objects.bulk_create(
        WorkingTime(person=crew, weekday=day, starts="08:00", ends="18:00") for day in range(6)
    )
    trade = Trade.objects.create(property=house, name="Plumber", craft=Trade.Craft.choices[0][0])
    made = tasks_of(house, floors, tasks)
    plan = Plan.objects.create(
        property=house, as_of=now, state=Plan.State.READY, is_current=True, horizon_days=365
    )
    Stint.objects.bulk_create(
        Stint(plan=plan, task=task, why_not_sooner={"code": "none", "sentence": "", "by": []},
              **at(now, n))
        for n, task in enumerate(made)
    )  # fmt: skip
    for n, floor in enumerate(floors):
        visit = Visit.objects.create(
            property=house, trade=trade, title=f"Pipes {n}", state=Visit.State.AGREED,
            starts=now + timedelta(days=n + 1), ends=now + timedelta(days=n + 1, hours=2),
        )  # fmt: skip
        AccessNeed.objects.create(
            property=house, floor=floor, visit=visit, trade=trade, purpose="Pipes",
            route=[[500, 500], [5000, 500]], clearance_mm=150, until="visit_done", open_as="up",
        )  # fmt: skip
    return house


def storeys_of(house: Property) -> list[Storey]:
    """Two storeys of four rooms in a row, each with doorways and two ways to keep."""
    made = []
    for level in range(2):
        storey = Storey.objects.create(property=house, name=f"Storey {level}", level=level)
        rooms = [
            Room.objects.create(
                property=house, storey=storey, name=f"Room {level}.{n}",
                outline=rectangle(6000, 9000, (n * 6100, 0)),
            )
            for n in range(4)
        ]  # fmt: skip
        for count, (left, right) in enumerate(pairwise(rooms), start=1):
            x = count * 6100 - 50
            Doorway.objects.create(
                property=house, room_a=left, room_b=right, line=[[x, 4000], [x, 4800]]
            )
        for end in rooms[1:3]:
            HouseholdRoute.objects.create(property=house, from_room=rooms[0], to_room=end)
        made.append(storey)
    return made


def floor_of(storey: Storey, count: int, boards: int) -> Floor:
    """A floor of 150 mm boards, ten to a course, over joists at 400 mm; a strip of it is up."""
    left = count * 6100
    floor = Floor.objects.create(
        property=storey.property, storey=storey, name=f"Floor {storey.level}.{count}",
        outline=rectangle(6000, 9450, (left, 0)),
    )  # fmt: skip
    Joist.objects.bulk_create(
        Joist(floor=floor, mark=f"J{n + 1}", breadth_mm=50, depth_mm=200,
              line=[[left + 100 + n * 400, 0], [left + 100 + n * 400, 9450]])
        for n in range(15)
    )  # fmt: skip
    Board.objects.bulk_create(
        Board(floor=floor, mark=f"B{n // 10 + 1}.{n % 10 + 1}", course=n // 10 + 1,
              outline=rectangle(600, 150, (left + n % 10 * 600, n // 10 * 150)),
              state="up" if 300 <= n < 330 else "fixed")
        for n in range(boards)
    )  # fmt: skip
    return floor


def tasks_of(house: Property, floors: list[Floor], number: int) -> list[Task]:
    """Tasks in packages of fifty, each after the one before; every tenth lifts or fixes."""
    packages = WorkPackage.objects.bulk_create(
        WorkPackage(property=house, title=f"Package {n}", kind="floor") for n in range(number // 50)
    )
    tasks = Task.objects.bulk_create(
        Task(
            package=packages[n // 50], title=f"Task {n}", floor=floors[n % 8],
            low_minutes=45, likely_minutes=60, high_minutes=90,
            floor_action={0: "lift", 10: "fix"}.get(n % 20, "none"),
            area=rectangle(1500, 600, (n % 8 % 4 * 6100, n % 9 * 900)) if n % 10 == 0 else None,
        )
        for n in range(number)
    )  # fmt: skip
    Link.objects.bulk_create(
        Link(before=a, after=b) for a, b in pairwise(tasks) if a.package_id == b.package_id
    )
    return tasks


def at(now: datetime, n: int) -> dict[str, datetime]:
    """The place of the n-th task in the plan: eight a day."""
    starts = now.replace(hour=8) + timedelta(days=n // 8, hours=n % 8)
    return {"starts": starts, "ends": starts + timedelta(hours=1)}


def for_clients(houses: int) -> list[dict[str, Any]]:
    """Build the houses; for each crew a token, its houses, and what it writes to in each."""
    crews = build(houses)["crews"]
    return [
        {
            "token": make_token(user=crew, name="load", days=1)[1],
            "houses": [written_to(pk) for pk in ids_of(crew)],
        }
        for crew in crews
    ]


def ids_of(crew: User) -> list[int]:
    return list(Member.objects.filter(user=crew).order_by("pk").values_list("property", flat=True))


def written_to(house_id: int) -> dict[str, Any]:
    """A house's task and fixed board for writing, and its plan for reading."""
    house = Property.objects.get(pk=house_id)
    board = Board.objects.filter(floor__property=house, state="fixed").order_by("-pk").first()
    task = Task.objects.filter(package__property=house, status="to_do").order_by("-pk").first()
    plan = Plan.objects.filter(property=house, is_current=True).first()
    assert board
    assert task
    assert plan
    return {
        "id": house_id, "board": board.pk, "floor": board.floor_id, "task": task.pk,
        "plan": plan.pk,
    }  # fmt: skip


def rows_by_kind(house_id: int) -> dict[str, int]:
    """How many rows of each kind one house has, the most first."""
    house = Property.objects.get(pk=house_id)
    counts: dict[str, int] = defaultdict(int)
    for model, rows in rows_of(house):
        counts[model._meta.label] = rows.count()
    return dict(sorted(counts.items(), key=lambda item: -item[1]))
