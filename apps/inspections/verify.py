"""Does a house's record still say what it said? The chain, what hangs on it, and the files."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import Path

from apps.inspections.chain import Link, first_mismatch
from apps.inspections.entries import entry_of, ids_of, signed_ids_of
from apps.inspections.evidence import store
from apps.inspections.models import SIGNED_OFF, Evidence, Inspection, SignOff
from apps.property.models import Property

CHUNK_BYTES = 1024 * 1024
ENDS = frozenset({*SIGNED_OFF, Inspection.State.REJECTED})


def first_trouble(house: Property) -> str | None:
    """The first thing of a house that does not match, in a sentence; None when all is well."""
    for look_for in (
        chain_trouble, moved_trouble, condition_trouble, state_trouble, file_trouble,
    ):  # fmt: skip
        if found := look_for(house):
            return found
    return None


def chain_trouble(house: Property) -> str | None:
    """A sign-off that was altered, removed or slipped in."""
    rows = SignOff.objects.filter(property=house).select_related("supersedes").order_by("number")
    links = (Link(entry_of(row), row.digest) for row in rows.iterator(chunk_size=500))
    found = first_mismatch(links)
    return f"Sign-offs of {house}: {found.sentence}." if found else None


def moved_trouble(house: Property) -> str | None:
    """A sign-off of a house that moved which was turned to another row since.

    What was one thing when it was signed is one thing here, and what were two are two.
    """
    there: dict[tuple[str, str, int], int] = {}
    here: dict[tuple[str, str, int], int] = {}
    rows = SignOff.objects.filter(property=house).exclude(as_signed=None).order_by("number")
    for row in rows.iterator(chunk_size=500):
        moved_in = str((row.as_signed or {})["moved_in"])
        signed, now = signed_ids_of(row), ids_of(row)
        for name in ("property", "inspection", "task"):
            was, has = signed[name], now[name]
            same = (was is None) == (has is None)
            if same and was is not None and has is not None:
                same = (
                    there.setdefault((moved_in, name, was), has) == has
                    and here.setdefault((moved_in, name, has), was) == was
                )
            if not same:
                return (
                    f"Sign-offs of {house}: number {row.number} is about another {name} than when "
                    "it was signed."
                )
    return None


def condition_trouble(house: Property) -> str | None:
    """A condition that is not what was said with its sign-off."""
    rows = SignOff.objects.filter(property=house).prefetch_related("conditions")
    for row in rows.order_by("number"):
        said = [(item["text"], item["due_on"]) for item in row.stated["conditions"]]
        kept = [
            (item.text, item.due_on.isoformat() if item.due_on else None)
            for item in row.conditions.all()
        ]
        if said != kept:
            return (
                f"Conditions of {house}: those of sign-off number {row.number} are not what was "
                "said with it."
            )
    return None


def state_trouble(house: Property) -> str | None:
    """An inspection that claims another end than the latest look gave it: so it is, too, when
    the last rows of the chain were cut off."""
    latest: dict[int, str] = {}
    looks = SignOff.objects.filter(property=house, superseded_by=None)
    for row in looks.exclude(result=SignOff.Result.OVERRIDDEN).order_by("seen_at", "number"):
        latest[row.inspection_id] = row.result
    for inspection in Inspection.objects.filter(property=house).order_by("pk"):
        claims = inspection.state if inspection.state in ENDS else None
        given = latest.get(inspection.pk)
        if claims != given and (claims is not None or given in SIGNED_OFF):
            state = inspection.state.replace("_", " ")
            last = given.replace("_", " ") if given else "there is none"
            return (
                f"Inspection {inspection.pk} of {house} (“{inspection}”): it is {state}, but its "
                f"latest sign-off: {last}."
            )
    return None


def file_trouble(house: Property) -> str | None:
    """A file that is not there or not the one that was kept."""
    for row in Evidence.objects.filter(property=house).order_by("pk").iterator():
        named = f"Evidence {row.pk} of {house} (“{row}”)"
        try:
            path = store.path_of(row.sha256)
        except ValueError:
            return f"{named}: what it carries is no digest."
        if not path.is_file():
            return f"{named}: its file is not there."
        if sha256_of(path) != row.sha256:
            return f"{named}: its file is not the one that was kept."
    return None


def sha256_of(path: Path) -> str:
    whole = hashlib.sha256()
    for chunk in chunks(path):
        whole.update(chunk)
    return whole.hexdigest()


def chunks(path: Path) -> Iterator[bytes]:
    with path.open("rb") as file:
        while chunk := file.read(CHUNK_BYTES):
            yield chunk
