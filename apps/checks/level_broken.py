"""Why a floor cannot be levelled: the rules that would have to give way, and by how much."""

from __future__ import annotations

from apps.checks.level_lines import SCALE, Fall, Gap
from apps.checks.level_model import Found, Site
from apps.checks.level_results import RULES, Broken, Rule
from apps.checks.level_search import Effort, level


def gap_mm(gap: Gap, found: Found) -> float:
    """What the straightedge shows: positive for a hollow."""
    return sum(weight * found.finals[spot] for spot, weight in gap.weights) / SCALE / 10


def signed(mm: float) -> str:
    """With its sign, to a tenth: −0.6, +1.2, 0.0."""
    tenth = round(mm, 1)
    return "0.0" if tenth == 0 else f"{tenth:+.1f}".replace("-", "−")


def stands_in_the_way(site: Site, effort: float) -> tuple[tuple[Broken, ...], str]:
    """Each rule that alone would have to give way, and by how much; or else all that must."""
    alone = []
    left = Effort(effort)
    for rule in RULES:
        found, _ = level(site, left, relaxed=(rule,))
        if found is not None and found.slack[rule]:
            alone.append(broken(site, found, rule))
    alone.sort(key=lambda one: one.by_mm)
    if alone:
        either = "" if len(alone) == 1 else "One of these has to give way. "
        return tuple(alone), refusal(either, alone)
    found, _ = level(site, left, relaxed=RULES)
    every = [broken(site, found, rule) for rule in RULES if found and found.slack[rule]]
    how = "All of these have to give way. " if every else "Why was not found in the effort allowed."
    return tuple(every), refusal(how, every)


def refusal(how: str, rules: list[Broken]) -> str:
    return f"It cannot be levelled so. {how}{' '.join(one.sentence for one in rules)}".strip()


def broken(site: Site, found: Found, rule: Rule) -> Broken:
    """A rule that had to give way, with the place where it gave most."""
    by = found.slack[rule] / 10
    worst = {
        "stack": worst_stack, "planing": worst_planing, "height": worst_height,
        "flatness": worst_gap, "slope": worst_fall,
    }[rule]  # fmt: skip
    return Broken(rule, by, worst(site, found, by))


def worst_stack(site: Site, found: Found, by: float) -> str:
    def beyond(number: int) -> int:
        stack = found.stacks[number]
        return abs(found.lifts[number] - stack.tenths) if stack else -1

    worst = max(range(len(found.lifts)), key=beyond)
    return (
        f"{site.task.spots[worst].name} needs {found.lifts[worst] / 10:.1f} mm of packing, "
        f"{by:.1f} mm off any stack allowed: cut a bearer to size, or sister the joist."
    )


def worst_planing(site: Site, found: Found, by: float) -> str:
    worst = max(range(len(found.planed)), key=lambda number: found.planed[number])
    return (
        f"{site.task.spots[worst].name} needs {found.planed[worst] / 10:.1f} mm planed off, "
        f"{by:.1f} mm more than allowed."
    )


def worst_height(site: Site, found: Found, by: float) -> str:
    off = [(final - found.height) / 10 for final in found.finals]
    worst = max(range(len(off)), key=lambda number: abs(off[number]))
    return (
        f"{site.task.spots[worst].name} ends {signed(off[worst])} mm off the fixed height, "
        f"{by:.1f} mm more than allowed."
    )


def worst_gap(site: Site, found: Found, by: float) -> str:
    gap = max(site.gaps, key=lambda gap: abs(gap_mm(gap, found)))
    return (
        f"{site.task.spots[gap.spot].name} shows {abs(gap_mm(gap, found)):.1f} mm under the "
        f"straightedge {site.lines[gap.line].name}, {by:.1f} mm more than {site.task.flatness} "
        "allows: a firring strip or a sister makes the joist straight."
    )


def worst_fall(site: Site, found: Found, by: float) -> str:
    def beyond(fall: Fall) -> float:
        return abs(found.finals[fall.first] - found.finals[fall.second]) / 10 - fall.most_mm

    fall = max(site.falls, key=beyond)
    spots = site.task.spots
    return (
        f"Between {spots[fall.first].name} and {spots[fall.second].name} the floor falls "
        f"{by:.1f} mm more than the {fall.most_mm:.1f} mm allowed."
    )
