"""What readings along a joist come to, by hand and by property."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.checks.decay import Probe, along_joist
from apps.checks.decay_settings import ALLOWANCES, SENTENCES, DecaySettings, allowance_mm


def probe(at_mm, probe_mm=2, **fields):
    return Probe(id=at_mm, at_mm=at_mm, probe_mm=probe_mm, **fields)


def spans(stretches):
    return [(part.from_mm, part.to_mm) for part in stretches]


def test_a_joist_nobody_probed_has_nothing_sound_and_nothing_decayed():
    found = along_joist(4000, [])

    assert (found.keeps, found.cut_backs, found.sound) == ((), (), ())
    assert "probe both ends first" in found.sentence
    assert spans(found.probe_next)[0] == (0, 4000)


def test_firm_and_dry_from_end_to_end_is_sound_from_end_to_end():
    found = along_joist(4000, [probe(at) for at in range(50, 4000, 650)])

    assert spans(found.sound) == [(0, 4000)]
    assert spans(found.keeps) == [(0, 4000)]
    assert found.longest_sound_mm == 4000
    assert found.sentence == "No decay was found; 4000 of 4000 mm is probably sound."


def test_a_soft_end_is_cut_past_the_allowance_and_the_rest_kept():
    found = along_joist(
        4000, [probe(50, 30), probe(300, 12), probe(450), probe(900), probe(2000), probe(3000)],
        rot="wet",
    )  # fmt: skip

    (cut,) = found.cut_backs
    assert (cut.first_sign_mm, cut.last_sign_mm) == (50, 300)
    assert (cut.keep_to_mm, cut.keep_from_mm) == (None, 600)
    assert cut.ids == (50, 300)
    assert spans(found.keeps) == [(600, 4000)]
    assert "keep from 600 mm on" in cut.sentence


def test_the_cut_moves_on_to_where_a_sound_reading_speaks_for_the_wood():
    # 300 past the last sign is 500; the sound reading at 250 is too far from it, so 800 decides.
    found = along_joist(4000, [probe(200, 25), probe(250), probe(800)], rot="wet")

    assert found.cut_backs[0].keep_from_mm == 800


def test_no_cut_is_proposed_where_no_sound_reading_stands_behind_it():
    found = along_joist(4000, [probe(200, 25), probe(250)], rot="dry")

    assert found.cut_backs[0].keep_from_mm is None
    assert found.keeps == ()
    assert "no cut is known" in found.cut_backs[0].sentence
    assert (650, 950) in spans(found.probe_next)


def test_damp_firm_wood_is_no_ground_to_cut_to():
    found = along_joist(4000, [probe(200, 25), probe(600, moisture_pct=24.0), probe(1000)])

    assert found.places[1].state == "doubtful"
    assert found.cut_backs[0].keep_from_mm == 1000


def test_decay_in_the_middle_leaves_two_ends():
    found = along_joist(
        4000,
        [*(probe(at) for at in (100, 600, 1100, 1500)), probe(2000, 40),
         *(probe(at) for at in (2500, 2900, 3400, 3900))],
        rot="wet",
    )  # fmt: skip

    assert spans(found.keeps) == [(0, 1500), (2500, 4000)]
    assert found.cut_backs[0].keep_to_mm == 1500


def test_two_runs_of_decay_with_sound_wood_between_are_two_cuts():
    found = along_joist(
        5000, [probe(100, 30), *(probe(at) for at in range(500, 4600, 400)), probe(4900, 30)],
        rot="wet",
    )  # fmt: skip

    assert [(cut.first_sign_mm, cut.last_sign_mm) for cut in found.cut_backs] == [
        (100, 100), (4900, 4900),
    ]  # fmt: skip
    assert spans(found.keeps) == [(500, 4500)]


def test_a_stretch_seen_to_be_decayed_counts_like_soft_readings():
    found = along_joist(4000, [probe(600), probe(900)], decayed=[(0, 400)], rot="wet")

    (cut,) = found.cut_backs
    assert (cut.first_sign_mm, cut.last_sign_mm, cut.keep_from_mm) == (0, 400, 700)


def test_a_firm_reading_inside_a_stretch_seen_to_be_decayed_is_no_sound_one():
    found = along_joist(4000, [probe(200), probe(900)], decayed=[(0, 400)])

    assert found.places[1].at_mm == 200
    assert found.places[1].state == "decayed"


def test_the_worst_of_several_readings_at_one_place_decides():
    found = along_joist(
        1000, [Probe(id=1, at_mm=100, probe_mm=2), Probe(id=2, at_mm=100, face="end", probe_mm=20)]
    )

    (place,) = found.places
    assert (place.state, place.ids) == ("decayed", (1, 2))


def test_dry_without_a_bradawl_is_not_known_to_be_sound():
    found = along_joist(1000, [Probe(id=1, at_mm=100, moisture_pct=12.0, fixing="clean")])

    assert found.places[0].state == "unread"
    assert found.keeps == ()


def test_the_edge_of_the_decay_is_probed_first():
    found = along_joist(4000, [probe(200, 25), probe(900), probe(1500)])

    assert spans(found.probe_next)[0] == (200, 900)


def test_rot_takes_the_whole_joist_when_nothing_sound_is_read():
    found = along_joist(4000, [probe(100, 30), probe(2000, 30), probe(3900, 30)])

    assert found.keeps == ()
    assert found.sentence.startswith("Decay was found, and no length is known to be sound")


def test_every_setting_has_its_sentence_and_every_allowance_its_source():
    assert set(SENTENCES) == set(DecaySettings.__dataclass_fields__)
    assert all(row.source and row.sentence for row in ALLOWANCES.values())


@pytest.mark.parametrize(
    "wrong",
    [
        {"allowance": "none"}, {"own_allowance_mm": -1}, {"own_allowance_mm": 5001},
        {"firm_to_mm": 10.0}, {"damp_from_pct": 0.0}, {"speaks_for_mm": -1},
        {"soft_from_mm": float("nan")}, {"damp_from_pct": float("nan")},
    ],
)  # fmt: skip
def test_settings_that_contradict_themselves_are_refused(wrong):
    with pytest.raises(ValueError, match=r"\.$"):
        DecaySettings(**wrong)


@pytest.mark.parametrize(
    ("length", "probes", "decayed"),
    [
        (0, [], []),
        (1000, [probe(1001)], []),
        (1000, [probe(10, -1)], []),
        (1000, [probe(10, float("nan"))], []),
        (1000, [probe(10, moisture_pct=301.0)], []),
        (1000, [], [(500, 500)]),
        (1000, [], [(500, 1001)]),
    ],
)
def test_readings_that_no_joist_has_are_refused(length, probes, decayed):
    with pytest.raises(ValueError, match=r"\.$"):
        along_joist(length, probes, decayed=decayed)


LENGTH = 3000
readings = st.lists(
    st.builds(
        Probe,
        id=st.integers(1, 99),
        at_mm=st.integers(0, LENGTH),
        probe_mm=st.sampled_from([None, 1, 4, 8, 12, 40]),
        moisture_pct=st.sampled_from([None, 12.0, 19.0, 20.0, 28.0]),
        fixing=st.sampled_from(["none", "clean", "stained", "wasted"]),
    ),
    max_size=9,
)
rots = st.sampled_from(["wet", "dry", "unknown"])
allowances = st.sampled_from(sorted(ALLOWANCES))


def kept(found):
    return {at for part in found.keeps for at in range(part.from_mm, part.to_mm)}


@settings(max_examples=150, deadline=None)
@given(readings, rots, allowances)
def test_nothing_near_a_sign_is_ever_kept(probes, rot, allowance):
    chosen = DecaySettings(allowance=allowance)
    found = along_joist(LENGTH, probes, rot=rot, settings=chosen)

    past = allowance_mm(chosen, rot)
    for place in found.places:
        for part in found.keeps if place.state == "decayed" else ():
            assert part.to_mm <= place.at_mm - past or part.from_mm >= place.at_mm + past


@settings(max_examples=150, deadline=None)
@given(readings, rots, allowances)
def test_every_cut_has_a_sound_reading_behind_it(probes, rot, allowance):
    found = along_joist(LENGTH, probes, rot=rot, settings=DecaySettings(allowance=allowance))

    sound = [place.at_mm for place in found.places if place.state == "sound"]
    for cut in found.cut_backs:
        if cut.keep_from_mm is not None:
            assert any(cut.last_sign_mm < at <= cut.keep_from_mm <= at + 150 for at in sound)
        if cut.keep_to_mm is not None:
            assert any(at - 150 <= cut.keep_to_mm <= at < cut.first_sign_mm for at in sound)


@settings(max_examples=150, deadline=None)
@given(readings, st.integers(0, LENGTH), rots)
def test_more_decay_never_leaves_more(probes, at_mm, rot):
    before = along_joist(LENGTH, probes, rot=rot)
    after = along_joist(LENGTH, [*probes, Probe(id=100, at_mm=at_mm, probe_mm=50)], rot=rot)

    if before.keeps:
        assert kept(after) <= kept(before)


@settings(max_examples=100, deadline=None)
@given(readings, st.integers(0, 500), st.integers(0, 500))
def test_a_greater_allowance_never_leaves_more(probes, one, other):
    less, more = sorted((one, other))
    short = along_joist(LENGTH, probes, settings=DecaySettings(own_allowance_mm=less))
    long = along_joist(LENGTH, probes, settings=DecaySettings(own_allowance_mm=more))

    assert kept(long) <= kept(short)


@settings(max_examples=100, deadline=None)
@given(readings)
def test_sound_stretches_hold_nothing_worse_and_lie_on_the_joist(probes):
    found = along_joist(LENGTH, probes)

    for part in found.sound:
        assert 0 <= part.from_mm < part.to_mm <= LENGTH
        for place in found.places:
            if part.from_mm < place.at_mm < part.to_mm:
                assert place.state in {"sound", "unread"}
    for part in found.probe_next:
        assert 0 <= part.from_mm <= part.to_mm <= LENGTH


@settings(max_examples=100, deadline=None)
@given(readings, rots)
def test_turned_end_for_end_a_joist_says_the_same(probes, rot):
    turned = [
        Probe(id=p.id, at_mm=LENGTH - p.at_mm, probe_mm=p.probe_mm, moisture_pct=p.moisture_pct,
              fixing=p.fixing)
        for p in probes
    ]  # fmt: skip

    here, there = along_joist(LENGTH, probes, rot=rot), along_joist(LENGTH, turned, rot=rot)

    assert spans(here.keeps) == [(LENGTH - b, LENGTH - a) for a, b in reversed(spans(there.keeps))]
    assert spans(here.sound) == [(LENGTH - b, LENGTH - a) for a, b in reversed(spans(there.sound))]
