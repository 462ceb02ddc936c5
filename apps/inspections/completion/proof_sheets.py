"""The sheets' second half: hold points, sign-offs and all that proves what was seen."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from apps.inspections.completion.words import NOTHING, Words, count, day, held_by, label, said

RESULTS = {
    "accepted": "Accepted",
    "accepted_with_conditions": "Accepted with conditions",
    "rejected": "Rejected",
    "overridden": "Overridden by the owner: went on without the look",
}
KEPT = {
    "unaltered": "",
    "altered": "The file on disk is not the one that was uploaded: its digest differs. Left out.",
    "missing": "The file was not on disk when this was made. Left out.",
}


def inspection(row: dict[str, Any], words: Words) -> dict[str, Any]:
    where = [words.name("rooms", room) for room in row["rooms"]]
    if row["floor"] is not None:
        where.insert(0, words.name("floors", row["floor"]))
    held = [one for one in words.record["evidence"] if one["inspection"] == row["id"]]
    there = {one["requirement"] for one in held}
    return {
        "title": row["title"],
        "by": said(row["by"]),
        "state": said(row["state"]),
        "where": ", ".join(where),
        "looks_at": "; ".join(words.tasks[task]["title"] for task in row["looks_at"]),
        "blocks": "; ".join(words.tasks[task]["title"] for task in row["blocks"]),
        "notice": (
            f"{count(row['notice_working_days'], 'working day')}; "
            f"given {words.at(row['notified_at'])}; booked {words.at(row['booked_starts'])}"
        ),
        "reference": row["reference"],
        "note": row["note"],
        "source": row["source"],
        "required": [
            f"{wanted['title']}: {'on file' if wanted['key'] in there else 'NOT ON FILE'}"
            for wanted in row["required_evidence"]
        ],
    }


def sign_off(row: dict[str, Any], words: Words) -> dict[str, Any]:
    entry = row["entry"]
    corrected = next(
        (
            one["entry"]["number"]
            for one in words.record["sign_offs"]
            if one["entry"]["supersedes"] == entry["number"]
        ),
        "",
    )
    stated = entry["stated"]
    task = words.tasks.get(entry["task"])
    return {
        "number": str(entry["number"]),
        "title": stated.get("inspection", {}).get("title")
        or words.name("inspections", entry["inspection"], "title"),
        "result": RESULTS[entry["result"]],
        "seen": f"{entry['seen_by']}, {words.at(entry['seen_at'])}",
        "recorded": f"{stated.get('recorded_by', '')}, {words.at(entry['recorded_at'])}",
        "task": task["title"] if task else "",
        "note": entry["note"],
        "reason": entry["reason"],
        "corrects": str(entry["supersedes"] or ""),
        "corrected_by": str(corrected),
        "digest": row["digest"],
        "previous": entry["previous_digest"] or "none: this is the first",
    }


def condition(row: dict[str, Any], words: Words) -> dict[str, Any]:
    entry = words.by_id["sign_offs"][row["sign_off"]]["entry"]
    return {
        "text": row["text"],
        "of": f"Sign-off {entry['number']}, "
        + words.name("inspections", entry["inspection"], "title"),
        "due": day(row["due_on"]),
        "cleared": f"Cleared {words.at(row['cleared_at'])} by {row['cleared_by']}"
        if row["cleared_at"]
        else "NOT CLEARED",
        "how": row["cleared_note"],
        "evidence": held_by(words, "condition", row["id"]),
    }


def deviation(row: dict[str, Any], words: Words) -> dict[str, Any]:
    decided = ""
    if row["decided_by"] is not None:
        decided = f"by sign-off {words.by_id['sign_offs'][row['decided_by']]['entry']['number']}"
    if row["decided_letter"] is not None:
        decided += f" by the letter {label(words.by_id['evidence'][row['decided_letter']])}"
    place = words.name("floors", row["floor"])
    return {
        "where": ", ".join(part for part in (place, row["joist_mark"]) if part),
        "specified": row["specified"],
        "built": row["built"],
        "why": row["why"],
        "state": said(row["state"]),
        "put": words.at(row["put_at"]),
        "decided": f"{words.at(row['decided_at'])} {decided}".strip(),
        "check": list(flattened(row["check_result"])),
        "evidence": held_by(words, "deviation", row["id"]),
    }


def flattened(value: Any, name: str = "") -> Iterable[list[str]]:
    """A check's answer, whatever its shape, as rows of name and value."""
    if isinstance(value, dict):
        for key in value:
            yield from flattened(value[key], f"{name} › {key}" if name else str(key))
    elif isinstance(value, list):
        for place, item in enumerate(value, start=1):
            yield from flattened(item, f"{name} › {place}" if name else str(place))
    elif value is not None:
        yield [name or "result", {True: "yes", False: "no"}[value] if isinstance(value, bool)
               else str(value)]  # fmt: skip


def certificate(row: dict[str, Any], words: Words) -> list[str]:
    return [
        row["title"],
        words.name("trades", row["trade"]) or said(row["craft"]),
        day(row["due_on"]),
        day(row["received_on"]) if row["received_on"] else "NOT RECEIVED",
        held_by(words, "certificate", row["id"]) or NOTHING,
    ]


def evidence(row: dict[str, Any], words: Words, has_thumbnail: bool) -> dict[str, Any]:
    return {
        "label": label(row),
        "title": row["title"],
        "about": evidence_of(row, words),
        "taken": f"taken {words.at(row['taken_at'])}" if row["taken_at"] else "no date in the file",
        "uploaded": f"uploaded {words.at(row['uploaded_at'])} by {row['uploaded_by']}",
        "size": f"{said(row['kind'])}, {row['byte_size']:,} bytes",
        "file": row["file"],
        "sha256": row["sha256"],
        "kept": KEPT[row["kept"]],
        "thumbnail": f"/thumb-{row['id']}" if has_thumbnail else "",
    }


def evidence_of(row: dict[str, Any], words: Words) -> str:
    """What a piece of evidence shows, by what it hangs on."""
    names = []
    if row["inspection"] is not None:
        names.append(words.name("inspections", row["inspection"], "title"))
    for part in ("condition", "deviation", "certificate", "finding"):
        if row[part] is not None:
            (owner,) = (one for one in words.record[f"{part}s"] if one["id"] == row[part])
            names.append(
                f"{said(part)}: {owner.get('title') or owner.get('text') or owner['built']}"
            )
    return "; ".join(names)
