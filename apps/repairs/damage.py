"""What is wrong with a joist: which ends are decayed, where sound timber may be cut, what stays."""

from __future__ import annotations

from dataclasses import dataclass, replace

from apps.checks.decay import JoistEvidence, Stretch, along_joist
from apps.checks.decay_settings import DecaySettings, allowance_in_words, allowance_mm
from apps.checks.settings import Settings
from apps.repairs.facts import Asked, End, JoistFacts

STUB_MM = 1200
"""A shorter remainder is not lapped onto: it is cut away too (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class EndCut:
    """A decayed end: sound timber is cut at `cut_mm`. `proven`: a sound reading stands behind."""

    end: End
    cut_mm: int
    proven: bool
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Damage:
    """Everything that was found.

    Attributes:
        ends: decayed ends, the start's first.
        middle: decay with sound timber on both sides (from, to) [mm].
        keep: what may stay (from, to) [mm]; None: nothing that is known to be long enough.
        lost: why nothing may stay; empty when something may.
        found: False when nothing at all speaks for a repair.
    """

    ends: tuple[EndCut, ...] = ()
    middle: tuple[tuple[int, int], ...] = ()
    keep: tuple[int, int] | None = None
    lost: str = ""
    found: bool = True
    sentence: str = ""
    allowance: str = ""
    probe_next: tuple[Stretch, ...] = ()
    warnings: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()

    @property
    def reaches_a_bearing(self) -> bool:
        return bool(self.ends or self.lost)


def damage(facts: JoistFacts, asked: Asked) -> Damage:
    """Judge the evidence along a joist.

    Raises:
        ValueError: an allowance that there is not, or a reading that is not on the joist.
    """
    settings = DecaySettings(allowance=asked.allowance, own_allowance_mm=asked.own_allowance_mm)
    evidence = along_joist(
        facts.length_mm, facts.probes, decayed=facts.decayed, rot=asked.rot, settings=settings
    )
    told = Damage(
        sentence=evidence.sentence,
        allowance=allowance_in_words(settings, asked.rot),
        probe_next=evidence.probe_next,
        warnings=(*(note.sentence for note in evidence.notes), *while_damp(facts)),
        cautions=evidence.cautions,
    )
    if facts.condition == "missing":
        gone = f"{facts.mark} is missing."
        return replace(told, lost=gone, sentence=gone)
    if not evidence.cut_backs and facts.condition == "decayed":
        gone = f"{facts.mark} is noted as decayed, and nobody noted where: it counts as lost."
        return replace(told, lost=gone, sentence=gone)
    if not evidence.cut_backs:
        return replace(told, keep=(0, facts.length_mm), found=bool(facts.cuts))
    ends, middle, lost = sorted_out(facts, evidence, allowance_mm(settings, asked.rot))
    low = max((cut.cut_mm for cut in ends if cut.end == "start"), default=0)
    high = min((cut.cut_mm for cut in ends if cut.end == "far"), default=facts.length_mm)
    if not lost and high - low < STUB_MM:
        lost = f"Cut back at both ends, less than {STUB_MM} mm of {facts.mark} would be left."
    if lost:
        return replace(told, lost=lost, sentence=lost)
    said = [cut.sentence for cut in ends] or [evidence.sentence]
    return replace(told, ends=ends, middle=middle, keep=(low, high), sentence=" ".join(said))


def while_damp(facts: JoistFacts) -> tuple[str, ...]:
    """That nothing calculated here holds yet, where a probe reads more than service class 2."""
    limit = Settings().void_limit_pct
    wettest = max((probe.moisture_pct or 0 for probe in facts.probes), default=0)
    if wettest <= limit:
        return ()
    said = (
        f"The joist reads up to {wettest:g} %: the checks here are for timber at {limit:g} % or "
        "less, and hold only once it has dried."
    )
    return (said,)


def sorted_out(
    facts: JoistFacts, evidence: JoistEvidence, past_mm: int
) -> tuple[tuple[EndCut, ...], tuple[tuple[int, int], ...], str]:
    """Each run of decay as a decayed end, or as decay in the middle, or as the joist's loss.

    Where nobody probed, the cut is the allowance past the stretch that was seen, and unproven.
    """
    ends: list[EndCut] = []
    middle: list[tuple[int, int]] = []
    proven = bool(facts.probes)
    for run in evidence.cut_backs:
        to_mm = run.keep_to_mm if proven else run.first_sign_mm - past_mm
        from_mm = run.keep_from_mm if proven else run.last_sign_mm + past_mm
        before = to_mm is not None and to_mm >= STUB_MM
        after = from_mm is not None and facts.length_mm - from_mm >= STUB_MM
        if before and after:
            middle.append((run.first_sign_mm, run.last_sign_mm))
        elif before and to_mm is not None:
            ends.append(EndCut("far", to_mm, proven, end_in_words(facts, to_mm, proven)))
        elif after and from_mm is not None:
            ends.append(EndCut("start", from_mm, proven, end_in_words(facts, from_mm, proven)))
        else:
            lost = (
                f"{run.sentence} No {STUB_MM} mm on either side is known to be sound, so there is "
                "nothing to lap onto."
            )
            return (), (), lost
    return tuple(sorted(ends, key=lambda cut: cut.end, reverse=True)), tuple(middle), ""


def end_in_words(facts: JoistFacts, cut_mm: int, proven: bool) -> str:
    if proven:
        return f"{facts.mark} is cut at {cut_mm} mm, in timber that was probed and is sound."
    return (
        f"{facts.mark} would be cut at {cut_mm} mm; nobody probed there, so probe it before you "
        "saw."
    )
