"""The ordinary thing of each kind. A test writes only what matters to it."""

from __future__ import annotations

from datetime import UTC, datetime, time
from decimal import Decimal

import factory
from django.contrib.auth import get_user_model
from factory.django import DjangoModelFactory

from apps.floors import models as floors
from apps.inspections import models as inspections
from apps.inspections import services as inspection_services
from apps.moving import models as moving
from apps.planning import models as planning
from apps.property import models as property_
from apps.property.outlines import rectangle
from apps.timber import models as timber
from apps.trades import models as trades
from apps.work import models as work


class UserFactory(DjangoModelFactory):
    class Meta:
        model = get_user_model()

    username = factory.Sequence(lambda n: f"person{n}")


class PropertyFactory(DjangoModelFactory):
    """A house in England, loud work at any hour."""

    class Meta:
        model = property_.Property

    name = factory.Sequence(lambda n: f"House {n}")


class MemberFactory(DjangoModelFactory):
    class Meta:
        model = property_.Member

    property = factory.SubFactory(PropertyFactory)
    user = factory.SubFactory(UserFactory)


class StoreyFactory(DjangoModelFactory):
    """The ground floor."""

    class Meta:
        model = property_.Storey
        django_get_or_create = ("property", "level")

    property = factory.SubFactory(PropertyFactory)
    name = "Ground floor"
    level = 0


class RoomFactory(DjangoModelFactory):
    """A room of 3 × 4 m with a corner at the origin."""

    class Meta:
        model = property_.Room

    property = factory.SubFactory(PropertyFactory)
    storey = factory.SubFactory(StoreyFactory, property=factory.SelfAttribute("..property"))
    name = factory.Sequence(lambda n: f"Room {n}")
    outline = rectangle(3000, 4000)


class DoorwayFactory(DjangoModelFactory):
    """An opening of 800 mm in the room's wall along x = 3000, to outside."""

    class Meta:
        model = property_.Doorway

    property = factory.SubFactory(PropertyFactory)
    room_a = factory.SubFactory(RoomFactory, property=factory.SelfAttribute("..property"))
    line = [[3000, 1000], [3000, 1800]]


class HouseholdRouteFactory(DjangoModelFactory):
    """From a room to outside, 600 mm wide, overnight."""

    class Meta:
        model = property_.HouseholdRoute

    property = factory.SubFactory(PropertyFactory)
    from_room = factory.SubFactory(RoomFactory, property=factory.SelfAttribute("..property"))


class FloorFactory(DjangoModelFactory):
    """A suspended timber floor of 3 × 4 m: square-edged 150 mm boards along x, joists at 400."""

    class Meta:
        model = floors.Floor

    property = factory.SubFactory(PropertyFactory)
    storey = factory.SubFactory(StoreyFactory, property=factory.SelfAttribute("..property"))
    name = factory.Sequence(lambda n: f"Floor {n}")
    outline = rectangle(3000, 4000)


class JoistFactory(DjangoModelFactory):
    """A sound 50 × 150 mm joist along y."""

    class Meta:
        model = floors.Joist

    floor = factory.SubFactory(FloorFactory)
    mark = factory.Sequence(lambda n: f"J{n + 1}")
    line = factory.Sequence(lambda n: [[400 * (n % 8), 0], [400 * (n % 8), 4000]])
    breadth_mm = 50
    depth_mm = 150


class BoardFactory(DjangoModelFactory):
    """A fixed board of 3000 × 150 mm, each one course further."""

    class Meta:
        model = floors.Board

    floor = factory.SubFactory(FloorFactory)
    course = factory.Sequence(lambda n: n + 1)
    mark = factory.LazyAttribute(lambda board: f"B{board.course}.1")
    outline = factory.LazyAttribute(
        lambda board: rectangle(3000, 150, (0, 150 * (board.course - 1)))
    )


class AirBrickFactory(DjangoModelFactory):
    """An open plastic air brick in the floor's wall along y = 0."""

    class Meta:
        model = floors.AirBrick

    floor = factory.SubFactory(FloorFactory)
    at = [1000, 0]
    free_area_mm2 = 6000


