"""Every setting of the checks where sources disagree, each with its sentence."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from apps.checks import (
    bearing_input,
    build_ups,
    decay_settings,
    decks,
    fastener_settings,
    level_settings,
    membranes,
    settings,
    sister_input,
    ventilation_settings,
)

# Which calculators take them, the dataclass, and what each field is for.
KNOWN: tuple[tuple[tuple[str, ...], type, Mapping[str, str]], ...] = (
    (("joist", "cuts", "lap", "sister", "trimmer"), settings.Settings, settings.SENTENCES),
    (("lap", "fixing"), fastener_settings.FixingSettings, fastener_settings.SENTENCES),
    (("sister",), sister_input.SisterSettings, sister_input.SENTENCES),
    (("bearing",), bearing_input.BearingSettings, bearing_input.SENTENCES),
    (("deck",), decks.DeckSettings, decks.SENTENCES),
    (("decay",), decay_settings.DecaySettings, decay_settings.SENTENCES),
    (
        ("subfloor-ventilation",),
        ventilation_settings.VentilationSettings,
        ventilation_settings.SENTENCES,
    ),
    (("membrane",), membranes.MembraneSettings, membranes.SENTENCES),
    (("doorway",), build_ups.DoorwaySettings, build_ups.SENTENCES),
    (("levels",), level_settings.LevelSettings, level_settings.SENTENCES),
)
SENTENCES_OF: Mapping[type, Mapping[str, str]] = MappingProxyType(
    {made: sentences for _, made, sentences in KNOWN}
)
