"""What can be bought, over HTTP."""

from __future__ import annotations

import pytest

from apps.timber.models import StockLength
from tests.api.asking import refuses

STOCK = "/api/v1/stock-lengths/"


def add(client, house, **said):
    return client.post(
        STOCK,
        {"property": house.pk, "breadth_mm": 47, "depth_mm": 147, "length_mm": 3600, **said},
    )


def test_a_length_is_priced_by_the_length_or_by_the_metre(client, house):
    by_length = add(client, house, price_pence_per_length=1450).json()
    by_metre = add(client, house, length_mm=4205, price_pence_per_m=410).json()

    assert by_length["cost_pence"] == 1450
    # 4.205 m at 4.10: 17.2405, rounded to the penny.
    assert by_metre["cost_pence"] == 1724


@pytest.mark.parametrize(
    ("said", "pointer", "words"),
    [
        ({}, "", "not both"),
        ({"price_pence_per_length": 1450, "price_pence_per_m": 400}, "", "not both"),
        ({"price_pence_per_length": 14.5}, "/price_pence_per_length", "integer"),
        ({"price_pence_per_length": -1}, "/price_pence_per_length", "0"),
        ({"price_pence_per_m": 10_000_001}, "", "at most"),
        ({"price_pence_per_m": 400, "length_mm": "3.6 m"}, "/length_mm", "whole millimetres"),
        ({"price_pence_per_m": 400, "length_mm": 4}, "", "300 to 20,000 mm"),
        ({"price_pence_per_m": 400, "breadth_mm": 200}, "", "the smaller side"),
        ({"price_pence_per_m": 400, "available": 10_001}, "", "10,000"),
    ],
)
def test_what_no_yard_sells_is_refused(client, house, said, pointer, words):
    assert refuses(add(client, house, **said), pointer, words)
    assert not StockLength.objects.exists()


def test_a_length_of_a_section_is_listed_once_per_supplier(client, house):
    add(client, house, price_pence_per_m=400)

    assert refuses(add(client, house, price_pence_per_m=390), "", "listed already")
    assert add(client, house, price_pence_per_m=390, supplier="The other yard").status_code == 201
