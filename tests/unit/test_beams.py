"""The beam solver: balance, symmetry, overhangs, and what does not stand."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.checks.beams import Beam, Link, bend, bend_linked

EI = 3e11


def beam(length=3000.0, supports=None, **loads):
    return Beam(
        from_mm=0,
        to_mm=length,
        stiffness=((0, length, EI),),
        supports=(0, length) if supports is None else supports,
        **loads,
    )


@settings(max_examples=40)
@given(
    st.integers(500, 8000),
    st.lists(st.tuples(st.floats(0, 5000), st.floats(0, 1)), max_size=4),
    st.floats(0, 5),
    st.tuples(st.floats(0, 0.45), st.floats(0.55, 1)),
)
def test_reactions_balance_the_loads_whatever_they_are(length, points, w, part):
    loads = tuple((load, round(share * length)) for load, share in points)
    start, end = round(part[0] * length), round(part[1] * length)
    bent = bend(beam(length, points=loads, spread=((w, start, end),)))
    total = sum(load for load, _ in loads) + w * (end - start)
    about = sum(load * at for load, at in loads) + w * (end**2 - start**2) / 2
    assert sum(bent.reactions) == pytest.approx(total, abs=1e-6 * max(total, 1))
    assert bent.reactions[1] * length == pytest.approx(about, abs=1e-6 * max(about, 1))
    assert np.all(np.isfinite(bent.deflection(np.linspace(0, length, 7))))


@settings(max_examples=25)
@given(st.floats(0, 5000), st.floats(1, 3), st.floats(0.1, 0.9))
def test_more_load_never_bends_less(load, factor, share):
    light, heavy = (bend(beam(points=((n, share * 3000),))) for n in (load, load * factor))
    for read in ("greatest_moment", "greatest_shear", "greatest_deflection"):
        assert getattr(heavy, read)()[0] >= getattr(light, read)()[0] - 1e-6


def test_an_overhang_lifts_the_far_end():
    bent = bend(beam(supports=(0, 2000), points=((1000, 3000),)))
    assert bent.reactions == pytest.approx((-500, 1500))
    assert bent.greatest_moment() == pytest.approx((-1_000_000, 2000))
    assert bent.deflection([1000])[0] < 0 < bent.deflection([3000])[0]


def test_shear_jumps_at_a_load_and_the_greater_side_is_told():
    bent = bend(beam(points=((900, 1000),)))
    assert bent.shear([500, 1000, 2000]) == pytest.approx([600, 600, 300])
    assert bent.greatest_shear()[0] == pytest.approx(600)


@pytest.mark.parametrize("supports", [(), (1500,), (1500, 1500)])
def test_a_beam_that_would_fall_or_swing_is_refused_in_words(supports):
    with pytest.raises(ValueError, match="does not stand"):
        bend(beam(supports=supports, points=((1000, 500),)))


def test_two_beams_hung_together_at_one_place_only_do_not_stand():
    with pytest.raises(ValueError, match="does not stand"):
        bend_linked(beam(), beam(supports=()), [Link(1500, 1000)])


def test_two_half_beams_stand_on_each_other_through_their_fixings():
    left = Beam(
        from_mm=0, to_mm=2000, stiffness=((0, 2000, EI),), supports=(0,),
        spread=((1.0, 0, 2000),),
    )  # fmt: skip
    right = Beam(
        from_mm=1000, to_mm=3000, stiffness=((1000, 3000, EI),), supports=(3000,)
    )  # fmt: skip
    bent = bend_linked(left, right, [Link(1100, 5000), Link(1900, 5000)])
    assert bent.one.reactions[0] == pytest.approx(2000 - 2000 * 1000 / 3000)
    assert bent.one.reactions[0] + bent.other.reactions[0] == pytest.approx(2000)
    assert sum(bent.link_forces) == pytest.approx(bent.other.reactions[0])


@pytest.mark.parametrize(
    "wrong",
    [
        {"points": ((float("nan"), 100),)},
        {"points": ((100, 4000),)},
        {"spread": ((float("inf"), 0, 100),)},
        {"spread": ((1, 200, 100),)},
        {"supports": (0, 5000)},
    ],
)
def test_figures_that_are_no_beam_are_refused_in_a_sentence(wrong):
    with pytest.raises(ValueError, match=r"\.$"):
        beam(**wrong)


@pytest.mark.parametrize(
    "stiffness",
    [
        (),
        ((0, 1000, EI),),
        ((0, 3000, 0),),
        ((0, 3000, float("nan")),),
        ((0, 1, EI), (2, 3000, EI)),
    ],
)
def test_stiffness_has_no_gaps_and_is_more_than_nothing(stiffness):
    with pytest.raises(ValueError, match="stiffness"):
        Beam(from_mm=0, to_mm=3000, stiffness=stiffness, supports=(0, 3000))


@settings(max_examples=20)
@given(st.integers(1, 12), st.integers(0, 1000))
def test_places_close_together_do_not_spoil_the_figures(number, seed):
    """Nodes a fraction of a millimetre apart: the sag stays that of the plain beam."""
    random = np.random.default_rng(seed)
    places = 1500 + random.uniform(-0.4, 0.4, number)
    bent = bend(beam(points=tuple((1000 / number, float(at)) for at in places)))
    plain = 1000 * 3000**3 / (48 * EI)
    assert bent.deflection([1500])[0] == pytest.approx(plain, rel=1e-3)
