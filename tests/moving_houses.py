"""Random houses with rows of every kind, and two of them compared whatever their ids are.

Ids are made recognisable: every table counts from a number of its own, with eight digits. An id
that a move forgot, in whatever JSON column, then still reads as the old one.
"""

from __future__ import annotations

import hashlib
import json
import re
from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.conf import settings
from django.contrib.auth import get_user_model
from hypothesis import strategies as st

from apps.floors.models import BoardMove, BoardStay
from apps.inspections.evidence import store
from apps.moving.rows import columns_of, foreign_keys, in_house, plain, rows_of_house
from apps.moving.sequences import raise_to
from apps.planning.models import Plan, Stint, WorkingTimeException
from apps.planning.routine.models import MeasureReminder, PlanningPreferences
from apps.repairs.models import Repair
from apps.trades.visit_links.models import VisitReply
from apps.work.models import TimeEntry
from tests import factories, pictures

APART = 100_000
RECOGNISED = re.compile(r"(?<![\d.])[78]\d{7}(?!\d)")
EVENING = datetime(2026, 3, 2, 19, 0, tzinfo=UTC)
texts = st.text(
    st.characters(codec="utf-8", exclude_characters="\x00"), min_size=1, max_size=12
).filter(str.strip)
instants = st.datetimes(datetime(2020, 1, 1), datetime(2030, 1, 1)).map(
    lambda at: at.replace(tzinfo=UTC)
)
fractions = st.floats(0, 100, allow_nan=False)


def count_from(base: int) -> None:
    """Let each table's next id be its own multiple of a hundred thousand above `base`."""
    raise_to({model: base + APART * place for place, model in enumerate(in_house())})


