"""What is wrong with a sheet, as the errors that services raise."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError

from apps.work.sheets import CellError, NoSheet, SheetTooLarge
from renovation.errors import Problem, field_problem


def no_sheet(exc: NoSheet) -> Problem:
    """A file that cannot be read as a sheet: `invalid` or `too-large`, at `/file`."""
    detail = str(exc)
    if isinstance(exc, SheetTooLarge):
        errors = [{"pointer": "/file", "detail": detail}]
        return Problem("too-large", detail, status_code=413, errors=errors)
    return field_problem("/file", detail)


def refusal(errors: Sequence[CellError]) -> Problem:
    """A sheet with errors, as one problem: nothing of it was taken."""
    told = [
        {
            "pointer": f"/rows/{error.row}/{error.column}".rstrip("/"),
            "detail": f"Row {error.row}{', ' * bool(error.column)}{error.column}: {error.detail}",
        }
        for error in errors
    ]
    more = f" (and {len(told) - 1} more)" if len(told) > 1 else ""
    return Problem(
        "invalid",
        f"Nothing was imported. {told[0]['detail']}{more}",
        status_code=400,
        errors=told,
    )


def in_cells(number: int, errors: Sequence[Mapping[str, str]]) -> Iterator[CellError]:
    """Errors by their pointers into a row as errors by cell."""
    for error in errors:
        column = error["pointer"].removeprefix("/").partition("/")[0]
        yield CellError(number, column, error["detail"])


def of_row(number: int, exc: Problem | ValidationError) -> Iterator[CellError]:
    """What a service or the record's own rules refuse, by cell."""
    if isinstance(exc, Problem):
        yield from in_cells(number, exc.errors or [{"pointer": "", "detail": exc.detail}])
        return
    told: Any = exc.message_dict if hasattr(exc, "error_dict") else {"": exc.messages}
    for name, sentences in told.items():
        column = "" if name == NON_FIELD_ERRORS else name
        for sentence in sentences:
            yield CellError(number, column, sentence)
