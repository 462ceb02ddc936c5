"""What was measured in the demo house: air bricks, probes along its joists, a laser round."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any, Protocol

from apps.floors.models import AirBrick, Floor, Joist, JoistProbe, SpotHeight


class Told(Protocol):
    """What reads references and dates of the files."""

    def add(self, model: Any, told: Mapping[str, Any]) -> Any: ...
    def at(self, told: Mapping[str, Any]) -> datetime: ...
    def found(self, model: Any, name: str) -> Any: ...


def load_ground(reader: Told, told: Mapping[str, Any]) -> None:
    """Every row of the lists of measurements; the joists are there already."""
    for row in told["air_bricks"]:
        reader.add(AirBrick, row)
    for row in told["joist_probes"]:
        add_probes(reader, row)
    for row in told["spot_heights"]:
        add_round(reader, row)


def add_probes(reader: Told, told: Mapping[str, Any]) -> None:
    """One joist's probes, each `[at, face, depth, moisture, fixing]`."""
    joist = Joist.objects.get(floor=reader.found(Floor, told["floor"]), mark=told["joist"])
    probed_at = reader.at(told["probed_at"])
    for at_mm, face, probe_mm, moisture_pct, fixing in told["probes"]:
        row = JoistProbe(
            joist=joist, at_mm=at_mm, face=face, probe_mm=probe_mm,
            moisture_pct=moisture_pct, fixing=fixing, probed_at=probed_at,
        )  # fmt: skip
        row.clean()
        row.save()


def add_round(reader: Told, told: Mapping[str, Any]) -> None:
    """One round with the laser: of each joist a height for every place of `at_mm`."""
    floor = reader.found(Floor, told["floor"])
    joists = {joist.mark: joist for joist in floor.joists.all()}
    measured_at = reader.at(told["measured_at"])
    for mark, heights in told["heights"].items():
        for at_mm, height_mm in zip(told["at_mm"], heights, strict=True):
            row = SpotHeight(
                floor=floor, joist=joists[mark], at_mm=at_mm, height_mm=Decimal(str(height_mm)),
                datum=told["datum"], measured_at=measured_at,
            )  # fmt: skip
            row.clean()
            row.save()
