"""Every address of the API with every method: for nobody, a stranger, a viewer and a helper.

What cannot be classified fails: an address that is neither below a resource with a sample, nor a
view of a house, nor a calculator has to be given its rule here first.
"""

from __future__ import annotations

import pytest
from rest_framework.test import APIClient

from apps.planning.api.house import HouseView
from renovation.viewsets import ContractView
from tests import factories
from tests.api.actors import changed, everything, member_of, somebody_else, with_token
from tests.api.samples import ACTION_BODIES, SAMPLES
from tests.api.walk import API, PERSONAL, RESOURCES, VIEWSETS, addresses, is_problem, taking

METHODS = ("get", "post", "put", "patch", "delete", "head", "options")
CALCULATORS = [prefix for prefix in VIEWSETS if prefix.startswith("checks/")]
OF_A_HOUSE = [
    prefix
    for prefix, viewset in VIEWSETS.items()
    if issubclass(viewset, HouseView) and prefix not in RESOURCES
]
# Only an owner decides who is a member, whether there is still a house, who has all of it,
# and where its mail goes.
FOR_OWNERS = [
    *(("members/", method) for method in ("post",)),
    *(("members/{pk}/", method) for method in ("put", "patch", "delete")),
    ("properties/{pk}/", "delete"),
    ("properties/{pk}/planning-preferences/", "patch"),
    ("house-files/", "post"),
    ("house-files/{pk}/", "delete"),
    ("house-files/{pk}/cancel/", "post"),
    ("house-files/{pk}/file/", "get"),
]

everywhere = pytest.mark.parametrize("where", addresses(), ids=lambda where: where.template)
in_a_house = pytest.mark.parametrize(
    "where",
    [where for where in addresses() if where.prefix in RESOURCES],
    ids=lambda where: where.template,
)


def path_of(where):
    return where.template.removeprefix(API)


def test_every_address_has_a_rule():
    known = {*RESOURCES, *PERSONAL, *CALCULATORS, *OF_A_HOUSE}

    assert [where.template for where in addresses() if where.prefix not in known] == []
    assert sorted(PERSONAL) == ["house-arrivals", "tokens"]


def test_every_action_on_a_list_has_a_body_to_be_tried_with():
    lists = {f"{prefix}/" for prefix in RESOURCES}
    actions = {
        path_of(where)
        for where in addresses()
        if where.prefix in RESOURCES and "{" not in where.template and "post" in where.methods
    } - lists

    assert actions - {*ACTION_BODIES} == set()


@pytest.mark.parametrize("prefix", VIEWSETS)
def test_whatever_keeps_something_goes_through_the_one_mechanism(prefix):
    assert issubclass(VIEWSETS[prefix], ContractView) or prefix in CALCULATORS


@everywhere
def test_nobody_gets_in_without_signing_in(db, where):
    for method in METHODS:
        answer = getattr(APIClient(), method)(where.at(1))

        assert answer.status_code == 401
        assert answer["WWW-Authenticate"] == "Token"
        assert method == "head" or is_problem(answer, 401)


@in_a_house
def test_a_stranger_finds_nothing_and_changes_nothing(house, where):
    prefix = where.prefix
    row = SAMPLES[prefix].make(house)
    body = body_of(where, house)
    outside = with_token(somebody_else())
    before = everything()

    answers = {method: getattr(outside, method)(where.at(row.pk)) for method in where.methods}
    if "post" in where.methods and "{" not in where.template:
        answers["post"] = outside.post(where.template, body)

    for method, answer in answers.items():
        if "{" in where.template:
            assert is_problem(answer, 404)
        elif method == "get":
            assert row.pk not in ids_in(answer)
        elif prefix != "properties":
            # The house stands in the body: its rows are as if they were not there.
            assert is_problem(answer, 400)
            assert "does not exist" in answer.text
    assert changed(before) == ([] if prefix != "properties" or "{" in where.template else OPENED)


# Whoever has an account may open a house: of their own.
OPENED = ["property.Property", "property.Member"]


@in_a_house
def test_a_viewer_reads_and_changes_nothing(house, where):
    prefix = where.prefix
    row = SAMPLES[prefix].make(house)
    body = body_of(where, house)
    viewer = with_token(member_of(house, "viewer"))
    before = everything()

    for method in METHODS:
        if (path_of(where), method) == ("properties/", "post"):
            continue
        given = (body,) if method == "post" and body else ()
        answer = getattr(viewer, method)(where.at(row.pk), *given)
        answer.close()

        if (path_of(where), "get" if method == "head" else method) in FOR_OWNERS:
            assert answer.status_code == 403
        elif method in {"get", "head"} and "get" in where.methods:
            # What an address wants to know beside its id may be missing here; leave is not.
            missing = set() if path_of(where) in plain(prefix) else {400, 404, 409}
            assert answer.status_code in {200} | missing
        else:
            assert answer.status_code == (403 if method in where.methods else 405)
    assert changed(before) == []


