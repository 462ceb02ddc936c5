"""A pile, a plan and somebody at the saw, for the tests of cutting plans."""

from __future__ import annotations

from tests import factories
from tests.api.asking import ago


def dry_piece(house, mark, length_mm, *, defects=(), **fields):
    """A piece of 50 × 100 mm that was 15 % an hour ago."""
    piece = factories.PieceFactory(
        property=house, mark=mark, length_mm=length_mm, stored="dry", **fields
    )
    factories.MoistureReadingFactory(
        piece=piece, measured_pct=15, at_mm=length_mm - 200, read_at=ago(1)
    )
    for kind, from_mm, to_mm in defects:
        factories.DefectFactory(piece=piece, kind=kind, from_mm=from_mm, to_mm=to_mm)
    return piece


def need(house, title, length_mm, **fields):
    return factories.NeedFactory(property=house, title=title, length_mm=length_mm, **fields)


def plan(client, house, **fields):
    answer = client.post("/api/v1/cutting-plans/", {"property": house.pk, "seconds": 5, **fields})
    assert answer.status_code == 201, answer.json()
    assert answer.json()["state"] == "ready", answer.json()
    return answer.json()


def apply(client, made, **body):
    return client.post(f"/api/v1/cutting-plans/{made['id']}/apply/", body)


def undo(client, made):
    return client.post(f"/api/v1/cutting-plans/{made['id']}/undo/")


def made(client, cut, actual_mm, **how):
    return client.post(f"/api/v1/cuts/{cut['id']}/made/", {"actual_mm": actual_mm}, **how)


def take_back(client, cut):
    return client.post(f"/api/v1/cuts/{cut['id']}/take-back/")


def read(client, made):
    return client.get(f"/api/v1/cutting-plans/{made['id']}/").json()


def only_bar(made):
    (bar,) = made["bars"]
    return bar


def keeps_its_length(bar):
    parts = ("parts_mm", "kerfs_mm", "trims_mm", "offcuts_mm", "waste_mm")
    return sum(bar[name] for name in parts) == bar["length_mm"]


def cuts_of(made):
    return only_bar(made)["cuts"]
