"""Sound lengths of a piece: what is left between the defects that matter."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.timber.pieces_as_data import (
    DefectData,
    DefectKind,
    PieceData,
    Role,
    Severity,
    Source,
)
from apps.timber.runs import MATTERS, WHY, ClearRun, RunSettings, clear_runs, longest_run, matters

NO_TRIM = RunSettings(end_trim_mm=0, nail_margin_mm=0, decay_margin_mm=0)


def piece(*defects, length_mm=2400, source=Source.SALVAGED):
    return PieceData(
        id=1, mark="T14", breadth_mm=50, depth_mm=150, length_mm=length_mm, defects=defects,
        source=source,
    )  # fmt: skip


def defect(kind, from_mm, to_mm, severity=Severity.MODERATE, *, drawn=False):
    return DefectData(kind=kind, from_mm=from_mm, to_mm=to_mm, severity=severity, drawn=drawn)


def spans(runs):
    return [(run.from_mm, run.to_mm) for run in runs]


def test_a_sound_salvaged_piece_loses_its_old_ends_only():
    (run,) = clear_runs(piece(), Role.JOIST)

    assert (run.from_mm, run.to_mm, run.between) == (100, 2300, "between the ends")


def test_a_bought_piece_and_an_offcut_lose_nothing_at_their_ends():
    for source in (Source.BOUGHT, Source.OFFCUT):
        assert spans(clear_runs(piece(source=source), Role.JOIST)) == [(0, 2400)]


def test_a_run_says_what_ends_it_on_either_side():
    decayed, split = defect("decay", 0, 60), defect("split", 2200, 2400)

    (run,) = clear_runs(piece(decayed, split), Role.JOIST)

    assert (run.from_mm, run.to_mm) == (360, 2200)
    assert run.length_mm == 1840
    assert run.between == "between decay and split"


def test_two_defects_of_a_kind_read_as_two_places():
    runs = clear_runs(piece(defect("split", 0, 300), defect("split", 2000, 2400)), Role.JOIST)

    assert [run.between for run in runs] == ["between two places of split"]


def test_defects_that_overlap_are_one_and_the_farther_reaching_ends_the_run():
    runs = clear_runs(piece(defect("knot", 900, 1200), defect("split", 1000, 1500)), Role.JOIST)

    assert runs == (ClearRun(100, 900, "end", "knot"), ClearRun(1500, 2300, "split", "end"))


def test_a_defect_within_another_leaves_no_length_between():
    runs = clear_runs(piece(defect("split", 500, 1500), defect("hole", 700, 800)), Role.JOIST)

    assert spans(runs) == [(100, 500), (1500, 2300)]


def test_nails_are_kept_clear_of_until_they_are_drawn():
    standing = piece(defect("nails", 1000, 1000))
    drawn = piece(defect("nails", 1000, 1000, drawn=True))

    assert spans(clear_runs(standing, Role.NOGGIN)) == [(100, 975), (1025, 2300)]
    assert spans(clear_runs(drawn, Role.NOGGIN)) == [(100, 2300)]


def test_drawn_means_nothing_of_anything_but_nails():
    assert matters(defect("decay", 0, 10, drawn=True), Role.JOIST)


def test_sound_wood_begins_a_margin_past_the_last_sign_of_decay():
    rotten = piece(defect("decay", 1000, 1100))

    assert spans(clear_runs(rotten, Role.JOIST)) == [(100, 700), (1400, 2300)]
    assert spans(clear_runs(rotten, Role.JOIST, NO_TRIM)) == [(0, 1000), (1100, 2400)]


@pytest.mark.parametrize(
    ("kind", "severity", "for_a_joist", "for_a_noggin", "for_a_plate", "for_a_batten"),
    [
        ("decay", "slight", True, True, True, True),
        ("split", "slight", False, False, False, False),
        ("split", "moderate", True, True, False, True),
        ("knot", "moderate", True, False, False, True),
        ("notch", "slight", False, False, False, True),
        ("notch", "moderate", True, True, True, True),
        ("insect", "slight", True, False, False, False),
        ("nails", "slight", True, True, True, True),
        ("bow", "severe", True, False, True, True),
        ("bow", "moderate", False, False, False, False),
    ],
)
def test_what_matters_depends_on_what_the_piece_is_wanted_as(
    kind, severity, for_a_joist, for_a_noggin, for_a_plate, for_a_batten
):
    found = defect(kind, 500, 600, severity)

    asked = (Role.JOIST, Role.NOGGIN, Role.PLATE, Role.BATTEN)
    wanted = (for_a_joist, for_a_noggin, for_a_plate, for_a_batten)
    assert tuple(matters(found, role) for role in asked) == wanted


def test_every_role_knows_every_kind_and_every_kind_says_why():
    assert set(MATTERS) == set(Role)
    assert all(set(table) == set(DefectKind) for table in MATTERS.values())
    assert set(WHY) == set(DefectKind)


def test_a_piece_shorter_than_its_trims_has_no_sound_length():
    assert clear_runs(piece(length_mm=180), Role.JOIST) == ()
    assert longest_run(()) is None


def test_of_two_runs_equally_long_the_one_nearer_the_mark_is_the_longest():
    runs = clear_runs(piece(defect("split", 1100, 1300)), Role.JOIST)

    assert longest_run(runs) == runs[0]


PIECES = st.integers(60, 4000).flatmap(
    lambda length: st.builds(
        lambda defects: piece(*defects, length_mm=length),
        st.lists(
            st.builds(
                lambda kind, ends, severity, drawn: defect(
                    kind, *sorted(ends), severity, drawn=drawn
                ),
                st.sampled_from(DefectKind),
                st.tuples(st.integers(0, length), st.integers(0, length)),
                st.sampled_from(Severity),
                st.booleans(),
            ),
            max_size=6,
        ),
    )
)


@settings(max_examples=150, deadline=None)
@given(PIECES, st.sampled_from(Role))
def test_no_run_holds_a_defect_that_matters_or_leaves_the_piece(found, role):
    runs = clear_runs(found, role)

    for run in runs:
        assert 0 <= run.from_mm < run.to_mm <= found.length_mm
        for one in found.defects:
            if matters(one, role):
                assert one.to_mm <= run.from_mm or one.from_mm >= run.to_mm
    assert all(before.to_mm <= after.from_mm for before, after in pairwise(runs))


@settings(max_examples=100, deadline=None)
@given(PIECES, st.sampled_from(Role))
def test_nothing_sound_is_left_out(found, role):
    """Each millimetre is in a run or within a defect that matters (no trims, no margins)."""
    inside = [
        any(one.from_mm <= at < one.to_mm for one in found.defects if matters(one, role))
        for at in range(found.length_mm)
    ]

    sound = sum(run.length_mm for run in clear_runs(found, role, NO_TRIM))

    assert sound == inside.count(False)
