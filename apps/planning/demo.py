"""The demo house, 14 Tidemill Lane, read from `fixtures/tidemill_lane/*.json`.

All of it is invented. The files hold rows by model, with references by name and with dates
counted in days from the Monday of the week the house is loaded in; how they are written is
told in `fixtures/tidemill_lane/README.md`.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from contextlib import ExitStack
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import models, transaction

from apps.floors.models import Board, BoardMove, BoardStay, Floor
from apps.floors.services import set_out_floor
from apps.inspections import services as inspection_services
from apps.inspections.evidence import services as evidence_services
from apps.inspections.models import Certificate, Deviation, Evidence, Inspection, SignOff
from apps.planning.demo_ground import load_ground
from apps.planning.demo_timber import load_timber
from apps.planning.models import Person, WorkingTime, WorkingTimeException
from apps.property.fields import OutlineField
from apps.property.models import Doorway, HouseholdRoute, Property, Room, Storey
from apps.property.outlines import closed_ring
from apps.property.services import open_property
from apps.trades.models import AccessNeed, TemporaryMeasure, Visit
from apps.work.models import Finding, Link, Supply, Task, TimeEntry, Tool, Trade, WorkPackage

FOLDER = Path(settings.BASE_DIR) / "fixtures" / "tidemill_lane"
FILES = ("house", "floors", "people", "work", "trades", "inspections", "ground", "timber")

# Each list of the files, in the order in which later rows name earlier ones.
ROWS: tuple[tuple[str, type[models.Model]], ...] = (
    ("storeys", Storey),
    ("rooms", Room),
    ("doorways", Doorway),
    ("household_routes", HouseholdRoute),
    ("floors", Floor),
    ("people", Person),
    ("working_times", WorkingTime),
    ("working_time_exceptions", WorkingTimeException),
    ("tools", Tool),
    ("trades", Trade),
    ("certificates", Certificate),
    ("work_packages", WorkPackage),
    ("tasks", Task),
    ("links", Link),
    ("time_entries", TimeEntry),
    ("supplies", Supply),
    ("findings", Finding),
    ("visits", Visit),
    ("inspections", Inspection),
    ("access_needs", AccessNeed),
    ("temporary_measures", TemporaryMeasure),
    ("deviations", Deviation),
    ("evidence", Evidence),
    ("sign_offs", SignOff),
)
SIGNED_BY = frozenset({"noted_by", "moved_by", "recorded_by"})
NOT_A_COLUMN = frozenset({"set_out", "joists", "bearing", "sleeper_wall"})


def load_demo(*, owner: Any, today: date) -> Property:
    """Open the demo house for its owner, as if its record had been kept until this week.

    Args:
        owner: becomes its first member, and the one who noted everything.
        today: any day of the week whose Monday is day 0.

    Raises:
        ValueError: a row that names something no earlier row is called.
        ValidationError, IntegrityError: a row that the house's rules refuse.
    """
    told = read_files()
    drawn_for = Property(**told["properties"][0])
    pictures = [drawn_evidence(row["drawn"], drawn_for) for row in told["evidence"]]
    # Each `all_or_nothing` takes one file away again when any row is refused.
    with transaction.atomic(), ExitStack() as files:
        for picture in pictures:
            files.enter_context(evidence_services.all_or_nothing(picture.sha256))
        return load_rows(told, owner, today, pictures)


def load_rows(
    told: Mapping[str, Any], owner: Any, today: date, pictures: list[evidence_services.Looked]
) -> Property:
    """Every row of every list, in the order of `ROWS`; one picture for each row of evidence."""
    house = open_property(owner=owner, **told["properties"][0])
    reader = Reader(house, owner, today - timedelta(days=today.weekday()))
    looked = iter(pictures)
    for name, model in ROWS:
        for row in told[name]:
            if model is SignOff:
                reader.sign_off(row)
            elif model is Evidence:
                reader.evidence(row, next(looked))
            else:
                reader.add(model, row)
        if model is Floor:
            for row in told["floors"]:
                set_out(reader.found(Floor, row["name"]), row)
            for row in told["board_moves"]:
                log_move(reader, row)
    load_ground(reader, told)
    load_timber(reader, told)
    return house


def read_files() -> dict[str, Any]:
    """Every list of every file; no two files share a name."""
    told: dict[str, Any] = {}
    for name in FILES:
        told |= json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    return told


class Reader:
    """Turns rows of the files into rows of the record, remembering what each is called."""

    def __init__(self, house: Property, owner: Any, monday: date) -> None:
        self.house = house
        self.owner = owner
        self.monday = monday
        self.zone = ZoneInfo(house.timezone)
        self.names: dict[tuple[type[models.Model], str], Any] = {}

    def add(self, model: type[models.Model], told: Mapping[str, Any]) -> Any:
        """Check and store one row."""
        one: dict[str, Any] = self.implied(model)
        many: dict[str, list[Any]] = {}
        for name, value in spelled_out(told).items():
            column: Any = model._meta.get_field(name)
            if column.many_to_many:
                many[name] = [self.found(column.related_model, item) for item in value]
            else:
                one[name] = self.value(column, value)
        row = model(**one)
        check(row)
        row.save()
        for name, others in many.items():
            getattr(row, name).set(others)
        if called := told.get("title") or told.get("name") or told.get("built"):
            self.names[model, called] = row
        return row

    def sign_off(self, told: Mapping[str, Any]) -> None:
        """Add a look to the house's chain, as it would have been when it was made.

        Noted at once: the house may be loaded for any week, and its record must not depend on
        when.
        """
        values = {
            name: self.value(SignOff._meta.get_field(name), value)
            for name, value in told.items()
            if name != "conditions"
        }
        row = inspection_services.append(
            recorded_by=self.owner,
            recorded_at=values["seen_at"],
            conditions=[
                {
                    "text": item["text"],
                    "due_on": self.on(item["due_on"]) if item.get("due_on") else None,
                    "blocks": [self.found(Task, title) for title in item.get("blocks", ())],
                }
                for item in told.get("conditions", ())
            ],
            **values,
        )
        row.inspection.change(state=row.result)

    def evidence(self, told: Mapping[str, Any], looked: evidence_services.Looked) -> None:
        """Keep a drawn picture as if it had been uploaded; it has no camera to say when."""
        values = {
            name: self.value(Evidence._meta.get_field(name), value)
            for name, value in told.items()
            if name != "drawn"
        }
        taken_at = values.pop("taken_at")
        kept = evidence_services.keep_evidence(
            looked=looked, house=self.house, uploaded_by=self.owner, **values
        )
        evidence_services.relink_evidence(evidence=kept, taken_at=taken_at)

    def implied(self, model: type[models.Model]) -> dict[str, Any]:
        """The house itself and who noted it, which the files leave out."""
        columns = {column.name for column in model._meta.get_fields()}
        one: dict[str, Any] = dict.fromkeys(SIGNED_BY & columns, self.owner)
        return {"property": self.house, **one} if "property" in columns else one

    def value(self, column: Any, told: Any) -> Any:
        """What a column holds, from how it is written in a file."""
        if told is None:
            return None
        if column.is_relation:
            return self.found(column.related_model, told)
        if isinstance(column, OutlineField) and len(told) == 2:
            (left, low), (right, high) = told
            return closed_ring([[left, low], [right, low], [right, high], [left, high]])
        if isinstance(column, models.DateTimeField):
            return self.at(told)
        if isinstance(column, models.DateField):
            return self.on(told)
        return time.fromisoformat(told) if isinstance(column, models.TimeField) else told

    def on(self, told: Mapping[str, Any]) -> date:
        return self.monday + timedelta(days=told["day"])

    def at(self, told: Mapping[str, Any]) -> datetime:
        """A time on the house's own clock, whatever the clocks did in between."""
        return datetime.combine(self.on(told), time.fromisoformat(told["time"]), self.zone)

    def found(self, model: type[models.Model], name: str) -> Any:
        try:
            return self.names[model, name]
        except KeyError:
            raise ValueError(
                f"The demo names a {model._meta.verbose_name} {name!r} that no row above it is."
            ) from None


