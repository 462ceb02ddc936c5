"""Beams against a general frame solver and handbook formulas.

Sources:
- PyNiteFEA 3.2.0, a general 3-D frame solver (Euler beams), run here on the same five frames.
- Handbook formulas of the Roark type (5wL⁴/384EI, PL³/48EI, Pa(L²−a²)^1.5/(9√3 EIL)), from memory.
- The recorded figures of the five frames were computed with PyNiteFEA 3.2.0 and are a second,
  frozen copy of the same thing: recomputed, not published.
The frames: a 47 × 195 joist of E 11000 over 3600 mm under a spread load (1), a spread and a central
load (2), a load at 1200 mm (3); a 47 × 145 of E 8000 with a 47 × 145 of E 11000 beside it, linked
every 150 mm, full length (4) and over the middle 2400 mm only (5).
"""

import warnings
from functools import cache
from itertools import pairwise
from math import sqrt

import pytest

from apps.checks.beams import Beam, Link, bend, bend_linked

SPAN = 3600
INERTIA = 47 * 195**3 / 12
EI = 11000 * INERTIA
PAIR_INERTIA = 47 * 145**3 / 12
STIFF = 1e8  # a link that hardly gives [N/mm]


def frame_model():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from Pynite import FEModel3D
    return FEModel3D()


def solved(model):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        model.analyze_linear(check_stability=False)
    return model


def frame(*, e, inertia, places, loads=(), w=0.0, supports=(0, SPAN)):
    """One beam of the frame solver with nodes at `places`."""
    model = frame_model()
    add_beam(model, "A", 0.0, e, inertia, places, w=w, supports=supports)
    for load, at in loads:
        model.add_node_load(f"A{at:g}", "FY", -load)
    return solved(model)


def add_beam(model, name, y, e, inertia, places, *, w=0.0, supports=()):
    model.add_material(f"m{name}", e, e / 16, 0.3, 1e-9)
    model.add_section(f"s{name}", 1e5, inertia, inertia, inertia)
    for at in places:
        model.add_node(f"{name}{at:g}", at, y, 0)
        held = at in supports
        model.def_support(f"{name}{at:g}", held or at == places[0], held, True, True, True, False)
    for a, b in pairwise(places):
        member = f"{name}{a:g}-{b:g}"
        model.add_member(member, f"{name}{a:g}", f"{name}{b:g}", f"m{name}", f"s{name}")
        if w:
            model.add_member_dist_load(member, "FY", -w, -w)


def sag(model, node):
    return -model.nodes[node].DY["Combo 1"]


def plain(**loads):
    return bend(
        Beam(
            from_mm=0, to_mm=SPAN, stiffness=((0, SPAN, EI),), supports=(0, SPAN), **loads
        )
    )  # fmt: skip


def test_a_spread_load_bends_a_joist_as_the_frame_solver_and_the_handbook_say():
    ours = plain(spread=((1.178, 0, SPAN),))
    theirs = frame(e=11000, inertia=INERTIA, places=[0, 1800, SPAN], w=1.178)
    worst, at = ours.greatest_deflection()
    assert worst == pytest.approx(sag(theirs, "A1800"), rel=1e-9)
    assert worst == pytest.approx(5 * 1.178 * SPAN**4 / (384 * EI), rel=1e-12)
    assert worst == pytest.approx(8.064564920161043, rel=1e-12)
    assert at == pytest.approx(1800)
    assert ours.greatest_moment() == pytest.approx((1_908_360.0, 1800))
    assert ours.greatest_shear()[0] == pytest.approx(1.178 * SPAN / 2)


def test_a_central_load_adds_to_a_spread_one_as_the_frame_solver_says():
    ours = plain(spread=((0.278, 0, SPAN),), points=((2000, 1800),))
    theirs = frame(
        e=11000, inertia=INERTIA, places=[0, 1800, SPAN], w=0.278, loads=[(2000, 1800)]
    )  # fmt: skip
    assert ours.greatest_deflection()[0] == pytest.approx(sag(theirs, "A1800"), rel=1e-9)
    assert ours.greatest_deflection()[0] == pytest.approx(7.988498471187632, rel=1e-12)
    assert ours.greatest_moment()[0] == pytest.approx(2_250_360.0, rel=1e-12)


def test_a_load_off_the_middle_sinks_the_joist_most_where_the_handbook_says():
    ours = plain(points=((2000, 1200),))
    worst = sqrt((SPAN**2 - 1200**2) / 3)
    theirs = frame(
        e=11000, inertia=INERTIA, places=[0, 1200, 1800, SPAN], loads=[(2000, 1200)]
    )  # fmt: skip
    assert ours.deflection([1200, 1800]) == pytest.approx(
        [sag(theirs, "A1200"), sag(theirs, "A1800")], rel=1e-9
    )
    assert ours.deflection([1200, 1800]) == pytest.approx([4.80815085, 5.18378763], abs=1e-8)
    assert ours.greatest_deflection() == pytest.approx((5.23445164, SPAN - worst), rel=1e-8)
    assert worst == pytest.approx(SPAN - 1640.408, abs=1e-3)
    assert ours.greatest_deflection()[0] == pytest.approx(
        2000 * 1200 * (SPAN**2 - 1200**2) ** 1.5 / (9 * sqrt(3) * EI * SPAN), rel=1e-10
    )


