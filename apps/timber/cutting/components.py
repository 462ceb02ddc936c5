"""From the question to what the solver works on: independent components of small whole numbers.

Three things make the solver's life easier and change nothing in the answer:

- the kerf goes into every part and once into every bin (see `problem`);
- parts alike in length, rank and in where they may come from become one **item** with a demand;
  bins alike in length, cost and in what they take become one **kind** with a supply;
- items and kinds that cannot meet fall apart into **components**, each solved by itself: every
  level is a sum over components, so the best of the whole is the best of each.

A locked pattern uses up its bin and its parts; what is free in that bin comes back as a bin
already begun, which costs nothing to go on with.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from apps.timber.cutting.problem import Bin, CuttingProblem, Part, Pattern, waste_mm

Cut = tuple[tuple[int, int], ...]
"""A pattern inside a component: (item, copies), items ascending."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """Parts alike. `size` is the length and one kerf; `places` are where they stand in the
    question, in which first fit takes parts of one length."""

    size: int
    demand: int
    rank: int
    keys: tuple[tuple[str, int], ...]
    places: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sort:
    """What a sort of bin takes: items, ascending, and what a copy of each costs extra there."""

    takes: tuple[int, ...]
    handling: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """Bins alike. `room` is the length and one kerf, less what is locked in it.

    `supply` is never more than there are parts; `limited` says whether it can bind.
    `opens` counts a salvaged piece for each bin begun; a piece of several runs has a `group`
    instead, counted once. `begun_waste` is what a bin begun by locks counts as waste already.
    """

    room: int
    supply: int
    limited: bool
    cost: int
    opens: int
    group: int | None
    sort: int
    begun_waste: int
    keys: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Component:
    """Items, the kinds they may come from, and how many pieces of several runs there are."""

    items: tuple[Item, ...]
    sorts: tuple[Sort, ...]
    kinds: tuple[Kind, ...]
    groups: int
    kerf: int
    least_offcut: int

    def waste(self, kind: Kind, rest: int) -> int:
        """What cutting a bin of this kind down to `rest` of its room adds to the waste."""
        return waste_mm(max(0, rest - self.kerf), self.least_offcut) - kind.begun_waste

    def bought_mm(self, kind: Kind) -> int:
        """How much one bin of a kind is if there is no end of them, else nothing, in mm."""
        return 0 if kind.limited else kind.room - self.kerf


@dataclass(frozen=True, slots=True, kw_only=True)
class Split:
    """All components, and the locked patterns that stay as they are."""

    components: tuple[Component, ...]
    hopeless: tuple[tuple[str, int, int], ...]
    """Parts no bin is long enough for: key, rank, how many."""
    begun: Mapping[str, Pattern]
    """For the key of what is left of a locked bin: the pattern it goes on from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Offer:
    """A bin, or what locks leave of one, before bins alike are put together."""

    key: str
    source: Bin
    room: int
    supply: int | None
    begun: bool
    opens: str | None
    takes: int
    """Which of the different sets of parts taken (with their handling) this bin has."""


def split(problem: CuttingProblem) -> Split:
    """Take a problem apart."""
    demand, offers, begun, sorts = _what_locks_leave(problem)
    kerf = problem.kerf_mm
    longest = [0] * len(sorts)
    for offer in offers:
        longest[offer.takes] = max(longest[offer.takes], offer.room)
    # For each part and sort of bin: handling there, or None where it cannot come from.
    handled = {
        part.key: tuple(
            handling.get(part.key, 0)
            if (takes is None or part.key in takes) and part.length_mm + kerf <= longest[number]
            else None
            for number, (takes, handling) in enumerate(sorts)
        )
        for part in problem.parts
        if demand[part.key]
    }
    open_to = {key for key, row in handled.items() if any(entry is not None for entry in row)}
    components = []
    for names in _together(_ties(problem, offers, handled)):
        parts = [part for part in problem.parts if part.key in open_to and f"p{part.key}" in names]
        if parts:
            own = [offer for n, offer in enumerate(offers) if f"b{n}" in names]
            components.append(_component(problem, parts, demand, handled, own))
    return Split(
        components=tuple(components),
        hopeless=tuple(
            (part.key, part.rank, demand[part.key])
            for part in problem.parts
            if demand[part.key] and part.key not in open_to
        ),
        begun=begun,
    )


_Sorts = list[tuple["frozenset[str] | None", Mapping[str, int]]]
_Handled = Mapping[str, tuple["int | None", ...]]


def _what_locks_leave(
    problem: CuttingProblem,
) -> tuple[dict[str, int], list[_Offer], dict[str, Pattern], _Sorts]:
    demand = {part.key: part.quantity for part in problem.parts}
    supply = {bin_.key: bin_.supply for bin_ in problem.bins}
    bins = {bin_.key: bin_ for bin_ in problem.bins}
    lengths = {part.key: part.length_mm for part in problem.parts}
    numbers: dict[object, int] = {}
    sorts: _Sorts = []

    def sort_of(bin_: Bin) -> int:
        name = (bin_.takes, tuple(sorted(bin_.handling.items())))
        if name not in numbers:
            numbers[name] = len(sorts)
            sorts.append((bin_.takes, bin_.handling))
        return numbers[name]

    begun: dict[str, Pattern] = {}
    offers = []
    opened = set()
    for number, pattern in enumerate(problem.locked):
        source = bins[pattern.bin_key]
        left = supply[source.key]
        if left is not None:
            supply[source.key] = left - pattern.count
        opened.add(source.opens)
        used = 0
        for key in pattern.part_keys:
            demand[key] -= pattern.count
            used += lengths[key] + problem.kerf_mm
        key = f"\0{number}"
        begun[key] = pattern
        room = source.length_mm + problem.kerf_mm - used
        offers.append(
            _Offer(
                key=key, source=source, room=room, supply=pattern.count, begun=True, opens=None,
                takes=sort_of(source),
            )
        )  # fmt: skip
    for bin_ in problem.bins:
        opens = None if bin_.opens in opened else bin_.opens
        offers.append(
            _Offer(
                key=bin_.key, source=bin_, room=bin_.length_mm + problem.kerf_mm,
                supply=supply[bin_.key], begun=False, opens=opens, takes=sort_of(bin_),
            )
        )  # fmt: skip
    offers = [offer for offer in offers if offer.supply != 0]
    return demand, offers, begun, sorts


