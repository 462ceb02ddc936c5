"""Odd requests to every address and method: never a 500, and every refusal is a problem.

The requests are drawn by hypothesis, the same ones in every run. Most start from a good
request and spoil a part of it, so that they get past the first check: each resource must have
answered 200, 201 (where it is posted) and 400, or the trial has shown nothing.
"""

from __future__ import annotations

import json
from collections import Counter
from urllib.parse import quote, urlencode

import pytest
from django.db import transaction
from django_filters.rest_framework import DjangoFilterBackend
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from tests.api.samples import ACTION_BODIES, SAMPLES
from tests.api.walk import API, VIEWSETS, addresses

EXAMPLES = 40

deep = st.sampled_from([10, 29, 31, 900, 20_000]).map(lambda depth: "[" * depth + "]" * depth)
scalars = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-3, 9),
    st.sampled_from([2**15, 2**31, 2**63, -(2**63) - 1, 10**40, 0.5, -0.0, 1e308]),
    st.sampled_from([float("nan"), float("inf")]),
    st.text(max_size=12),
    st.sampled_from(
        [
            "", " ", "x" * 20_000, "a\0b", "\ud800", "😀", "١٢", "1e3", "NaN", "%00", "../..",
            "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00", "2026-02-30", "24:00",
            "2026-03-02", "2026-03-29T01:30:00", "25:61", "08:00+01:00", "' OR 1=1 --", "<b>",
        ]
    ),
)  # fmt: skip
points = st.lists(st.lists(st.integers(-2000, 2000), min_size=2, max_size=2), max_size=6)
values = st.recursive(
    scalars | points,
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.sampled_from(["id", "from", "to", "x", "visits", "weekdays"]), inner)
    ),
    max_leaves=6,
)
odd_ids = st.sampled_from(
    ["0", "-1", "1.0", "abc", "9" * 40, "\0", "½", "null", " ", "1 OR 1", "é" * 300]
)
headers = st.fixed_dictionaries(
    {},
    optional={
        "HTTP_IF_MATCH": st.sampled_from(['"1"', '"2"', "*", "W/", '"', ",", "x" * 5000]),
        "HTTP_IF_NONE_MATCH": st.sampled_from(['"1"', "*", ""]),
        "HTTP_IDEMPOTENCY_KEY": st.sampled_from(["k", "é", "x" * 300, "\t"]),
        "HTTP_ACCEPT": st.sampled_from(["application/json", "text/csv", "*/*", ";;", ""]),
    },
)
content_types = st.sampled_from(
    ["application/json"] * 12
    + ["text/plain", "application/json; charset=utf-16", "multipart/form-data", ""]
)


def spoilt(good):
    """A good body, or one with a field changed, dropped or added, or something else entirely."""
    fields = st.sampled_from(sorted(good)) if good else st.just("name")
    one = st.tuples(fields, values).map(lambda pair: {**good, pair[0]: pair[1]})
    less = fields.map(lambda gone: {key: good[key] for key in good if key != gone})
    more = st.dictionaries(st.text(max_size=5), values, max_size=2).map(lambda new: {**good, **new})
    bodies = st.one_of(st.just(good), one, one, one, less, more, values)
    texts = bodies.map(json.dumps).map(str.encode)
    raw = st.binary(max_size=20) | deep.map(str.encode) | st.just(b" " * 2_200_000)
    return st.one_of(texts, texts, texts, texts, raw)


def queries(prefix):
    """Query parameters that the list knows, with good and odd values, and some it does not."""
    viewset = VIEWSETS.get(prefix)
    queryset = getattr(viewset, "queryset", None)
    filterset = DjangoFilterBackend().get_filterset_class(viewset, queryset) if viewset else None
    known = list(filterset.base_filters) if filterset else []
    names = st.sampled_from(
        [*known, "page", "page_size", "ordering", "search", "dry_run", "boards", "held", "on",
         "property", "floor", "board", "released", "nonsense", "a~/b", ""]
    )  # fmt: skip
    words = scalars.map(lambda value: str(value).encode("utf-8", "replace").decode())
    return st.just({}) | st.just({}) | st.dictionaries(names, words, max_size=3)


@pytest.mark.parametrize("prefix", sorted({where.prefix for where in addresses()}))
def test_no_request_makes_it_stumble(client, house, prefix):
    places = [where for where in addresses() if where.prefix == prefix]
    calls = [(where, method) for where in places for method in (*where.methods, "options")]
    # Lists and single objects as often as all the actions together.
    calls += [call for call in calls if call[0].template.count("/") <= 5] * 2
    reached = Counter()

    @settings(
        max_examples=EXAMPLES,
        derandomize=True,
        database=None,
        deadline=None,
        phases=[Phase.explicit, Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(st.data())
    def try_out(data):
        with transaction.atomic():
            reached[one_request(client, house, data, calls, prefix)] += 1
            transaction.set_rollback(True)

    try_out()

    assert {200, 400} <= set(reached), reached
    if prefix in SAMPLES and SAMPLES[prefix].body:
        assert {201, 202} & set(reached), reached


def one_request(client, house, data, calls, prefix):
    """Send one request and look at the answer; its status."""
    where, method = data.draw(st.sampled_from(calls))
    good = good_body(house, prefix, where) if method in {"post", "put", "patch"} else {}
    path = where.template
    if "{pk}" in path:
        real = str(SAMPLES[prefix].make(house).pk)
        path = where.at(quote(data.draw(st.just(real) | st.just(real) | odd_ids), safe=""))
    query = data.draw(queries(prefix))
    if prefix not in SAMPLES:
        # Computed answers are about one house.
        query = {"property": house.pk, **query}
    answer = client.generic(
        method.upper(),
        f"{path}?{urlencode(query)}" if query else path,
        data.draw(spoilt(good)) if method not in {"get", "options"} else b"",
        content_type=data.draw(content_types) if method not in {"get", "options"} else "",
        **data.draw(headers),
    )

    assert answer.status_code < 500, answer.content
    if answer.status_code >= 400:
        assert answer["Content-Type"] == "application/problem+json"
        assert answer.json()["status"] == answer.status_code
        assert answer.json()["detail"]
    elif answer.status_code not in {204, 304}:
        json.loads(answer.content)
    return answer.status_code


def good_body(house, prefix, where):
    """What the address takes, as far as the samples know."""
    action = where.template.removeprefix(API)
    if action in ACTION_BODIES:
        return ACTION_BODIES[action](house)
    if where.template.endswith("/set-out/"):
        return {"max_board_length_mm": 2400, "first_joist_mm": 50, "first_board_mm": 150}
    sample = SAMPLES.get(prefix)
    return sample.body(house) if sample and sample.body else {}