def house_of(draw: Any, *, least: int = 0) -> Any:  # noqa: PLR0915 (a house has many things)
    """A house with up to two rows of each kind, `least` of each at least."""

    def some(make: Any, most: int = 2) -> list[Any]:
        return [make(n) for n in range(draw(st.integers(least, max(least, most))))]

    house = factories.PropertyFactory(name=draw(texts), address=draw(texts))
    house.owner = factories.UserFactory()
    factories.MemberFactory(property=house, user=house.owner, role="owner")
    here = {"property": house}
    person = {"requested_by": house.owner, "requested_at": draw(instants)}
    storey = factories.StoreyFactory(**here)
    rooms = [factories.RoomFactory(**here, storey=storey, name=f"Room {n}") for n in range(2)]
    some(lambda _: factories.DoorwayFactory(**here, room_a=rooms[0]), most=1)
    some(lambda _: factories.HouseholdRouteFactory(**here, from_room=rooms[0], to_room=rooms[1]))
    floor = factories.FloorFactory(**here, storey=storey)
    joists = [factories.JoistFactory(floor=floor) for _ in range(1 + draw(st.integers(0, 2)))]
    boards = [factories.BoardFactory(floor=floor) for _ in range(1 + draw(st.integers(0, 3)))]
    some(lambda n: move_boards(floor, boards[n % len(boards)], house.owner, draw(texts)), most=1)
    some(lambda _: factories.AirBrickFactory(floor=floor))
    some(lambda _: factories.JoistProbeFactory(joist=joists[0], moisture_pct=draw(fractions)))
    some(lambda n: factories.SpotHeightFactory(joist=joists[0], at_mm=n), most=1)

    package = factories.WorkPackageFactory(**here, title=draw(texts))
    tools = some(lambda n: factories.ToolFactory(**here, name=f"Saw {n}"))
    trade = factories.TradeFactory(**here, name=draw(texts))
    tasks = [
        factories.TaskFactory(package=package, title=draw(texts), room=rooms[0], trade=trade)
        for _ in range(2 + draw(st.integers(0, 2)))
    ]
    tasks[0].tools.set(tools)
    some(lambda _: factories.LinkFactory(before=tasks[0], after=tasks[1]), most=1)
    some(lambda n: noted(tasks[0], house.owner, draw(instants), n))
    some(lambda _: factories.SupplyFactory(**here).tasks.set(tasks[:1]))
    findings = some(lambda _: factories.FindingFactory(**here, joist=joists[0], floor=floor))

    inspection = factories.InspectionFactory(**here, title=draw(texts), floor=floor)
    inspection.rooms.set(rooms)
    inspection.looks_at.set(tasks[:1])
    inspection.blocks.set(tasks[1:])
    some(lambda n: sign_off(inspection, house.owner, draw, tasks, n), most=3)
    latest = inspection.sign_offs.filter(superseded_by=None).exclude(result="overridden")
    if found := latest.order_by("seen_at", "number").last():
        inspection.change(state=found.result)
    deviations = some(
        lambda _: factories.DeviationFactory(**here, joist=joists[0], check_result={"passes": True})
    )
    certificates = some(lambda _: factories.CertificateFactory(**here, trade=trade))
    some(lambda n: evidence(house, inspection, draw, n))
    some(lambda _: factories.CompletionFileFactory(**here, **person))
    some(lambda _: finished_file(house, person), most=1)

    visits = [
        factories.VisitFactory(**here, trade=trade) for _ in range(1 + draw(st.integers(0, 1)))
    ]
    visits[0].tasks.set(tasks)
    visits[0].certificates.set(certificates)
    some(lambda _: replied(visits[0], house.owner, draw(instants)))
    some(lambda _: factories.AccessNeedFactory(**here, floor=floor, visit=visits[0]))
    measures = some(lambda _: factories.TemporaryMeasureFactory(**here, clear_before_task=tasks[0]))

    some(lambda _: PlanningPreferences.objects.create(**here, brief_to="a@example.org"), most=1)
    for measure in measures:
        some(lambda _, measure=measure: reminded(measure), most=1)

    pieces = some(lambda _: factories.PieceFactory(**here))
    for piece in pieces:
        some(lambda _, piece=piece: factories.DefectFactory(piece=piece))
        some(
            lambda _, piece=piece: factories.MoistureReadingFactory(
                piece=piece, measured_pct=draw(fractions)
            )
        )
    needs = some(lambda _: factories.NeedFactory(**here, task=tasks[0], joist=joists[0]))
    stock = some(lambda _: factories.StockLengthFactory(**here))
    some(lambda _: cutting_plan(house, person, pieces, needs, stock), most=1)
    some(lambda _: repair(house, joists[0], tasks, needs, pieces, boards, deviations, measures,
                          findings, package))  # fmt: skip

    crew = factories.PersonFactory(**here, name=draw(texts))
    some(lambda n: factories.WorkingTimeFactory(person=crew, weekday=n))
    some(
        lambda n: WorkingTimeException.objects.create(
            person=crew, date=date(2026, 3, 2 + n), note=draw(texts)
        )
    )
    some(lambda n: plan(house, person, tasks, visits, inspection, crew, boards, n, draw))
    return house


def move_boards(floor: Any, board: Any, by: Any, note: str) -> None:
    move = BoardMove.objects.create(
        floor=floor, to_state="up", moved_at=EVENING, note=note, moved_by=by
    )
    BoardStay.objects.create(move=move, board=board, since=EVENING)
    board.change(state="up")


def noted(task: Any, by: Any, at: datetime, number: int) -> None:
    entry = TimeEntry.objects.create(task=task, starts=at, minutes=30, noted_by=by)
    if number:
        TimeEntry.objects.create(
            task=task, starts=at, minutes=-30, noted_by=by, takes_back=entry, note="Twice"
        )