def _ties(
    problem: CuttingProblem, offers: Sequence[_Offer], handled: _Handled
) -> list[tuple[str, str]]:
    """What hangs together: a part and the bins it fits, the runs of one piece.

    Of the bins of one sort the longest takes every part that any of them takes, so it is tied
    to all of them, and every other one only to the shortest.
    """
    longest: dict[int, int] = {}
    for number, offer in enumerate(offers):
        if offer.takes not in longest or offers[longest[offer.takes]].room < offer.room:
            longest[offer.takes] = number
    shortest: dict[int, Part] = {}
    ties = []
    for part in problem.parts:
        for takes, entry in enumerate(handled.get(part.key, ())):
            if entry is not None:
                ties.append((f"p{part.key}", f"b{longest[takes]}"))
                if takes not in shortest or part.length_mm < shortest[takes].length_mm:
                    shortest[takes] = part
    for number, offer in enumerate(offers):
        part_ = shortest.get(offer.takes)
        if part_ is not None and part_.length_mm + problem.kerf_mm <= offer.room:
            ties.append((f"p{part_.key}", f"b{number}"))
        if offer.opens is not None:
            ties.append((f"b{number}", f"o{offer.opens}"))
    return ties


def _component(
    problem: CuttingProblem,
    parts: Sequence[Part],
    demand: Mapping[str, int],
    handled: _Handled,
    offers: Sequence[_Offer],
) -> Component:
    total = sum(demand[part.key] for part in parts)
    kerf = problem.kerf_mm
    alike: dict[object, list[Part]] = defaultdict(list)
    for part in parts:
        alike[part.length_mm, part.rank, handled[part.key]].append(part)
    order = sorted(alike.values(), key=lambda group: (-group[0].length_mm, group[0].rank))
    place = {part.key: number for number, part in enumerate(problem.parts)}
    items = tuple(
        Item(
            size=group[0].length_mm + kerf,
            demand=sum(demand[part.key] for part in group),
            rank=group[0].rank,
            keys=tuple((part.key, demand[part.key]) for part in group),
            places=tuple(place[part.key] for part in group),
        )
        for group in order
    )
    used = sorted({offer.takes for offer in offers})
    sorts = [_sort(order, handled, takes) for takes in used]
    shortest = [min((items[i].size for i in sort.takes), default=0) for sort in sorts]
    runs = Counter(offer.opens for offer in offers)
    groups: dict[str, int] = {}
    kinds: dict[Kind, list[tuple[str, int]]] = defaultdict(list)
    for offer in offers:
        sort = used.index(offer.takes)
        if not sorts[sort].takes or shortest[sort] > offer.room:
            continue
        group = None
        if offer.opens is not None and (runs[offer.opens] > 1 or offer.supply != 1):
            group = groups.setdefault(offer.opens, len(groups))
        begun_waste = waste_mm(max(0, offer.room - kerf), problem.least_offcut_mm)
        kind = Kind(
            room=offer.room,
            supply=0,
            limited=offer.supply is not None,
            cost=0 if offer.begun else offer.source.cost,
            opens=int(offer.opens is not None and group is None),
            group=group,
            sort=sort,
            begun_waste=begun_waste if offer.begun else 0,
            keys=(),
        )
        count = total if offer.supply is None else min(offer.supply, total)
        kinds[kind].append((offer.key, count))
    return Component(
        items=items,
        sorts=tuple(sorts),
        kinds=tuple(_counted(kind, keys, total) for kind, keys in kinds.items()),
        groups=len(groups),
        kerf=kerf,
        least_offcut=problem.least_offcut_mm,
    )


def _sort(order: Sequence[list[Part]], handled: _Handled, takes: int) -> Sort:
    rows = [handled[group[0].key][takes] for group in order]
    return Sort(
        takes=tuple(i for i, entry in enumerate(rows) if entry is not None),
        handling=tuple(entry for entry in rows if entry is not None),
    )


def _counted(kind: Kind, keys: list[tuple[str, int]], total: int) -> Kind:
    count = sum(supply for _, supply in keys)
    return replace(
        kind,
        supply=min(count, total),
        limited=kind.limited and count < total,
        keys=tuple(keys),
    )


def _together(ties: Iterable[tuple[str, str]]) -> list[set[str]]:
    leader: dict[str, str] = {}

    def find(name: str) -> str:
        leader.setdefault(name, name)
        while leader[name] != name:
            leader[name] = leader[leader[name]]
            name = leader[name]
        return name

    for one, other in ties:
        leader[find(one)] = find(other)
    sets: dict[str, set[str]] = defaultdict(set)
    for name in leader:
        sets[find(name)].add(name)
    return list(sets.values())
