"""The week in words, for the terminal and the pages alike."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from apps.floors.words import listed
from apps.planning.clock import say


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of a day: work, a visit, something to be seen, or a delivery.

    Attributes:
        kind: `work`, `visit`, `look` or `delivery`.
        who: the trade that comes; empty for the crew's own work.
        state: of a visit or an inspection, e.g. "agreed"; else empty.
        ends: None for a delivery.
        why: why it is not sooner, a sentence; empty when there is nothing to say.
        odds: how likely all is ready for it, a sentence; empty when nothing has to be.
        visit: its id; 0 for what is none.
    """

    kind: str
    starts: datetime
    ends: datetime | None
    title: str
    who: str = ""
    place: str = ""
    state: str = ""
    notes: tuple[str, ...] = ()
    why: str = ""
    odds: str = ""
    visit: int = 0


@dataclass(frozen=True, slots=True)
class OpenBoards:
    """The boards of one floor that one need keeps open.

    `until` is when the plan has the release; None: nobody knows.
    """

    marks: tuple[str, ...]
    floor: str
    open_as: str
    for_name: str
    reason: str
    release: str
    until: datetime | None


def entries(day: dict[str, Any]) -> list[Entry]:
    """A day's lines in the order of the clock."""
    return sorted(
        [
            *(
                Entry(
                    "work", row["starts"], row["ends"], row["title"], place=row["place"],
                    notes=tuple(row["watch"]), why=why_not_sooner(row),
                )
                for row in day["stints"]
            ),
            *(
                Entry(
                    "visit", row["starts"], row["ends"], row["title"], who=row["trade"],
                    state=row["state"], why=why_not_sooner(row), odds=odds_of(row),
                    visit=row["visit"],
                )
                for row in day["visits"]
            ),
            *(
                Entry(
                    "look", row["starts"], row["ends"], row["title"],
                    who=row["by"].replace("_", " "),
                    state=row["state"].replace("_", " "), why=why_not_sooner(row),
                    odds=odds_of(row),
                )
                for row in day["inspections"]
            ),
            *(
                Entry("delivery", row["expected_at"], None, row["title"])
                for row in day["deliveries"]
            ),
        ],
        key=lambda entry: entry.starts,
    )  # fmt: skip


def why_not_sooner(row: dict[str, Any]) -> str:
    reason = row["why_not_sooner"]
    return "" if not reason or reason["code"] == "none" else str(reason["sentence"])


def duration(minutes: int) -> str:
    """ "45 min", "1 h", "2 h 15 min"."""
    hours, rest = divmod(minutes, 60)
    return " ".join(
        [*([f"{hours} h"] if hours else []), *([f"{rest} min"] if rest or not hours else [])]
    )


def odds_of(row: dict[str, Any]) -> str:
    odds = row["odds"]
    return "" if not odds or odds["words"] == "sure" else str(odds["sentence"])


def plan_sentence(plan: dict[str, Any], zone: ZoneInfo) -> str:
    """When a plan was made and how good it is known to be."""
    quality = "proven: no plan of these tasks does better on its aims"
    if not plan["proven"]:
        quality = "the best found in the time it had"
        if plan["gap"] is not None:
            quality += f", within {max(plan['gap'], 0.001):.1%} of the bound"
    return f"Planned as of {say(plan['as_of'].astimezone(zone))}; {quality}."


def plan_because(because: str, by: str) -> str:
    """Why a plan was made: somebody asked, or it came by itself.

    Args:
        by: who asked; empty where that account is gone.
    """
    if because == "night":
        return "Made by itself, at night."
    if because == "edits":
        return "Made by itself, after something was changed."
    return f"Asked for by {by}." if by else "Asked for."


def way_back(night: dict[str, Any]) -> str:
    """What restores a household route tonight, in as few words as it takes."""
    steps = [
        f"{verb} {boards_by_floor(night[key])}"
        for key, verb in (("lay_loose", "lay loose"), ("deck_over", "deck over"))
        if night[key]
    ]
    return f"{'; '.join(steps)}." if steps else str(night["sentence"])


def boards_by_floor(boards: Sequence[dict[str, Any]]) -> str:
    """ "B8.1 and B9.1 in Hall floor": marks count anew on each floor."""
    marks: dict[str, list[str]] = {}
    for board in boards:
        marks.setdefault(board["floor_name"], []).append(board["mark"])
    return "; ".join(f"{listed(names)} in {floor}" for floor, names in marks.items())


def open_boards(holds: Sequence[dict[str, Any]], floors: Mapping[int, str]) -> list[OpenBoards]:
    """Holds that nothing has released, one entry for each need; `floors` names them by id."""
    by_need: dict[int, list[dict[str, Any]]] = {}
    for hold in holds:
        if not hold["released"]:
            by_need.setdefault(hold["access_need"], []).append(hold)
    return [
        OpenBoards(
            marks=tuple(hold["mark"] for hold in group),
            floor=floors[group[0]["floor"]],
            open_as=group[0]["open_as"],
            for_name=group[0]["for"]["name"],
            reason=group[0]["reason"],
            release=group[0]["release"].rstrip("."),
            until=group[0]["open_until"],
        )
        for group in by_need.values()
    ]
