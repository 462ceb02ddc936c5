"""`manage.py start`: from a fresh clone to a planned week."""

from __future__ import annotations

import json
import re
import socket
import stat
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from apps.planning.models import Plan
from apps.property.models import Property
from tests import factories
from tests.installation import Installation


def start(**options):
    out = StringIO()
    call_command("start", no_serve=True, stdout=out, **options)
    return out.getvalue()


def test_a_fresh_clone_comes_to_a_planned_week_in_one_command(demo):
    installation, printed = demo.installation, demo.printed

    assert "14 Tidemill Lane" in printed
    assert re.search(r"Planned in \d+\.\d s", printed)
    assert "Boards that stay open" in printed
    assert "http://127.0.0.1:8123/api/docs/" in printed
    assert re.search(r"http://127\.0\.0\.1:8123/sign-in/\S+/$", printed.strip())
    assert "API token:  manage.py token makes one\n" in printed

    week = json.loads(installation.manage("week", "--json"))
    assert any(day["stints"] for day in week["week"]["days"])
    assert week["alerts"]
    assert week["holds"]

    again = installation.manage("start", "--demo", "--no-serve", "--no-plan")

    assert "There is a house already; the demo house was not added." in again
    assert installation.run(
        "from apps.planning.models import Plan; from apps.property.models import Property\n"
        "answer = [Property.objects.count(), Plan.objects.count()]"
    ) == [1, 1]


def test_the_secret_is_made_once_and_only_its_owner_may_read_it(tmp_path):
    installation = Installation(tmp_path)
    secret = tmp_path / "data" / "secret-key"

    installation.manage("check")
    first = secret.read_text()
    installation.manage("check")

    assert len(first) > 50
    assert secret.read_text() == first
    assert stat.S_IMODE(secret.stat().st_mode) == 0o600
    assert sorted(path.name for path in secret.parent.iterdir()) == ["secret-key"]


@pytest.mark.django_db
def test_without_a_house_it_says_how_to_get_one():
    assert "start again with --demo" in start()


@pytest.mark.django_db
def test_with_no_plan_the_week_is_printed_as_it_stands(house):
    printed = start(no_plan=True)

    assert house.name in printed
    assert "No plan yet." in printed
    assert not Plan.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_every_house_is_planned(house):
    other = factories.PropertyFactory()

    start()

    planned = Plan.objects.filter(is_current=True).values_list("property", flat=True)
    assert set(planned) == {house.pk, other.pk}


@pytest.mark.django_db
def test_the_demo_is_not_added_to_a_house_of_ones_own(house):
    start(demo=True, no_plan=True)

    assert list(Property.objects.all()) == [house]


@pytest.mark.django_db
def test_a_name_in_square_brackets_is_printed_as_it_is(house):
    house.change(name="No. 9 [rear] [/bold]")

    assert "No. 9 [rear] [/bold]" in start(no_plan=True)


@pytest.mark.parametrize("port", [0, 70000])
def test_a_port_that_is_none_is_refused_before_anything_is_done(port):
    with pytest.raises(CommandError, match="from 1 to 65535"):
        start(port=port)


@pytest.mark.django_db
def test_a_port_in_use_is_said_so_with_a_way_out():
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()

        with pytest.raises(CommandError, match=r"Try --port or --listen"):
            call_command("start", port=taken.getsockname()[1], stdout=StringIO())


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("listen", "printed"), [("127.0.0.1", "127.0.0.1"), ("0.0.0.0", "192.0.2.7")]
)  # fmt: skip
def test_the_printed_addresses_are_such_as_can_be_typed(settings, listen, printed):
    settings.ALLOWED_HOSTS = ["192.0.2.7"]  # RFC 5737: for examples
    out = StringIO()

    call_command("start", "--no-serve", "--no-plan", "--listen", listen, stdout=out)

    assert f"http://{printed}:8000/api/docs/" in out.getvalue()
    assert f"http://{printed}:8000/sign-in/" in out.getvalue()
