"""Which storey, which floor of it, and which layers somebody asked to see."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar
from urllib.parse import urlencode

from django.http import QueryDict

from apps.floors.models import Floor
from apps.pages.drawing.plan import LAYERS, USUAL_LAYERS
from apps.pages.visiting import id_of
from apps.property.models import Property, Storey

Row = TypeVar("Row", Storey, Floor)
LAYER_WORDS = {
    "joists": "Joists",
    "needs": "Who needs what open",
    "ways": "The household's ways",
    "heights": "Spot heights",
}


@dataclass(frozen=True, slots=True)
class Choice:
    """What is to be drawn. `floor` None: the whole storey."""

    house: Property
    storeys: Sequence[Storey]
    floors: Sequence[Floor]
    storey: Storey
    floor: Floor | None
    layers: tuple[str, ...]

    @property
    def shown(self) -> list[Floor]:
        """The floors that are drawn."""
        return [self.floor] if self.floor else self.on(self.storey)

    def on(self, storey: Storey) -> list[Floor]:
        return [floor for floor in self.floors if floor.storey_id == storey.pk]

    def query(self, **other: int | str | None) -> str:
        """The same choice as a query; what is given replaces its part, None leaves it out."""
        parts = {
            "property": self.house.pk,
            "storey": self.storey.pk,
            "floor": self.floor.pk if self.floor else None,
            **other,
        }
        kept: list[tuple[str, int | str]] = [(k, v) for k, v in parts.items() if v is not None]
        if self.layers != USUAL_LAYERS:
            kept += [("layers", "chosen"), *(("layer", layer) for layer in self.layers)]
        return urlencode(kept)


def chosen(house: Property, query: QueryDict) -> Choice | None:
    """What a query asks for; None for a storey or a floor that the house has not.

    Without a word the storey with boards open is shown, the lowest first.
    """
    storeys = list(house.storeys.order_by("level", "pk"))
    floors = list(house.floors.select_related("storey").order_by("storey__level", "pk"))
    floor = row_of(floors, query.get("floor", ""))
    storey = floor.storey if floor else row_of(storeys, query.get("storey", ""))
    asked = query.get("floor") or query.get("storey")
    if storey is None and (asked or not storeys):
        return None
    layers = tuple(layer for layer in LAYERS if layer in query.getlist("layer"))
    return Choice(
        house=house,
        storeys=storeys,
        floors=floors,
        storey=storey or usual_storey(storeys, floors),
        floor=floor,
        layers=layers if "layers" in query else USUAL_LAYERS,
    )


def row_of(rows: Sequence[Row], written: str) -> Row | None:
    return next((row for row in rows if row.pk == id_of(written)), None)


def usual_storey(storeys: Sequence[Storey], floors: Sequence[Floor]) -> Storey:
    """The lowest storey with open boards, else with a floor, else the lowest."""
    open_on = Floor.objects.filter(
        pk__in=[floor.pk for floor in floors], boards__state__in=["up", "missing", "loose"]
    ).values_list("storey", flat=True)
    opened, with_floor = set(open_on), {floor.storey_id for floor in floors}
    for wanted in (opened, with_floor):
        for storey in storeys:
            if storey.pk in wanted:
                return storey
    return storeys[0]
