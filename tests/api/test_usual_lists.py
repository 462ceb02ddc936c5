"""The usual inspections and certificates of a suspended floor in England, added in one call."""

import pytest

from apps.inspections.models import Certificate, Inspection
from apps.inspections.usual import LOOKS, PAPERS
from tests import factories
from tests.api.asking import is_problem, refuses
from tests.api.walk import viewer_of

MODELS = {"usual-inspections": Inspection, "usual-certificates": Certificate}
LISTS = list(MODELS)


def post(client, house, which, query="", body=None):
    return client.post(f"/api/v1/properties/{house.pk}/{which}/{query}", body or {})


def rows(answer):
    said = answer.json()
    return said.get("inspections") or said.get("certificates")


def with_trades(house):
    for craft in ("plumber", "electrician", "gas", "carpenter", "other"):
        factories.TradeFactory(property=house, craft=craft)
    return house


def test_the_usual_inspections_are_added_each_with_its_source(client, house):
    answer = post(client, house, "usual-inspections")

    made = {row.title: row for row in Inspection.objects.filter(property=house)}
    assert answer.status_code == 200
    assert set(made) == {look.title for look in LOOKS}
    assert {row.state for row in made.values()} == {"due"}
    assert all(row.source for row in made.values())
    joists = made["Floor joists and beams, before boards"]
    assert (joists.by, joists.notice_working_days) == ("building_control", 1)
    assert [item["key"] for item in joists.required_evidence] == ["joist-ends", "joists"]


def test_the_answer_says_who_decides(client, house):
    answer = post(client, house, "usual-inspections", "?dry_run=1")

    assert "local authority or the approved inspector decides" in answer.json()["decides"]


def test_certificates_are_owed_by_the_only_trade_of_their_craft(client, house):
    with_trades(house)
    second_plumber = factories.TradeFactory(property=house, craft="plumber")

    post(client, house, "usual-certificates")

    made = {row.usual: row for row in Certificate.objects.filter(property=house)}
    assert set(made) == {paper.key for paper in PAPERS}
    assert made["electrical"].trade == house.trades.get(craft="electrician")
    assert made["water-test"].trade is None, second_plumber


def test_crafts_may_be_named(client, house):
    answer = post(client, house, "usual-certificates", body={"crafts": ["gas"]})

    assert [row["craft"] for row in rows(answer)] == ["gas"]


def test_a_craft_there_is_not_is_refused(client, house):
    answer = post(client, house, "usual-certificates", body={"crafts": ["thatcher"]})

    assert refuses(answer, "/crafts/0", "not a valid choice")


@pytest.mark.parametrize("which", LISTS)
def test_a_second_call_adds_nothing(client, house, which):
    first = rows(post(client, with_trades(house), which))
    count = MODELS[which].objects.count()

    second = rows(post(client, house, which))

    assert {row["added"] for row in first} == {True}
    assert {row["added"] for row in second} == {False}
    assert [row["id"] for row in second] == [row["id"] for row in first]
    assert MODELS[which].objects.count() == count


@pytest.mark.parametrize("which", LISTS)
def test_what_was_renamed_or_was_there_by_name_is_not_added_again(client, house, which):
    title = rows(post(client, with_trades(house), which, "?dry_run=1"))[0]["title"]
    extra = {"craft": "electrician"} if which == "usual-certificates" else {}
    MODELS[which].objects.create(property=house, title=title.upper(), **extra)
    post(client, house, which)
    MODELS[which].objects.exclude(usual="").update(title="Called otherwise now")
    count = MODELS[which].objects.count()

    post(client, house, which)

    assert MODELS[which].objects.count() == count
    assert MODELS[which].objects.filter(title__iexact=title).count() == 1


@pytest.mark.parametrize("which", LISTS)
def test_a_preview_adds_nothing(client, house, which):
    answer = post(client, with_trades(house), which, "?dry_run=1")

    assert {(row["id"], row["added"]) for row in rows(answer)} == {(None, True)}
    assert not MODELS[which].objects.exists()


@pytest.mark.parametrize("which", LISTS)
def test_a_preview_is_asked_for_with_one_or_nought(client, house, which):
    assert refuses(post(client, house, which, "?dry_run=yes"), "/dry_run", "1 or 0")


@pytest.mark.parametrize("which", LISTS)
@pytest.mark.parametrize("place", [{"country": "DE", "subdivision": ""}, {"subdivision": "SCT"}])
def test_outside_england_there_is_no_list(client, house, which, place):
    house.change(**place)

    answer = post(client, house, which)

    assert is_problem(answer, 409, "no-usual-list")
    assert not MODELS[which].objects.exists()


@pytest.mark.parametrize("which", LISTS)
def test_viewers_add_nothing_and_strangers_find_nothing(client, house, which):
    assert post(viewer_of(house), house, which).status_code == 403
    assert post(client, factories.PropertyFactory(), which).status_code == 404