def drawn_evidence(told: Mapping[str, Any], house: Property) -> evidence_services.Looked:
    """Draw a picture of the files and look into it as into any upload."""
    from apps.planning.demo_pictures import joists_png  # noqa: PLC0415 (Pillow, 0.1 s)

    return evidence_services.look_into(content=joists_png(**told), house=house)


def check(row: models.Model) -> None:
    """Refuse what the record's own forms would refuse.

    Its constraints are left to the database, which holds them anyway: asked beforehand,
    they take two thirds of the loading time.
    """
    relations = {column.name for column in row._meta.fields if column.is_relation}
    row.clean_fields(exclude=relations)
    row.clean()


def spelled_out(told: Mapping[str, Any]) -> dict[str, Any]:
    """A row with its shorthands written out, and without what is no column."""
    row = {name: value for name, value in told.items() if name not in NOT_A_COLUMN}
    if isinstance(row.get("minutes"), list):
        names = ("low_minutes", "likely_minutes", "high_minutes")
        row |= dict(zip(names, row.pop("minutes"), strict=True))
    return row


def set_out(floor: Floor, told: Mapping[str, Any]) -> None:
    """Lay a floor's joists and boards, then note how the joists were found."""
    set_out_floor(floor=floor, dry_run=False, **told["set_out"])
    edges = {point[1 if floor.boards_run_deg == 0 else 0] for point in floor.outline}
    outer = {min(edges), max(edges)}
    found: dict[str, Any] = dict(told["joists"])
    for joist in floor.joists.order_by("pk"):
        joist.bearings = bearings(joist.line, outer, floor.boards_run_deg, told)
        for name, value in found.pop(joist.mark, {}).items():
            setattr(joist, name, value)
        check(joist)
        joist.save()
    if found:
        raise ValueError(f"{floor} has no joist {', '.join(found)}.")