class JoistProbeFactory(DjangoModelFactory):
    """Firm and dry, half a metre along, on the evening of 2 March 2026."""

    class Meta:
        model = floors.JoistProbe

    joist = factory.SubFactory(JoistFactory)
    at_mm = 500
    probe_mm = 2
    moisture_pct = 16.5
    probed_at = datetime(2026, 3, 2, 19, 0, tzinfo=UTC)


class SpotHeightFactory(DjangoModelFactory):
    """A joist's top over the north plate, 12.5 mm below the laser's line."""

    class Meta:
        model = floors.SpotHeight

    joist = factory.SubFactory(JoistFactory)
    floor = factory.SelfAttribute("joist.floor")
    at_mm = 0
    bearing = "north plate"
    height_mm = Decimal("-12.5")
    measured_at = datetime(2026, 3, 2, 19, 0, tzinfo=UTC)


class WorkPackageFactory(DjangoModelFactory):
    class Meta:
        model = work.WorkPackage

    property = factory.SubFactory(PropertyFactory)
    title = "Back parlour floor"
    kind = "floor"


class ToolFactory(DjangoModelFactory):
    class Meta:
        model = work.Tool

    property = factory.SubFactory(PropertyFactory)
    name = factory.Sequence(lambda n: f"Jack {n}")


class TradeFactory(DjangoModelFactory):
    """A plumber who comes on any day from 8 to 17."""

    class Meta:
        model = work.Trade

    property = factory.SubFactory(PropertyFactory)
    craft = "plumber"
    name = factory.Sequence(lambda n: f"Plumber {n}")


class TaskFactory(DjangoModelFactory):
    """Two hours of the crew's time (low 1½, high 3), splittable, nowhere in particular."""

    class Meta:
        model = work.Task
        skip_postgeneration_save = True

    package = factory.SubFactory(WorkPackageFactory)
    title = factory.Sequence(lambda n: f"Task {n}")
    low_minutes = 90
    likely_minutes = 120
    high_minutes = 180


class LinkFactory(DjangoModelFactory):
    class Meta:
        model = work.Link

    before = factory.SubFactory(TaskFactory)
    after = factory.SubFactory(TaskFactory, package=factory.SelfAttribute("..before.package"))


class SupplyFactory(DjangoModelFactory):
    class Meta:
        model = work.Supply
        skip_postgeneration_save = True

    property = factory.SubFactory(PropertyFactory)
    title = "Sheet of 18 mm plywood"


class FindingFactory(DjangoModelFactory):
    class Meta:
        model = work.Finding

    property = factory.SubFactory(PropertyFactory)
    kind = "decay"
    title = "Joist end soft"
    found_at = datetime(2026, 3, 2, 19, 0, tzinfo=UTC)


class VisitFactory(DjangoModelFactory):
    """A wanted visit of two hours, at any time."""

    class Meta:
        model = trades.Visit
        skip_postgeneration_save = True

    property = factory.SubFactory(PropertyFactory)
    trade = factory.SubFactory(TradeFactory, property=factory.SelfAttribute("..property"))


class AccessNeedFactory(DjangoModelFactory):
    """The plumber needs a metre square in a floor's corner up until the visit is done."""

    class Meta:
        model = trades.AccessNeed

    property = factory.SubFactory(PropertyFactory)
    floor = factory.SubFactory(FloorFactory, property=factory.SelfAttribute("..property"))
    purpose = "Run the waste"
    area = rectangle(1000, 1000)
    visit = factory.SubFactory(VisitFactory, property=factory.SelfAttribute("..property"))
    trade = factory.SelfAttribute("visit.trade")
    until = "visit_done"


class TemporaryMeasureFactory(DjangoModelFactory):
    class Meta:
        model = trades.TemporaryMeasure

    property = factory.SubFactory(PropertyFactory)
    kind = "prop"
    where = "Under J4 by the north wall"
    since = datetime(2026, 3, 2, 19, 0, tzinfo=UTC)


class InspectionFactory(DjangoModelFactory):
    class Meta:
        model = inspections.Inspection
        skip_postgeneration_save = True

    property = factory.SubFactory(PropertyFactory)
    title = "Joist ends before boards"


