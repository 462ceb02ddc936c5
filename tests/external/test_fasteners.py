"""What nails, screws and bolts carry across a joint, against published and recomputed values.

Sources:
- Four nail values of the US NDS, table 12N (single shear, common nails, gravity 0.50): 105,
  118, 141 and 90 lbf, from memory; the first also read as 467.49 N in a public test after the
  AWC's solved examples (github xcfem/xc, lateral_design_value_test_01.py). The NDS has the same six
  yield modes without the friction factors of EN 1995-1-1, so the product's own function answers.
  Inputs: F_e 4650 psi, F_yb 90 ksi (100 for 0.131 in), R_d 2.2, penetration = length less side.
- EN 1995-1-1 equation 8.6 by mode, C16, and slip by table 7.1: RECOMPUTED regressions, not
  published: no worked European example with all its inputs was found.
"""

import pytest

from apps.checks.fasteners import (
    Fastener,
    Ply,
    effective_diameter_mm,
    embedment_n_mm2,
    single_shear,
    slip_n_mm,
    yield_moment_nmm,
)
from apps.checks.strength import strength_class
from apps.checks.yielding import single_shear_modes

C16 = strength_class("C16")
ROOT_SHARE = 0.6
WIRE_NAIL = Fastener(kind="nail", diameter_mm=3.35, length_mm=75, f_u_n_mm2=600)
SCREW = Fastener(kind="screw", diameter_mm=6, length_mm=100, root_mm=4, f_u_n_mm2=540)
BOLT = Fastener(kind="bolt", diameter_mm=12, f_u_n_mm2=400)


@pytest.mark.parametrize(
    ("d_in", "length_in", "side_in", "f_yb_psi", "published_lbf"),
    [
        (0.148, 3.0, 0.75, 90_000, 105),
        (0.148, 3.0, 1.5, 90_000, 118),
        (0.162, 3.5, 1.5, 90_000, 141),
        (0.131, 2.5, 0.75, 100_000, 90),
    ],
)
def test_the_yield_theory_gives_the_nail_values_of_the_nds(
    d_in, length_in, side_in, f_yb_psi, published_lbf
):
    modes = single_shear_modes(
        f_h_1=4650, t_1=side_in, f_h_2=4650, t_2=length_in - side_in, d=d_in,
        m_y=f_yb_psi * d_in**3 / 6, friction=(1.0, 1.0),
    )  # fmt: skip
    assert min(modes.values()) / 2.2 == pytest.approx(published_lbf, abs=0.5)


def test_the_first_of_them_was_also_read_in_newtons():
    modes = single_shear_modes(
        f_h_1=4650, t_1=0.75, f_h_2=4650, t_2=2.25, d=0.148, m_y=90_000 * 0.148**3 / 6,
        friction=(1.0, 1.0),
    )  # fmt: skip
    assert min(modes.values()) / 2.2 * 4.4482216 == pytest.approx(467.49, rel=0.0025)


def plies(first, second, angle=90.0):
    return (
        Ply(thickness_mm=first, grade=C16, angle_deg=angle),
        Ply(thickness_mm=second, grade=C16, angle_deg=angle),
    )


@pytest.mark.parametrize(
    ("fastener", "pair", "modes", "governing"),
    [
        pytest.param(
            WIRE_NAIL, plies(47, 28),
            {"a": 2784.9, "b": 1659.1, "c": 970.4, "d": 1065.8, "e": 727.8, "f": 808.7}, "e",
            id="3.35 mm nail, 47 + 28 mm",
        ),
        pytest.param(
            SCREW, plies(47, 47),
            {"a": 3370.5, "b": 3370.5, "c": 1396.1, "d": 1344.4, "e": 1344.4, "f": 1203.0}, "f",
            id="6 mm screw, 47 + 47 mm",
        ),
        pytest.param(
            BOLT, plies(47, 47),
            {"a": 8246.0, "b": 8246.0, "c": 3415.6, "d": 4401.7, "e": 4401.7, "f": 5967.8}, "c",
            id="M12 across the grain",
        ),
        pytest.param(
            BOLT, plies(47, 47, 0.0),
            {"a": 12616.5, "c": 5225.9, "d": 5990.0, "f": 7381.7}, "c",
            id="M12 along the grain",
        ),
    ],
)  # fmt: skip
def test_every_mode_of_the_recomputed_cases(fastener, pair, modes, governing):
    found = single_shear(fastener, *pair, root_share=ROOT_SHARE)
    assert {mode: found.modes[mode] for mode in modes} == pytest.approx(modes, abs=0.06)
    assert found.mode == governing
    assert found.f_v_rk_n == pytest.approx(modes[governing], abs=0.06)


@pytest.mark.parametrize(
    ("fastener", "embedment", "moment"),
    [(WIRE_NAIL, 17.687, 4172.4), (SCREW, 16.298, 7629.4), (BOLT, 14.621, 76745.4)],
    ids=["nail", "screw", "bolt across the grain"],
)
def test_the_strengths_that_go_into_the_recomputed_cases(fastener, embedment, moment):
    d = effective_diameter_mm(fastener, ROOT_SHARE)
    ply, _ = plies(47, 47)
    assert embedment_n_mm2(fastener, d, ply) == pytest.approx(embedment, abs=6e-4)
    assert yield_moment_nmm(fastener, d) == pytest.approx(moment, abs=0.06)


def test_a_stronger_bolt_gains_nothing_in_two_pieces_of_47_mm():
    """The wood gives way, not the steel: recomputed, grade 8.8 has the same 3416 N."""
    strong = Fastener(kind="bolt", diameter_mm=12, f_u_n_mm2=800)
    found = single_shear(strong, *plies(47, 47), root_share=ROOT_SHARE)
    assert found.f_v_rk_n == pytest.approx(3415.6, abs=0.06)


@pytest.mark.parametrize(("fastener", "slip"), [(WIRE_NAIL, 624), (BOLT, 3713)])
def test_slip_of_the_recomputed_cases(fastener, slip):
    assert slip_n_mm(fastener, C16, C16, fastener.diameter_mm) == pytest.approx(slip, abs=0.5)
