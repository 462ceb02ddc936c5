"""Evidence of decay along a joist: what is sound, where to probe next, where to cut.

A cut is never proposed where no sound reading stands behind it. Distances past the last sign
and their sources: `decay_settings`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from apps.checks.decay_readings import Place, Probe, judged, notes_on, refuse_off_the_joist
from apps.checks.decay_settings import DecaySettings, Rot, allowance_in_words, allowance_mm
from apps.checks.decay_stretches import Stretch, mirrored, sound_stretches, where_next
from apps.checks.results import Note

__all__ = ["CAUTIONS", "CutBack", "JoistEvidence", "Place", "Probe", "Stretch", "along_joist"]

CAUTIONS = (
    "These are the readings of a few places, not of the whole joist: rot can lie between them.",
    "Find and stop the water first; cutting out rot while the wood stays damp brings it back.",
    "Before a joist is cut, what it carries is propped.",
    "A competent person decides how far the rot goes and what the repair is.",
)


@dataclass(frozen=True, slots=True)
class CutBack:
    """One run of decay and where sound timber may be cut on either side of it.

    `keep_to_mm` is the cut on the side of the joist's first point, `keep_from_mm` the cut on the
    other; None: nothing on that side is known to be sound, so the decay takes that end.
    """

    first_sign_mm: int
    last_sign_mm: int
    allowance_mm: int
    keep_to_mm: int | None
    keep_from_mm: int | None
    ids: tuple[int, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class JoistEvidence:
    """What the readings along one joist say.

    `sound` are stretches between sound readings; `keeps` what is left of the joist after the
    cut-backs; `probe_next` where to look, the most useful first.
    """

    length_mm: int
    places: tuple[Place, ...]
    sound: tuple[Stretch, ...]
    keeps: tuple[Stretch, ...]
    longest_sound_mm: int
    cut_backs: tuple[CutBack, ...]
    probe_next: tuple[Stretch, ...]
    notes: tuple[Note, ...]
    allowance: str
    cautions: tuple[str, ...]
    sentence: str


def along_joist(
    length_mm: int,
    probes: Sequence[Probe],
    *,
    decayed: Sequence[tuple[int, int]] = (),
    rot: Rot = "unknown",
    settings: DecaySettings | None = None,
) -> JoistEvidence:
    """What the readings along a joist say of it.

    Args:
        length_mm: the joist's whole length.
        decayed: stretches (from, to) that were seen to be decayed; they count as signs.
        rot: which rot it is, as far as somebody could tell.
        settings: what readings mean and how far to cut; the defaults when None.

    Raises:
        ValueError: a length below 1 mm, or a reading or stretch that is not on the joist.
    """
    settings = settings or DecaySettings()
    refuse_off_the_joist(length_mm, probes, decayed)
    places = judged(probes, decayed, settings)
    past = allowance_mm(settings, rot)
    cuts = tuple(cut_back(run, places, length_mm, past, settings) for run in runs_of_decay(places))
    sound = sound_stretches(length_mm, places, settings)
    kept = keeps(length_mm, places, cuts, sound)
    return JoistEvidence(
        length_mm=length_mm,
        places=places,
        sound=sound,
        keeps=kept,
        longest_sound_mm=max((part.length_mm for part in sound), default=0),
        cut_backs=cuts,
        probe_next=where_next(length_mm, places, past, settings),
        notes=notes_on(probes, settings),
        allowance=allowance_in_words(settings, rot),
        cautions=CAUTIONS,
        sentence=in_a_sentence(length_mm, places, sound, kept, cuts),
    )


def runs_of_decay(places: Sequence[Place]) -> list[list[Place]]:
    """Decayed places with no sound one between them, run by run."""
    runs: list[list[Place]] = []
    fresh = True
    for place in places:
        if place.state == "decayed":
            if fresh:
                runs.append([])
            runs[-1].append(place)
            fresh = False
        fresh = fresh or place.state == "sound"
    return runs


def cut_back(
    run: Sequence[Place],
    places: Sequence[Place],
    length_mm: int,
    past_mm: int,
    settings: DecaySettings,
) -> CutBack:
    """Where to cut on both sides of a run of decay: past the allowance *and* a sound reading."""
    first, last = run[0].at_mm, run[-1].at_mm
    keep_from = first_good_cut(last, places, past_mm, settings)
    from_the_end = [mirrored(place, length_mm) for place in reversed(places)]
    back = first_good_cut(length_mm - first, from_the_end, past_mm, settings)
    keep_to = None if back is None else length_mm - back
    keep_from = None if keep_from is not None and keep_from >= length_mm else keep_from
    keep_to = None if keep_to is not None and keep_to <= 0 else keep_to
    ids = tuple(key for place in run for key in place.ids)
    found = CutBack(first, last, past_mm, keep_to, keep_from, ids, "")
    return replace(found, sentence=cut_in_words(found))


def first_good_cut(
    sign_mm: int, places: Sequence[Place], past_mm: int, settings: DecaySettings
) -> int | None:
    """The nearest cut after a last sign that is past the allowance and rests on sound timber."""
    for place in places:
        if place.at_mm <= sign_mm:
            continue
        if place.state == "decayed":
            return None
        cut = max(sign_mm + past_mm, place.at_mm)
        if place.state == "sound" and cut - place.at_mm <= settings.speaks_for_mm:
            # Rot that begins again before the cut would be cut into, not past.
            between = [p for p in places if sign_mm < p.at_mm <= cut and p.state == "decayed"]
            return None if between else cut
    return None


def cut_in_words(cut: CutBack) -> str:
    where = (
        f"Decay from {cut.first_sign_mm} to {cut.last_sign_mm} mm"
        if cut.last_sign_mm > cut.first_sign_mm
        else f"Decay at {cut.first_sign_mm} mm"
    )
    if cut.keep_to_mm is None and cut.keep_from_mm is None:
        return f"{where}: no sound reading far enough past it on either side, so no cut is known."
    sides = [f"keep up to {cut.keep_to_mm} mm"] if cut.keep_to_mm is not None else []
    sides += [f"keep from {cut.keep_from_mm} mm on"] if cut.keep_from_mm is not None else []
    return f"{where}: {' and '.join(sides)}, {cut.allowance_mm} mm or more past the last sign."


def keeps(
    length_mm: int, places: Sequence[Place], cuts: Sequence[CutBack], sound: Sequence[Stretch]
) -> tuple[Stretch, ...]:
    """What is left of the joist after its cut-backs; nothing where nothing sound was read."""
    if not any(place.state == "sound" for place in places):
        return ()
    starts = [0, *(cut.keep_from_mm for cut in cuts)]
    ends = [*(cut.keep_to_mm for cut in cuts), length_mm]
    return tuple(
        Stretch(start, end, keep_in_words(start, end, sound))
        for start, end in zip(starts, ends, strict=True)
        if start is not None and end is not None and start < end
    )


def keep_in_words(start: int, end: int, sound: Sequence[Stretch]) -> str:
    if any(part.from_mm <= start and end <= part.to_mm for part in sound):
        return f"{start} to {end} mm may stay."
    return f"{start} to {end} mm may stay, if the parts not read or in doubt prove sound."


def in_a_sentence(
    length_mm: int,
    places: Sequence[Place],
    sound: Sequence[Stretch],
    kept: Sequence[Stretch],
    cuts: Sequence[CutBack],
) -> str:
    states = {place.state for place in places}
    if not states & {"sound", "decayed"}:
        return (
            "Nothing here is known to be sound: every place that was read is in doubt."
            if "doubtful" in states
            else "No bradawl has told sound from rotten here yet: probe both ends first."
        )
    if not cuts:
        longest = max((part.length_mm for part in sound), default=0)
        return (
            f"No decay was found; {longest} of {length_mm} mm is probably sound."
            if longest
            else "No decay was found, but no stretch between two readings is known to be sound."
        )
    if not kept:
        return "Decay was found, and no length is known to be sound after cutting back."
    best = max(kept, key=lambda part: part.length_mm)
    return f"Decay was found. {best.sentence} That is {best.length_mm} of {length_mm} mm."
