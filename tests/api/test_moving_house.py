"""One house, out into a file and in again: the same house, numbered anew."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile

import pytest
from django.contrib.auth import get_user_model
from django.db import transaction
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from apps.floors.models import Board
from apps.inspections.evidence import store
from apps.inspections.models import Evidence, SignOff
from apps.inspections.verify import first_trouble
from apps.moving.archive import SEAL, SEAL_BYTES
from apps.moving.exporting import export_house
from apps.moving.importing import import_house
from apps.moving.manifest import Refused
from apps.moving.rows import in_house
from apps.planning.models import Plan
from apps.property.models import Member, Property
from tests import factories
from tests.moving_houses import count_from, house_of, told

HERE, THERE = 70_000_000, 80_000_000
JSON_NAMES = ("alerts", "unplaced", "inputs", "what_if")


class RolledBack:
    """What an example wrote is gone before the next."""

    def __enter__(self):
        self.atomic = transaction.atomic()
        self.atomic.__enter__()

    def __exit__(self, *raised):
        if raised[0] is None:
            transaction.set_rollback(True)
        return self.atomic.__exit__(*raised)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "a.house"


@pytest.fixture
def moved(db, path):
    """Move a house within one database: out, and in again beside itself."""

    def move(house, **how):
        export_house(house, path)
        count_from(THERE)
        return import_house(path, **{"owner": house.owner, **how})

    return move


# Shrinking a whole house takes minutes and tells little more than the first that fails.
TRIED = (Phase.explicit, Phase.reuse, Phase.generate)


@settings(
    max_examples=20, deadline=None, phases=TRIED,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow,
                           HealthCheck.data_too_large],
)  # fmt: skip
@given(data=st.data())
def test_a_house_that_moved_is_the_same_up_to_its_ids(moved, data):
    with RolledBack():
        count_from(HERE)
        house = house_of(data.draw)
        before = told(house)

        done = moved(house)

        assert told(done.house) == before
        assert told(house) == before
        assert first_trouble(done.house) is None


@settings(
    max_examples=1, deadline=None, phases=TRIED,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)  # fmt: skip
@given(data=st.data())
def test_every_kind_of_row_that_goes_with_a_house_is_tried(moved, data):
    with RolledBack():
        count_from(HERE)
        house = house_of(data.draw, least=1)

        done = moved(house)

        found = told(done.house)
        empty = {label for label, rows in found.items() if not rows} - {"property.Member"}
        assert empty == set(), "tests/moving_houses.py makes none of them"
        assert set(found) == {model._meta.label for model in in_house()}
        assert str(HERE)[:2] not in {
            str(number)[:2]
            for plan in Plan.objects.filter(property=done.house)
            for number in ids_in([getattr(plan, name) for name in JSON_NAMES])
        }


def ids_in(value):
    if isinstance(value, dict):
        yield from ids_in([*value, *value.values()])
    elif isinstance(value, list):
        for one in value:
            yield from ids_in(one)
    elif isinstance(value, int) and value > 1_000_000:
        yield value
    elif isinstance(value, str) and value.partition(":")[2].isdigit():
        yield int(value.partition(":")[2])


def test_moved_twice_the_chain_still_holds_and_goes_on(house, moved, path):
    inspection = factories.InspectionFactory(property=house)
    factories.SignOffFactory(inspection=inspection, recorded_by=house.owner)
    inspection.change(state="accepted")
    first = moved(house).house
    here = first.inspections.get()
    factories.SignOffFactory(inspection=here, recorded_by=house.owner, note="Looked again")

    export_house(first, path)
    again = import_house(path, owner=house.owner).house

    assert first_trouble(again) is None
    rows = list(SignOff.objects.filter(property=again).order_by("number"))
    assert [row.as_signed["property"] for row in rows] == [house.pk, first.pk]
    assert rows[0].as_signed["moved_in"] != rows[1].as_signed["moved_in"]
    assert [row.digest for row in rows] == [
        row.digest for row in SignOff.objects.filter(property=first).order_by("number")
    ]


def test_a_signed_word_changed_on_the_way_is_found(house, moved, path):
    inspection = factories.InspectionFactory(property=house)
    factories.SignOffFactory(inspection=inspection, recorded_by=house.owner, note="All four nailed")
    inspection.change(state="accepted")
    export_house(house, path)
    change_rows(path, "inspections.SignOff", lambda row: row | {"note": "None nailed"})

    with pytest.raises(Refused, match="not what its digest was made of"):
        import_house(path, owner=house.owner)
    assert Property.objects.count() == 1


def test_a_sign_off_turned_to_another_look_after_the_move_is_found(house, moved):
    looks = [factories.InspectionFactory(property=house) for _ in range(2)]
    for look in (looks[0], looks[0], looks[1]):
        factories.SignOffFactory(inspection=look, recorded_by=house.owner)
        look.change(state="accepted")
    there = moved(house).house
    row = SignOff.objects.get(property=there, number=1)

    # As somebody would who has the database: the log itself refuses.
    row.inspection = SignOff.objects.get(property=there, number=3).inspection
    with pytest.raises(Exception, match="append-only"), transaction.atomic():
        row.save()


def test_people_of_the_same_name_are_the_same_when_an_administrator_says_so(house, moved):
    helper = factories.MemberFactory(property=house, role="helper").user

    there = moved(house, owner=None, by_name=True).house

    assert set(there.members.values_list("user_id", "role")) == {
        (house.owner.pk, "owner"), (helper.pk, "helper"),
    }  # fmt: skip


def test_otherwise_only_their_names_are_kept_and_nobody_can_sign_in_with_them(house, moved):
    helper = factories.MemberFactory(property=house, role="helper").user
    floor = factories.FloorFactory(property=house)
    floor.board_moves.create(to_state="up", moved_at="2026-03-02T19:00:00Z", moved_by=helper)

    done = moved(house)

    assert list(done.house.members.values_list("user_id", "role")) == [(house.owner.pk, "owner")]
    kept = done.house.floors.get().board_moves.get().moved_by
    assert kept != helper
    assert kept.username == f"{helper.username} (2)"
    assert not kept.is_active
    assert not kept.has_usable_password()
    assert helper.username in done.names


def test_a_house_that_nobody_would_own_is_refused(house, path):
    export_house(house, path)
    get_user_model().objects.filter(pk=house.owner.pk).update(username="somebody-else")

    with pytest.raises(Refused, match="say whose it is with --owner"):
        import_house(path, by_name=True)


def test_what_is_still_being_made_stays_behind_and_so_does_what_names_it(house, moved, path):
    waiting = Plan.objects.create(property=house, as_of="2026-03-02T19:00:00Z", state="queued")
    factories.CuttingPlanFactory(
        property=house, replans=factories.CuttingPlanFactory(property=house, state="queued")
    )

    done = moved(house)

    assert not done.house.plans.exists()
    assert done.house.cutting_plans.get().replans is None
    assert any("queued" in one["what"] for one in done.left)
    assert waiting.pk


def test_secret_addresses_stay_behind_and_that_is_said(house, moved, client):
    person = factories.PersonFactory(property=house)
    person.calendar_feeds.create(property=house)

    done = moved(house)

    assert not done.house.calendar_feeds.exists()
    assert any(one["what"] == "calendar feeds" and "secret" in one["why"] for one in done.left)


def test_an_id_of_a_row_that_is_gone_never_names_another(house, moved):
    gone = factories.TaskFactory(package=factories.WorkPackageFactory(property=house))
    Plan.objects.create(
        property=house, as_of="2026-03-02T19:00:00Z", state="ready",
        alerts=[{"about": [{"kind": "task", "id": gone.pk, "name": "Gone"}]}],
    )  # fmt: skip
    gone.delete()

    (alert,) = moved(house).house.plans.get().alerts

    assert alert["about"][0]["id"] < 0


def change_rows(path, model, change):
    """Change rows in an archive and put every digest right again, as a forger would."""
    with zipfile.ZipFile(path) as zipped:
        members = {name: zipped.read(name) for name in zipped.namelist()}
    name = f"rows/{model}.jsonl"
    rows = [change(json.loads(line)) for line in members[name].splitlines()]
    members[name] = b"".join(json.dumps(row).encode() + b"\n" for row in rows)
    seal(path, members, len(rows), model)


def seal(path, members, count, model):
    data = json.loads(members.pop("manifest.json"))
    for one in data["members"]:
        content = members[one["name"]]
        one |= {"byte_size": len(content), "sha256": hashlib.sha256(content).hexdigest()}
    next(one for one in data["tables"] if one["model"] == model)["rows"] = count
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as zipped:
        for name, content in members.items():
            zipped.writestr(name, content)
        zipped.writestr("manifest.json", json.dumps(data))
        zipped.comment = SEAL + b"0" * 64
    body = file.getvalue()[:-SEAL_BYTES]
    path.write_bytes(body + SEAL + hashlib.sha256(body).hexdigest().encode())


FORGED = [
    ("floors.Board", {"floor_id": 999_999}, "not in the file"),
    ("floors.Board", {"state": "flying"}, "cannot be its state"),
    ("floors.Board", {"outline": [[0, 0], "x"]}, "outline"),
    ("floors.Board", {"mark": "B" * 500}, "cannot be its mark"),
    ("floors.Board", {"mark": "a\x00b"}, "cannot be its mark"),
    ("floors.Board", {"course": "many"}, "is no course"),
    ("floors.Board", {"course": 0}, "do not fit"),
    ("floors.Board", {"course": 2**70}, "cannot be its course"),
    ("inspections.Evidence", {"content_type": "text/html"}, "not what its row says"),
    ("inspections.Evidence", {"file_name": 'a"\r\nSet-Cookie: x'}, "no name for a file"),
    ("inspections.Evidence", {"sha256": "0" * 64}, "no row names"),
    ("inspections.SignOff", {"digest": "0" * 64}, "digest"),
    ("property.Property", {"timezone": "Nowhere/Land"}, "cannot be its timezone"),
]


@pytest.mark.parametrize(("model", "values", "words"), FORGED)
def test_a_row_that_could_not_be_is_refused_whole(house, path, model, values, words):
    factories.BoardFactory(floor=factories.FloorFactory(property=house))
    inspection = factories.InspectionFactory(property=house)
    factories.SignOffFactory(inspection=inspection, recorded_by=house.owner)
    inspection.change(state="accepted")
    content = b"%PDF-1.4\n%%EOF\n"
    digest = hashlib.sha256(content).hexdigest()
    store.place(digest, content, None)
    factories.EvidenceFactory(
        property=house, sha256=digest, byte_size=len(content), kind="document",
        content_type="application/pdf", uploaded_by=house.owner,
    )  # fmt: skip
    export_house(house, path)
    Evidence.objects.all().delete()
    store.remove(digest)
    change_rows(path, model, lambda row: row | values)

    with pytest.raises(Refused, match=words):
        import_house(path, owner=house.owner)

    assert Property.objects.count() == 1
    assert Board.objects.count() == 1
    assert Member.objects.count() == 1
    assert list(store.digests()) == []


def test_a_backup_is_no_house(house, path):
    from apps.moving.saving import back_up

    back_up(path)
    with pytest.raises(Refused, match="use restore"):
        import_house(path, owner=house.owner)


def test_a_house_of_a_newer_program_is_refused_with_what_to_do(house, path):
    export_house(house, path)
    with zipfile.ZipFile(path) as zipped:
        members = {name: zipped.read(name) for name in zipped.namelist()}
    data = json.loads(members["manifest.json"])
    data["migrations"]["work"].append("9999_later")
    members["manifest.json"] = json.dumps(data).encode()
    seal(path, members, 0, "repairs.Repair")

    with pytest.raises(Refused, match="newer program"):
        import_house(path, owner=house.owner)
