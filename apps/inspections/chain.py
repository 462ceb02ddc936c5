"""The chain of a house's sign-offs: what is hashed, how, and where it first does not match.

Each sign-off's digest is the SHA-256, in lower-case hexadecimal, of the canonical JSON of its
entry, and the entry holds the digest of the one before it. Whoever changes, removes or slips
in a row has to recompute every later one, and a copy of any later digest (a printed completion
file, an e-mail) then shows it. Rows cut off at the very end leave a shorter chain that is
consistent in itself: only such a copy, or the states of the inspections, tell of them.

Canonical JSON is RFC 8785 (JSON Canonicalization Scheme) over the values this module admits:
objects with ASCII keys, lists, texts, whole numbers up to 2⁵³ − 1, true, false and null. Keys
are sorted, there is no white space, texts are written in UTF-8 with only the escapes that JSON
demands. Fractions are not admitted, so that no rule for printing them is needed.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

LARGEST_NUMBER = 2**53 - 1


@dataclass(frozen=True, slots=True)
class Link:
    """One row as it is found: its entry without a digest, and the digest it carries."""

    entry: Mapping[str, Any]
    digest: str


@dataclass(frozen=True, slots=True)
class Mismatch:
    """The first place where a chain does not hold. `number` is the sign-off's in its house."""

    number: int
    sentence: str


def canonical(value: Any) -> bytes:
    """The canonical JSON of a value, in UTF-8.

    Raises:
        ValueError: a value this form does not admit, such as a fraction.

    Source: RFC 8785 sections 3.2.1 to 3.2.3.
    """
    refuse_inadmissible(value)
    text = json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return text.encode("utf-8")


def refuse_inadmissible(value: Any) -> None:
    if isinstance(value, dict):
        for key, inner in value.items():
            if not isinstance(key, str) or not key.isascii():
                raise ValueError(f"the key {key!r} is not ASCII text")
            refuse_inadmissible(inner)
    elif isinstance(value, list):
        for inner in value:
            refuse_inadmissible(inner)
    elif isinstance(value, bool | str | type(None)):
        return
    elif not isinstance(value, int) or abs(value) > LARGEST_NUMBER:
        raise ValueError(f"{value!r} has no canonical form here")


def instant(at: datetime) -> str:
    """An instant as it is hashed: UTC, always with six decimals.

    Raises:
        ValueError: `at` does not say which zone it is in.
    """
    if at.tzinfo is None:
        raise ValueError(f"{at} has no zone")
    return at.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"


def digest_of(entry: Mapping[str, Any]) -> str:
    """The SHA-256 of an entry, in lower-case hexadecimal."""
    return hashlib.sha256(canonical(dict(entry))).hexdigest()


def first_mismatch(links: Iterable[Link]) -> Mismatch | None:
    """Walk a house's chain in the order of its numbers; None when all of it holds."""
    expected, before = 1, ""
    for link in links:
        number = int(link.entry["number"])
        if number != expected:
            return Mismatch(number, f"number {expected} is missing before number {number}")
        if link.entry["previous_digest"] != before:
            return Mismatch(number, f"number {number} does not follow the one before it")
        if digest_of(link.entry) != link.digest:
            return Mismatch(number, f"number {number} is not what its digest was made of")
        expected, before = number + 1, link.digest
    return None
