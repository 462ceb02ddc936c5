"""What has to have happened before an operation can answer well, and what never does here."""

from __future__ import annotations

from typing import Any

API = "/api/v1/"
TIMES = {"starts": "2026-03-02T09:00:00Z", "ends": "2026-03-02T11:00:00Z"}
# Steps on the same row before the one that is asked for: an action below it, and its body.
BEFORE: dict[str, list[tuple[str, dict[str, Any]]]] = {
    f"POST {API}{path}/": steps
    for path, steps in {
        "access-needs/{id}/hold-again": [("release", {"note": "It went another way"})],
        "certificates/{id}/not-received": [("receive", {"received_on": "2026-03-20"})],
        "conditions/{id}/open-again": [("clear", {"note": "Two coats"})],
        "cutting-plans/{id}/undo": [("apply", {})],
        "deviations/{id}/accept": [("put", {})],
        "deviations/{id}/back-to-draft": [("put", {})],
        "deviations/{id}/refuse": [("put", {})],
        "inspections/{id}/unbook": [("book", TIMES)],
        "inspections/{id}/withdraw-notice": [("notify", {})],
        "tasks/{id}/carry-on": [("start", {}), ("stop", {})],
        "tasks/{id}/reopen": [("drop", {})],
        "tasks/{id}/stop": [("start", {})],
        "temporary-measures/{id}/unclear": [("clear", {})],
        "timber-needs/{id}/reopen": [("drop", {"reason": "Not wanted"})],
        "timber-pieces/{id}/bring-back": [("scrap", {"reason": "Split"})],
        "visits/{id}/done": [("agree", TIMES)],
        "visits/{id}/missed": [("agree", TIMES)],
        "visits/{id}/reopen": [("agree", TIMES), ("done", {})],
        "visits/{id}/withdraw": [("ask", {})],
    }.items()
}
NEVER_REFUSED = frozenset({f"GET {API}checks/settings/"})  # it is asked nothing
# Never answered well here, and why: the reason, and the operations it keeps from it. tests/api has
# their good answers.
ELSEWHERE = {
    "A house with a record cannot go, and this one has all there is.": """
        DELETE properties/{id}
    """,
    "A token neither makes nor ends tokens, and a token is what asks.": """
        DELETE tokens/{id}
        POST tokens
    """,
    "It has to be queued or at work, and here work is done or has failed at once.": """
        GET completion-files/{id}/file
        GET house-files/{id}/file
        POST completion-files/{id}/cancel
        POST cutting-plans/{id}/cancel
        POST house-arrivals/{id}/cancel
        POST house-files/{id}/cancel
    """,
    "The row's plan, or two of them, have to be made, or applied.": """
        GET plans/{id}/against/{other}
        POST cuts/{id}/made
        POST cuts/{id}/take-back
    """,
    "The visit that was answered has to be asked for first.": """
        POST visit-replies/{id}/accept
        POST visit-replies/{id}/undo
    """,
    "It names boards of this floor, which the document says as text.": """
        GET floors/{id}/laying
        GET floors/{id}/lifting
    """,
    "The row needs others below it: nails in the piece, heights of the floor.": """
        POST floors/{id}/levels
        POST timber-pieces/{id}/draw-nails-task
        POST timber-pieces/{id}/nails-drawn
        POST timber-pieces/{id}/nails-not-drawn
    """,
    "A body for a new row, where the one that is there keeps what does not go with it.": """
        PUT access-needs/{id}
        PUT members/{id}
        PUT spot-heights/{id}
        PUT stock-lengths/{id}
    """,
}
OF_ANOTHER_STATE = frozenset(
    f"{method} {API}{path}/"
    for operations in ELSEWHERE.values()
    for method, path in map(str.split, operations.strip().splitlines())
)
