"""Which option comes first, and why: it passes, it uses the pile, it takes fewer hours, it costs
less, in this order."""

from __future__ import annotations

from collections.abc import Sequence

from apps.repairs.options import NAMES, OPTIONS, Priced, Ranked

Key = tuple[int, int, int, float, int]


def ranked(options: Sequence[Priced]) -> tuple[Ranked, ...]:
    """The options, the best first. An unknown price stands behind any known one."""
    ordered = sorted(options, key=sort_key)
    found: list[Ranked] = []
    for place, option in enumerate(ordered):
        above = ordered[place - 1] if place else None
        found.append(Ranked(rank=place + 1, priced=option, why=why(option, above)))
    return tuple(found)


def sort_key(option: Priced) -> Key:
    design = option.design
    cost = option.cost_pence
    return (
        0 if not design.possible else -3 + (True, None, False).index(design.passes),
        0 if option.from_pile else 1,
        option.minutes,
        float("inf") if cost is None else cost,
        OPTIONS.index(design.option),
    )


def why(option: Priced, above: Priced | None) -> str:
    """Why an option stands where it stands, against the one before it."""
    design = option.design
    if not design.possible:
        return f"Not possible: {design.why_not}"
    told = (
        f"{VERDICTS[design.passes]} {PILE[option.from_pile]} {hours(option.minutes)} of work; "
        f"{cost_in_words(option)}."
    )
    if above is None:
        return f"First. {told}"
    name = NAMES[above.design.option].lower()
    one, two = sort_key(above), sort_key(option)
    reasons = (
        "which does better in the checks",
        "whose timber is in the pile",
        f"which takes {hours(option.minutes - above.minutes)} less",
        "which costs less",
        "which is no better by any measure here",
    )
    first = next((n for n in range(4) if one[n] != two[n]), 4)
    return f"After “{name}”, {reasons[first]}. {told}"


VERDICTS = {
    True: "It passes every check.",
    False: "It does not pass.",
    None: "It has a check without an answer until somebody has inspected it.",
}
PILE = {True: "Its timber is in the pile.", False: "Its timber is not all in the pile."}


def hours(minutes: int) -> str:
    """ "6 h", "6¼ h": quarter-hours as they are said."""
    whole, quarters = divmod(round(minutes / 15), 4)
    part = ("", "¼", "½", "¾")[quarters]
    return f"{whole or ''}{part} h" if whole or part else "0 h"


def cost_in_words(option: Priced) -> str:
    cost = option.cost_pence
    if cost is None:
        return "price not known: no such timber among the stock lengths"
    return "nothing to buy but fixings" if cost == 0 else f"{cost / 100:.2f} for timber"
