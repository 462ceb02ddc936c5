"""`manage.py verify_record`: whoever changed the record past the program is told of."""

import hashlib
import io

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from apps.inspections.models import Evidence, SignOff
from tests import factories

pytestmark = pytest.mark.django_db(transaction=True)
TABLE = "inspections_signoff"


@pytest.fixture(autouse=True)
def files(settings, tmp_path):
    settings.EVIDENCE_DIR = tmp_path / "evidence"
    return settings.EVIDENCE_DIR


@pytest.fixture
def looks(house):
    """Three looks at one thing each, the second with a condition; all recorded and on file."""
    made = [factories.InspectionFactory(property=house) for _ in range(3)]
    for n, inspection in enumerate(made):
        if n == 1:
            factories.condition(inspection, recorded_by=house.owner)
        else:
            factories.SignOffFactory(inspection=inspection, recorded_by=house.owner)
        inspection.change(state=inspection.sign_offs.get().result)
    return made


def photo(house, files, content=b"\xff\xd8\xff joist ends"):
    sha256 = hashlib.sha256(content).hexdigest()
    path = files / sha256[:2] / sha256
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    return factories.EvidenceFactory(property=house, sha256=sha256, byte_size=len(content)), path


def verify(*arguments):
    out = io.StringIO()
    call_command("verify_record", *arguments, stdout=out)
    return out.getvalue()


def past_the_program(statement, *values):
    """Raw SQL by someone who dropped the triggers first."""
    with connection.cursor() as cursor:
        for verb in ("UPDATE", "DELETE"):
            cursor.execute(f"DROP TRIGGER IF EXISTS {TABLE}_no_{verb}")
        cursor.execute("PRAGMA foreign_keys = OFF")
        cursor.execute(statement, values)
        cursor.execute("PRAGMA foreign_keys = ON")
        for verb in ("UPDATE", "DELETE"):
            cursor.execute(
                f"CREATE TRIGGER {TABLE}_no_{verb} BEFORE {verb} ON {TABLE} BEGIN "
                f"SELECT RAISE(ABORT, '{TABLE} is append-only'); END"
            )


def emptied():
    """What the end of a test could not remove while the triggers stand."""
    past_the_program(f"DELETE FROM {TABLE}")


@pytest.fixture(autouse=True)
def _leave_nothing(files):
    yield
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM inspections_condition")
    emptied()


def test_an_untouched_record_is_well_and_its_last_digest_is_told(house, looks, files):
    photo(house, files)

    said = verify("--property", str(house.pk))

    assert "All is well: 3 sign-offs and 1 files" in said
    assert SignOff.objects.get(number=3).digest in said


def test_a_house_without_a_record_is_well(house):
    assert "All is well: 0 sign-offs" in verify()


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("result", "rejected"),
        ("seen_by", "Somebody else"),
        ("seen_at", "2026-03-01 19:00:00"),
        ("note", "And the drains too"),
        ("recorded_at", "2026-01-01 00:00:00"),
        ("stated", '{"inspection": {"title": "All of it"}, "conditions": []}'),
        ("digest", "f" * 64),
    ],
)
def test_an_edited_row_is_named(house, looks, column, value):
    past_the_program(f"UPDATE {TABLE} SET {column} = %s WHERE number = 3", value)

    with pytest.raises(CommandError, match="number 3 is not what its digest was made of"):
        verify()


def test_a_row_that_was_hung_on_another_inspection_is_named(house, looks):
    past_the_program(f"UPDATE {TABLE} SET inspection_id = %s WHERE number = 3", looks[0].pk)

    with pytest.raises(CommandError, match="number 3 is not what its digest was made of"):
        verify()


def test_a_removed_row_is_missed(house, looks):
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM inspections_condition")
    past_the_program(f"DELETE FROM {TABLE} WHERE number = 2")

    with pytest.raises(CommandError, match="number 2 is missing before number 3"):
        verify()


def test_the_last_row_cut_off_leaves_an_inspection_that_nothing_says_was_seen(house, looks):
    past_the_program(f"DELETE FROM {TABLE} WHERE number = 3")

    with pytest.raises(CommandError, match=f"Inspection {looks[2].pk} of .*there is none"):
        verify()


def test_an_inspection_whose_state_was_set_by_hand_is_named(house, looks):
    due = factories.InspectionFactory(property=house, title="Drain run")
    due.change(state="accepted")

    with pytest.raises(CommandError, match=r"“Drain run”.*it is accepted"):
        verify()


def test_a_rewritten_condition_is_named(house, looks):
    past_the_program("UPDATE inspections_condition SET text = 'Nothing much'")

    with pytest.raises(CommandError, match="those of sign-off number 2 are not what was said"):
        verify()


def test_a_cleared_condition_is_no_mismatch(client, house, looks):
    condition = SignOff.objects.get(number=2).conditions.get()
    client.post(f"/api/v1/conditions/{condition.pk}/clear/", {"note": "Two coats"})

    assert "All is well" in verify()


def test_a_changed_file_is_named(house, looks, files):
    row, path = photo(house, files)
    path.write_bytes(b"\xff\xd8\xff other ends")

    with pytest.raises(CommandError, match=f"Evidence {row.pk} .*not the one that was kept"):
        verify()


def test_a_file_that_is_gone_is_named(house, looks, files):
    row, path = photo(house, files)
    path.unlink()

    with pytest.raises(CommandError, match=f"Evidence {row.pk} .*is not there"):
        verify()


def test_a_digest_that_is_none_never_becomes_a_path(house, looks, files):
    row, _ = photo(house, files)
    Evidence.objects.update(sha256="../" * 21 + "x")

    with pytest.raises(CommandError, match=f"Evidence {row.pk} .*is no digest"):
        verify()


def test_another_house_is_not_asked_about(house, looks):
    other = factories.PropertyFactory()
    past_the_program(f"UPDATE {TABLE} SET note = 'x' WHERE number = 1")

    assert "All is well" in verify("--property", str(other.pk))
    with pytest.raises(CommandError, match="number 1"):
        verify("--property", str(house.pk))


def test_a_house_that_is_not_there_is_told_of(house):
    with pytest.raises(CommandError, match="There is no property 987654321"):
        verify("--property", "987654321")