def sign_off(inspection: Any, by: Any, draw: Any, tasks: list[Any], number: int) -> Any:
    seen = {"inspection": inspection, "recorded_by": by, "note": draw(texts)}
    if number == 0:
        return factories.condition(**seen, blocks=tasks[:1]).sign_off
    if number == 1:
        return factories.SignOffFactory(
            **seen, result="overridden", task=tasks[0], reason="Rain was coming"
        )
    first = inspection.sign_offs.order_by("number").first()
    taken = {"supersedes": first, "reason": "Misheard"}
    free = first is not None and not hasattr(first, "superseded_by")
    return factories.SignOffFactory(**seen, **(taken if free else {}))


def evidence(house: Any, inspection: Any, draw: Any, number: int) -> None:
    """A photo that lies where it is kept, and a document without a small picture."""
    content = pictures.jpeg(pictures.drawn(64, 48)) if number == 0 else pictures.pdf()
    sha256 = hashlib.sha256(content).hexdigest()
    store.place(sha256, content, pictures.jpeg(pictures.drawn(16, 12)) if number == 0 else None)
    factories.EvidenceFactory(
        property=house, title=draw(texts), sha256=sha256, byte_size=len(content),
        kind="photo" if number == 0 else "document", inspection=inspection,
        content_type="image/jpeg" if number == 0 else "application/pdf",
        uploaded_by=house.owner, file_name="Joist ends (1).jpg",
    )  # fmt: skip


def finished_file(house: Any, person: Any) -> None:
    row = factories.CompletionFileFactory(
        property=house, **person, state="ready", failure="", progress_pct=100,
        sha256=hashlib.sha256(b"zip").hexdigest(), byte_size=3,
    )  # fmt: skip
    path = settings.COMPLETION_DIR / f"{row.pk}.zip"
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(b"zip")


def replied(visit: Any, by: Any, at: datetime) -> None:
    VisitReply.objects.create(
        visit=visit, answer="can_come", said_at=at, state="accepted", decided_at=at,
        decided_by=by, before={"state": "wanted", "starts": None, "ends": None},
    )  # fmt: skip


def reminded(measure: Any) -> None:
    MeasureReminder.objects.create(measure=measure, last_seen_at=EVENING, sent_at=EVENING)


def cutting_plan(house: Any, person: Any, pieces: Any, needs: Any, stock: Any) -> None:
    made = factories.CuttingPlanFactory(
        property=house, **person,
        unmet=[
            {"need": need.pk, "title": "J7", "count": 1, "length_mm": 1, "sentence": "Not met.",
             "changes": [
                 *({"kind": "longer", "figures": {"mm": 9, "piece": one.pk}} for one in pieces),
                 *({"kind": "buy_more", "figures": {"stock": one.pk}} for one in stock),
             ]}
            for need in needs
        ],
    )  # fmt: skip
    made.needs.set(needs)
    made.pieces.set(pieces)
    if pieces and needs:
        bar = factories.CuttingBarFactory(plan=made, piece=pieces[0], mark="T1")
        first = factories.CutFactory(bar=bar, need=needs[0])
        factories.CutFactory(bar=bar, need=needs[0], pushed_off_by=first)


def repair(
    house: Any, joist: Any, tasks: Any, needs: Any, pieces: Any, boards: Any, deviations: Any,
    measures: Any, findings: Any, package: Any,
) -> None:  # fmt: skip
    made = Repair.objects.create(
        joist=joist, option="lap_end", title="New end", evidence="e" * 64, package=package,
        finding=findings[0] if findings else None, accepted_at=EVENING, accepted_by=house.owner,
        deviation=deviations[0] if deviations else None,
        measure=measures[0] if measures else None,
        proposal={
            "option": "lap_end", "boards": [one.pk for one in boards],
            "boards_down": [boards[0].pk],
            "timber": [{"key": "end", "supply": {"pieces": [{"id": p.pk} for p in pieces]}}],
        },
        kept=[
            *({"kind": "task", "id": one.pk, "name": str(one), "why": "begun"} for one in tasks),
            *({"kind": "timber_need", "id": one.pk, "name": "", "why": "met"} for one in needs),
            *({"kind": "temporary_measure", "id": one.pk, "name": "", "why": ""}
              for one in measures),
        ],
    )  # fmt: skip
    made.tasks.set(tasks)
    made.needs.set(needs)


