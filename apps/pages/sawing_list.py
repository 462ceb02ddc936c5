"""A cutting plan on a terminal, for whoever stands at the saw: the API's answer, printed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import Console
from rich.markup import escape
from rich.table import Table
from rich.text import Text

LEVELS = {
    "unmet": "parts not met",
    "cost": "cost of buying and ripping, pence",
    "opened": "pieces opened",
    "waste": "waste, mm counted",
    "cuts": "strokes of the saw",
}


def print_cut_list(console: Console, plan: Mapping[str, Any]) -> None:
    """Bars in sawing order with the strokes by the tape, then what to buy, what is left and
    what cannot be met."""
    console.rule(f"[bold]Cutting plan {plan['id']}[/bold] · {plan['state']}")
    console.print(
        f"Saw {plan['kerf_mm']} mm, old ends trimmed by {plan['end_trim_mm']} mm, offcuts kept "
        f"from {plan['least_offcut_mm']} mm. All positions from the marked end.",
        style="dim",
    )
    for bar in plan["bars"]:
        print_bar(console, bar)
    print_lines(console, "To buy", [bought(row) for row in plan["buy"]])
    print_lines(console, "Left over", [left(row) for row in plan["offcuts"]])
    print_lines(console, "Not met", [row["sentence"] for row in plan["unmet"]])
    print_lines(console, "How good it is", [level(row) for row in plan["objective"]])
    for note in plan["notes"]:
        console.print(escape(note), style="dim")
    console.print(
        "\nA proposal: measure again before each cut. Draw nails first; structural use of "
        "salvaged timber is for the building control body or an engineer to accept.",
        style="dim",
    )


def print_bar(console: Console, bar: Mapping[str, Any]) -> None:
    """One piece: its strokes in order; what is sawn already is said so."""
    size = f"{bar['breadth_mm']} × {bar['depth_mm']} × {bar['length_mm']} mm"
    state = " · sawn" if bar["sawn_at"] else ""
    console.print(f"\n[bold]{escape(bar['mark'])}[/bold]  [dim]{size}{state}[/dim]")
    table = Table(box=None, show_header=False, padding=(0, 1), pad_edge=False)
    table.add_column(justify="right", no_wrap=True)
    table.add_column(no_wrap=True)
    table.add_column(overflow="fold")
    cuts = {cut["id"]: cut for cut in bar["cuts"] if cut["pushed_off_by"] is None}
    for stroke in bar["strokes"]:
        side = "saw beyond" if stroke["saw_beyond"] else "saw before"
        cut = cuts.pop(stroke["cut"], None)
        table.add_row(f"{stroke['at_mm']} mm", Text(side, style="dim"), freed(stroke, cut))
    # The last part of a bar that comes out even needs no stroke of its own.
    for cut in cuts.values():
        table.add_row(f"{cut['to_mm']} mm", Text("the end", style="dim"), part(cut))
    console.print(table)


def freed(stroke: Mapping[str, Any], cut: Mapping[str, Any] | None) -> Text:
    """What comes free by a stroke."""
    if cut is not None:
        return part(cut)
    words = {
        "trim": "off the old end",
        "waste": "waste",
        "offcut": "left over, back on the pile",
        "kerf": "the end squared",
    }
    return Text(f"{stroke['length_mm']} mm {words[stroke['frees']]}", style="dim")


def part(cut: Mapping[str, Any]) -> Text:
    """A part with what to mind about it."""
    length = cut["actual_mm"] or cut["length_mm"]
    text = Text(f"{cut['title']}, {length} mm", style="bold")
    if cut["rip_depth_mm"]:
        text.append(
            f", then rip to {cut['rip_breadth_mm']} × {cut['rip_depth_mm']} mm", style="not bold"
        )
    if cut["made_at"]:
        text.append(" (sawn)" if not cut["spoilt"] else " (sawn, spoilt)", style="not bold dim")
    elif cut["pinned"]:
        text.append(" (pinned)", style="not bold dim")
    for words in (cut["told"], cut["sentence"]):
        if words:
            text.append(f"\n{words}", style="not bold dim")
    return text


def print_lines(console: Console, title: str, lines: Sequence[str]) -> None:
    if lines:
        console.print(f"\n[bold]{title}[/bold]")
    for line in lines:
        console.print(f"  {line}", markup=False)


def bought(row: Mapping[str, Any]) -> str:
    where = f", {row['supplier']}" if row["supplier"] else ""
    return (
        f"{row['count']} of {row['breadth_mm']} × {row['depth_mm']} × {row['length_mm']} mm: "
        f"{row['cost_pence'] / 100:.2f}{where}"
    )


def left(row: Mapping[str, Any]) -> str:
    return f"{row['length_mm']} mm of {row['mark']}, {row['from_mm']} to {row['to_mm']} mm"


def level(row: Mapping[str, Any]) -> str:
    rank = "" if row["rank"] is None else f" of rank {row['rank'] + 1}"
    sure = "nothing is better" if row["proven"] else f"nothing is below {row['bound']}"
    return f"{LEVELS[row['name']]}{rank}: {row['value']} ({sure})"
