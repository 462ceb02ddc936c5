"""Every demand of a lap against its capacity, in strength (EN 1995-1-1) and in sag."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from apps.checks.bending import k_crit_undecked
from apps.checks.fastener_settings import LAP_LOADS
from apps.checks.lap_model import Lap, Piece
from apps.checks.lap_statics import (
    TINY_MM,
    LapShape,
    LapState,
    lap_state,
    sag_of_clearance,
    sag_of_slip,
    sag_of_timber,
)
from apps.checks.loads import PSI_2, combinations
from apps.checks.splitting import f_90_rk_n
from apps.checks.strength import GAMMA_M, k_h, k_mod

SIDES = (-TINY_MM, TINY_MM)


def states(found: Lap) -> Iterator[tuple[float, LapState]]:
    """Every load case to check for strength: its k_mod, and the forces under design loads.

    The concentrated load is tried at both ends, the cut, the fixings, the tip and mid-span; all
    load along the lap on either piece, by the setting.
    """
    settings, given = found.joist.given.settings, found.joist.given
    durations = {
        "": given.load_duration,
        "_permanent": "permanent",
        "_point": settings.point_load_duration,
    }
    whole = found.shape
    shapes = [replace(whole, on_old=share) for share in LAP_LOADS[found.given.settings.lap_load]]
    single = settings.point_load_kn * 1000
    places = sorted({1.0, whole.cut - 1, whole.cut, *whole.columns, whole.tip - 1, whole.tip,
                     whole.span / 2, whole.span - 1})  # fmt: skip
    inside = [place for place in places if 0 < place < whole.span]
    for suffix, factors in combinations(settings.combination).items():
        strength = k_mod(given.service_class, durations[suffix])
        for permanent, imposed, point in factors:
            w = permanent * found.permanent + imposed * found.imposed
            fixed = tuple((permanent * load, at) for load, at in found.points)
            for extra in [(point * single, at) for at in inside] if point else [None]:
                points = fixed if extra is None else (*fixed, extra)
                for shape in shapes:
                    yield strength, lap_state(shape, w, points)


def strength_rows(found: Lap) -> dict[str, tuple[float, float]]:
    """By check, the demand and capacity that use most of the limit."""
    rows: dict[str, tuple[float, float]] = {}
    for mode, state in states(found):
        for code, demand, capacity in (*_fixings(found, state), *_pieces(found, state)):
            resisted = capacity * mode
            if code not in rows or demand * rows[code][1] > rows[code][0] * resisted:
                rows[code] = demand, resisted
    return rows


def _fixings(found: Lap, state: LapState) -> Iterator[tuple[str, float, float]]:
    gamma = found.given.settings.gamma_m_joint
    yield "fixing", state.hardest, found.f_v_rk / gamma
    columns, rows = found.shape.columns, found.shape.rows
    if rows > 1:
        # As a rigid group turns, its rows push along the grain: on top, which is safe, as above the
        # columns alone already carry the whole moment.
        middle = sum(columns) / len(columns)
        spread = rows * sum((at - middle) ** 2 for at in columns)
        spread += len(columns) * sum(rise**2 for rise in _rises(found))
        pushed = abs(state.turning) * found.rise / spread * len(columns)
        yield "row", pushed, found.row_rk / gamma
    for name, piece, shear in (
        ("new", found.new, state.shear_new),
        ("old", found.old, state.shear_old),
    ):
        beside = max(abs(shear(x + side)) for x in columns for side in SIDES)
        held = f_90_rk_n(piece.breadth, piece.depth, piece.farthest)
        yield f"splitting_{name}", beside, held / GAMMA_M


def _pieces(found: Lap, state: LapState) -> Iterator[tuple[str, float, float]]:
    shape, settings = found.shape, found.joist.given.settings
    new, old = found.new, found.old
    # A lapped joist is not like its neighbours: no k_sys within the lap.
    for name, piece, (moment, shear), stretch in (
        ("new", new, (state.moment_new, state.shear_new), (0.0, shape.tip)),
        ("old", old, (state.moment_old, state.shear_old), (shape.cut, shape.tip)),
    ):
        stress = state.greatest(moment, *stretch) / piece.modulus
        bored = max(abs(moment(x)) for x in shape.columns) / piece.net_modulus
        yield f"bending_{name}", max(stress, bored), _bending_strength(found, piece)
        width = settings.k_cr * piece.breadth / 1.5
        sheared = state.greatest(shear, *stretch) / (width * piece.depth)
        beside = max(abs(shear(x + side)) for x in shape.columns for side in SIDES)
        sheared = max(sheared, beside / (width * piece.net_depth))
        yield f"shear_{name}", sheared, piece.grade.f_v_k / GAMMA_M
    if old.cut_modulus is not None and old.cut_depth is not None:
        inside = state.greatest(state.moment_old, shape.cut, shape.tip)
        bend = _bending_strength(found, old)
        yield "bending_old_cut", inside / old.cut_modulus, bend
        sheared = state.greatest(state.shear_old, shape.cut, shape.tip)
        area = settings.k_cr * old.breadth * old.cut_depth / 1.5
        yield "shear_old_cut", sheared / area, old.grade.f_v_k / GAMMA_M
    ends = state.reaction, state.w * shape.span + sum(n for n, _ in state.points) - state.reaction
    for name, piece, length, pushed in zip(
        ("new", "old"), (new, old), found.bearings, ends, strict=True
    ):
        pressed = piece.breadth * (length + min(settings.bearing_extra_mm, length))
        crush = settings.k_c_90 if piece.grade.softwood else 1.0
        yield f"bearing_{name}", pushed / pressed, crush * piece.grade.f_c_90_k / GAMMA_M


def _rises(found: Lap) -> list[float]:
    rows = found.shape.rows
    return [found.rise * (2 * row / (rows - 1) - 1) for row in range(rows)]


def _bending_strength(found: Lap, piece: Piece) -> float:
    crit, grade = 1.0, piece.grade
    if not found.joist.given.boards_on:
        crit = k_crit_undecked(
            piece.breadth, piece.depth, found.shape.span, grade.f_m_k, grade.e_0_05
        )
    return crit * k_h(piece.depth, grade.rho_k) * grade.f_m_k / GAMMA_M


def sag(found: Lap) -> dict[str, float]:
    """Final sag at mid-span [mm], of timber, slip and clearance; the fixings creep faster.

    By virtual work with the moments and shears each piece has, so stiff where both run: not a
    guess on the safe side but what a frame solver finds (tests). All clearance is taken at once.
    """
    shares = LAP_LOADS[found.given.settings.lap_load]
    shapes = [replace(found.shape, on_old=share) for share in shares]
    return max((_sag(found, shape) for shape in shapes), key=lambda one: one["sag_final_mm"])


def _sag(found: Lap, shape: LapShape) -> dict[str, float]:
    settings = found.given.settings
    unit = lap_state(shape, 0.0, ((1.0, shape.span / 2),))
    column = found.k_ser * shape.rows
    timber_final = slip_final = 0.0
    k_def = found.joist.k_def
    for state, stays in (
        (lap_state(shape, found.permanent, found.points), 1.0),
        (lap_state(shape, found.imposed, ()), PSI_2),
    ):
        timber = sag_of_timber(state, unit, found.new.stiffness, found.old.stiffness)
        slip = sag_of_slip(state, unit, column)
        timber_final += timber * (1 + stays * k_def)
        slip_final += slip * (1 + stays * k_def * settings.joint_creep)
    clearance = 0.0
    if found.given.fastener.kind == "bolt":
        clearance = sag_of_clearance(unit, settings.hole_clearance_mm)
    return {
        "sag_of_timber_mm": timber_final,
        "sag_of_slip_mm": slip_final,
        "sag_of_clearance_mm": clearance,
        "sag_final_mm": timber_final + slip_final + clearance,
    }
