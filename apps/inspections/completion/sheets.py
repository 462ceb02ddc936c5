"""The record in the words of the printed sheets: only texts, tables of texts and drawings.

Nothing is decided here that record.json does not say; local times are the house's own.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from apps.inspections.completion import proof_sheets as proof
from apps.inspections.completion.drawing import LETTERS, plan_of_floor, sections_of
from apps.inspections.completion.strokes import Drawing
from apps.inspections.completion.words import NOTHING, Words, count, hours, instant, said

KINDS = {"first_fix": "First fix", "second_fix": "Second fix", "making_good": "Making good"}


def sheets(
    record: dict[str, Any], *, record_sha256: str, thumbnails: Iterable[int] = ()
) -> dict[str, Any]:
    """Everything the sheets show.

    Args:
        record: as record.json holds it.
        record_sha256: of record.json, printed so that the paper belongs to one record.
        thumbnails: ids of the evidence of which there is a small picture, `thumb-<id>`.
    """
    words = Words(record)
    small = set(thumbnails)
    last = record["sign_offs"][-1]["digest"] if record["sign_offs"] else ""
    return {
        "house": record["house"]["name"],
        "address": record["house"]["address"],
        "as_of": words.at(record["as_of"]),
        "zone": record["house"]["timezone"],
        "record_sha256": record_sha256,
        "last_digest": last,
        "chain_mismatch": record["chain_mismatch"] or "",
        "cautions": record["cautions"],
        "facts": facts(words),
        "packages": [package(row, words) for row in record["packages"]],
        "findings": [finding(row, words) for row in record["findings"]],
        "floors": [floor(row, words) for row in record["floors"]],
        "inspections": [proof.inspection(row, words) for row in record["inspections"]],
        "sign_offs": [proof.sign_off(row, words) for row in record["sign_offs"]],
        "conditions": [proof.condition(row, words) for row in record["conditions"]],
        "deviations": [proof.deviation(row, words) for row in record["deviations"]],
        "certificates": [proof.certificate(row, words) for row in record["certificates"]],
        "evidence": [proof.evidence(row, words, row["id"] in small) for row in record["evidence"]],
        "owed": [row["sentence"] for row in record["owed"]],
    }


def facts(words: Words) -> list[list[str]]:
    """The cover's table: what, when, who, and how much of it was seen."""
    record = words.record
    tasks = list(words.tasks.values())
    done = [task for task in tasks if task["status"] == "done"]
    began = min((t["started_at"] or t["finished_at"] for t in done), default=None, key=instant)
    ended = max((task["finished_at"] for task in done), default=None, key=instant)
    looks = record["inspections"]
    seen = [row for row in looks if row["state"].startswith("accepted")]
    still_open = [row for row in record["conditions"] if row["cleared_at"] is None]
    received = [row for row in record["certificates"] if row["received_on"]]
    keepers = [f"{row['name']} ({row['role']})" for row in record["members"]]
    trades = [f"{row['name']} ({said(row['craft']).lower()})" for row in record["trades"]]
    built = record["house"]["built_year"]
    rows = [
        ("Built", str(built) if built else "not known"),
        ("Work", "; ".join(row["title"] for row in record["packages"]) or "none recorded"),
        ("From – to", f"{words.on(began)} – {words.on(ended)}" if done else "nothing finished yet"),
        ("Record kept by", ", ".join(keepers) or "nobody"),
        ("Trades", ", ".join(trades) or "none recorded"),
        ("Tasks done", f"{len(done)} of {len([t for t in tasks if t['status'] != 'dropped'])}"),
        ("Hold points", f"{len(seen)} of {len(looks)} accepted"),
        ("Conditions", f"{len(record['conditions'])}, {len(still_open)} not cleared"),
        ("Deviations", str(len(record["deviations"]))),
        ("Certificates", f"{len(received)} of {len(record['certificates'])} received"),
        ("Evidence", count(len(record["evidence"]), "file")),
        ("Still owed", f"{len(record['owed'])} (see the section of that name)"),
    ]
    return [list(row) for row in rows]


