"""The record of a house as one plain document: what record.json holds, and in which bytes.

The parts come from the database as lists of plain values; here they become one document whose
bytes depend on nothing but those values, so that its SHA-256 means something.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

FORMAT = "house-record"
FORMAT_VERSION = 1
SCHEMA_FILE = Path(__file__).with_name("record.schema.json")
CAUTIONS = (
    (
        "This record is a preliminary aid kept by the person who did the work. It is no "
        "completion certificate and no approval."
    ),
    (
        "Structural matters are for a structural engineer; electrical, gas and asbestos work is "
        "for people licensed for it; their certificates decide, not this record."
    ),
    (
        "Building control or the approved inspector decides what had to be seen and whether it "
        "was enough."
    ),
    (
        "Checks quoted here are snapshots of a calculation with the values known that day. They "
        "do not replace a design by a chartered engineer."
    ),
)
EXTENSIONS = {"image/jpeg": ".jpg", "image/png": ".png", "application/pdf": ".pdf"}
PARTS = (
    "house", "members", "trades", "storeys", "rooms", "floors", "board_moves", "packages",
    "findings", "inspections", "sign_offs", "conditions", "deviations", "certificates",
    "evidence", "owed",
    "chain_mismatch",
)  # fmt: skip


def complete(parts: dict[str, Any], *, as_of: str) -> dict[str, Any]:
    """The whole document.

    Args:
        parts: one value for each name in `PARTS`.
        as_of: the instant the record tells of (ISO 8601 with offset).

    Raises:
        ValueError: a part is missing or unknown.
    """
    if set(parts) != set(PARTS):
        raise ValueError(f"not the parts of a record: {sorted(set(parts) ^ set(PARTS))}")
    return {
        "$schema": SCHEMA_FILE.name,
        "format": FORMAT,
        "format_version": FORMAT_VERSION,
        "as_of": as_of,
        "cautions": list(CAUTIONS),
        **parts,
    }


def record_bytes(record: dict[str, Any]) -> bytes:
    """UTF-8 JSON with sorted names and one line per value: the same record, the same bytes."""
    said = json.dumps(record, ensure_ascii=False, sort_keys=True, indent=1, allow_nan=False)
    # Half a surrogate pair, which JSON can hold and UTF-8 cannot, stays the escape it was.
    return f"{said}\n".encode("utf-8", "backslashreplace")


def name_in_bundle(evidence_id: int, sha256: str, content_type: str) -> str:
    """Where a piece of evidence lies in the ZIP. Nothing of it is typed by a person."""
    return f"evidence/{evidence_id:04d}-{sha256[:12]}{EXTENSIONS.get(content_type, '.bin')}"
