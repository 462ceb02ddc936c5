"""Odd requests to every address and method: never a 500, and every refusal is a problem.

The requests are drawn by hypothesis, the same ones in every run. Most start from a good
request and spoil a part of it, so that they get past the first check: each resource must have
answered 200, 201 (where it is posted) and 400, or the trial has shown nothing. What the document
says nothing of is tried here: broken JSON and forms, odd content types and headers, huge bodies.
"""

from __future__ import annotations

import json
import zlib
from collections import Counter
from urllib.parse import quote, urlencode

import pytest
from django.db import transaction
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart
from django_filters.rest_framework import DjangoFilterBackend
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from tests import pictures
from tests.api.documented import ASKED
from tests.api.samples import ACTION_BODIES, SAMPLES
from tests.api.walk import API, VIEWSETS, addresses
from tests.clients import has_file

# Requests for each address and method.
EACH = 12
# Each of these works out a repair to begin with, a third of a second.
FEWER = {"repairs": 5}


def among(**weighted):
    """Draw from one of several strategies, each as often as its number says."""
    urn = [strategy for strategy, times in weighted.values() for _ in range(times)]
    return st.sampled_from(urn).flatmap(lambda drawn: drawn)


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
odd_headers = st.sampled_from(
    [
        {"HTTP_IF_MATCH": tag} for tag in ('"1"', '"2"', "*", "W/", '"', ",", "x" * 5000)
    ] + [
        {"HTTP_IF_NONE_MATCH": tag} for tag in ('"1"', "*", "")
    ] + [
        {"HTTP_IDEMPOTENCY_KEY": key} for key in ("k", "é", "x" * 300, "\t")
    ] + [
        {"HTTP_ACCEPT": wanted} for wanted in ("text/csv", "*/*", ";;", "")
    ]
)  # fmt: skip
headers = among(usual=(st.just({}), 6), odd=(odd_headers, 1))
content_types = st.sampled_from(
    ["application/json"] * 16
    + ["text/plain", "application/json; charset=utf-16", "multipart/form-data", ""]
)

odd_files = st.sampled_from(
    [
        pictures.png(), pictures.heic(), pictures.pdf(), pictures.pdf(script="app.alert(1)"),
        pictures.jpeg()[:-400], pictures.jpeg() + b"PK", pictures.pdf()[:200], b"", b"MZ\0",
        b"<html>",
    ]
)  # fmt: skip


def sent(good):
    """A body as bytes with its content type; one with a file goes as a form, mostly."""
    plain = st.tuples(spoilt(good), content_types)
    if not has_file(good):
        return plain
    form = st.tuples(forms(good), st.just(MULTIPART_CONTENT))
    return among(form=(form, 4), plain=(plain, 1))


def forms(good):
    """A good form, or one with a field changed, dropped, added or twice there, with an odd file
    or cut off."""
    fields, words = st.sampled_from(sorted(good)), values.map(in_words)
    files = st.tuples(odd_files, st.sampled_from(["IMG.JPG", "../../a", "x" * 300, 'é"', "a.pdf"]))
    bodies = among(
        good=(st.just(good), 5),
        file=(files.map(lambda pair: {**good, "file": pictures.upload(*pair)}), 5),
        one=(st.tuples(fields, words).map(lambda pair: {**good, pair[0]: pair[1]}), 4),
        twice=(fields.map(lambda name: {**good, name: [good[name], good[name]]}), 1),
        less=(fields.map(lambda gone: {key: good[key] for key in good if key != gone}), 1),
        more=(st.dictionaries(st.text(max_size=5), words).map(lambda new: {**good, **new}), 1),
    )
    whole = bodies.map(lambda body: encode_multipart(BOUNDARY, body))
    cut = st.tuples(whole, st.integers(0, 400)).map(lambda pair: pair[0][: pair[1]])
    return among(whole=(whole, 9), cut=(cut, 1))


def in_words(value):
    """A value as a form can hold it."""
    return str(value).encode("utf-8", "replace").decode()


