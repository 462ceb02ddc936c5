"""Whose calendars there can be, and which of them have an address."""

from __future__ import annotations

from typing import Any

from apps.planning.models import CalendarFeed, Person
from apps.property.models import Property
from apps.work.models import Trade


def calendars(house: Property) -> dict[str, Any]:
    """Everybody who may have a calendar. Three queries."""
    feeds = list(CalendarFeed.objects.filter(property=house))
    of_person = {feed.person_id: feed for feed in feeds if feed.person_id}
    of_trade = {feed.trade_id: feed for feed in feeds if feed.trade_id}
    people = Person.objects.filter(property=house).order_by("role", "name")
    trades = Trade.objects.filter(property=house).order_by("name")
    return {
        "calendars": [
            *(
                entry(
                    "person", person, of_person.get(person.pk),
                    "All work, visits, inspections and last days for notices."
                    if person.role == Person.Role.CREW
                    else "The work that takes more than one.",
                )
                for person in people
            ),
            *(
                entry("trade", trade, of_trade.get(trade.pk), "Their own visits and tasks.")
                for trade in trades
            ),
        ]
    }  # fmt: skip


def entry(
    kind: str, whose: Person | Trade, feed: CalendarFeed | None, tells: str
) -> dict[str, Any]:
    return {
        "kind": kind,
        "id": whose.pk,
        "name": whose.name,
        "tells": tells,
        "feed": feed,
        "since": feed.address_made_at if feed else None,
    }
