"""What the tests of records ask of an answer, and how long ago things happened in them."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

# Read once, so that two mentions of "an hour ago" in a test are the same instant.
BEGAN = timezone.now().replace(microsecond=0)


def ago(hours: float) -> datetime:
    """A whole second some hours back: what is recorded has happened, whatever the clock says."""
    return BEGAN - timedelta(hours=hours)


def ahead(hours: float) -> datetime:
    return ago(-hours)


def refuses(answer: Any, pointer: str, words: str) -> bool:
    """Whether an answer is a 400 problem with these words at this pointer."""
    return answer.status_code == 400 and any(
        error["pointer"] == pointer and words in error["detail"]
        for error in answer.json()["errors"]
    )


def is_problem(answer: Any, status: int, code: str) -> bool:
    return answer.status_code == status and answer.json()["type"].endswith(f"#{code}")


def ids(answer: Any) -> list[int]:
    return [row["id"] for row in answer.json()["results"]]


def queries_of_list(client: Any, address: str) -> int:
    """How many queries a list takes."""
    with CaptureQueriesContext(connection) as caught:
        answer = client.get(address)
    assert answer.status_code == 200
    return len(caught)
