"""A cutting plan as shown: bars with the tape below, what to buy, what is left, what is missing."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from apps.pages.drawing.timber_bars import BarStretch, cut_bar
from apps.timber import sawing
from apps.timber.api.cutting_answers import left_over, to_buy
from apps.timber.models import Cut, CuttingBar, CuttingPlan
from apps.timber.services.sawn import parts_of, stretches_of
from apps.timber.wet import wet_timber

PLAN_WORDS = {
    "queued": "waiting to be worked out", "solving": "being worked out", "ready": "a proposal",
    "failed": "failed", "applied": "in use", "done": "all sawn", "replaced": "replaced",
    "cancelled": "stopped before it was worked out", "superseded": "a newer request took its place",
}  # fmt: skip
FREES = {
    "trim": "off the old end", "waste": "waste", "offcut": "left over, back on the pile",
    "kerf": "the end squared",
}  # fmt: skip
CAUTIONS = (
    "A proposal: measure again before each cut, with the tape hooked on the marked end.",
    "Draw nails first. Guard on the saw, both hands clear of it, eye protection on.",
    "Structural use of salvaged timber is for the building control body or an engineer to accept.",
)


def plan_shown(plan: CuttingPlan, *, today: date) -> dict[str, Any]:
    wet = {one.piece.pk: one.sentence for one in wet_timber(plan.property, today=today)}
    rows = plan.bars.select_related("stock", "piece__property", "plan__replans").prefetch_related(
        "cuts__need", "cuts__bar", "piece__defects", "piece__readings"
    )
    bars = list(rows)
    buy = to_buy(bars)
    return {
        "plan": plan,
        "state": PLAN_WORDS[plan.state],
        "unfinished": plan.state in {"queued", "solving"},
        "bars": [bar_shown(bar, wet) for bar in bars if bar.cuts.all()],
        "buy": [{**row, "cost": money(row["cost_pence"])} for row in buy],
        "to_pay": money(sum(row["cost_pence"] for row in buy)),
        "left": left_over(bars),
        "unmet": plan.unmet,
        "notes": plan.notes,
        "cautions": CAUTIONS,
        "sawn_of": sum(cut.made_at is not None for bar in bars for cut in bar.cuts.all()),
    }


def money(pence: int) -> str:
    return f"{pence / 100:,.2f}"


def bar_shown(bar: CuttingBar, wet: Mapping[int, str]) -> dict[str, Any]:
    """A bar: its drawing, and every pencil mark of one tape pull with what comes free by it."""
    parts = parts_of(bar)
    stretches = stretches_of(bar)
    strokes = sawing.strokes(stretches)
    drawn = [
        BarStretch(one.kind.value, one.from_mm, one.to_mm, 0 if one.part is None else one.part + 1)
        for one in stretches
    ]
    waiting = next((cut for cut in parts if cut.made_at is None), None)
    made = [cut for cut in parts if cut.made_at is not None]
    last = made[-1] if made else None
    return {
        "bar": bar,
        "wet": wet.get(bar.piece_id or 0, ""),
        "size": f"{bar.breadth_mm} × {bar.depth_mm} × {bar.length_mm} mm",
        "svg": cut_bar(bar.mark, bar.length_mm, drawn, [one.at_mm for one in strokes]),
        "lines": lines_of(bar, parts, strokes),
        "parts": [
            {"number": number, "cut": cut, "told": told(cut), "next": cut == waiting,
             "last": cut == last}
            for number, cut in enumerate(parts, start=1)
        ],
        "movable": [cut for cut in parts if cut.made_at is None],
        "kept": sum(cut.pinned and cut.made_at is None for cut in parts),
        "pushed_off": [cut for cut in bar.cuts.all() if cut.pushed_off_by_id is not None],
    }  # fmt: skip


def lines_of(
    bar: CuttingBar, parts: list[Cut], strokes: tuple[sawing.Stroke, ...]
) -> list[dict[str, Any]]:
    """The tape's running totals, from the marked end."""
    lines: list[dict[str, Any]] = []
    freed: set[int] = set()
    for stroke in strokes:
        part = stroke.frees.part
        if part is not None:
            freed.add(part)
        cut = None if part is None else parts[part]
        words = (
            f"{stroke.frees.length_mm} mm {FREES[stroke.frees.kind.value]}"
            if cut is None or stroke.frees.kind != sawing.Kind.PART
            else f"{cut.title}, {stroke.frees.length_mm} mm"
        )
        side = "beyond" if stroke.saw_beyond else "before"
        number = 0 if part is None else part + 1
        lines.append({"at_mm": stroke.at_mm, "side": f"saw {side}", "number": number,
                      "words": words, "rip": rip(cut)})  # fmt: skip
    for number, cut in enumerate(parts):
        if number not in freed:
            words = f"{cut.title}, {cut.length_mm} mm"
            lines.append({"at_mm": cut.to_mm, "side": "the end", "number": number + 1,
                          "words": words, "rip": rip(cut)})  # fmt: skip
    return lines


def rip(cut: Cut | None) -> str:
    if cut is None or not cut.rip_depth_mm:
        return ""
    return f"then rip to {cut.rip_breadth_mm} × {cut.rip_depth_mm} mm"


def told(cut: Cut) -> str:
    """What to mind about a part: that it simply fits is not among it."""
    fits = cut.sentence.startswith(f"{cut.bar.mark} fits: ") and "; it " not in cut.sentence
    return " ".join(words for words in (cut.told, "" if fits else cut.sentence) if words)
