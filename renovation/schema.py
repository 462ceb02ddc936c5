"""OpenAPI touches that hold for every operation: the shape of a problem."""

from __future__ import annotations

from typing import Any

from drf_spectacular.authentication import TokenScheme

PROBLEM_SCHEMA: dict[str, Any] = {
    "type": "object",
    "description": "Problem details, RFC 9457.",
    "required": ["type", "title", "status", "detail", "errors"],
    "properties": {
        "type": {"type": "string", "format": "uri-reference"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string", "description": "What is wrong, in one sentence."},
        "instance": {
            "type": "string",
            "format": "uri-reference",
            "description": "/requests/ and the answer's X-Request-ID, to look for in the log.",
        },
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
    mend_schemas(result)
    result["components"]["schemas"]["Problem"] = PROBLEM_SCHEMA
    content = {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}}
    for path in result["paths"].values():
        for method, operation in path.items():
            if method not in METHODS:
                continue
            answers = {**ALWAYS, **(WHEN_WRITING if method != "get" else {})}
            for status, text in answers.items():
                operation["responses"].setdefault(status, {"description": text})
            for status, answer in operation["responses"].items():
                if status >= "400":
                    answer.setdefault("content", content)
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


def mend_schemas(node: Any) -> None:
    """Two things the generator says that are not so, wherever it says them."""
    if isinstance(node, list):
        for item in node:
            mend_schemas(item)
    if isinstance(node, dict):
        # “Either anything or null”: null is both, and so neither.
        if {} in node.get("oneOf", ()):
            del node["oneOf"]
        # `time` has an offset (RFC 3339 full-time); our times of day are the house's own.
        if node.get("format") == "time":
            node["format"] = "time-local"
        for item in node.values():
            mend_schemas(item)


class OurTokenScheme(TokenScheme):  # type: ignore[no-untyped-call]
    """How the document says that a request carries a token."""

    target_class = "renovation.tokens.ByToken"
    name = "tokenAuth"
    priority = 1

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {
            "type": "apiKey",
            "in": "header",
            "name": "Authorization",
            "description": "`Token …`, the secret that `manage.py token` or `tokens/` told once.",
        }
