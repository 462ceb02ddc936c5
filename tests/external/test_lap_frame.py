"""The forces and the sag of a lapped joist against an independent frame solver.

Source: PyNiteFEA 3.2, a general frame solver (MIT), asked the same question as a frame: two beams
side by side, each on one support, joined by a spring at every column of fixings. Where each end has
one column the frame is statically determinate, so the forces cannot depend on any stiffness; with
more columns the timber is made rigid, which is what sharing by distance presupposes. The solver
leaves out the shear of the timber, so only bending and slip are compared.
"""

import itertools

import pytest
from Pynite import FEModel3D

from apps.checks.lap_statics import LapShape, lap_state, sag_of_slip, sag_of_timber

BREADTH, DEPTH = 47.0, 195.0
INERTIA = BREADTH * DEPTH**3 / 12
SPRING_N_MM = 7400.0  # a column of two M12 bolts; see the slip regressions
STIFF, NEW_E, OLD_E = 1e8, 11000.0, 8000.0
NO_SHEAR = 1e30


def frame(shape, w, points, *, new_e=NEW_E, old_e=OLD_E):
    """Force of each column on the new piece, upwards, and the sag of mid-span."""
    model = FEModel3D()
    for name, e in (("new", new_e), ("old", old_e), ("rail", NEW_E)):
        model.add_material(name, e, e / 16, 0.3, 0)
    model.add_section("joist", BREADTH * DEPTH, INERTIA, INERTIA, INERTIA)
    model.add_section("rail", 1e6, 1e12, 1e12, 1e12)
    places = {0.0, shape.cut, shape.tip, shape.span / 2, shape.span, *shape.columns}
    places.update(at for _, at in points)
    lines = {
        "new": sorted(x for x in places if x <= shape.tip),
        "old": sorted(x for x in places if x >= shape.cut),
    }
    for name, line in lines.items():
        held = 0.0 if name == "new" else shape.span
        for x in line:
            model.add_node(f"{name}{x}", x, 0, 0 if name == "new" else 100)
            model.def_support(f"{name}{x}", x == held, x == held, True, True, True, False)
        for low, high in itertools.pairwise(line):
            member = f"{name}{low}-{high}"
            model.add_member(member, f"{name}{low}", f"{name}{high}", name, "joist")
            share = {"new": 1 - shape.on_old, "old": shape.on_old}[name]
            here = w if high <= shape.cut or low >= shape.tip else w * share
            model.add_member_dist_load(member, "Fy", -here, -here)
    for x in shape.columns:
        # A spring of the solver pulls along its own line, so each column is two upright springs
        # hung from a rail that only slides up and down.
        for name, z in (("new", 0), ("old", 100)):
            model.add_node(f"rail-{name}{x}", x, 1000, z)
            model.def_support(f"rail-{name}{x}", True, False, True, True, True, True)
            model.add_spring(f"spring-{name}{x}", f"{name}{x}", f"rail-{name}{x}", 2 * SPRING_N_MM)
        model.add_member(f"rail{x}", f"rail-new{x}", f"rail-old{x}", "rail", "rail")
    for load, at in points:
        name = "new" if at < shape.cut else "old"
        model.add_node_load(f"{name}{at}", "FY", -load)
    model.analyze()

    def moved(node):
        return model.nodes[node].DY["Combo 1"]

    forces = [2 * SPRING_N_MM * (moved(f"rail-new{x}") - moved(f"new{x}")) for x in shape.columns]
    return forces, -moved(f"old{shape.span / 2}")


ONE_EACH = LapShape(span=3640.0, cut=420.0, tip=1020.0, columns=(505.0, 935.0), rows=2)
LOADS = pytest.mark.parametrize(
    ("w", "points"),
    [
        (0.9, ()),
        (0.0, ((3000.0, 420.0),)),
        (0.0, ((3000.0, 1020.0),)),
        (0.3, ((1000.0, 2500.0), (500.0, 200.0))),
    ],
    ids=["spread", "load on the sawn end", "load at the tip", "walls across"],
)


@LOADS
def test_one_column_at_each_end_passes_on_what_the_frame_says(w, points):
    forces, _ = frame(ONE_EACH, w, points)
    state = lap_state(ONE_EACH, w, points)
    assert list(state.fixings) == pytest.approx(forces, rel=1e-6)
    assert state.hardest == pytest.approx(max(map(abs, forces)) / 2, rel=1e-6)


@LOADS
def test_mid_span_sinks_as_far_as_the_frame_says(w, points):
    _, sag = frame(ONE_EACH, w, points)
    state = lap_state(ONE_EACH, w, points)
    unit = lap_state(ONE_EACH, 0.0, ((1.0, ONE_EACH.span / 2),))
    timber = sag_of_timber(state, unit, (NEW_E * INERTIA, NO_SHEAR), (OLD_E * INERTIA, NO_SHEAR))
    assert timber + sag_of_slip(state, unit, SPRING_N_MM) == pytest.approx(sag, rel=1e-6)


def test_several_columns_share_as_in_a_frame_of_rigid_timber():
    shape = LapShape(
        span=3640.0, cut=420.0, tip=1120.0, columns=(505.0, 555.0, 985.0, 1035.0), rows=1
    )
    points = ((2000.0, 2200.0),)
    forces, _ = frame(shape, 0.8, points, new_e=STIFF, old_e=STIFF)
    assert list(lap_state(shape, 0.8, points).fixings) == pytest.approx(forces, rel=1e-4)


def test_a_load_shared_by_both_pieces_is_shared_in_the_frame():
    shape = LapShape(span=3640.0, cut=420.0, tip=1020.0, columns=(505.0, 935.0), rows=2, on_old=0.5)
    forces, _ = frame(shape, 0.9, ())
    assert list(lap_state(shape, 0.9, ()).fixings) == pytest.approx(forces, rel=1e-6)


def test_the_shear_within_a_short_lap_is_far_greater_than_at_the_bearing():
    """Both pieces carry the couple as shear: for it a lap is most often drawn too short."""
    shape = LapShape(span=3640.0, cut=420.0, tip=820.0, columns=(505.0, 735.0), rows=2)
    forces, _ = frame(shape, 0.9, ())
    state = lap_state(shape, 0.9, ())
    between = state.greatest(state.shear_old, shape.columns[0], shape.columns[1])
    # Past its first column the old joist carries the lift of that column, less what stands on it.
    assert between == pytest.approx(abs(forces[0]) - 0.9 * (505.0 - 420.0), rel=1e-6)
    assert between > 2.5 * 0.9 * shape.span / 2
