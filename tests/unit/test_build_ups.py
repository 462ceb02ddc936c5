"""The step at a doorway and what it needs."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.checks.build_ups import SENTENCES, DoorwaySettings, Layer, Room, doorway


def room(name, joist_top_mm, *thicknesses):
    layers = tuple(Layer(name=f"layer {n}", thickness_mm=mm) for n, mm in enumerate(thicknesses))
    return Room(name=name, joist_top_mm=joist_top_mm, layers=layers)


def test_the_step_is_the_difference_of_the_finished_floors():
    found = doorway(room("Hall", 0.0, 21), room("Parlour", -12.5, 18, 3, 14))

    assert (found.a_finished_mm, found.b_finished_mm) == (21.0, 22.5)
    assert found.step_mm == 1.5
    assert found.needs == "flush"
    assert found.sentence.startswith("Parlour finishes 1.5 mm above Hall: it counts as flush.")


# Flush to 3 mm, ramp strip to 15, step above: common practice, no source.
@pytest.mark.parametrize(
    ("step_mm", "needs", "warned"),
    [
        (0, "flush", False),
        (3, "flush", False),
        (3.1, "ramp_strip", False),
        (6, "ramp_strip", False),
        (6.1, "ramp_strip", True),
        (15, "ramp_strip", True),
        (15.1, "step", True),
    ],
)
def test_what_a_step_needs(step_mm, needs, warned):
    found = doorway(room("Hall", 0.0), room("Parlour", float(step_mm)))

    assert found.needs == needs
    assert bool(found.warnings) is warned


def test_the_lower_room_is_named_with_what_it_lacks():
    found = doorway(room("Hall", 0.0, 30), room("Parlour", 0.0, 21))

    assert found.step_mm == -9
    assert "Hall finishes 9 mm above Parlour" in found.sentence
    assert "Parlour needs 9 mm more under its finish" in found.sentence
    assert found.ramp_length_mm == 108


def test_level_floors_are_told_to_be_level():
    assert doorway(room("Hall", 0.0, 21), room("Parlour", 3.0, 18)).sentence == (
        "Hall and Parlour finish level."
    )


heights = st.floats(-500, 500)
thicknesses = st.lists(st.floats(0, 60), max_size=4)


@given(heights, thicknesses, heights, thicknesses)
def test_seen_from_the_other_side_the_step_is_the_same(top_a, layers_a, top_b, layers_b):
    a, b = room("Hall", top_a, *layers_a), room("Parlour", top_b, *layers_b)

    here, there = doorway(a, b), doorway(b, a)

    assert here.step_mm == -there.step_mm
    assert (here.needs, here.ramp_length_mm) == (there.needs, there.ramp_length_mm)


@pytest.mark.parametrize(
    ("top", "layers"),
    [(20_001.0, ()), (float("nan"), ()), (0.0, (-1.0,)), (0.0, (float("nan"),)), (0.0, (1001.0,))],
)
def test_heights_that_no_floor_has_are_refused(top, layers):
    with pytest.raises(ValueError, match=r"\.$"):
        doorway(room("Hall", 0.0), room("Parlour", top, *layers))


@pytest.mark.parametrize(
    "wrong", [{"flush_to_mm": 16.0}, {"trips_from_mm": -1.0}, {"ramp_slope": 0.0},
              {"ramp_to_mm": float("nan")}]
)  # fmt: skip
def test_settings_that_contradict_themselves_are_refused(wrong):
    with pytest.raises(ValueError, match=r"\.$"):
        DoorwaySettings(**wrong)


def test_every_setting_has_its_sentence():
    assert set(SENTENCES) == set(DoorwaySettings.__dataclass_fields__)
