"""What cutting plans answer: bars in sawing order, what to buy, what is left, what is missing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from apps.timber import sawing
from apps.timber.api.fields import TimberSerializer
from apps.timber.cutting.problem import LEVELS
from apps.timber.models import Cut, CuttingBar
from apps.timber.services.sawn import parts_of, stretches_of


class CutSerializer(TimberSerializer[Cut]):
    """A part and its place on the bar, from the marked end."""

    mark = serializers.CharField(source="bar.mark", read_only=True)

    class Meta:
        model = Cut
        fields = [
            "id", "version", "bar", "mark", "place", "need", "title", "length_mm", "from_mm",
            "to_mm", "sound_from_mm", "sound_to_mm", "rip_breadth_mm", "rip_depth_mm", "sentence",
            "pinned", "made_at", "actual_mm", "spoilt", "told", "pushed_off_by",
        ]  # fmt: skip
        read_only_fields = fields


class CutLevelSerializer(serializers.Serializer[Any]):
    name = serializers.ChoiceField(choices=LEVELS)
    rank = serializers.IntegerField(allow_null=True)
    value = serializers.IntegerField()
    bound = serializers.IntegerField(help_text="No plan can be below.")
    proven = serializers.BooleanField()


class ChangeThatMeetsSerializer(serializers.Serializer[Any]):
    kind = serializers.CharField()
    figures = serializers.DictField()
    words = serializers.CharField()


class UnmetSerializer(serializers.Serializer[Any]):
    need = serializers.IntegerField()
    title = serializers.CharField()
    count = serializers.IntegerField()
    length_mm = serializers.IntegerField()
    sentence = serializers.CharField()
    changes = ChangeThatMeetsSerializer(many=True)


class StrokeSerializer(serializers.Serializer[Any]):
    at_mm = serializers.IntegerField(help_text="From the marked end, at the edge that is kept.")
    saw_beyond = serializers.BooleanField()
    frees = serializers.CharField(help_text="`part`, `trim`, `offcut`, `waste` or `kerf`.")
    cut = serializers.IntegerField(allow_null=True, help_text="Which part comes free.")
    length_mm = serializers.IntegerField(help_text="Of what comes free.")
    sentence = serializers.CharField()


class LeftSerializer(serializers.Serializer[Any]):
    bar = serializers.IntegerField()
    mark = serializers.CharField()
    from_mm = serializers.IntegerField()
    to_mm = serializers.IntegerField()
    length_mm = serializers.IntegerField()


class BarSerializer(serializers.ModelSerializer[CuttingBar]):
    """A bar with its cuts and the strokes of the saw, in sawing order."""

    cuts = CutSerializer(many=True, read_only=True)
    strokes = serializers.SerializerMethodField()

    class Meta:
        model = CuttingBar
        fields = [
            "id", "place", "mark", "bought", "piece", "stock", "supply", "breadth_mm", "depth_mm",
            "length_mm", "cost_pence", "parts_mm", "kerfs_mm", "trims_mm", "offcuts_mm",
            "waste_mm", "sawn_at", "cuts", "strokes",
        ]  # fmt: skip
        read_only_fields = fields

    @extend_schema_field(StrokeSerializer(many=True))
    def get_strokes(self, bar: CuttingBar) -> list[dict[str, Any]]:
        parts = parts_of(bar)
        titles = [cut.title for cut in parts]
        found = sawing.strokes(stretches_of(bar)) if parts else ()
        return [
            {
                "at_mm": stroke.at_mm,
                "saw_beyond": stroke.saw_beyond,
                "frees": stroke.frees.kind.value,
                "cut": None if stroke.frees.part is None else parts[stroke.frees.part].pk,
                "length_mm": stroke.frees.length_mm,
                "sentence": sawing.in_words(stroke, titles),
            }
            for stroke in found
        ]


class BuySerializer(serializers.Serializer[Any]):
    stock = serializers.IntegerField(allow_null=True)
    supplier = serializers.CharField(allow_blank=True)
    breadth_mm = serializers.IntegerField()
    depth_mm = serializers.IntegerField()
    length_mm = serializers.IntegerField()
    count = serializers.IntegerField()
    cost_pence = serializers.IntegerField(help_text="Of all of them.")


class ByNeedSerializer(serializers.Serializer[Any]):
    need = serializers.IntegerField(allow_null=True)
    title = serializers.CharField()
    cuts = serializers.ListField(child=serializers.IntegerField())


def to_buy(bars: Iterable[CuttingBar]) -> list[dict[str, Any]]:
    """The buy list of a plan: by section and length, with what it costs."""
    groups: dict[tuple[Any, ...], list[CuttingBar]] = defaultdict(list)
    for bar in bars:
        if bar.bought:
            key = (bar.depth_mm, bar.breadth_mm, bar.length_mm, bar.stock_id or 0)
            groups[key].append(bar)
    return [
        {
            "stock": group[0].stock_id,
            "supplier": group[0].stock.supplier if group[0].stock else "",
            "breadth_mm": group[0].breadth_mm,
            "depth_mm": group[0].depth_mm,
            "length_mm": group[0].length_mm,
            "count": len(group),
            "cost_pence": sum(bar.cost_pence for bar in group),
        }
        for _, group in sorted(groups.items(), key=lambda item: item[0])
    ]


def left_over(bars: Iterable[CuttingBar]) -> list[dict[str, Any]]:
    """The offcuts of a plan that are worth keeping."""
    return [
        {
            "bar": bar.pk,
            "mark": bar.mark,
            "from_mm": stretch.from_mm,
            "to_mm": stretch.to_mm,
            "length_mm": stretch.length_mm,
        }
        for bar in bars
        for stretch in stretches_of(bar)
        if stretch.kind == sawing.Kind.OFFCUT and bar.cuts.all()
    ]


def by_need(bars: Iterable[CuttingBar]) -> list[dict[str, Any]]:
    """The cuts of each need."""
    found: dict[tuple[int | None, str], list[int]] = defaultdict(list)
    for bar in bars:
        for cut in parts_of(bar):
            if cut.spoilt:
                continue
            found[cut.need_id, cut.title].append(cut.pk)
    return [{"need": need, "title": title, "cuts": cuts} for (need, title), cuts in found.items()]