def test_a_beam_over_three_supports_meets_the_frame_solver_and_the_handbook():
    ours = bend(
        Beam(
            from_mm=0,
            to_mm=4000,
            stiffness=((0, 4000, EI),),
            supports=(0, 2000, 4000),
            spread=((1.0, 0, 4000),),
        )
    )
    places = [0, 1000, 2000, 3000, 4000]
    theirs = frame(e=11000, inertia=INERTIA, places=places, w=1.0, supports=(0, 2000, 4000))
    assert ours.reactions == pytest.approx((750, 2500, 750))  # 3wL/8 and 5wL/4
    assert ours.greatest_moment() == pytest.approx((-(2000**2) / 8, 2000))
    assert theirs.nodes["A2000"].RxnFY["Combo 1"] == pytest.approx(ours.reactions[1])
    assert ours.deflection([1000])[0] == pytest.approx(sag(theirs, "A1000"), rel=1e-8)


@cache
def pair(low, high):
    """The sistered pair in our solver and in the frame solver, linked alike."""
    inner = [at for at in range(low, high + 1, 150) if 0 < at < SPAN]
    old = Beam(
        from_mm=0,
        to_mm=SPAN,
        stiffness=((0, SPAN, 8000 * PAIR_INERTIA),),
        supports=(0, SPAN),
        spread=((1.0, 0, SPAN),),
    )
    full = low == 0
    sister = Beam(
        from_mm=low,
        to_mm=high,
        stiffness=((low, high, 11000 * PAIR_INERTIA),),
        supports=(0, SPAN) if full else (),
    )
    ours = bend_linked(old, sister, [Link(at, STIFF) for at in inner])
    model = frame_model()
    add_beam(
        model, "A", 0.0, 8000, PAIR_INERTIA, list(range(0, SPAN + 1, 150)), w=1.0,
        supports=(0, SPAN),
    )  # fmt: skip
    add_beam(
        model, "B", -100.0, 11000, PAIR_INERTIA, list(range(low, high + 1, 150)),
        supports=(0, SPAN) if full else (),
    )  # fmt: skip
    for at in inner:
        model.add_spring(f"L{at}", f"A{at}", f"B{at}", STIFF)
    return ours, solved(model)


def test_a_full_length_sister_takes_its_share_by_stiffness():
    ours, theirs = pair(0, SPAN)
    middle = ours.one.deflection([1800])[0]
    assert middle == pytest.approx(sag(theirs, "A1800"), rel=1e-6)
    closed = 5 * SPAN**4 / (384 * 19000 * PAIR_INERTIA)
    assert closed == pytest.approx(9.639945164639007, rel=1e-12)
    assert middle == pytest.approx(closed, rel=1e-6)
    assert middle == pytest.approx(9.639950922478603, rel=1e-6)
    share = ours.other.moment([1800])[0] / (SPAN**2 / 8)
    assert share == pytest.approx(0.5796174462, abs=1e-5)  # the frame, linked every 150 mm
    assert share == pytest.approx(11 / 19, abs=1e-3)  # 0.5789 by EI, linked everywhere


def test_a_short_sister_is_held_by_a_couple_at_its_ends():
    ours, theirs = pair(600, 3000)
    assert ours.one.deflection([1800])[0] == pytest.approx(sag(theirs, "A1800"), rel=1e-6)
    assert ours.one.deflection([1800])[0] == pytest.approx(10.469618, abs=2e-4)
    forces = ours.link_forces
    assert forces[0] == pytest.approx(-5060, abs=10)
    assert forces[1] == pytest.approx(5670, abs=10)
    assert forces[-1] == pytest.approx(forces[0], rel=1e-4)
    assert max(abs(force) for force in forces[2:-2]) < 1500
    for at, force in zip(range(600, 3001, 150), forces, strict=True):
        apart = theirs.nodes[f"A{at}"].DY["Combo 1"] - theirs.nodes[f"B{at}"].DY["Combo 1"]
        assert -apart * STIFF == pytest.approx(force, abs=5)


def test_stepped_stiffness_meets_virtual_work():
    """Closed form of the short sister with perfect links: ∫Mm/EI, so that EI is stepped."""
    low, high, both = 600, 3000, 19000 * PAIR_INERTIA
    ours = bend(
        Beam(
            from_mm=0,
            to_mm=SPAN,
            stiffness=(
                (0, low, 8000 * PAIR_INERTIA),
                (low, high, both),
                (high, SPAN, 8000 * PAIR_INERTIA),
            ),
            supports=(0, SPAN),
            spread=((1.0, 0, SPAN),),
        )
    )
    beside = (SPAN * low**3 / 3 - low**4 / 4) / 2  # ∫Mm over both bare ends
    bare = (1 / 8000 - 1 / 19000) / PAIR_INERTIA * beside
    assert ours.deflection([1800])[0] == pytest.approx(5 * SPAN**4 / (384 * both) + bare, rel=1e-10)
    assert ours.deflection([1800])[0] == pytest.approx(10.327041, rel=3e-5)  # by quadrature
