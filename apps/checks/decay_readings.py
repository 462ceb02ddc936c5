"""Readings at places along a joist, judged: decayed, in doubt, sound, or not read.

Only a soft reading is decay; only a firm, dry one beside no corroded fixing is sound.

Sources: iron as a witness of damp: Baker 1974 (Forest Products Laboratory) and Zelinka 2014,
read; a rusted nail may hold 1.47 to 1.56 times a clean one in the same decayed wood: Journal of
Wood Science, doi 10.1007/s10086-016-1600-5, read.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from apps.checks.decay_settings import DecaySettings
from apps.checks.results import Note

Fixing = Literal["none", "clean", "stained", "wasted"]
Face = Literal["top", "bottom", "left", "right", "end"]
State = Literal["decayed", "doubtful", "sound", "unread"]

CORRODED = ("stained", "wasted")
DEEPEST_MM = 600
WETTEST_PCT = 300


@dataclass(frozen=True, slots=True, kw_only=True)
class Probe:
    """One look at one place, `at_mm` from the joist's first point.

    `probe_mm` is how far a bradawl went in by hand, None when none was pushed; `moisture_pct`
    None when not read; `fixing` is the nail or screw drawn there.
    """

    id: int
    at_mm: int
    face: Face = "top"
    probe_mm: float | None = None
    moisture_pct: float | None = None
    fixing: Fixing = "none"


@dataclass(frozen=True, slots=True)
class Place:
    """All probes at one distance, judged together."""

    at_mm: int
    state: State
    sentence: str
    ids: tuple[int, ...]


def refuse_off_the_joist(
    length_mm: int, probes: Sequence[Probe], decayed: Sequence[tuple[int, int]]
) -> None:
    """Raises ValueError: something lies beyond the joist's ends, or no reading is like that."""
    if length_mm < 1:
        raise ValueError("A joist is at least 1 mm long.")
    for probe in probes:
        if not 0 <= probe.at_mm <= length_mm:
            raise ValueError(f"{probe.at_mm} mm is not on a joist of {length_mm} mm.")
        if probe.probe_mm is not None and not 0 <= probe.probe_mm <= DEEPEST_MM:
            raise ValueError(f"A bradawl goes 0 to {DEEPEST_MM} mm in.")
        if probe.moisture_pct is not None and not 0 <= probe.moisture_pct <= WETTEST_PCT:
            raise ValueError(f"Moisture is 0 to {WETTEST_PCT} % of the dry weight.")
    for start, end in decayed:
        if not 0 <= start < end <= length_mm:
            raise ValueError(f"{start} to {end} mm is no stretch of a joist of {length_mm} mm.")


def judged(
    probes: Sequence[Probe], decayed: Sequence[tuple[int, int]], settings: DecaySettings
) -> tuple[Place, ...]:
    """Every place that was looked at, from the first point on."""
    together: dict[int, list[Probe]] = defaultdict(list)
    for probe in probes:
        together[probe.at_mm].append(probe)
    places = [one_place(at, together[at], decayed, settings) for at in sorted(together)]
    for start, end in decayed:
        places += [
            Place(at, "decayed", f"{at} mm: seen to be decayed.", ())
            for at in (start, end)
            if at not in together
        ]
    return tuple(sorted(set(places), key=lambda place: place.at_mm))


def one_place(
    at_mm: int,
    probes: Sequence[Probe],
    decayed: Sequence[tuple[int, int]],
    settings: DecaySettings,
) -> Place:
    """The worst that was read at one distance decides."""
    depths = [probe.probe_mm for probe in probes if probe.probe_mm is not None]
    waters = [probe.moisture_pct for probe in probes if probe.moisture_pct is not None]
    rusty = [probe.fixing for probe in probes if probe.fixing in CORRODED]
    said = [f"the bradawl went in {max(depths):g} mm"] if depths else []
    said += [f"{max(waters):g} % moisture"] if waters else []
    said += [f"a fixing came out {'wasted' if 'wasted' in rusty else 'stained'}"] if rusty else []
    seen = any(start <= at_mm <= end for start, end in decayed)
    said += ["inside a stretch seen to be decayed"] if seen else []
    state: State
    if seen or (depths and max(depths) >= settings.soft_from_mm):
        state = "decayed"
    elif (
        rusty
        or (waters and max(waters) >= settings.damp_from_pct)
        or (depths and max(depths) > settings.firm_to_mm)
    ):
        state = "doubtful"
    else:
        # Dry without a bradawl is no proof: rot that has dried out reads dry.
        state = "sound" if depths else "unread"
    words = ", ".join(said) or "no bradawl was pushed and no moisture read"
    return Place(at_mm, state, f"{at_mm} mm: {words}.", tuple(probe.id for probe in probes))


def notes_on(probes: Sequence[Probe], settings: DecaySettings) -> tuple[Note, ...]:
    """What the fixings and the moisture tell, and what they do not."""
    notes = []
    corroded = sorted({probe.at_mm for probe in probes if probe.fixing in CORRODED})
    clean = any(probe.fixing == "clean" for probe in probes)
    where = ", ".join(str(at) for at in corroded)
    not_proof = (
        "It is no proof of rot: iron also rusts where damp came and went, may have been old or "
        "of another kind when it was driven, and the harm may be only to the wood round it; nor "
        "is a tight nail proof of sound wood, for a rusted one can hold harder. Probe and read."
    )
    if corroded and clean:
        notes.append(
            Note(
                "corroded-beside-clean",
                f"Fixings at {where} mm came out corroded while others on this joist came out "
                f"clean: evidence of a long damp spell there, past or present. {not_proof}",
                "Baker 1974; Zelinka 2014; doi 10.1007/s10086-016-1600-5 (read)",
            )
        )
    elif corroded:
        notes.append(
            Note(
                "all-corroded",
                f"Every fixing drawn ({where} mm) came out corroded: the joist as a whole was "
                f"damp for long, or the fixings are of a kind that rusts. {not_proof}",
                "Baker 1974; Zelinka 2014; doi 10.1007/s10086-016-1600-5 (read)",
            )
        )
    wet = [p.moisture_pct for p in probes if p.moisture_pct is not None]
    if wet and max(wet) >= settings.damp_from_pct:
        notes.append(
            Note(
                "damp",
                f"Moisture up to {max(wet):g} %: from {settings.damp_from_pct:g} % on decay can "
                "go on. Find the water, dry the wood and read again before anything is closed.",
                "specifierreview.com 2012 on a TRADA sheet (second hand)",
            )
        )
    return tuple(notes)
