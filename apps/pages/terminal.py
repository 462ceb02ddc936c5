"""The week on a terminal, for people: the same answer as the API, printed.

Takes what `apps.planning.week.week` and the selectors return; writes to a rich console.
Names people gave may hold square brackets: they are escaped, never read as markup.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import IO, Any, cast
from zoneinfo import ZoneInfo

from django.core.management.base import OutputWrapper
from rich.console import Console
from rich.markup import escape
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from apps.pages.wording import (
    Entry,
    OpenBoards,
    entries,
    open_boards,
    plan_sentence,
    way_back,
)
from apps.planning.clock import say, say_date

SEVERITY = {"stop": ("STOP", "bold red"), "act": ("ACT", "bold yellow"), "watch": ("WATCH", "cyan")}
MARKS_SHOWN = 8


def console_on(stdout: OutputWrapper) -> Console:
    """A console on a command's own output, which then adds no line ends of its own."""
    stdout.ending = ""
    return Console(file=cast("IO[str]", stdout))


def print_week(
    console: Console,
    *,
    house: Any,
    week: dict[str, Any],
    alerts: list[dict[str, Any]],
    holds: list[dict[str, Any]],
    floors: Mapping[int, str],
    today: date,
) -> None:
    """What to stop for and act on, the days from today, what to watch, which boards stay up.

    `floors` names floors by id. Of the days that are past, only those with something on them.
    """
    zone = ZoneInfo(house.timezone)
    console.rule(f"[bold]{escape(house.name)}[/bold] · week {week['week'][-2:]}")
    if week["plan"] is None:
        console.print("No plan yet. `manage.py start` makes one, or POST /api/v1/plans/.")
    else:
        console.print(plan_sentence(week["plan"], zone), style="dim")
    print_alerts(console, [alert for alert in alerts if alert["severity"] != "watch"])
    for day in week["days"]:
        if day["date"] >= today or entries(day):
            print_day(console, day, zone, floors)
    if watching := [alert for alert in alerts if alert["severity"] == "watch"]:
        console.print("\n[bold]To watch[/bold]")
        print_alerts(console, watching)
    print_open_boards(console, open_boards(holds, floors), zone)
    if week["plan"]:
        print_unplaced(console, week["plan"]["unplaced"])
    console.print(
        "\nA preliminary aid. Structural, electrical, gas and asbestos matters are for licensed "
        "or chartered people; the local building control body decides.",
        style="dim",
    )


def print_alerts(console: Console, alerts: list[dict[str, Any]]) -> None:
    if not alerts:
        console.print("Nothing to stop for.")
        return
    table = two_columns()
    for alert in alerts:
        word, style = SEVERITY[alert["severity"]]
        table.add_row(Text(word, style=style), Text(alert["sentence"]))
    console.print(table)


def print_day(
    console: Console, day: dict[str, Any], zone: ZoneInfo, floors: Mapping[int, str]
) -> None:
    def clock(instant: datetime) -> str:
        return f"{instant.astimezone(zone):%H:%M}"

    hours = ", ".join(
        f"{row['name'].split()[0]} {clock(row['starts'])}–{clock(row['ends'])}"
        for row in day["working_times"]
    )
    date = say_date(day["date"])
    console.print(f"\n[bold]{date}[/bold]  [dim]{escape(hours) or 'no working time'}[/dim]")
    table = two_columns(width=13)
    for entry in entries(day):
        ends = f"–{clock(entry.ends)}" if entry.ends else ""
        table.add_row(f"{clock(entry.starts)}{ends}", line(entry))
    if table.row_count:
        console.print(Padding(table, (0, 0, 0, 2)))
    for word, verb in (("lift", "Lift"), ("fix", "Fix")):
        for change in day["boards"][word]:
            marks = listed([row["mark"] for row in change["boards"]])
            console.print(f"  {verb} {marks} · {floors[change['floor']]}", markup=False)
    for night in day["tonight"]:
        if not night["holds"]:
            way = f"{night['route']['name']}: {way_back(night)}"
            console.print(f"  Tonight, {way}", style="bold", markup=False)


def line(entry: Entry) -> Text:
    """One entry: who in bold, what, where, what to mind, and under it why not sooner."""
    who = "To be seen" if entry.kind == "look" else entry.who
    text = Text(f"{who}: " if who else "", style="bold")
    text.append("Delivery: " if entry.kind == "delivery" else "", style="bold")
    text.append(entry.title, style="not bold")
    text.append(f" · {entry.place}" if entry.place else "", style="not bold")
    text.append(f" ({entry.state})" if entry.state else "", style="not bold")
    if entry.notes:
        text.append(f" ({'; '.join(entry.notes)})", style="not bold dim")
    if entry.odds:
        text.append(f"\n{entry.odds}", style="not bold")
    if entry.why:
        text.append(f"\nNot sooner: {entry.why}", style="not bold dim")
    return text


def print_open_boards(console: Console, needs: Sequence[OpenBoards], zone: ZoneInfo) -> None:
    """One line per need: its boards, for whom, until what."""
    if needs:
        console.print("\n[bold]Boards that stay open[/bold]")
    for need in needs:
        planned = f", planned {say(need.until.astimezone(zone))}" if need.until else ""
        console.print(
            f"  {escape(listed(need.marks))} · {escape(need.floor)}: {need.open_as} for "
            f"[bold]{escape(need.for_name)}[/bold] ({escape(need.reason)}). "
            f"{escape(need.release)}{planned}."
        )


def print_unplaced(console: Console, unplaced: list[dict[str, Any]]) -> None:
    if unplaced:
        console.print("\n[bold]No place in the plan[/bold]")
    for row in unplaced:
        console.print(f"  {row['about']['name']}: {row['sentence']}", markup=False)


def two_columns(width: int | None = None) -> Table:
    table = Table(box=None, show_header=False, padding=(0, 1), pad_edge=False)
    table.add_column(no_wrap=True, width=width)
    table.add_column(overflow="fold")
    return table


def listed(marks: Sequence[str]) -> str:
    shown = ", ".join(marks[:MARKS_SHOWN])
    more = len(marks) - MARKS_SHOWN
    return f"{shown} and {more} more" if more > 0 else shown
