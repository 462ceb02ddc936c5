"""`Idempotency-Key`: the same `POST` sent twice is done once and answered twice.

A phone under a floor loses its signal between sending and hearing. It sends again with the
same key; the first answer is kept in the same transaction as the work itself, so there is
never one without the other. Errors are not kept: they changed nothing and may be retried.
"""

from __future__ import annotations

import hashlib
import json
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.db import IntegrityError, transaction
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.utils.encoders import JSONEncoder

from renovation.errors import Problem
from renovation.models import RememberedAnswer

HEADER = "Idempotency-Key"
REPLAYED = "Idempotency-Replayed"


class AlreadyAnswered(Exception):
    """Raised inside the view to leave it early with the kept answer."""

    def __init__(self, answer: RememberedAnswer) -> None:
        super().__init__(answer.key)
        self.answer = answer


def begin(request: Request) -> RememberedAnswer | None:
    """Claim the key of a request to the API, or raise `AlreadyAnswered`. Problems: see `claim`."""
    return claim(
        key=request.headers.get(HEADER, ""),
        user=request.user,
        address=request.get_full_path(),
        sent=request.data,
    )


def claim(*, key: str, user: Any, address: str, sent: Any) -> RememberedAnswer | None:
    """Claim a key for what was sent to an address, or raise `AlreadyAnswered`. None without a key.

    Two at once: the second waits for the first's transaction at the unique constraint
    (PostgreSQL) or at the write lock (SQLite), and then finds its answer.

    Raises:
        Problem: `key-reused` when the key was used for something else; `key-in-work` when
            the first request with it has not ended yet.
    """
    if not key:
        return None
    if len(key) > 200 or not (key.isascii() and key.isprintable()):
        raise Problem(
            "malformed",
            "An Idempotency-Key is at most 200 letters, digits and signs of ASCII.",
            status_code=400,
        )
    written = json.dumps([address, sent], sort_keys=True, default=in_words)
    fingerprint = {
        "address": address[:300],
        "body_digest": hashlib.sha256(written.encode()).hexdigest(),
    }
    try:
        with transaction.atomic():
            return RememberedAnswer.objects.create(user=user, key=key, **fingerprint)
    except IntegrityError:
        kept = RememberedAnswer.objects.get(user=user, key=key)
    if (kept.address, kept.body_digest) != tuple(fingerprint.values()):
        raise Problem(
            "key-reused",
            "This Idempotency-Key was used for a different request; make a new one.",
            status_code=422,
        )
    if not kept.status_code:
        raise Problem("key-in-work", "The first request with this key is still being worked on.")
    raise AlreadyAnswered(kept)


def in_words(value: Any) -> str:
    """What JSON has no form for: a file is its name and the digest of its bytes."""
    if not isinstance(value, UploadedFile):
        return str(value)
    digest = hashlib.sha256()
    for chunk in value.chunks():
        digest.update(chunk)
    value.seek(0)
    return f"{value.name} {digest.hexdigest()}"


def keep(answer: RememberedAnswer, response: Response) -> None:
    """Keep what is about to be answered."""
    answer.status_code = response.status_code
    answer.answer = json.dumps(response.data, cls=JSONEncoder)
    answer.etag = response.headers.get("ETag", "")
    answer.location = response.headers.get("Location", "")
    answer.save()


def replay(answer: RememberedAnswer) -> Response:
    """The first answer again, marked as such."""
    headers = {"ETag": answer.etag, "Location": answer.location, REPLAYED: "true"}
    data: Any = json.loads(answer.answer)
    return Response(
        data,
        status=answer.status_code,
        headers={name: value for name, value in headers.items() if value},
    )