def plan(
    house: Any, person: Any, tasks: Any, visits: Any, inspection: Any, crew: Any, boards: Any,
    number: int, draw: Any,
) -> None:  # fmt: skip
    def about(row: Any) -> dict[str, Any]:
        return {"kind": row._meta.model_name, "id": row.pk, "name": str(row)}

    named = [about(row) for row in (*tasks, *visits, inspection, crew, tasks[0].package, house)]
    supposed = {
        "drop_tasks": [tasks[0].pk], "visits": [{"id": visits[0].pk, "starts": "a", "ends": "b"}],
        "days_off": [{"person": crew.pk, "date": "2026-03-02"}],
        "add_tasks": [{"title": "More", "package": tasks[0].package_id, "likely_minutes": 60,
                       "after": [tasks[0].pk], "before": [-2], "room": tasks[0].room_id}],
    }  # fmt: skip
    made = Plan.objects.create(
        property=house, **person, state="ready", as_of=draw(instants), is_current=number == 0,
        seconds=draw(st.floats(0.1, 100)), gap=draw(st.none() | fractions),
        what_if=supposed if number else None,
        objective=[{"level": "late", "value": 15, "bound": 0, "unit": "minutes"}],
        alerts=[{"code": "visit_unready", "about": named, "figures": {"short_minutes": 15}}],
        unplaced=[{"about": named[0], "by": named, "remedies": [{"what_if": supposed}]}],
        inputs={
            f"task:{tasks[0].pk}": {
                "name": "x", "place": ["lift", *(one.pk for one in boards)],
                "trade": tasks[0].trade_id, "tools": [one.pk for one in tasks[0].tools.all()],
                "on": sorted(f"task:{one.pk}" for one in tasks), "minutes": 120,
            },
            f"visit:{visits[0].pk}": {"name": "y", "on": [f"visit:{visits[0].pk}"]},
            f"floor:{boards[0].floor_id}": {"name": "z", "open": [boards[0].pk]},
        },
    )  # fmt: skip
    for row in ({"task": tasks[0]}, {"visit": visits[0]}, {"inspection": inspection}):
        Stint.objects.create(
            plan=made, starts=EVENING, ends=EVENING + timedelta(hours=1), **row,
            why_not_sooner={"code": "predecessor", "sentence": draw(texts), "by": named},
        )  # fmt: skip


def told(house: Any) -> dict[str, list[dict[str, Any]]]:
    """All of a house but who may see it, every id as its table and its place among the rows."""
    by_id: dict[int, str] = {}
    for model in in_house():
        ids = rows_of_house(model, house).values_list("pk", flat=True)
        by_id |= {pk: f"{model._meta.label}#{rank}" for rank, pk in enumerate(ids)}
    found = {}
    for model in in_house():
        people = {f.attname for f in foreign_keys(model) if f.related_model is get_user_model()}
        names = columns_of(model)
        found[model._meta.label] = [
            {
                name: ranked(name, plain(value), by_id)
                for name, value in zip(names, row, strict=True)
                if name not in people
            }
            for row in rows_of_house(model, house).values_list(*names)
        ]
    return {**found, "property.Member": []}


def ranked(name: str, value: Any, by_id: dict[int, str]) -> Any:
    """A value with what reads as an id said as what it is the id of."""
    if name in {"stated", "as_signed", "sha256", "digest", "previous_digest"}:
        return "" if name == "as_signed" else value
    text = json.dumps(value, sort_keys=True, ensure_ascii=False)
    return RECOGNISED.sub(lambda m: by_id.get(int(m[0]), f"unknown {m[0]}"), text)
