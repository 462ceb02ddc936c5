"""From a house to its completion file: read, word, draw, set, pack."""

from __future__ import annotations

import hashlib
import io
import json
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from django.db import transaction
from PIL import Image

from apps.inspections.chain import Link, first_mismatch
from apps.inspections.completion import record as records
from apps.inspections.completion.bundle import sha256_of, write_bundle
from apps.inspections.completion.gather import read_parts
from apps.inspections.completion.pdf import pdf_of
from apps.inspections.completion.sheets import sheets
from apps.inspections.evidence import store
from apps.inspections.models.completion import CompletionFile
from apps.inspections.owed import owed
from apps.property.models import Property

READ_PCT, PICTURES_PCT, SHEETS_PCT, PACKED_PCT = 10, 30, 40, 95


def make(row: CompletionFile, path: Path, *, told: Callable[[int], None]) -> str:
    """Write the ZIP to `path` and return its SHA-256.

    Args:
        row: whose house, and the instant the record tells of.
        path: where the ZIP goes.
        told: called with the part that is done [%], after each step and each file.
    """
    record = read_record(row)
    told(READ_PCT)
    content = records.record_bytes(record)
    files = {
        item["file"]: store.path_of(item["sha256"])
        for item in record["evidence"]
        if item["kept"] == "unaltered"
    }
    small = {item["id"]: thumbnail(item["sha256"]) for item in record["evidence"]}
    pictures = {key: content for key, content in small.items() if content is not None}
    told(PICTURES_PCT)
    page = sheets(record, record_sha256=hashlib.sha256(content).hexdigest(), thumbnails=pictures)
    named = {f"thumb-{key}": value for key, value in pictures.items()}
    pdf = pdf_of(page, made_at=row.requested_at, pictures=named)
    told(SHEETS_PCT)
    write_bundle(
        path,
        made={
            "completion.pdf": pdf,
            "record.json": content,
            "record.schema.json": records.SCHEMA_FILE.read_bytes(),
        },
        files=files,
        told=lambda part: told(SHEETS_PCT + int((PACKED_PCT - SHEETS_PCT) * part)),
    )
    return sha256_of(path)


def read_record(row: CompletionFile) -> dict[str, Any]:
    """The house's record as it stands, read in one go.

    Whoever adds a sign-off holds the house's row, so the chain does not grow in between.
    """
    with transaction.atomic():
        house = Property.objects.select_for_update().get(pk=row.property_id)
        parts = {**read_parts(house), "owed": [asdict(one) for one in owed(house)]}
    for item in parts["evidence"]:
        item["kept"] = how_kept(item["sha256"])
    broken = first_mismatch(Link(link["entry"], link["digest"]) for link in parts["sign_offs"])
    parts["chain_mismatch"] = broken.sentence if broken else None
    # What was hashed and what is told must be one text: through JSON and back.
    plain: dict[str, Any] = json.loads(json.dumps(parts))
    return records.complete(plain, as_of=row.requested_at.isoformat())


def how_kept(sha256: str) -> str:
    """Whether a file of evidence is still what it was when it came."""
    path = store.path_of(sha256)
    if not path.is_file():
        return "missing"
    return "unaltered" if sha256_of(path) == sha256 else "altered"


def thumbnail(sha256: str) -> bytes | None:
    """The small picture kept beside a photo; None where there is none that can be shown."""
    try:
        content = store.thumbnail_of(sha256).read_bytes()
        with Image.open(io.BytesIO(content), formats=["JPEG"]) as picture:
            picture.load()
    except (OSError, SyntaxError, ValueError):
        # Damaged or gone: the sheets do without, the file itself is what counts.
        return None
    return content
