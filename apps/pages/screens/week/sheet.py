"""The week and a trade's access sheet on A4, black on white."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from apps.inspections.completion.pdf import pdf_of
from apps.pages.access_sheet import LAYERS, AccessSheet, OpenFloor
from apps.pages.drawing.plan import on_paper
from apps.pages.wording import Entry
from apps.planning.clock import say, say_date
from apps.property.models import Property

WEEK = Path(__file__).with_name("week.typ")
ACCESS = Path(__file__).with_name("access.typ")
WIDE_MM, TALL_MM = 186, 170
"""Room for one floor's drawing on A4 upright, under its heading and over its boards."""


def access_pdf(sheet: AccessSheet) -> bytes:
    """The trade's sheet: when, what to do, what is isolated, what is dangerous, each floor."""
    when = "no time is known yet"
    if sheet.starts and sheet.ends:
        starts, ends = (at.astimezone(sheet.zone) for at in (sheet.starts, sheet.ends))
        when = f"{say(starts)}–{ends:%H:%M}" + ("" if sheet.agreed else ", planned, not agreed yet")
    told: dict[str, Any] = {
        "title": sheet.title,
        "trade": sheet.trade,
        "place": sheet.place,
        "as_of": say(sheet.as_of.astimezone(sheet.zone)),
        "when": when,
        "note": sheet.note,
        "work": list(sheet.work),
        "isolated": list(sheet.isolated),
        "hazards": [[one.title, one.where, one.what_now] for one in sheet.hazards],
        "ring": [[one.name, one.phone or "no number noted"] for one in sheet.ring],
        "cautions": list(sheet.cautions),
        "floors": [floor_told(one) for one in sheet.floors],
    }
    return pdf_of(told, made_at=sheet.as_of, pictures={}, template=ACCESS)


def floor_told(floor: OpenFloor) -> dict[str, Any]:
    drawing = on_paper(
        floor.plan, floor.window, most_width_mm=WIDE_MM, most_height_mm=TALL_MM, layers=LAYERS
    )
    return {
        "name": f"{floor.storey}: {floor.name}",
        "plan": drawing.svg,
        "width_mm": drawing.paper_width_mm,
        "scale": drawing.scale,
        "metre_mm": round(1000 / (drawing.scale or 1), 1),
        "openings": [
            [one.letter, one.purpose, listed(one.open_marks), listed(one.shut_marks)]
            for one in floor.openings
        ],
        "ways": ", ".join(f"{number} {name}" for number, name in floor.ways),
        "up": listed(floor.up_marks),
        "unsafe": listed(floor.unsafe_marks),
    }


def week_pdf(house: Property, told: dict[str, Any], *, now: datetime) -> bytes:
    """The week. `told` is what the page shows: days, alerts, open boards, what does not fit."""
    zone = ZoneInfo(house.timezone)
    alerts: dict[str, list[str]] = {"stop": [], "act": [], "watch": []}
    for alert in [*told["alerts"], *told["more_alerts"]]:
        alerts[alert["severity"]].append(alert["sentence"])
    page: dict[str, Any] = {
        "house": str(house),
        "number": told["number"],
        "dates": f"{say_date(told['monday'])} – {say_date(told['sunday'])}",
        "as_of": say(now.astimezone(zone)),
        "plan": told["plan_sentence"] or "No plan yet.",
        "stops": alerts["stop"],
        "acts": alerts["act"],
        # Of the days that are past, only those with something on them.
        "days": [
            day_told(day, zone)
            for day in [*told["past_days"], *told["days"]]
            if day["entries"] or day in told["days"]
        ],
        "open": [
            [
                need.for_name,
                f"{need.reason}. {need.floor}: {listed(need.marks)}",
                f"{need.release}"
                + (f", planned {say(need.until.astimezone(zone))}" if need.until else ""),
            ]
            for need in told["open_boards"]
        ],
        "misfits": [[row["name"], row["sentence"]] for row in told["misfits"]],
    }
    return pdf_of(page, made_at=now, pictures={}, template=WEEK)


def day_told(day: dict[str, Any], zone: ZoneInfo) -> dict[str, Any]:
    def clock(at: datetime | None) -> str:
        return f"{at.astimezone(zone):%H:%M}" if at else ""

    return {
        "date": say_date(day["date"]),
        "hours": ", ".join(
            f"{row['name']} {clock(row['starts'])}–{clock(row['ends'])}" for row in day["hours"]
        )
        or "no working time",
        "entries": [
            [
                clock(entry.starts) + (f"–{clock(entry.ends)}" if entry.ends else ""),
                what(entry),
                "; ".join(entry.notes),
            ]
            for entry in day["entries"]
        ],
        "boards": [
            f"{line['verb']}{line['how']}: {listed(line['marks'])} ({line['floor']})"
            for line in day["boards"]
        ],
        "ways": [f"{way['name']}: {way['way_back']}" for way in day["cut_ways"]],
    }


def what(entry: Entry) -> str:
    """One line of a day: who comes or what is seen, then what, where and how likely."""
    who = {
        "visit": f"{entry.who} comes ({entry.state}): ",
        "look": f"To be seen by {entry.who} ({entry.state}): ",
        "delivery": "Delivery: ",
    }.get(entry.kind, "")
    place = f", {entry.place}" if entry.place else ""
    return f"{who}{entry.title}{place}. {entry.odds}".strip()


def listed(marks: Sequence[str]) -> str:
    """Every mark: paper has no second tap."""
    return ", ".join(marks) or "none"