def spoilt(good):
    """A good body, or one with a field changed, dropped or added, or something else entirely."""
    fields = st.sampled_from(sorted(good)) if good else st.just("name")
    one = st.tuples(fields, values).map(lambda pair: {**good, pair[0]: pair[1]})
    less = fields.map(lambda gone: {key: good[key] for key in good if key != gone})
    more = st.dictionaries(st.text(max_size=5), values, max_size=2).map(lambda new: {**good, **new})
    bodies = among(
        good=(st.just(good), 5), one=(one, 6), less=(less, 1), more=(more, 1), other=(values, 1)
    )
    raw = st.binary(max_size=20) | deep.map(str.encode) | st.just(b" " * 2_200_000)
    return among(text=(bodies.map(in_json).map(str.encode), 9), raw=(raw, 1))


def in_json(body):
    """JSON; a file in it is its name, which no address takes for one."""
    return json.dumps(body, default=str)


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
    words = scalars.map(in_words)
    return among(none=(st.just({}), 2), some=(st.dictionaries(names, words, max_size=3), 1))


@pytest.mark.parametrize("prefix", sorted({where.prefix for where in addresses()}))
def test_no_request_makes_it_stumble(client, house, prefix):
    reached = Counter()
    for where in addresses():
        for method in where.methods if where.prefix == prefix else ():
            reached += statuses(client, house, where, method)

    assert {200, 400} <= set(reached), reached
    if prefix in SAMPLES and SAMPLES[prefix].body:
        assert {201, 202} & set(reached), reached


def statuses(client, house, where, method):
    """Try an address out; how often it gave which answer."""
    reached = Counter()

    @seed(zlib.crc32(f"{method} {where.template}".encode()))
    @settings(
        max_examples=FEWER.get(where.prefix, EACH),
        database=None,
        deadline=None,
        phases=[Phase.explicit, Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(st.data())
    def try_out(data):
        with transaction.atomic():
            reached[one_request(client, house, data, where, method)] += 1
            transaction.set_rollback(True)

    try_out()
    return reached


def one_request(client, house, data, where, method):
    """Send one request and look at the answer; its status."""
    prefix, path = where.prefix, where.template
    if "{pk}" in path:
        real = str(SAMPLES[prefix].make(house).pk)
        path = where.at(quote(data.draw(among(real=(st.just(real), 5), odd=(odd_ids, 1))), safe=""))
    query = data.draw(queries(prefix))
    if prefix not in SAMPLES and data.draw(st.booleans()):
        # Computed answers are about one house.
        query = {"property": house.pk, **query}
    body, content_type = b"", ""
    if method != "get":
        body, content_type = data.draw(sent(good_body(house, prefix, where)))
    answer = client.generic(
        method.upper(),
        f"{path}?{urlencode(query)}" if query else path,
        body,
        content_type=content_type,
        **data.draw(headers),
    )

    assert answer.status_code < 500, answer.content
    if answer.status_code >= 400:
        assert answer["Content-Type"] == "application/problem+json"
        assert answer.json()["status"] == answer.status_code
        assert answer.json()["detail"]
    elif answer.streaming:
        assert b"".join(answer.streaming_content)
        assert path.rstrip("/").endswith(("/file", "/thumbnail"))
    elif answer.headers.get("Content-Type", "").startswith("text/csv"):
        assert path in {f"{API}timber-pieces/export/", f"{API}tasks/export/"}
        assert b"mark," in answer.content or b"title," in answer.content
    elif answer.status_code not in {204, 304}:
        json.loads(answer.content)
    return answer.status_code


def good_body(house, prefix, where):
    """What the address takes, as far as the samples know."""
    action = where.template.removeprefix(API)
    if action in ACTION_BODIES:
        return ACTION_BODIES[action](house)
    if prefix.removeprefix("checks/") in ASKED:
        return ASKED[prefix.removeprefix("checks/")]
    if where.template.endswith("/set-out/"):
        return {"max_board_length_mm": 2400, "first_joist_mm": 50, "first_board_mm": 150}
    sample = SAMPLES.get(prefix)
    return sample.body(house) if sample and sample.body else {}
