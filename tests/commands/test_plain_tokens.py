"""An installation that still holds tokens as they are sent, brought up to date. On SQLite."""

from __future__ import annotations

from tests.installation import Installation
from tests.plain_tokens import brought_up_to_date, only_the_tokens_are_gone


def test_plain_tokens_go_and_all_else_stays(tmp_path):
    only_the_tokens_are_gone(brought_up_to_date(Installation(tmp_path)))
