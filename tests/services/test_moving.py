"""The demo house from SQLite to PostgreSQL and back: the same record, the same digests."""

from __future__ import annotations

import json
import zipfile

import psycopg
import pytest
from psycopg import errors

from tests.installation import Installation
from tests.migrated import migrated

DIGESTS = """
from apps.inspections.models import Evidence, SignOff
from apps.property.models import Property
house = Property.objects.order_by("pk").last()
answer = {
    "house": house.pk,
    "signed": list(SignOff.objects.filter(property=house).order_by("number")
                   .values_list("number", "digest", "note", "seen_by")),
    "files": sorted(Evidence.objects.filter(property=house).values_list("sha256", flat=True)),
    "plan": house.plans.get(is_current=True).alerts and True,
    "stints": house.plans.get(is_current=True).stints.count(),
    "boards": sorted(house.floors.values_list("boards__mark", "boards__state")),
}
"""


@pytest.fixture(scope="module")
def database(postgres):
    """One of its own: what is restored takes the place of what others are using."""
    return postgres.database("moved")


@pytest.fixture(scope="module")
def first(tmp_path_factory):
    """The demo house on SQLite, planned."""
    made = migrated(Installation(tmp_path_factory.mktemp("first")))
    made.manage("start", "--demo", "--no-serve")
    return made


def on_postgresql(folder, database):
    with psycopg.connect(database, autocommit=True) as sql:
        sql.execute("DROP SCHEMA public CASCADE")
        sql.execute("CREATE SCHEMA public")
    folder.mkdir(exist_ok=True)
    return Installation(folder, {"DATABASE_URL": database})


def rows_of(path):
    with zipfile.ZipFile(path) as zipped:
        return {
            name: [json.loads(line) for line in zipped.read(name).splitlines()]
            for name in zipped.namelist()
            if name.startswith("rows/")
        }


def test_a_house_goes_to_postgresql_and_back_and_its_chain_holds(first, database, tmp_path):
    """Each time beside another house, so that all its ids are others."""
    there = on_postgresql(tmp_path / "there", database)
    there.manage("start", "--demo", "--no-serve", "--no-plan")
    before = first.run(DIGESTS)
    out, back = str(tmp_path / "out.house"), str(tmp_path / "back.house")

    first.manage("export_house", str(before["house"]), out)
    there.manage("import_house", out)
    found = there.run(DIGESTS)
    there.manage("export_house", str(found["house"]), back)
    first.manage("import_house", back)

    again = first.run(DIGESTS)
    assert len({before["house"], again["house"]}) == 2
    assert before | {"house": 0} == found | {"house": 0} == again | {"house": 0}
    assert len(before["signed"]) >= 2
    assert "All is well" in there.manage("verify_record")
    assert "All is well" in first.manage("verify_record")


def test_a_backup_of_sqlite_is_restored_on_postgresql_and_one_of_that_on_sqlite(
    first, database, tmp_path
):
    there = on_postgresql(tmp_path / "there", database)
    (tmp_path / "last").mkdir()
    last = Installation(tmp_path / "last")
    paths = [str(tmp_path / f"{name}.backup") for name in ("first", "there", "last")]

    first.manage("backup", paths[0])
    there.manage("restore", paths[0])
    there.manage("backup", paths[1])
    last.manage("restore", paths[1])
    last.manage("backup", paths[2])

    assert rows_of(paths[0]) == rows_of(paths[1]) == rows_of(paths[2])
    assert "All is well" in there.manage("verify_record")
    assert "All is well" in last.manage("verify_record")
    with psycopg.connect(database) as sql, pytest.raises(errors.IntegrityError):
        sql.execute("DELETE FROM inspections_signoff")


def test_on_postgresql_the_old_record_is_kept_in_a_schema_of_its_own(first, database, tmp_path):
    there = on_postgresql(tmp_path / "there", database)
    path = str(tmp_path / "first.backup")
    first.manage("backup", path)
    there.manage("restore", path)
    there.run("from apps.property.models import Property\nProperty.objects.update(name='Mine')")

    there.manage("restore", path, "--replace")

    with psycopg.connect(database) as sql:
        schemas = sql.execute(
            "SELECT nspname FROM pg_namespace WHERE nspname LIKE 'set_aside_%'"
        ).fetchall()
        assert len(schemas) == 1
        kept = sql.execute(f'SELECT DISTINCT name FROM "{schemas[0][0]}".property_property')
        assert kept.fetchall() == [("Mine",)]
        names = sql.execute("SELECT name FROM property_property").fetchall()
        sql.execute(f'DROP SCHEMA "{schemas[0][0]}" CASCADE')
    assert ("Mine",) not in names
    assert "All is well" in there.manage("verify_record")
