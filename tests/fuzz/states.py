"""What has to have happened before an operation can answer well, and what never does here."""

from __future__ import annotations

from typing import Any

API = "/api/v1/"
TIMES = {"starts": "2026-03-02T09:00:00Z", "ends": "2026-03-02T11:00:00Z"}
# Steps on the same row before the one that is asked for: an action below it, and its body.
BEFORE: dict[str, list[tuple[str, dict[str, Any]]]] = {
    f"POST {API}{path}/": steps
    for path, steps in {
        "conditions/{id}/open-again": [("clear", {"note": "Two coats"})],
        "deviations/{id}/accept": [("put", {})],
        "deviations/{id}/back-to-draft": [("put", {})],
        "deviations/{id}/refuse": [("put", {})],
        "inspections/{id}/unbook": [("book", TIMES)],
        "inspections/{id}/withdraw-notice": [("notify", {})],
        "tasks/{id}/carry-on": [("start", {}), ("stop", {})],
        "tasks/{id}/reopen": [("drop", {})],
        "tasks/{id}/stop": [("start", {})],
        "temporary-measures/{id}/unclear": [("clear", {})],
        "timber-pieces/{id}/bring-back": [("scrap", {"reason": "Split"})],
        "visits/{id}/done": [("agree", TIMES)],
        "visits/{id}/missed": [("agree", TIMES)],
        "visits/{id}/reopen": [("agree", TIMES), ("done", {})],
        "visits/{id}/withdraw": [("ask", {})],
    }.items()
}
# These need more than steps on one row (a finished plan, a reply, a second plan, timber with nails)
# or cannot be had with a token; tests/api has their good answers.
NEVER_REFUSED = frozenset({f"GET {API}checks/settings/"})  # it is asked nothing
ELSEWHERE = """
DELETE properties/{id}
DELETE tokens/{id}
GET completion-files/{id}/file
GET floors/{id}/laying
GET floors/{id}/lifting
GET plans/{id}/against/{other}
GET timber-needs/{id}/matches
POST access-needs/{id}/hold-again
POST certificates/{id}/not-received
POST completion-files/{id}/cancel
POST cuts/{id}/made
POST cuts/{id}/take-back
POST cutting-plans/{id}/cancel
POST cutting-plans/{id}/undo
POST floors/{id}/levels
POST moisture-readings
POST timber-needs/{id}/reopen
POST timber-pieces/import
POST timber-pieces/{id}/draw-nails-task
POST timber-pieces/{id}/nails-drawn
POST timber-pieces/{id}/nails-not-drawn
POST tokens
POST visit-replies/{id}/accept
POST visit-replies/{id}/undo
PUT access-needs/{id}
PUT members/{id}
PUT spot-heights/{id}
PUT stock-lengths/{id}
"""
OF_ANOTHER_STATE = frozenset(
    f"{method} {API}{path}/" for method, path in map(str.split, ELSEWHERE.split("\n")[1:-1])
)
