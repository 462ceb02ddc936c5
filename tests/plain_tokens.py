"""An installation as it was when API tokens were still kept as they are sent."""

from __future__ import annotations

import json
from typing import Any

from tests.installation import Installation

# With the app that kept them, and none of our own migrations after it.
BEFORE = """
import json, django
from django.conf import settings
settings.INSTALLED_APPS = [*settings.INSTALLED_APPS, "rest_framework.authtoken"]
django.setup()
from django.apps import apps
from django.contrib.auth.models import User
from django.core.management import call_command
from django.db.migrations.loader import MigrationLoader
call_command("migrate", "renovation", "0001", verbosity=0)
for app in sorted(MigrationLoader(None).migrated_apps - {"renovation"}):
    call_command("migrate", app, verbosity=0)
from rest_framework.authtoken.models import Token
from tests import factories
mari, ines = (User.objects.create_user(name) for name in ("mari", "ines"))
factories.MemberFactory(user=mari, property__name="14 Tidemill Lane")
print(json.dumps([Token.objects.create(user=user).key for user in (mari, ines)]))
"""
KEPT = """
from django.contrib.auth.models import User
from django.db import connection
from apps.property.models import Member, Property
from renovation.models import AccessToken
tables = connection.introspection.table_names()
answer = {
    "people": sorted(User.objects.values_list("username", flat=True)),
    "houses": list(Property.objects.values_list("name", flat=True)),
    "members": Member.objects.count(),
    "plain_tokens": "authtoken_token" in tables,
    "tokens": AccessToken.objects.count() if "renovation_accesstoken" in tables else None,
}
"""
AT_DOOR = """
from django.test import Client
answer = [
    Client(headers={{"host": "127.0.0.1", "authorization": f"Token {{key}}"}})
    .get("/api/v1/properties/").status_code
    for key in {keys!r}
]
"""


def made_before(installation: Installation) -> list[str]:
    """Make one with two people's tokens; what they are."""
    printed = installation.python("-c", BEFORE)
    keys: list[str] = json.loads(printed.splitlines()[-1])
    return keys


def brought_up_to_date(installation: Installation) -> dict[str, Any]:
    """What was there before, what is there after `migrate`, and who is let in then."""
    keys = made_before(installation)
    before = installation.run(KEPT)
    installation.manage("migrate", "--verbosity", "0")
    after = installation.run(KEPT)
    fresh = installation.manage("token", "--user", "mari").strip()
    let_in = installation.run(AT_DOOR.format(keys=[*keys, fresh]))
    return {"before": before, "after": after, "let_in": let_in}


def only_the_tokens_are_gone(found: dict[str, Any]) -> None:
    before, after = found["before"], found["after"]
    assert (before["plain_tokens"], before["tokens"]) == (True, None)
    assert (after["plain_tokens"], after["tokens"]) == (False, 0)
    assert before["people"] == ["ines", "mari"]
    assert before["houses"] == ["14 Tidemill Lane"]
    assert before["members"] == 1
    for name in ("people", "houses", "members"):
        assert after[name] == before[name]
    assert found["let_in"] == [401, 401, 200]
