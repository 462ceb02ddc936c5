"""How wet a piece was, and how it should dry: readings, the likely curve and its band."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil

from apps.pages.drawing.svg import element
from apps.pages.drawing.timber_parts import WIDE, drawing, line, words

LEFT, RIGHT, TOP, LOW = 34.0, WIDE - 8.0, 14.0, 176.0
DEEP = 206


@dataclass(frozen=True, slots=True)
class Forecast:
    """A point of the curve [%]: likely, and the band that holds four times in five."""

    on: date
    likely_pct: float
    low_pct: float
    high_pct: float


@dataclass(frozen=True, slots=True)
class Chart:
    """What is drawn: `readings` as (day, corrected %), the curve, the limit, today, dry days."""

    mark: str
    readings: tuple[tuple[date, float], ...]
    points: tuple[Forecast, ...]
    limit_pct: float
    today: date
    dry_on: date | None = None

    @property
    def days(self) -> tuple[date, date]:
        found = [day for day, _ in self.readings] + [one.on for one in self.points] + [self.today]
        return min(found), max(found)

    @property
    def top_pct(self) -> int:
        found = [pct for _, pct in self.readings] + [one.high_pct for one in self.points]
        return max(ceil(max([self.limit_pct, *found]) / 5) * 5 + 5, 30)

    def at(self, on: date, pct: float) -> tuple[float, float]:
        first, last = self.days
        part = (on - first).days / max((last - first).days, 1)
        return LEFT + part * (RIGHT - LEFT), LOW - pct / self.top_pct * (LOW - TOP)


def moisture_chart(chart: Chart, sentence: str) -> str:
    """The chart; `sentence` says the same in words."""
    shown = [*grid(chart), *curve(chart), *lines_across(chart)]
    for on, pct in chart.readings:
        x, y = chart.at(on, pct)
        shown += [
            line(x - 4, y - 4, x + 4, y + 4, width=2),
            line(x - 4, y + 4, x + 4, y - 4, width=2),
        ]
    return drawing(f"Moisture of {chart.mark}. {sentence}", DEEP, "".join(shown))


def grid(chart: Chart) -> list[str]:
    found = [line(LEFT, TOP, LEFT, LOW), line(LEFT, LOW, RIGHT, LOW)]
    step = 10 if chart.top_pct <= 60 else 20
    for pct in range(0, chart.top_pct + 1, step):
        _, y = chart.at(chart.today, pct)
        found += [line(LEFT - 4, y, LEFT, y), words(LEFT - 6, y, f"{pct}", size=11, anchor="end")]
    first, last = chart.days
    found.append(words(LEFT, LOW + 11, short(first), size=11, anchor="start"))
    if last != first:
        found.append(words(RIGHT, LOW + 11, short(last), size=11, anchor="end"))
    found.append(words(LEFT + 4, 5, "% of the dry mass", size=11, anchor="start"))
    return found


def curve(chart: Chart) -> list[str]:
    """The band in upright strokes, which need no colour, and the likely line through it."""
    if not chart.points:
        return []
    upper = [chart.at(one.on, one.high_pct) for one in chart.points]
    lower = [chart.at(one.on, one.low_pct) for one in chart.points]
    likely = [chart.at(one.on, one.likely_pct) for one in chart.points]
    return [
        element("polygon", class_="band", points=spots([*upper, *reversed(lower)]), fill="none",
                stroke="#000", stroke_width=0.7),
        *(
            line(x, high, x, low, width=0.6)
            for (x, high), (_, low) in zip(upper, lower, strict=True)
        ),
        element("polyline", points=spots(likely), fill="none", stroke="#000", stroke_width=2.5),
    ]  # fmt: skip


def lines_across(chart: Chart) -> list[str]:
    """The limit, today, and the day it should be dry."""
    _, y = chart.at(chart.today, chart.limit_pct)
    found = [
        line(LEFT, y, RIGHT, y, width=1.6, dash="8 4"),
        words(RIGHT, y - 7, f"limit {chart.limit_pct:g} %", size=11.5, anchor="end"),
    ]
    x, _ = chart.at(chart.today, 0)
    middle = min(max(x, LEFT + 17), RIGHT - 17)
    found += [line(x, TOP, x, LOW, dash="2 3"), words(middle, LOW + 24, "today", size=11)]
    if chart.dry_on is not None and chart.today < chart.dry_on <= chart.days[1]:
        x, _ = chart.at(chart.dry_on, 0)
        found.append(line(x, y, x, LOW, width=1.6))
        room = x + 100 < RIGHT
        told = f"dry {short(chart.dry_on)}"
        at = x + 5 if room else x - 5
        found.append(words(at, LOW - 10, told, size=11.5, anchor="start" if room else "end"))
    return found


def spots(points: Sequence[tuple[float, float]]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points)


def short(on: date) -> str:
    return f"{on.day} {on:%b %Y}"
