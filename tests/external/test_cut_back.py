"""How far past the last sign of rot to cut, against the distances published.

Sources (each second hand or from memory as marked; the owner picks, none is official today):
- 300 to 450 mm, dry rot: BRE Digest 299 and before, from memory.
- 450 mm, dry rot: a home manual at megahowto.com, second hand.
- 500 mm, dry rot: a treatment firm at tieright.co.uk, second hand.
- 600 mm, dry rot: from memory; 1 m: georgehill-timber.co.uk, second hand.
- Wet rot: the decayed part only, back to sound wood: isse.org.uk and
  poultonremedialservices.co.uk, second hand.
- No more than the repair needs: maintainyourbuilding.org.uk (SPAB), read.
- The default of 300 mm wet and 600 mm dry: common practice, no source.
- Below about 20 % moisture no risk of decay is usually assumed: specifierreview.com 2012 on a
  TRADA sheet, second hand; building.co.uk 3050803, read.
- A rusted nail may hold harder in decayed wood: J. Wood Science, doi 10.1007/s10086-016-1600-5,
  read; damage from iron is local to the fixing: Baker 1974, read.
"""

import pytest

from apps.checks.decay import Probe, along_joist
from apps.checks.decay_settings import ALLOWANCES, DecaySettings


def rotten_end(*, length_mm=4000, soft_to_mm=200, step_mm=100):
    """A joist soft up to a place, firm and dry after it, read at every step."""
    return [
        Probe(id=at, at_mm=at, probe_mm=25 if at <= soft_to_mm else 2, moisture_pct=16.0)
        for at in range(0, length_mm + 1, step_mm)
    ]


@pytest.mark.parametrize(
    ("allowance", "rot", "past_mm"),
    [
        ("customary", "wet", 300),
        ("customary", "dry", 600),
        ("back_to_sound", "wet", 0),
        ("back_to_sound", "dry", 0),
        ("older_leaflets", "dry", 450),
        ("older_leaflets", "wet", 0),
        ("treatment_firm", "dry", 500),
        ("cautious", "dry", 1000),
    ],
)
def test_the_cut_is_as_far_past_the_last_sign_as_was_published(allowance, rot, past_mm):
    found = along_joist(4000, rotten_end(), rot=rot, settings=DecaySettings(allowance=allowance))

    (cut,) = found.cut_backs
    # The last sign is at 200 mm and the first sound reading at 300: never cut before that.
    assert cut.keep_from_mm == max(200 + past_mm, 300)
    assert ALLOWANCES[allowance].source in found.allowance


def test_rot_of_an_unknown_kind_takes_the_greater_distance():
    assert along_joist(4000, rotten_end()).cut_backs[0].keep_from_mm == 800


def test_a_distance_of_the_owner_s_own_comes_first():
    found = along_joist(4000, rotten_end(), settings=DecaySettings(own_allowance_mm=350))

    assert found.cut_backs[0].keep_from_mm == 550
    assert "your own choice" in found.allowance


@pytest.mark.parametrize(("moisture", "state"), [(19.9, "sound"), (20.0, "doubtful")])
def test_firm_wood_is_in_doubt_from_twenty_per_cent(moisture, state):
    found = along_joist(1000, [Probe(id=1, at_mm=100, probe_mm=2, moisture_pct=moisture)])

    assert found.places[0].state == state


def test_corroded_fixings_beside_clean_ones_are_evidence_and_never_proof():
    probes = [
        Probe(id=1, at_mm=100, probe_mm=2, fixing="wasted"),
        Probe(id=2, at_mm=500, probe_mm=2, fixing="clean"),
        Probe(id=3, at_mm=900, probe_mm=2, fixing="clean"),
    ]

    found = along_joist(1000, probes)

    assert found.cut_backs == ()
    assert found.places[0].state == "doubtful"
    (note,) = found.notes
    assert note.code == "corroded-beside-clean"
    assert "no proof of rot" in note.sentence
    assert "hold harder" in note.sentence
    assert (0, 200) in [(part.from_mm, part.to_mm) for part in found.probe_next]


def test_all_fixings_corroded_says_less_of_one_place():
    found = along_joist(1000, [Probe(id=1, at_mm=100, probe_mm=2, fixing="stained")])

    assert [note.code for note in found.notes] == ["all-corroded"]