def package(row: dict[str, Any], words: Words) -> dict[str, Any]:
    return {
        "title": row["title"],
        "kind": KINDS.get(row["kind"], said(row["kind"])),
        "note": row["note"],
        "tasks": [
            [
                task["title"],
                words.name("rooms", task["room"]) or words.name("floors", task["floor"]) or NOTHING,
                words.name("trades", task["trade"]) or "crew",
                words.on(task["started_at"]),
                words.on(task["finished_at"])
                if task["status"] == "done"
                else said(task["status"]).lower(),
                hours(task["spent_minutes"]),
            ]
            for task in row["tasks"]
        ],
    }


def finding(row: dict[str, Any], words: Words) -> dict[str, Any]:
    return {
        "title": row["title"],
        "kind": said(row["kind"]),
        "where": words.name("rooms", row["room"]) or words.name("floors", row["floor"]),
        "found": words.on(row["found_at"]),
        "note": row["note"],
        "decision": row["decision"] or "Nothing decided yet.",
        "decided": words.on(row["decided_at"]) if row["decided_at"] else "",
    }


def floor(row: dict[str, Any], words: Words) -> dict[str, Any]:
    rooms = [room for room in words.record["rooms"] if room["storey"] == row["storey"]]
    plan, cut = plan_of_floor(row, rooms), sections_of(row)
    lifted = [board["mark"] for board in row["boards"] if board["was_lifted"]]
    open_now = [board["mark"] for board in row["boards"] if board["state"] in {"up", "missing"}]
    return {
        "name": row["name"],
        "storey": words.name("storeys", row["storey"]),
        "about": (
            f"{said(row['construction'])}, boards {row['board_cover_width_mm']} × "
            f"{row['board_thickness_mm']} mm, {row['board_edge']} edges; "
            f"void {row['void_depth_mm'] or 'not measured'}"
            f"{' mm' if row['void_depth_mm'] else ''}."
        ),
        "plan": drawn(
            plan,
            f"Plan of {row['name']} at 1 to {plan.scale}: {count(len(row['joists']), 'joist')}, "
            f"{count(len(row['boards']), 'board')}, of which lifted: {len(lifted)}.",
        ),
        "sections": drawn(cut, f"Joist sections of {row['name']} at 1 to 10.") if cut else None,
        "joists": joists(row["joists"]),
        "lifted": ", ".join(lifted) or "none",
        "open_now": ", ".join(open_now) or "none",
        "moves": [
            [
                words.at(move["moved_at"]),
                ", ".join(move["boards"]),
                move["to_state"],
                move["moved_by"],
                "; ".join(text for text in (move["note"], move["forced_reason"]) if text),
            ]
            for move in words.record["board_moves"]
            if move["floor"] == row["id"]
        ],
    }


def drawn(drawing: Drawing, alt: str) -> dict[str, Any]:
    return {
        "svg": drawing.svg,
        "width_mm": round(drawing.width_mm, 2),
        "height_mm": round(drawing.height_mm, 2),
        "scale": drawing.scale,
        "alt": alt,
    }


def joists(rows: list[dict[str, Any]]) -> list[list[str]]:
    """One line for all joists that are alike, in the order of the first."""
    alike: dict[tuple[str, ...], list[str]] = {}
    for row in rows:
        decayed = [f"{part['from_mm']}–{part['to_mm']}" for part in row["decayed"]]
        key = (
            f"{row['breadth_mm']} × {row['depth_mm']}",
            row["strength_class"] or "not known",
            f"{LETTERS[row['condition']]}  {row['condition']}",
            ", ".join(decayed) or NOTHING,
            str(len(row["cuts"]) or NOTHING),
        )
        alike.setdefault(key, []).append(row["mark"])
    return [[", ".join(marks), *key] for key, marks in alike.items()]
