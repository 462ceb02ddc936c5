"""What a trade has to know before it comes: where the floor is open for it, what is isolated,
what is dangerous, who to ring. For the printed sheet, the visit's page and the trade's own link.

Only reads; the drawing is worked out when it is asked for.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from django.db.models import Q
from django.utils.safestring import SafeString

from apps.floors.models import Floor
from apps.pages.drawing.parts import FloorPlan, PlanBoard, PlanNeed, Window
from apps.pages.drawing.plan import on_screen
from apps.pages.safe_drawing import as_drawn
from apps.pages.screens.floor.choice import Choice
from apps.pages.screens.floor.read import FloorView, read_floor
from apps.planning import selectors
from apps.planning.floor_order import mark_key
from apps.planning.models import Person
from apps.planning.nights import State, states_at
from apps.planning.services import current_plan
from apps.planning.spans import plan_spans
from apps.planning.standing_alerts import KEEP_OUT, WHO_DECIDES
from apps.planning.tonight import OPEN
from apps.trades.models import AccessNeed, TemporaryMeasure, Visit
from apps.work.models import Finding
from apps.work.selectors import OPEN_STATES

LAYERS = ("joists", "needs", "ways")
EVERYWHERE = frozenset({*KEEP_OUT, Finding.Kind.ELECTRICAL})
"""Findings that matter to a visitor wherever they are in the house."""
CAUTIONS = (
    "Prove every circuit dead and every pipe shut off before you touch it.",
    "A line on this sheet isolates nothing, and may be out of date: ask.",
    "Step only on boards that are down and not marked “do not step on it”; never between joists.",
    "Cables and pipes may run where nobody has drawn any. Switch off, look, detect.",
    "Suspected asbestos, smell of gas, scorched wiring: stop, keep out, ring.",
)
"""As in docs/reference/safety.md; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Opening:
    """One place that is opened for the visit.

    Attributes:
        how: `up`, or `unfixed` where loose boards will do.
        open_marks: its boards that are open at this moment.
        shut_marks: those still to be opened.
    """

    letter: str
    purpose: str
    how: str
    open_marks: tuple[str, ...]
    shut_marks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OpenFloor:
    """One floor with the boards as they will lie when the visit begins.

    Attributes:
        ways: the household's ways on the storey, by the number in the drawing: to be left free.
        up_marks: every board that is then up or missing, whoever it is up for.
        unsafe_marks: boards that are down, now or then, and do not carry anybody.
    """

    name: str
    storey: str
    plan: FloorPlan
    window: Window
    openings: tuple[Opening, ...]
    ways: tuple[tuple[int, str], ...]
    up_marks: tuple[str, ...]
    unsafe_marks: tuple[str, ...]

    @property
    def picture(self) -> SafeString:
        """For a page. Words in it are escaped one by one where it is drawn."""
        name = f"Drawing of {self.name} when the visit begins. The boards are listed below."
        svg = on_screen(self.plan, self.window, layers=LAYERS, name=name).svg
        return as_drawn(svg)


@dataclass(frozen=True, slots=True)
class Hazard:
    """Something the house showed: what, where, and who decides or what was decided."""

    title: str
    where: str
    what_now: str


@dataclass(frozen=True, slots=True)
class Ring:
    name: str
    phone: str


@dataclass(frozen=True, slots=True)
class AccessSheet:
    """Everything for one visit. Instants are aware, and shown in `zone`.

    Attributes:
        starts, ends: when it is agreed, else when it is planned; None: nobody knows.
        place: the house by name and address.
        agreed: whether the trade has agreed to that time.
        isolated: temporary measures that are in place.
    """

    visit_id: int
    title: str
    trade: str
    house: str
    place: str
    zone: ZoneInfo
    as_of: datetime
    starts: datetime | None
    ends: datetime | None
    agreed: bool
    state: str
    note: str
    work: tuple[str, ...]
    floors: tuple[OpenFloor, ...]
    isolated: tuple[str, ...]
    hazards: tuple[Hazard, ...]
    ring: tuple[Ring, ...]
    cautions: tuple[str, ...] = CAUTIONS


def access_sheet(visit: Visit, *, now: datetime) -> AccessSheet:
    """The sheet of a visit, as things stand."""
    house = visit.property
    starts, ends = times(visit)
    tasks = list(visit.tasks.select_related("floor").order_by("pk"))
    needs = list(
        AccessNeed.objects.filter(
            Q(visit=visit) | Q(task__in=tasks) | Q(trade=visit.trade_id, visit=None),
            property=house, released_at=None,
        ).order_by("pk")
    )  # fmt: skip
    floor_ids = {*(need.floor_id for need in needs), *(task.floor_id for task in tasks)}
    storeys = list(house.storeys.order_by("level", "pk"))
    rows = list(house.floors.select_related("storey").order_by("storey__level", "pk"))
    floors = [floor for floor in rows if floor.pk in floor_ids]
    return AccessSheet(
        visit_id=visit.pk,
        title=str(visit),
        trade=visit.trade.name,
        house=house.name,
        place=(
            house.address
            if house.address.startswith(house.name)
            else ", ".join(filter(None, (house.name, house.address)))
        ),
        zone=ZoneInfo(house.timezone),
        as_of=now,
        starts=starts,
        ends=ends,
        agreed=visit.state in {Visit.State.AGREED, Visit.State.DONE},
        state=visit.get_state_display().lower(),
        note=visit.note,
        work=tuple(str(task) for task in tasks if task.status in OPEN_STATES),
        floors=tuple(
            open_floor(Choice(house, storeys, rows, one.storey, one, LAYERS), needs, starts, now)
            for one in floors
        ),
        isolated=tuple(
            str(row)
            for row in TemporaryMeasure.objects.filter(property=house, cleared_at=None)
        ),
        hazards=tuple(hazards(visit, floors)),
        ring=tuple(
            Ring(person.name, person.phone)
            for person in Person.objects.filter(property=house, role=Person.Role.CREW)
        ),
    )  # fmt: skip


