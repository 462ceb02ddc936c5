"""What was measured in the demo house: decayed ends, a blocked air brick, a floor to be packed."""

from __future__ import annotations

from datetime import date

import pytest

from apps.checks.level_task import LevelTask
from apps.checks.levelling import levelled
from apps.checks.packers import Packer
from apps.checks.ventilation_settings import VentilationSettings
from apps.floors import ground
from apps.floors.models import Floor, Joist
from apps.planning import demo
from apps.timber.models import Need
from tests.factories import UserFactory

pytestmark = pytest.mark.django_db

INNER_WALLS = (1, 2)
"""The parlour's walls to the front room and to the hall lead to no outside air."""


@pytest.fixture
def parlour():
    house = demo.load_demo(owner=UserFactory(), today=date(2026, 11, 23))
    return Floor.objects.get(property=house, name="Back parlour floor")


def test_the_probes_tell_of_decay_where_it_is_noted_and_the_saw_cut_is_that_of_the_needs(parlour):
    for joist in Joist.objects.filter(floor=parlour, mark__in=["J4", "J5", "J6", "J7"]):
        (cut,) = ground.evidence_of(joist, rot="wet").cut_backs
        (noted,) = joist.decayed
        need = Need.objects.get(joist=joist)

        assert (cut.first_sign_mm, cut.last_sign_mm) == (noted["from_mm"], noted["to_mm"])
        sawn_off = int(need.length_rule.split()[0])
        assert cut.keep_to_mm == noted["to_mm"] - sawn_off


def test_corroded_nails_beside_clean_ones_are_noted_and_the_dull_joist_is_in_doubt(parlour):
    dull = Joist.objects.get(floor=parlour, mark="J8")

    found = ground.evidence_of(dull)

    assert {place.state for place in found.places} == {"doubtful", "sound"}
    assert any("came out corroded while others" in note.sentence for note in found.notes)


def test_with_the_air_brick_paved_over_no_air_crosses_under_the_parlour(parlour):
    usual = VentilationSettings()
    shut = ground.air_under(parlour, settings=usual, inside=INNER_WALLS)

    parlour.air_bricks.filter(mark="A-north").update(state="open")
    parlour = Floor.objects.get(pk=parlour.pk)
    dug_out = ground.air_under(parlour, settings=usual, inside=INNER_WALLS)

    assert shut.outcome.passes is False
    assert shut.provided_mm2 == 0
    assert dug_out.provided_mm2 == 4500


def test_the_laser_round_can_be_packed_level_with_what_lies_about(parlour):
    datum, rows = ground.heights_of(parlour, None)

    answer = levelled(
        LevelTask(
            spots=ground.spots_of(rows),
            packers=tuple(Packer(thickness_mm=mm) for mm in (2, 3, 5, 11, 18)),
            flatness="SR2",
            target_mm=-308.0,
        )
    )

    assert datum == "laser"
    assert answer.possible
    assert answer.planed_mm == 0
    assert max(line.lift_mm for line in answer.sheet) > 18
