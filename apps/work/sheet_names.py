"""Rooms, floors, trades, tools and packages by the names that a sheet calls them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from apps.floors.models import Floor
from apps.property.models import Property, Room
from apps.work.models import Tool, Trade, WorkPackage
from renovation.errors import Problem

MOST_NAMED = 12


class NotKnown(ValueError):
    """A name that stands for nothing, or for more than one; perhaps in another column."""

    def __init__(self, detail: str, column: str = "") -> None:
        super().__init__(detail)
        self.column = column


class HouseNames:
    """What the names of one house stand for: as written, else whatever the capitals."""

    def __init__(self, house: Property) -> None:
        self.rows: dict[str, list[Any]] = {
            "room": list(Room.objects.filter(property=house)),
            "floor": list(Floor.objects.filter(property=house)),
            "trade": list(Trade.objects.filter(property=house)),
            "tool": list(Tool.objects.filter(property=house)),
            "package": list(WorkPackage.objects.filter(property=house)),
        }

    def one(self, kind: str, name: str) -> Any:
        """The row of a name; None for no name.

        Raises:
            NotKnown: when there is none, or more than one.
        """
        if not name:
            return None
        found = self.called(kind, name)
        if not found:
            there = ", ".join(str(row) for row in self.rows[kind][:MOST_NAMED])
            raise NotKnown(
                f"There is no {kind} “{name}” here; there is {there}."
                if there
                else f"There is no {kind} “{name}” here, nor any other."
            )
        return only(found, kind, name)

    def tools(self, names: Iterable[str]) -> list[Tool]:
        return [self.one("tool", name) for name in names]

    def package(self, title: str) -> WorkPackage | None:
        """The package of a title; None when there is none yet.

        Raises:
            NotKnown: when there is more than one.
        """
        found = self.called("package", title)
        return only(found, "package", title) if found else None

    def add_package(self, package: WorkPackage) -> None:
        self.rows["package"].append(package)

    def called(self, kind: str, name: str) -> list[Any]:
        folded = name.casefold()
        exact = [row for row in self.rows[kind] if str(row) == name]
        return exact or [row for row in self.rows[kind] if str(row).casefold() == folded]


def only(found: list[Any], kind: str, name: str) -> Any:
    if len(found) > 1:
        raise NotKnown(f"There is more than one {kind} called “{name}”; rename one first.")
    return found[0]


def error(column: str, detail: str) -> dict[str, str]:
    return {"pointer": f"/{column}", "detail": detail}


def wrong(column: str, detail: str) -> Problem:
    return Problem("invalid", detail, status_code=400, errors=[error(column, detail)])
