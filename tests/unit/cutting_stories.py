"""Cutting problems for tests: by hand, by chance, and first fit written for them alone."""

from __future__ import annotations

from collections import Counter

from hypothesis import strategies as st

from apps.timber.cutting.problem import Bin, CuttingProblem, Part, cuts_in, left_mm, waste_mm

PRICES = {24: 9, 30: 11, 36: 13}


def stock(*lengths, rate=1):
    return tuple(
        Bin(key=f"S{length}", length_mm=length, supply=None, cost=length * rate)
        for length in lengths
    )


@st.composite
def problems(draw, most_parts=6, most_runs=4, ranks=2, sold=True):
    """Small problems of every shape: runs of shared pieces, sorts of bin, handling, kerf."""
    wanted = draw(st.lists(st.integers(3, 20), min_size=1, max_size=most_parts))
    parts = tuple(
        Part(
            key=f"p{number}",
            length_mm=length,
            quantity=1,
            rank=draw(st.integers(0, ranks - 1)),
        )
        for number, length in enumerate(wanted)
    )
    keys = [part.key for part in parts]
    bins = []
    for number in range(draw(st.integers(0, most_runs))):
        takes = draw(st.none() | st.frozensets(st.sampled_from(keys)))
        handling = draw(st.dictionaries(st.sampled_from(keys), st.integers(0, 3), max_size=2))
        bins.append(
            Bin(
                key=f"r{number}",
                length_mm=draw(st.integers(5, 40)),
                supply=draw(st.sampled_from([1, 1, 1, 2])),
                cost=draw(st.sampled_from([0, 0, 2])),
                opens=draw(st.sampled_from([None, "T1", "T2", f"T{number + 3}"])),
                takes=takes,
                handling=handling,
            )
        )
    if sold:
        lengths = draw(st.lists(st.sampled_from(sorted(PRICES)), max_size=2, unique=True))
        bins += [
            Bin(key=f"s{length}", length_mm=length, supply=None, cost=PRICES[length])
            for length in lengths
        ]
    return CuttingProblem(
        parts=parts,
        bins=tuple(bins),
        kerf_mm=draw(st.integers(0, 2)),
        least_offcut_mm=draw(st.sampled_from([0, 5, 8])),
    )


def values(solution):
    return [level.value for level in solution.levels]


def what_is_wrong(problem, solution):
    """Everything a plan must keep, looked at from outside."""
    parts = {part.key: part for part in problem.parts}
    bins = {bin_.key: bin_ for bin_ in problem.bins}
    cut, used = Counter(), Counter()
    wrong = []
    for pattern in solution.patterns:
        bin_ = bins[pattern.bin_key]
        used[bin_.key] += pattern.count
        lengths = [parts[key].length_mm for key in pattern.part_keys]
        if sum(lengths) + (len(lengths) - 1) * problem.kerf_mm > bin_.length_mm:
            wrong.append(f"{pattern} is longer than its bin")
        for key in pattern.part_keys:
            cut[key] += pattern.count
            if bin_.takes is not None and key not in bin_.takes:
                wrong.append(f"{bin_.key} does not take {key}")
    unmet = dict(solution.unmet)
    wrong += [
        f"{part.key} {part.quantity}: cut {cut[part.key]}, unmet {unmet.get(part.key, 0)}"
        for part in problem.parts
        if cut[part.key] + unmet.get(part.key, 0) != part.quantity
    ]
    wrong += [
        f"{key} used {count} times"
        for key, count in used.items()
        if bins[key].supply is not None and count > bins[key].supply
    ]
    return wrong


def first_fit(problem):
    """First fit decreasing as anybody would write it: what its plan is worth, level by level."""
    supply = {bin_.key: bin_.supply for bin_ in problem.bins}
    begun = []
    unmet = Counter()
    ranks = sorted({part.rank for part in problem.parts})
    for part in sorted(problem.parts, key=lambda part: (part.rank, -part.length_mm)):
        for _ in range(part.quantity):
            for bin_, lengths, keys in begun:
                room = bin_.length_mm - sum(lengths) - len(lengths) * problem.kerf_mm
                if room >= part.length_mm and (bin_.takes is None or part.key in bin_.takes):
                    lengths.append(part.length_mm)
                    keys.append(part.key)
                    break
            else:
                fresh = [
                    bin_
                    for bin_ in problem.bins
                    if supply[bin_.key] != 0
                    and bin_.length_mm >= part.length_mm
                    and (bin_.takes is None or part.key in bin_.takes)
                ]
                if not fresh:
                    unmet[part.rank] += 1
                    continue
                bin_ = min(fresh, key=lambda bin_: (bin_.cost, bin_.length_mm))
                if supply[bin_.key] is not None:
                    supply[bin_.key] -= 1
                begun.append((bin_, [part.length_mm], [part.key]))
    kerf, least = problem.kerf_mm, problem.least_offcut_mm
    return [
        *(unmet[rank] for rank in ranks),
        sum(bin_.cost + sum(bin_.handling.get(k, 0) for k in keys) for bin_, _, keys in begun),
        len({bin_.opens for bin_, _, _ in begun} - {None}),
        sum(waste_mm(left_mm(bin_.length_mm, cut, kerf), least) for bin_, cut, _ in begun),
        sum(cuts_in(bin_.length_mm, cut, kerf) for bin_, cut, _ in begun),
    ]
