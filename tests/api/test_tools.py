"""Tools over HTTP: of which there are only so many."""

import pytest

from tests import factories
from tests.api.asking import ids, refuses

TOOLS = "/api/v1/tools/"


def test_a_tool_is_noted_once_by_its_name(client, house):
    body = {"property": house.pk, "name": "Floor clamp", "quantity": 2}

    made = client.post(TOOLS, body)
    again = client.post(TOOLS, body)

    assert made.status_code == 201
    assert refuses(again, "", "a tool of this name already")


@pytest.mark.parametrize(
    ("changes", "pointer", "words"),
    [
        ({"quantity": 0}, "", "at least one"),
        ({"quantity": 1001}, "", "at most 1000"),
        ({"quantity": -1}, "/quantity", "greater than or equal to 0"),
        ({"name": ""}, "/name", "blank"),
    ],
)
def test_what_no_tool_can_be_is_refused(client, house, changes, pointer, words):
    tool = factories.ToolFactory(property=house)

    assert refuses(client.patch(f"{TOOLS}{tool.pk}/", changes), pointer, words)


def test_tools_are_searched_by_name_and_ordered_by_number(client, house):
    one = factories.ToolFactory(property=house, name="Bottle jack", quantity=1)
    four = factories.ToolFactory(property=house, name="Prop", quantity=4)

    assert ids(client.get(TOOLS, {"search": "jack"})) == [one.pk]
    assert ids(client.get(TOOLS, {"ordering": "-quantity"})) == [four.pk, one.pk]