def bearings(
    line: list[list[int]], outer: set[int], boards_run_deg: int, told: Mapping[str, Any]
) -> list[dict[str, Any]]:
    """A bearing at each end of a joist that reaches the floor's outer walls, and one on the
    sleeper wall where it crosses that."""
    across = 1 if boards_run_deg == 0 else 0
    begins, ends = line[0][across], line[1][across]
    end, length_mm = told["bearing"], abs(ends - begins)
    found = [{"at_mm": 0, **end}] if begins in outer else []
    wall = told.get("sleeper_wall")
    if wall and min(begins, ends) < wall["middle_mm"] < max(begins, ends):
        at_mm = abs(wall["middle_mm"] - begins) - wall["length_mm"] // 2
        found.append({"at_mm": at_mm, "length_mm": wall["length_mm"], "kind": "sleeper_wall"})
    if ends in outer:
        found.append({"at_mm": length_mm - end["length_mm"], **end})
    return found


def log_move(reader: Reader, told: Mapping[str, Any]) -> None:
    """Write one board move of the past into the log.

    Not by `move_boards`: that one notes what happens now, and refuses a time to come, while
    the house may be loaded for any week.
    """
    floor = reader.found(Floor, told["floor"])
    moved_at = reader.at(told["moved_at"])
    boards = list(Board.objects.filter(floor=floor, mark__in=told["boards"]))
    if missing := set(told["boards"]) - {board.mark for board in boards}:
        raise ValueError(f"{floor} has no board {', '.join(sorted(missing))}.")
    move = BoardMove.objects.create(
        floor=floor,
        to_state=told["to_state"],
        moved_at=moved_at,
        note=told["note"],
        forced_reason=told.get("forced_reason", ""),
        moved_by=reader.owner,
    )
    BoardStay.objects.filter(board__in=boards, until=None).update(until=moved_at)
    BoardStay.objects.bulk_create(
        BoardStay(move=move, board=board, since=moved_at) for board in boards
    )
    for board in boards:
        board.change(state=move.to_state)
