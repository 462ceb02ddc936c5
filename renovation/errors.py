"""The one error that services raise. Knows nothing of HTTP frameworks."""

from __future__ import annotations

from typing import Any


class Problem(Exception):
    """Something the person asked for that cannot be done, with a sentence they can act on.

    Attributes:
        code: trade words joined by hyphens, e.g. `board-held`; the last part of the problem's
            `type` and a heading in docs/reference/problems.md.
        detail: one sentence that names the thing ("B12.2 is held for the plumber.").
        status_code: the HTTP status the API answers with.
        errors: `{pointer, detail}` items when a field is to blame.
        extra: further members of the answer, such as the holds or the current object.
    """

    def __init__(
        self,
        code: str,
        detail: str,
        *,
        status_code: int = 409,
        errors: list[dict[str, str]] | None = None,
        **extra: Any,
    ) -> None:
        super().__init__(detail)
        self.code = code
        self.detail = detail
        self.status_code = status_code
        self.errors = errors or []
        self.extra = extra


def field_problem(pointer: str, detail: str, *, code: str = "invalid") -> Problem:
    """A 400 that blames one field of the body, e.g. pointer `/area`."""
    return Problem(code, detail, status_code=400, errors=[{"pointer": pointer, "detail": detail}])
