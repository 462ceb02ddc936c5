"""For each resource: how to make one in a house, and the least body that makes another.

The contract tests walk the router with this table, and one of them fails when a resource is
missing here.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile

from apps.floors import services as floor_services
from apps.floors.models import Joist
from apps.inspections.evidence import store
from apps.planning.feeds import services as feed_services
from apps.property.outlines import rectangle
from apps.repairs import services as repair_services
from apps.repairs.facts import Asked
from apps.trades.visit_links import services as link_services
from renovation.tokens import make_token
from tests import factories, pictures

WHEN = datetime(2026, 3, 2, 19, 0, tzinfo=UTC)
WHEN_JSON = "2026-03-02T19:00:00Z"


@dataclass(frozen=True)
class Sample:
    """`make` a row of the house; `body` posts another; `patch` changes the made one.

    `queries` is the greatest number of queries that one list answer may take, however long.
    """

    make: Callable[[Any], Any]
    body: Callable[[Any], dict[str, Any]] | None = None
    patch: dict[str, Any] | None = field(default=None)
    queries: int = 6


def in_house(factory: Any, **fields: Any) -> Callable[[Any], Any]:
    return lambda house: factory(property=house, **fields)


def board(house: Any) -> Any:
    return factories.BoardFactory(floor__property=house)


def board_move(house: Any) -> Any:
    return floor_services.move_boards(
        boards=[board(house)], to_state="up", moved_at=WHEN, note="", moved_by=house.owner
    )


def task(house: Any) -> Any:
    return factories.TaskFactory(package__property=house)


def link(house: Any) -> Any:
    before = task(house)
    return factories.LinkFactory(before=before, after=task(house))


def time_entry(house: Any) -> Any:
    from apps.work.models import TimeEntry

    return TimeEntry.objects.create(task=task(house), starts=WHEN, minutes=30, noted_by=house.owner)


def person(house: Any) -> Any:
    """A helper: a house has one crew only."""
    return factories.PersonFactory(property=house, role="helper")


def working_time(house: Any) -> Any:
    return factories.WorkingTimeFactory(person=person(house))


def day_off(house: Any) -> Any:
    from apps.planning.models import WorkingTimeException

    return WorkingTimeException.objects.create(person=person(house), date=date(2026, 3, 9))


def plan(house: Any) -> Any:
    from apps.planning.models import Plan

    return Plan.objects.create(property=house, as_of=WHEN, horizon_days=7)


def calendar_feed(house: Any) -> Any:
    """With an address, so that it can be stopped."""
    made = feed_services.feed_of(whose=person(house), made_by=house.owner)
    feed_services.make_feed_address(feed=made, made_by=house.owner, at=WHEN)
    return made


def visit_link(house: Any) -> Any:
    made = link_services.link_of(visit=factories.VisitFactory(property=house), made_by=house.owner)
    link_services.make_link_address(link=made, made_by=house.owner, at=WHEN)
    return made


def visit_reply(house: Any) -> Any:
    return link_services.answer_visit(
        link=visit_link(house), answer="finished", note="All in", starts=None, ends=None, at=WHEN
    )


def sign_off(house: Any) -> Any:
    return factories.SignOffFactory(
        inspection=factories.InspectionFactory(property=house), recorded_by=house.owner
    )


def condition(house: Any) -> Any:
    return factories.condition(factories.InspectionFactory(property=house), recorded_by=house.owner)


def evidence(house: Any) -> Any:
    """A photo whose file is there to be read: every row names the same one."""
    content = pictures.jpeg()
    sha256 = hashlib.sha256(content).hexdigest()
    store.place(sha256, content, pictures.jpeg(pictures.drawn(160, 120)))
    return factories.EvidenceFactory(
        property=house, sha256=sha256, byte_size=len(content), width_px=640, height_px=480,
        uploaded_by=house.owner,
    )  # fmt: skip


def repair_body(house: Any) -> dict[str, Any]:
    """What accepts the best option of a joist with a decayed end."""
    joist = factories.decayed_joist(house)
    proposal = repair_services.propose(joist=joist, asked=Asked(), today=WHEN.date())
    best = proposal.options[0].priced.design.option
    return {"joist": joist.pk, "option": best, "evidence": proposal.evidence}


def repair(house: Any) -> Any:
    body = repair_body(house)
    return repair_services.accept(
        joist=Joist.objects.get(pk=body["joist"]), option=body["option"],
        evidence=body["evidence"], asked=Asked(), accepted_by=house.owner, at=WHEN,
    )  # fmt: skip


def storey(house: Any) -> Any:
    """The next level up: there is one storey per level."""
    return factories.StoreyFactory(property=house, level=house.storeys.count(), name="Next")


def on_a_piece(factory: Any, **fields: Any) -> Callable[[Any], Any]:
    return lambda house: factory(piece__property=house, **fields)


def floor_with_joists(house: Any) -> Any:
    floor = factories.FloorFactory(property=house)
    for n in range(3):
        factories.JoistFactory(floor=floor, line=[[400 * n, 0], [400 * n, 4000]])
    return floor


# What is posted to a list's actions; actions on one object are tried with an empty body.
ACTION_BODIES: dict[str, Callable[[Any], dict[str, Any]]] = {
    "work-packages/ready/": lambda house: {
        "kind": "floor_repair",
        "floor": factories.FloorFactory(property=house).pk,
        "area": rectangle(1000, 1000),
    },
    "repairs/propose/": lambda house: {"joist": factories.decayed_joist(house).pk},
    "tasks/import/": lambda house: {
        "property": house.pk,
        "file": pictures.upload(b"title,likely,after\nLift,60,\nLook,15,Lift\n", "tasks.csv"),
    },
    "timber-pieces/import/": lambda house: {
        "property": house.pk,
        "file": pictures.upload(
            b"mark,breadth_mm,depth_mm,length_mm,defects\nT90,50,100,3000,decay 0-300\n", "pile.csv"
        ),
    },
    "timber-needs/from-set-out/": lambda house: {
        "floor": floor_with_joists(house).pk,
        "breadth_mm": 50,
        "depth_mm": 100,
    },
}

SAMPLES: dict[str, Sample] = {
    "properties": Sample(
        lambda house: house,
        lambda house: {"name": "14 Tidemill Lane"},
        {"address": "By the creek"},
    ),
    "members": Sample(
        in_house(factories.MemberFactory),
        lambda house: {
            "property": house.pk,
            "user": factories.UserFactory().username,
            "role": "helper",
        },
        {"role": "viewer"},
    ),
    "storeys": Sample(
        storey, lambda house: {"property": house.pk, "name": "Loft", "level": 9}, {"name": "Cellar"}
    ),
    "rooms": Sample(
        in_house(factories.RoomFactory),
        lambda house: {
            "property": house.pk,
            "storey": factories.StoreyFactory(property=house).pk,
            "name": "Scullery",
            "width_mm": 2000,
            "length_mm": 3000,
        },
        {"use": "kitchen"},
    ),
    "doorways": Sample(
        in_house(factories.DoorwayFactory),
        lambda house: {
            "property": house.pk,
            "room_a": factories.RoomFactory(property=house).pk,
            "line": [[3000, 1000], [3000, 1800]],
        },
        {"line": [[3000, 1000], [3000, 1900]]},
    ),
    "household-routes": Sample(
        in_house(factories.HouseholdRouteFactory),
        lambda house: {
            "property": house.pk,
            "from_room": factories.RoomFactory(property=house).pk,
        },
        {"needed": "always"},
    ),
    "floors": Sample(
        in_house(factories.FloorFactory),
        lambda house: {
            "property": house.pk,
            "storey": factories.StoreyFactory(property=house).pk,
            "name": "Parlour floor",
            "outline": rectangle(3000, 4000),
        },
        {"void_depth_mm": 450},
    ),
    "joists": Sample(
        lambda house: factories.JoistFactory(floor__property=house),
        lambda house: {
            "floor": factories.FloorFactory(property=house).pk,
            "mark": "J90",
            "line": [[0, 0], [0, 4000]],
            "breadth_mm": 50,
            "depth_mm": 150,
        },
        {"condition": "suspect"},
    ),
    "boards": Sample(
        board,
        lambda house: {
            "floor": factories.FloorFactory(property=house).pk,
            "mark": "B90.1",
            "course": 90,
            "outline": rectangle(3000, 150),
        },
        {"mark": "B91.1"},
        queries=11,
    ),
    "board-moves": Sample(
        board_move,
        lambda house: {"boards": [board(house).pk], "to_state": "up", "moved_at": WHEN_JSON},
    ),
    "air-bricks": Sample(
        lambda house: factories.AirBrickFactory(floor__property=house),
        lambda house: {
            "floor": factories.FloorFactory(property=house).pk,
            "at": [1500, 4000],
            "free_area_mm2": 1300,
        },
        {"state": "blocked"},
    ),
    "joist-probes": Sample(
        lambda house: factories.JoistProbeFactory(joist__floor__property=house),
        lambda house: {
            "joist": factories.JoistFactory(floor__property=house).pk,
            "at_mm": 40,
            "probe_mm": 22,
            "fixing": "wasted",
            "probed_at": WHEN_JSON,
        },
        {"moisture_pct": 24.5},
    ),
    "spot-heights": Sample(
        lambda house: factories.SpotHeightFactory(joist__floor__property=house),
        lambda house: {
            "floor": factories.FloorFactory(property=house).pk,
            "point": [100, 100],
            "height_mm": 3.5,
            "measured_at": WHEN_JSON,
        },
        {"height_mm": -3.2},
    ),
    "work-packages": Sample(
        in_house(factories.WorkPackageFactory),
        lambda house: {"property": house.pk, "title": "Kitchen floor", "kind": "floor"},
        {"note": "Before winter"},
    ),
    "tasks": Sample(
        task,
        lambda house: {
            "package": factories.WorkPackageFactory(property=house).pk,
            "title": "Lift the boards",
            "low_minutes": 60,
            "likely_minutes": 90,
            "high_minutes": 120,
        },
        {"loud": True},
    ),
    "links": Sample(
        link,
        lambda house: {"before": task(house).pk, "after": task(house).pk, "kind": "FS"},
        {"reason": "It has to dry"},
    ),
    "time-entries": Sample(
        time_entry,
        lambda house: {"task": task(house).pk, "starts": WHEN_JSON, "minutes": 45},
    ),
    "supplies": Sample(
        in_house(factories.SupplyFactory),
        lambda house: {"property": house.pk, "title": "Lime"},
        {"supplier": "The yard"},
    ),
    "findings": Sample(
        in_house(factories.FindingFactory),
        lambda house: {
            "property": house.pk,
            "kind": "damp",
            "title": "Wet plate",
            "found_at": WHEN_JSON,
        },
        {"note": "Under the air brick"},
    ),
    "tools": Sample(
        in_house(factories.ToolFactory),
        lambda house: {"property": house.pk, "name": "Floor clamp"},
        {"quantity": 2},
    ),
    "trades": Sample(
        in_house(factories.TradeFactory),
        lambda house: {"property": house.pk, "craft": "electrician", "name": "An electrician"},
        {"notice_days": 3},
    ),
    "visits": Sample(
        in_house(factories.VisitFactory),
        lambda house: {
            "property": house.pk,
            "trade": factories.TradeFactory(property=house).pk,
        },
        {"note": "Ring first"},
    ),
    "visit-links": Sample(
        visit_link, lambda house: {"visit": factories.VisitFactory(property=house).pk}
    ),
    "visit-replies": Sample(visit_reply),
    "access-needs": Sample(
        in_house(factories.AccessNeedFactory),
        lambda house: {
            "property": house.pk,
            "floor": factories.FloorFactory(property=house).pk,
            "purpose": "Run the waste",
            "area": rectangle(1000, 1000),
            "trade": factories.TradeFactory(property=house).pk,
            "until": "date",
            "until_date": "2026-03-20",
        },
        {"purpose": "Run the waste and the hot feed"},
    ),
    "temporary-measures": Sample(
        in_house(factories.TemporaryMeasureFactory),
        lambda house: {
            "property": house.pk,
            "kind": "prop",
            "where": "Under J4",
            "since": WHEN_JSON,
        },
        {"check_every_hours": 24},
    ),
    "inspections": Sample(
        in_house(factories.InspectionFactory),
        lambda house: {"property": house.pk, "title": "Joist ends"},
        {"note": "Bring the torch"},
    ),
    "sign-offs": Sample(
        sign_off,
        lambda house: {
            "inspection": factories.InspectionFactory(property=house).pk,
            "result": "accepted",
            "seen_by": "A. Surveyor",
            "seen_at": WHEN_JSON,
        },
    ),
    "conditions": Sample(condition),
    "deviations": Sample(
        in_house(factories.DeviationFactory),
        lambda house: {
            "property": house.pk,
            "specified": "50 × 150 mm",
            "built": "47 × 150 mm",
        },
        {"why": "The yard has no 50 mm timber."},
    ),
    "certificates": Sample(
        in_house(factories.CertificateFactory),
        lambda house: {
            "property": house.pk,
            "craft": "plumber",
            "title": "Pressure test sheet",
        },
        {"due_on": "2026-03-20"},
    ),
    "evidence": Sample(
        evidence,
        lambda house: {"property": house.pk, "title": "Joist ends", "file": pictures.upload()},
        {"title": "Joist ends, north wall"},
    ),
    "timber-pieces": Sample(
        in_house(factories.PieceFactory),
        lambda house: {
            "property": house.pk,
            "mark": "T14",
            "breadth_mm": 50,
            "depth_mm": 150,
            "length_mm": 3400,
            "defects": [{"kind": "decay", "from_mm": 0, "to_mm": 300}],
        },
        {"stored": "dry"},
    ),
    "moisture-readings": Sample(
        on_a_piece(factories.MoistureReadingFactory),
        lambda house: {
            "piece": factories.PieceFactory(property=house).pk,
            "measured_pct": 22.5,
            "read_at": WHEN_JSON,
        },
    ),
    "timber-needs": Sample(
        in_house(factories.NeedFactory),
        lambda house: {
            "property": house.pk,
            "role": "noggin",
            "title": "Noggin between J3 and J4",
            "length_mm": 349,
            "breadth_mm": 50,
            "depth_mm": 100,
        },
        {"priority": 2},
    ),
    "stock-lengths": Sample(
        in_house(factories.StockLengthFactory),
        lambda house: {
            "property": house.pk,
            "breadth_mm": 47,
            "depth_mm": 147,
            "length_mm": 3600,
            "price_pence_per_length": 1450,
        },
        {"available": 12},
    ),
    "cutting-plans": Sample(
        in_house(factories.CuttingPlanFactory),
        lambda house: {
            "property": house.pk,
            "seconds": 0.2,
            "replans": factories.CuttingPlanFactory(property=house).pk,
        },
    ),
    "cuts": Sample(lambda house: factories.CutFactory(bar__plan__property=house)),
    "repairs": Sample(repair, repair_body, queries=9),
    "people": Sample(
        person,
        lambda house: {"property": house.pk, "name": "Sunday helper", "role": "helper"},
        {"phone": "01632 960001"},
    ),
    "working-times": Sample(
        working_time,
        lambda house: {
            "person": person(house).pk,
            "weekday": 5,
            "starts": "09:00",
            "ends": "17:00",
        },
        {"weekday": 6},
    ),
    "working-time-exceptions": Sample(
        day_off,
        lambda house: {"person": person(house).pk, "date": "2026-03-09"},
        {"note": "Away"},
    ),
    "tokens": Sample(
        lambda house: make_token(user=house.owner, name="Laptop", days=30)[0],
        lambda house: {"name": "Shopping list", "days": 7},
    ),
    "completion-files": Sample(in_house(factories.CompletionFileFactory)),
    "house-files": Sample(
        in_house(factories.HouseFileFactory), lambda house: {"property": house.pk}
    ),
    "house-arrivals": Sample(
        lambda house: factories.HouseArrivalFactory(requested_by=house.owner),
        lambda house: {"file": SimpleUploadedFile("a.house", b"no house")},
    ),
    "calendar-feeds": Sample(
        calendar_feed, lambda house: {"property": house.pk, "person": person(house).pk}
    ),
    "plans": Sample(
        plan,
        lambda house: {"property": house.pk, "as_of": WHEN_JSON, "horizon_days": 7, "seconds": 1},
    ),
}