class SignOffFactory(DjangoModelFactory):
    """Accepted by a surveyor on the evening of 2 March 2026; appended to the house's chain, and
    changing nothing else."""

    class Meta:
        model = inspections.SignOff

    inspection = factory.SubFactory(InspectionFactory)
    result = "accepted"
    seen_by = "A. Surveyor"
    seen_at = datetime(2026, 3, 2, 19, 0, tzinfo=UTC)
    recorded_by = factory.SubFactory(UserFactory)

    @classmethod
    def _create(cls, model_class, *args, **fields):
        return inspection_services.append(**fields)


def condition(inspection, *, text="Treat the cut ends", due_on=None, blocks=(), **fields):
    """An open condition, which comes with its sign-off."""
    row = SignOffFactory(
        inspection=inspection, result="accepted_with_conditions",
        conditions=[{"text": text, "due_on": due_on, "blocks": list(blocks)}], **fields,
    )  # fmt: skip
    return row.conditions.get()


class DeviationFactory(DjangoModelFactory):
    """J7 in 47 mm timber instead of 50 mm: drafted."""

    class Meta:
        model = inspections.Deviation

    property = factory.SubFactory(PropertyFactory)
    specified = "J7: 50 × 150 mm"
    built = "J7: 47 × 150 mm"
    why = "The yard has no 50 mm timber."


class CertificateFactory(DjangoModelFactory):
    """Owed by an electrician, without a day."""

    class Meta:
        model = inspections.Certificate
        skip_postgeneration_save = True

    property = factory.SubFactory(PropertyFactory)
    craft = "electrician"
    title = "Electrical installation certificate"


class EvidenceFactory(DjangoModelFactory):
    """A photo's row. Its file is not there: tests of files put one."""

    class Meta:
        model = inspections.Evidence

    property = factory.SubFactory(PropertyFactory)
    title = "Joist ends"
    kind = "photo"
    content_type = "image/jpeg"
    byte_size = 1000
    sha256 = factory.Sequence(lambda n: f"{n:064x}")
    file_name = "joist-ends.jpg"
    uploaded_by = factory.SubFactory(UserFactory)


class CompletionFileFactory(DjangoModelFactory):
    """One that failed: of these a house may have many, and none of them has a file."""

    class Meta:
        model = inspections.CompletionFile

    property = factory.SubFactory(PropertyFactory)
    state = "failed"
    failure = "The data folder could not be read or written: No space left on device."
    finished_at = datetime(2026, 3, 2, 19, 0, tzinfo=UTC)


class HouseFileFactory(DjangoModelFactory):
    """One that failed: of these a house may have many, and none of them has a file."""

    class Meta:
        model = moving.HouseFile

    property = factory.SubFactory(PropertyFactory)
    state = "failed"
    failure = "The data folder could not be read or written: No space left on device."
    finished_at = datetime(2026, 3, 2, 19, 0, tzinfo=UTC)


class HouseArrivalFactory(DjangoModelFactory):
    """One that was refused, as a person may have many."""

    class Meta:
        model = moving.HouseArrival

    requested_by = factory.SubFactory(UserFactory)
    file_name = "tidemill-lane.house"
    byte_size = 2_400_000
    state = "failed"
    failure = "The archive is damaged or was changed: nothing of it was used."
    finished_at = datetime(2026, 3, 2, 19, 0, tzinfo=UTC)


class PersonFactory(DjangoModelFactory):
    """The crew."""

    class Meta:
        model = planning.Person

    property = factory.SubFactory(PropertyFactory)
    name = factory.Sequence(lambda n: f"Worker {n}")


class WorkingTimeFactory(DjangoModelFactory):
    """Monday, 18:30 to 21:00."""

    class Meta:
        model = planning.WorkingTime

    person = factory.SubFactory(PersonFactory)
    weekday = 0
    starts = time(18, 30)
    ends = time(21)


class PieceFactory(DjangoModelFactory):
    """An old rafter of 50 × 100 mm, 3 m long, under cover; nobody says a strength class of it."""

    class Meta:
        model = timber.Piece

    property = factory.SubFactory(PropertyFactory)
    mark = factory.Sequence(lambda n: f"T{n + 1}")
    origin = "Wash-house roof"
    breadth_mm = 50
    depth_mm = 100
    length_mm = 3000