def times(visit: Visit) -> tuple[datetime | None, datetime | None]:
    """Agreed times, else what the current plan has in mind."""
    if visit.starts and visit.ends and visit.state != Visit.State.MISSED:
        return visit.starts, visit.ends
    return plan_spans(current_plan(visit.property)).get(f"visit:{visit.pk}", (None, None))


def open_floor(
    choice: Choice, needs: Sequence[AccessNeed], starts: datetime | None, now: datetime
) -> OpenFloor:
    """A floor with the boards as the plan leaves them at the start of the visit."""
    view = read_floor(choice, now=now)
    own = [row for row in needs if choice.floor is not None and row.floor_id == choice.floor.pk]
    letters = {row.pk: view.letter_of[row.pk] for row in own}
    then = states_then(view, starts)
    boards = tuple(
        replace(
            board,
            state=then.get(board.id, board.state),
            held_by=held_by(view, board.id, letters),
            tonight="",
        )
        for board in view.boards
    )
    plan = replace(
        view.plan,
        boards=boards,
        needs=tuple(
            PlanNeed(
                letters[row.pk],
                tuple((x, y) for x, y in row.area or ()),
                tuple((x, y) for x, y in row.route or ()),
                row.clearance_mm,
            )
            for row in own
        ),
        heights=(),
    )
    return OpenFloor(
        name=str(choice.floor),
        storey=choice.storey.name,
        plan=plan,
        window=view.window,
        openings=tuple(opening(view, row, letters[row.pk]) for row in own),
        ways=tuple((way["number"], way["name"]) for way in view.ways),
        up_marks=marks(board for board in boards if board.state in {"up", "missing"}),
        unsafe_marks=marks(
            board
            for board, today in zip(boards, view.boards, strict=True)
            if board.unsafe and {board.state, today.state} & {"fixed", "loose"}
        ),
    )


def states_then(view: FloorView, starts: datetime | None) -> dict[int, State]:
    """State of each board when the visit begins, by what is planned; now without a time."""
    states: dict[int, State] = {board.pk: board.state for board in view.ground.boards}  # type: ignore[misc]
    if starts is None or starts <= view.now:
        return states
    moves = selectors.planned_moves(view.choice.house, view.ground)
    return states_at(int(starts.timestamp()), states, moves)


def held_by(view: FloorView, board_id: int, letters: dict[int, str]) -> tuple[str, ...]:
    """The visit's own letters on a board; whose else it is open for is not this trade's matter."""
    own = {letters.get(hold["access_need"], "") for hold in view.holds.get(board_id, ())}
    return tuple(sorted(own - {""}))


def opening(view: FloorView, need: AccessNeed, letter: str) -> Opening:
    held = [
        board
        for board in view.boards
        if any(hold["access_need"] == need.pk for hold in view.holds.get(board.id, ()))
    ]
    is_open = OPEN[need.open_as]
    return Opening(
        letter=letter,
        purpose=need.purpose,
        how=need.open_as,
        open_marks=marks(board for board in held if board.state in is_open),
        shut_marks=marks(board for board in held if board.state not in is_open),
    )


def marks(boards: Iterable[PlanBoard]) -> tuple[str, ...]:
    return tuple(sorted((board.mark for board in boards), key=mark_key))


def hazards(visit: Visit, floors: Sequence[Floor]) -> list[Hazard]:
    """What may hurt a visitor anywhere, and what was found on the floors they work on."""
    on = [floor.pk for floor in floors]
    rows = (
        Finding.objects.filter(property=visit.property_id)
        .filter(
            Q(kind__in=EVERYWHERE) | Q(decided_at=None) & (Q(floor__in=on) | Q(joist__floor__in=on))
        )
        .select_related("room", "floor", "joist__floor")
        .order_by("found_at", "pk")
    )
    return [
        Hazard(
            title=f"{row.get_kind_display().capitalize()}: {row}",
            where=" · ".join(
                str(place) for place in (row.room, row.floor, row.joist) if place is not None
            ),
            what_now=(
                f"Decided: {row.decision}" if row.decided_at
                else f"Nothing is decided yet: {WHO_DECIDES[kind]}." if kind in WHO_DECIDES
                else "Nothing is decided yet."
            ),
        )
        for row in rows
        for kind in [Finding.Kind(row.kind)]
    ]  # fmt: skip
