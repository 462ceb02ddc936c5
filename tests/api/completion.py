"""Completion files in tests: asked for, fetched, unpacked and read with pypdf."""

from __future__ import annotations

import io
from datetime import date
from zipfile import ZipFile

import pypdf
from PIL import Image

from apps.floors.services import move_boards
from apps.inspections.evidence import services as evidence_services
from apps.inspections.models import SignOff
from apps.inspections.services import sign_off
from tests import factories
from tests.api.asking import ago

FILES = "/api/v1/completion-files/"


def ask(client, house):
    return client.post(f"/api/v1/properties/{house.pk}/completion-file/")


def fetch(client, row):
    return b"".join(client.get(f"{FILES}{row['id']}/file/").streaming_content)


def unpacked(client, house):
    """Every file of a new completion file by its name."""
    with ZipFile(io.BytesIO(fetch(client, ask(client, house).json()))) as zipped:
        return {name: zipped.read(name) for name in zipped.namelist()}


def words(content):
    """All words of a PDF, without spaces."""
    pages = pypdf.PdfReader(io.BytesIO(content)).pages
    return squeezed(" ".join(page.extract_text() for page in pages))


def squeezed(text):
    return "".join(text.split())


def photo(house, **fields):
    image = io.BytesIO()
    Image.new("RGB", (600, 400), "tan").save(image, "JPEG")
    looked = evidence_services.look_into(content=image.getvalue(), house=house)
    return evidence_services.keep_evidence(
        looked=looked, house=house, uploaded_by=house.owner,
        **{"title": "Joist ends on the new plate", "original_name": "a.jpg", **fields},
    )  # fmt: skip


def whole_house(house):
    """One of each thing that a record tells of."""
    house.change(name="14 Tidemill Lane", address="By the creek", built_year=1904)
    storey = factories.StoreyFactory(property=house)
    factories.RoomFactory(property=house, storey=storey, name="Back parlour")
    floor = factories.FloorFactory(property=house, storey=storey, name="Parlour floor")
    joist = factories.JoistFactory(floor=floor, mark="J7", condition="new", depth_mm=170)
    board = factories.BoardFactory(floor=floor, mark="B12.2", course=12)
    move_boards(boards=[board], to_state="up", moved_at=ago(90), note="North wall",
                moved_by=house.owner)  # fmt: skip
    package = factories.WorkPackageFactory(property=house, title="Joist ends at the north wall")
    plumber = factories.TradeFactory(property=house, name="Perrin Sallow")
    factories.TaskFactory(
        package=package, title="Splice J7", status="done", started_at=ago(80), finished_at=ago(70)
    )
    factories.TaskFactory(package=package, title="Run the waste", trade=plumber)
    factories.FindingFactory(property=house, title="Downpipe leaks", decision="Mend it first.",
                             decided_at=ago(99))  # fmt: skip
    look = factories.InspectionFactory(
        property=house, title="Joist ends before boards", floor=floor,
        required_evidence=[{"key": "ends", "title": "One photo of joist ends"}],
    )  # fmt: skip
    first = sign_off(
        inspection=look, result="rejected", seen_by="R. Osgood", seen_at=ago(60), note="J7 wet",
        recorded_by=house.owner,
    )  # fmt: skip
    sign_off(
        inspection=look, result="accepted_with_conditions", seen_by="R. Osgood", seen_at=ago(59),
        recorded_by=house.owner, supersedes=first, reason="Wrong box ticked",
        conditions=[
            {"text": "Vent the north face", "due_on": date(2026, 5, 1), "blocks": []},
            {"text": "Treat the cut ends", "due_on": None, "blocks": []},
        ],
    )  # fmt: skip
    treated = SignOff.objects.get(number=2).conditions.get(text="Treat the cut ends")
    treated.change(cleared_at=ago(20), cleared_by=house.owner, cleared_note="Brushed twice.")
    factories.DeviationFactory(
        property=house, floor=floor, joist=joist, specified="50 × 175 C16",
        built="50 × 170 C24", why="Salvaged stock.",
        check_result={"passes": True, "utilisation": {"bending": 0.71}},
    )  # fmt: skip
    factories.CertificateFactory(property=house, title="Cooker circuit certificate")
    photo(house, inspection=look, requirement="ends")
    return house
