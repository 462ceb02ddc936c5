"""How the record's ids, instants and codes are said on the printed sheets."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

NOTHING = "–"


class Words:
    """The record, and how its ids, instants and codes are said."""

    def __init__(self, record: dict[str, Any]) -> None:
        self.record = record
        self.zone = ZoneInfo(record["house"]["timezone"])
        self.by_id = {
            part: {row["id"]: row for row in record[part]}
            for part in (
                "rooms", "floors", "trades", "inspections", "storeys", "evidence", "sign_offs"
            )
        }  # fmt: skip
        self.tasks = {
            task["id"]: task for package in record["packages"] for task in package["tasks"]
        }

    def name(self, part: str, row_id: int | None, field: str = "name") -> str:
        return self.by_id[part][row_id][field] if row_id is not None else ""

    def at(self, instant: str | None) -> str:
        if instant is None:
            return NOTHING
        return datetime.fromisoformat(instant).astimezone(self.zone).strftime("%a %-d %b %Y, %H:%M")

    def on(self, instant: str | None) -> str:
        """The local date of an instant."""
        if instant is None:
            return NOTHING
        return datetime.fromisoformat(instant).astimezone(self.zone).strftime("%-d %b %Y")


def instant(iso: str) -> datetime:
    return datetime.fromisoformat(iso)


def day(iso: str | None) -> str:
    return date.fromisoformat(iso).strftime("%-d %b %Y") if iso else NOTHING


def said(code: str) -> str:
    """A code as words: `building_control` is "Building control"."""
    return code.replace("_", " ").capitalize()


def count(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def hours(minutes: int) -> str:
    return f"{minutes // 60} h {minutes % 60:02d}" if minutes > 0 else NOTHING


def held_by(words: Words, part: str, row_id: int) -> str:
    return ", ".join(label(row) for row in words.record["evidence"] if row[part] == row_id)


def label(row: dict[str, Any]) -> str:
    """What a piece of evidence is called on paper."""
    return f"E{row['id']}"
