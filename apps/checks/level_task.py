"""What a levelling is asked with."""

from __future__ import annotations

from dataclasses import dataclass, field

from apps.checks.level_lines import Spot
from apps.checks.level_settings import Flatness, LevelSettings
from apps.checks.packers import Packer


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelTask:
    """What is asked: spots, packers to hand, how flat; `target_mm` None: at a free height."""

    spots: tuple[Spot, ...]
    packers: tuple[Packer, ...]
    flatness: Flatness = "SR2"
    target_mm: float | None = None
    settings: LevelSettings = field(default_factory=LevelSettings)