class DefectFactory(DjangoModelFactory):
    """Decay along the first 300 mm of a piece."""

    class Meta:
        model = timber.Defect

    piece = factory.SubFactory(PieceFactory)
    kind = "decay"
    from_mm = 0
    to_mm = 300


class MoistureReadingFactory(DjangoModelFactory):
    """22 % in the middle of a piece, on the evening of 2 March 2026."""

    class Meta:
        model = timber.MoistureReading

    piece = factory.SubFactory(PieceFactory)
    at_mm = 1500
    measured_pct = 22.0
    read_at = datetime(2026, 3, 2, 19, 0, tzinfo=UTC)


class NeedFactory(DjangoModelFactory):
    """One noggin of 349 mm, 50 × 100 mm, at most 20 % wet."""

    class Meta:
        model = timber.Need

    property = factory.SubFactory(PropertyFactory)
    role = "noggin"
    title = "Noggin between J3 and J4"
    length_mm = 349
    breadth_mm = 50
    depth_mm = 100


class StockLengthFactory(DjangoModelFactory):
    """A stamped 47 × 100 mm section, each one 300 mm longer than the last, at 3.40 a metre."""

    class Meta:
        model = timber.StockLength

    property = factory.SubFactory(PropertyFactory)
    breadth_mm = 47
    depth_mm = 100
    length_mm = factory.Sequence(lambda n: 1800 + 300 * (n % 60))
    strength_class = "C16"
    price_pence_per_m = 340


class CuttingPlanFactory(DjangoModelFactory):
    """One that is ready, with nothing to cut."""

    class Meta:
        model = timber.CuttingPlan
        skip_postgeneration_save = True

    property = factory.SubFactory(PropertyFactory)
    state = "ready"


class CuttingBarFactory(DjangoModelFactory):
    """The old rafter: 97 mm of its old end off, one part of 349 mm, and the rest left over."""

    class Meta:
        model = timber.CuttingBar

    plan = factory.SubFactory(CuttingPlanFactory)
    piece = factory.SubFactory(
        PieceFactory, property=factory.SelfAttribute("..plan.property"), state="reserved"
    )
    place = factory.Sequence(lambda n: n)
    mark = factory.SelfAttribute("piece.mark")
    breadth_mm = 50
    depth_mm = 100
    length_mm = 3000
    parts_mm = 349
    kerfs_mm = 9
    trims_mm = 194
    offcuts_mm = 2448
    waste_mm = 0


class CutFactory(DjangoModelFactory):
    """A noggin from its marked end."""

    class Meta:
        model = timber.Cut

    bar = factory.SubFactory(CuttingBarFactory)
    need = factory.SubFactory(NeedFactory, property=factory.SelfAttribute("..bar.plan.property"))
    place = factory.Sequence(lambda n: n)
    title = factory.SelfAttribute("need.title")
    length_mm = 349
    from_mm = 100
    to_mm = 449
    sound_from_mm = 100
    sound_to_mm = 2900


def decayed_joist(house=None, **fields):
    """J7, 50 × 150 mm C16: 2.4 m in a floor of 3.6 × 2.4 m, in the wall by 100 mm at both ends and
    decayed over the last 250 mm. Sixteen fixed boards lie across it."""
    floor = FloorFactory(
        **({"property": house} if house else {}), outline=rectangle(3600, 2400),
        strength_class="C16",
    )  # fmt: skip
    for course in range(1, 17):
        BoardFactory(
            floor=floor, course=course, mark=f"B{course}.1",
            outline=rectangle(3600, 150, (0, 150 * (course - 1))),
        )  # fmt: skip
    pocket = {"length_mm": 100, "kind": "masonry_pocket"}
    usual = {
        "mark": "J7", "line": [[1200, 0], [1200, 2400]], "condition": "decayed",
        "bearings": [{"at_mm": 0, **pocket}, {"at_mm": 2300, **pocket}],
        "decayed": [{"from_mm": 2150, "to_mm": 2400}],
    }  # fmt: skip
    return JoistFactory(floor=floor, **{**usual, **fields})
