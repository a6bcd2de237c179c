"""Which parts a whole rig has. The patterns are common practice, no source."""

import datetime as dt
from collections import Counter

from fleet.models import Installation, Stay
from fleet.rig_patterns import KINDS, PAIRED, RigFacts, copy_to_sisters, expand, stays

SLOOP = RigFacts("Tern", "sloop", False, 2, 2008, "Sloop 38")
SAID = {
    "fitted": dt.date(2016, 3, 1), "certainty": "day", "removed": None, "invoice": "123",
    "batch": "", "fitter": "", "diameter_mm": 8.0,
}  # fmt: skip


def names(facts: RigFacts) -> Counter:
    return Counter(name for _, name, _ in stays(facts))


def test_a_sloop_with_two_pairs_of_spreaders_has_ten_wires():
    assert names(SLOOP) == Counter(
        forestay=1, backstay=1, cap_shroud=2, intermediate=2, lower_forward=2, lower_aft=2
    )


def test_one_pair_of_spreaders_needs_no_intermediates():
    assert "intermediate" not in names(RigFacts("A", "sloop", False, 1, 2008))


def test_a_fractional_rig_leads_its_lowers_aft_alone():
    fractional = names(RigFacts("A", "sloop", True, 2, 2008))
    assert (fractional["lower_forward"], fractional["lower_aft"]) == (0, 2)


def test_a_cutter_adds_the_inner_forestay_and_its_running_backstays():
    extra = names(RigFacts("A", "cutter", False, 2, 2008)) - names(SLOOP)
    assert extra == Counter(inner_forestay=1, running_backstay=2)


def test_a_ketch_has_shrouds_on_its_mizzen_too():
    places = stays(RigFacts("A", "ketch", False, 2, 2008))
    mizzen = Counter(name for mast, name, _ in places if mast == "mizzen")
    assert mizzen == Counter(cap_shroud=2, lower_forward=2, lower_aft=2)


def test_every_stay_of_a_pattern_is_a_place_the_fleet_knows():
    for rig in ("sloop", "cutter", "ketch"):
        for mast, name, side in stays(RigFacts("A", rig, False, 2, 2008)):
            assert name in Stay.Name.values
            assert mast in Stay.Mast.values
            assert side in Stay.Side.values
            assert bool(side) == (name in PAIRED)
    assert list(Installation.Kind.values) == list(KINDS)


def test_a_whole_rig_is_wires_turnbuckles_and_chainplates():
    kinds = Counter(part.kind for part in expand(SLOOP, SAID))
    assert kinds == Counter(wire=10, turnbuckle=10, chainplate=10)


def test_a_running_backstay_is_set_up_without_a_turnbuckle():
    parts = expand(RigFacts("A", "cutter", False, 2, 2008), SAID)
    runners = Counter(part.kind for part in parts if part.place[1] == "running_backstay")
    assert runners == Counter(wire=2, chainplate=2)


def test_chainplates_are_not_as_young_as_the_wires_fitted_later():
    part = next(part for part in expand(SLOOP, SAID) if part.kind == "chainplate")
    assert part.said["fitted"] == dt.date(2008, 7, 1)
    assert part.said["certainty"] == "estimated"
    assert part.said["invoice"] == ""


def test_chainplates_of_a_new_boat_are_those_of_its_first_rig():
    new = RigFacts("Tern", "sloop", False, 2, 2016)
    part = next(part for part in expand(new, SAID) if part.kind == "chainplate")
    assert part.said == SAID


def test_a_rig_taken_down_leaves_its_chainplates_standing():
    gone = {**SAID, "removed": dt.date(2026, 3, 1)}
    assert {part.kind for part in expand(SLOOP, gone)} == {"wire", "turnbuckle"}


def test_a_rig_is_copied_to_sister_boats_by_their_design():
    skua = RigFacts("Skua", "sloop", False, 1, 2009, "sloop  38")
    other = RigFacts("Gannet", "sloop", False, 2, 2009, "Ketch 50")
    parts = copy_to_sisters("Sloop 38", [SLOOP, skua, other], SAID, ["wire"])
    assert Counter(part.boat for part in parts) == Counter(Tern=10, Skua=8)
