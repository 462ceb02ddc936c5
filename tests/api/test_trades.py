"""Trades over HTTP: a craft and who does it."""

import pytest

from tests import factories
from tests.api.asking import ids, refuses

TRADES = "/api/v1/trades/"


def test_a_plumber_who_comes_on_two_days_is_noted(client, house):
    answer = client.post(
        TRADES,
        {
            "property": house.pk, "craft": "plumber", "name": "A plumber", "days": [1, 3],
            "from_time": "08:30", "to_time": "16:00", "notice_days": 5,
        },
    )  # fmt: skip

    assert answer.status_code == 201
    assert answer.json()["days"] == [1, 3]


@pytest.mark.parametrize(
    ("changes", "pointer", "words"),
    [
        ({"days": [7]}, "/days", "0 (Monday) to 6 (Sunday)"),
        ({"days": [1, 1]}, "/days", "each once"),
        ({"days": ["Monday"]}, "/days", "numbers"),
        ({"days": [True]}, "/days", "numbers"),
        ({"days": "weekdays"}, "/days", "numbers"),
        ({"from_time": "17:00"}, "", "ends after it begins"),
        ({"name": ""}, "/name", "blank"),
        ({"craft": "wizard"}, "/craft", "not a valid choice"),
        ({"notice_days": 367}, "", "at most 366 days"),
    ],
)
def test_what_no_trade_can_be_is_refused(client, house, changes, pointer, words):
    trade = factories.TradeFactory(property=house)

    assert refuses(client.patch(f"{TRADES}{trade.pk}/", changes), pointer, words)


def test_trades_are_filtered_by_craft(client, house):
    factories.TradeFactory(property=house)
    electrician = factories.TradeFactory(property=house, craft="electrician")

    assert ids(client.get(TRADES, {"craft": "electrician"})) == [electrician.pk]
    assert ids(client.get(TRADES, {"search": electrician.name})) == [electrician.pk]


def test_a_trade_with_a_visit_is_kept(client, house):
    visit = factories.VisitFactory(property=house)

    answer = client.delete(f"{TRADES}{visit.trade_id}/")

    assert answer.status_code == 409
    assert "visit" in answer.json()["detail"]