@pytest.mark.parametrize("prefix", OF_A_HOUSE)
def test_a_view_of_a_house_is_for_its_members(house, prefix):
    outside, viewer = with_token(somebody_else()), with_token(member_of(house, "viewer"))
    before = everything()

    theirs = outside.get(f"{API}{prefix}/?property={house.pk}")
    read = viewer.get(f"{API}{prefix}/?property={house.pk}")
    written = [getattr(viewer, m)(f"{API}{prefix}/") for m in ("post", "put", "patch", "delete")]

    assert is_problem(theirs, 404)
    assert read.status_code == 200
    assert {answer.status_code for answer in written} == {405}
    assert changed(before) == []


@pytest.mark.parametrize("prefix", CALCULATORS)
def test_a_calculator_keeps_nothing(house, prefix):
    asking = with_token(house.owner)
    before = everything()

    for method in METHODS[:5]:
        assert getattr(asking, method)(f"{API}{prefix}/", {}).status_code in {200, 400, 405}

    assert changed(before) == []


@pytest.mark.parametrize(
    "prefix", [p for p in taking("post") if p not in {"members", "properties", "house-files"}]
)
def test_a_helper_adds(house, prefix):
    helper = with_token(member_of(house, "helper"))

    assert helper.post(f"{API}{prefix}/", SAMPLES[prefix].body(house)).status_code in {201, 202}


@pytest.mark.parametrize("prefix", [p for p in taking("patch") if p != "members"])
def test_a_helper_changes(house, prefix):
    row = SAMPLES[prefix].make(house)
    helper = with_token(member_of(house, "helper"))

    answer = helper.patch(f"{API}{prefix}/{row.pk}/", SAMPLES[prefix].patch)

    assert answer.status_code == 200


@in_a_house
def test_a_helper_is_refused_only_what_is_the_owners(house, where):
    row = SAMPLES[where.prefix].make(house)
    body = body_of(where, house)
    helper = with_token(member_of(house, "helper"))

    for method in where.methods:
        before = everything()
        given = (body,) if method == "post" and "{" not in where.template else ()
        answer = getattr(helper, method)(where.at(row.pk), *given)
        for_owners = (path_of(where), method) in FOR_OWNERS

        answer.close()

        # An owner's `PUT` with nothing in it is as wrong as a helper's.
        assert (answer.status_code == 403) == (for_owners and method != "put")
        assert not for_owners or changed(before) == []
        if type(row)._default_manager.filter(pk=row.pk).exists():
            continue
        row = SAMPLES[where.prefix].make(house)


def test_a_helpers_token_touches_no_tokens(house):
    user = member_of(house, "helper")
    helper = with_token(user)
    own = user.auth_token_set.get()
    owners = SAMPLES["tokens"].make(house)
    before = everything()

    answers = {
        "made": helper.post(f"{API}tokens/", {"name": "More"}),
        "own": helper.delete(f"{API}tokens/{own.pk}/"),
        "the owner's": helper.delete(f"{API}tokens/{owners.pk}/"),
    }

    assert {what: answer.status_code for what, answer in answers.items()} == {
        "made": 403,
        "own": 403,
        "the owner's": 403,
    }
    assert is_problem(helper.get(f"{API}tokens/{owners.pk}/"), 404)
    assert changed(before) == []


def test_a_write_that_asks_for_no_leave_is_taken_back(house):
    """What a forgetful endpoint would do: it writes, and asks nobody."""
    from django.test import RequestFactory
    from rest_framework.response import Response

    class Forgetful(ContractView):
        queryset = factories.StoreyFactory._meta.model.objects.all()

        def create(self, request):
            factories.StoreyFactory(property=house, level=7)
            return Response({}, status=201)

    view = Forgetful.as_view({"post": "create"})
    request = RequestFactory().post("/api/v1/forgotten/", "{}", content_type="application/json")
    request.user = house.owner
    request._dont_enforce_csrf_checks = True
    before = everything()

    with pytest.raises(RuntimeError, match="asked for no leave"):
        view(request)

    assert changed(before) == []


def plain(prefix):
    """The list and the object themselves, which need nothing more to be read."""
    return {f"{prefix}/", f"{prefix}/{{pk}}/"}


def body_of(where, house):
    """What a list takes, naming rows of the house; an object's action is asked with nothing."""
    if "post" not in where.methods or "{" in where.template:
        return {}
    path = path_of(where)
    return (
        ACTION_BODIES[path](house) if path in ACTION_BODIES else SAMPLES[where.prefix].body(house)
    )


def ids_in(answer):
    """The ids of a list; an action that reads says by its status that there is nothing."""
    found = answer.json().get("results", [])
    return [item["id"] for item in found if "id" in item]
