"""An installation that still holds tokens as they are sent, brought up to date. On PostgreSQL."""

from __future__ import annotations

from tests.installation import Installation
from tests.plain_tokens import brought_up_to_date, only_the_tokens_are_gone


def test_plain_tokens_go_and_all_else_stays(postgres, tmp_path):
    installation = Installation(tmp_path, {"DATABASE_URL": postgres.database("plain_tokens")})

    only_the_tokens_are_gone(brought_up_to_date(installation))
