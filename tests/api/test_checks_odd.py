"""Odd figures at every depth of a calculator's body: never a 500, and never without end.

The fuzz over all addresses spoils the top of a body; here one or two parts anywhere in it are
changed, dropped, or repeated, so that the sums themselves meet them. The same ones in every run.
"""

from __future__ import annotations

import json
from collections import Counter
from copy import deepcopy
from random import Random

import pytest

from tests.api.documented import NAMES, asked

EACH = 60
ODD = (
    0, 1, -1, 2, 10**9, -(10**9), 1e-9, 1e-300, 1e300, 0.5, -0.0, None, True, "", "x", [], {}, [[]],
    "C24", "left", "notch", "hole", "centre", 100, 19_999, 20_000, 40, [0], "bolt_m16", 120.5,
)  # fmt: skip
SCALES = (0.01, 0.5, 2, 10, 1000)


def places(value, path=()):
    """The way to every part of a body."""
    items = value.items() if isinstance(value, dict) else enumerate(value)
    for key, inner in items:
        yield (*path, key)
        if isinstance(inner, dict | list):
            yield from places(inner, (*path, key))


def spoilt(body, chance):
    """A body with one or two of its parts odd."""
    body = deepcopy(body)
    for _ in range(chance.choice((1, 1, 2))):
        if not body:
            break
        *way, last = chance.choice(list(places(body)))
        holder = body
        for key in way:
            holder = holder[key]
        part = holder[last]
        if isinstance(part, list) and part and chance.random() < 0.5:
            holder[last] = part * chance.choice((2, 30, 600))
        elif type(part) in {int, float} and chance.random() < 0.5:
            holder[last] = type(part)(part * chance.choice(SCALES))
        elif chance.random() < 0.2:
            del holder[last]
        else:
            holder[last] = chance.choice(ODD)
    return body


@pytest.mark.parametrize("name", NAMES)
def test_no_figure_makes_a_calculator_stumble(client, name):
    client.raise_request_exception = False
    chance, statuses = Random(name), Counter()

    for _ in range(EACH):
        body = spoilt(asked(name), chance)
        answer = client.post(f"/api/v1/checks/{name}/", body)

        assert answer.status_code in {200, 400}, (answer.content, json.dumps(body)[:2000])
        json.loads(answer.content, parse_constant=pytest.fail)
        statuses[answer.status_code] += 1

    assert set(statuses) == {200, 400}, statuses
