"""OpenAPI touches that hold for every operation: the shape of a problem."""

from __future__ import annotations

from typing import Any

PROBLEM_SCHEMA: dict[str, Any] = {
    "type": "object",
    "description": "Problem details, RFC 9457.",
    "required": ["type", "title", "status", "detail", "errors"],
    "properties": {
        "type": {"type": "string", "format": "uri-reference"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string", "description": "What is wrong, in one sentence."},
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["pointer", "detail"],
                "properties": {
                    "pointer": {"type": "string", "description": "JSON Pointer, RFC 6901."},
                    "detail": {"type": "string"},
                },
            },
        },
    },
}
# Answers any operation may give; the text is what a reader of the docs sees.
ALWAYS = {
    "400": "Something in the request needs mending; `errors` points at it.",
    "401": "Not signed in.",
    "404": "Not there, or in a house you are not a member of.",
}
WHEN_WRITING = {
    "403": "You may look at this house but not change it.",
    "409": "It clashes with what is recorded; nothing was changed.",
    "412": "Changed since you opened it (`If-Match`); `current` is the object now.",
    "413": "The request is too large.",
    "415": "Send JSON.",
    "422": "This `Idempotency-Key` was used for another request.",
}
METHODS = {"get", "post", "put", "patch", "delete"}


def add_problem_answers(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Postprocessing hook: give every operation its problem answers and request headers."""
    result["components"]["schemas"]["Problem"] = PROBLEM_SCHEMA
    content = {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}}
    for path in result["paths"].values():
        for method, operation in path.items():
            if method not in METHODS:
                continue
            answers = {**ALWAYS, **(WHEN_WRITING if method != "get" else {})}
            for status, text in answers.items():
                operation["responses"].setdefault(status, {"description": text, "content": content})
            headers = {
                "post": [("Idempotency-Key", "Send the same again and get the first answer.")],
                "get": [],
            }.get(method, [("If-Match", "The ETag you last saw; a stale one gets 412.")])
            operation.setdefault("parameters", []).extend(
                {
                    "in": "header",
                    "name": name,
                    "description": text,
                    "schema": {"type": "string"},
                }
                for name, text in headers
            )
    return result
