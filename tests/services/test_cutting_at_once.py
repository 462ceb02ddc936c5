"""Two people at one pile: a piece in two plans, and one cut recorded twice, at the same moment."""

from __future__ import annotations

from collections import Counter

import pytest

from tests.services.test_at_once import CLIENTS, at_once

# A house with one old rafter, two needs that both fit it, and a plan made for each set of needs.
PILE = """
from apps.property.models import Property
from apps.timber.models import CuttingPlan
from apps.timber.services import cutting
from tests import factories
from tests.services import seed
house = Property.objects.get(pk=seed.house()['property'])
piece = factories.PieceFactory(property=house, mark='T1', length_mm=2000)
needs = [
    factories.NeedFactory(
        property=house, length_mm=mm, priority=n, moisture_limit_pct=None
    )
    for n, mm in enumerate((900, 400), start=1)
]
plans = []
for wanted in {wanted}:
    plan = CuttingPlan.objects.create(property=house, seconds=1)
    plan.needs.set([needs[n] for n in wanted])
    cutting.solve(plan_id=plan.pk)
    plans.append(plan.pk)
answer = plans
"""


@pytest.fixture(params=["grown", "small"])
def service(request):
    return request.getfixturevalue(request.param)


def plans(service, *wanted):
    return service.installation.run(PILE.replace("{wanted}", repr(wanted)))


def code(answer):
    return answer.json().get("type", "").partition("#")[2] or answer.status


def test_a_piece_in_two_plans_applied_at_once_goes_to_one_of_them(service):
    both = plans(service, [0], [1])

    answers = at_once(
        *(lambda pk=pk: service.post(f"cutting-plans/{pk}/apply/", {}) for pk in both)
    )

    assert Counter(map(code, answers)) == {200: 1, "piece-taken": 1}


def test_a_cut_recorded_by_many_at_once_is_recorded_once(service):
    (plan,) = plans(service, [0, 1])
    applied = service.post(f"cutting-plans/{plan}/apply/", {}).json()
    first, second = applied["bars"][0]["cuts"]

    answers = at_once(
        *[lambda: service.post(f"cuts/{first['id']}/made/", {"actual_mm": 895})] * CLIENTS
    )
    after = at_once(
        lambda: service.post(f"cuts/{second['id']}/made/", {"actual_mm": 400}),
        lambda: service.post(f"cuts/{first['id']}/take-back/", {}),
        lambda: service.post(f"cuts/{second['id']}/pin/", {}),
    )

    assert Counter(map(code, answers)) == {200: 1, "cut-made-already": CLIENTS - 1}
    assert {answer.status for answer in after} <= {200, 409}
    bar = service.get(f"cutting-plans/{plan}/").json()["bars"][0]
    lengths = ("parts_mm", "kerfs_mm", "trims_mm", "offcuts_mm", "waste_mm")
    assert sum(bar[name] for name in lengths) == bar["length_mm"]
