"""What can be bought, over HTTP."""

from __future__ import annotations

from rest_framework import serializers

from apps.timber.api.fields import TimberSerializer
from apps.timber.models import StockLength
from renovation.viewsets import RecordViewSet


class StockLengthSerializer(TimberSerializer[StockLength]):
    cost_pence = serializers.IntegerField(
        read_only=True, help_text="What one length costs; half a penny is rounded up."
    )

    class Meta:
        model = StockLength
        fields = [
            "id", "version", "property", "supplier", "breadth_mm", "depth_mm", "length_mm",
            "strength_class", "treated", "price_pence_per_length", "price_pence_per_m",
            "cost_pence", "available",
        ]  # fmt: skip
        read_only_fields = ["version"]


class StockLengthViewSet(RecordViewSet[StockLength]):
    """Sections that are sold, each in the lengths it is sold in, with their prices."""

    queryset = StockLength.objects.all()
    serializer_class = StockLengthSerializer
    filterset_fields = {
        "property": ["exact"], "breadth_mm": ["exact"], "depth_mm": ["exact"],
        "length_mm": ["exact", "gte", "lte"], "strength_class": ["exact"], "treated": ["exact"],
        "supplier": ["exact"],
    }  # fmt: skip
    search_fields = ["supplier", "strength_class"]
    ordering_fields = ["id", "breadth_mm", "depth_mm", "length_mm", "supplier"]
