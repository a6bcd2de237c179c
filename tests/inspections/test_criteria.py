"""The signs as data: complete, consistent, and a fleet's own limits dated and fingerprinted."""

import datetime as dt
import json
from dataclasses import replace

import pytest

from inspections import criteria
from inspections.criteria import DEFAULT, PLACES, Criteria, Measure, Sign, UnknownSign


def codes(signs: tuple[Sign, ...]) -> set[str]:
    return {sign.code for sign in signs}


@pytest.mark.parametrize("sign", DEFAULT.signs, ids=lambda sign: sign.code)
def test_every_sign_says_where_it_is_how_to_look_and_whose_rule_it_is(sign):
    assert sign.label
    assert sign.where
    assert len(sign.look) > 20
    assert sign.source
    assert bool(sign.kinds) != bool(sign.places) or sign.code == "not_sure"
    assert set(sign.places) <= set(PLACES)
    assert len(sign.code) <= 40
    for spot in sign.spots:
        assert any(spot in criteria.SPOTS[kind] for kind in sign.kinds)


def test_no_sign_claims_a_published_source_it_does_not_have():
    claimed = {sign.source for sign in DEFAULT.signs}
    assert claimed == {
        "common practice, no source",
        "no limit set: the fleet's rigger or the maker of the wire sets it",
    }


def test_each_place_of_a_boat_has_signs_to_look_for():
    for place in PLACES:
        assert codes(DEFAULT.for_place(place)) - {"not_sure"}, place


def test_a_swaged_wire_is_not_asked_for_the_signs_of_a_mechanical_terminal():
    swaged = codes(DEFAULT.for_part("wire", "1x19", ("swaged",), "lower"))
    mechanical = codes(DEFAULT.for_part("wire", "1x19", ("mechanical",), "lower"))
    assert "barrel_crack_along" in swaged - mechanical
    assert "wire_drawn_out" in mechanical - swaged
    assert {"broken_wire", "rust_at_mouth", "not_sure"} <= swaged & mechanical


def test_a_terminal_that_is_not_on_record_may_show_any_sign():
    for terminals in ((), ("",), ("other",)):
        found = codes(DEFAULT.for_part("wire", "1x19", terminals))
        assert {"barrel_crack_along", "wire_drawn_out", "neck_crack"} <= found


def test_the_signs_of_the_ends_are_not_asked_for_along_the_run():
    run = codes(DEFAULT.for_part("wire", "1x19", ("swaged",), "run"))
    assert not run & {"barrel_crack_along", "rust_at_mouth"}
    assert {"broken_wire", "rust_between_wires", "notch"} <= run


def test_rod_and_fibre_have_their_own_signs_and_none_of_laid_wire():
    rod = codes(criteria.for_part("wire", "rod"))
    fibre = codes(criteria.for_part("wire", "fibre"))
    assert "rod_head_crack" in rod
    assert "fibre_core_cut" in fibre
    assert not {"broken_wire", "wire_kink", "dark_wire"} & (rod | fibre)


def test_anybody_can_ask_for_a_rigger_on_any_part_and_at_any_place():
    for kind in criteria.KINDS:
        assert "not_sure" in codes(criteria.for_part(kind))
    for place in PLACES:
        assert "not_sure" in codes(criteria.for_place(place))
    assert DEFAULT["not_sure"].outcome == "refer"
    assert DEFAULT["not_sure"].again_days == 14


@pytest.mark.parametrize("construction", ["7x7", "7x19", "galvanised"])
def test_strand_laid_of_strands_is_assessed_only_once_the_fleet_sets_a_limit(construction):
    assert not DEFAULT.assesses("wire", construction)
    own = DEFAULT.changed(f"broken_wires_{construction}", limit=2, reason="our rigger")
    assert own.assesses("wire", construction)
    assert not DEFAULT.assesses("wire", construction), "the default itself never changes"


def test_a_wire_whose_construction_is_not_on_record_is_not_assessed():
    assert not DEFAULT.assesses("wire", "")
    assert all(DEFAULT.assesses("wire", each) for each in ("1x19", "compacted", "rod", "fibre"))
    assert DEFAULT.assesses("turnbuckle")
    assert DEFAULT.assesses("chainplate")


def test_a_fleet_changes_a_limit_with_date_and_reason_and_gets_another_version():
    own = DEFAULT.changed(
        "wire_drawn_out", limit=0.5, since=dt.date(2025, 3, 1), reason="agreed with the rigger"
    )
    assert own["wire_drawn_out"].measure.limit == 0.5
    assert DEFAULT["wire_drawn_out"].measure.limit == 1.0
    assert own.version != DEFAULT.version
    assert own.since == dt.date(2025, 3, 1)
    assert "since 2025-03-01 (agreed with the rigger)" in own["wire_drawn_out"].source
    assert "common practice, no source" in own["wire_drawn_out"].source


def test_the_same_rules_carry_the_same_version_whoever_set_them_and_when():
    there_and_back = DEFAULT.changed("wire_drawn_out", limit=0.5).changed(
        "wire_drawn_out", limit=1, since=dt.date(2025, 3, 1), reason="back to usual"
    )
    assert there_and_back.version == DEFAULT.version
    assert there_and_back != DEFAULT


@pytest.mark.parametrize(
    "change",
    [
        {"code": "wire_drawn_out", "limit": 0.5},
        {"code": "rust_at_mouth", "again_days": 14},
        {"code": "dark_wire", "outcome": "replace", "again_days": 7},
        {"code": "fibre_glazed", "outcome": "replace"},
    ],
)
def test_every_change_that_can_decide_a_verdict_changes_the_version(change):
    assert DEFAULT.changed(**change).version != DEFAULT.version


def test_criteria_come_back_whole_from_the_text_they_are_stored_in():
    own = DEFAULT.changed("pin_worn", limit=0.03, since=dt.date(2025, 1, 1), reason="charter use")
    stored = json.loads(json.dumps(own.to_dict()))
    assert stored == own.to_dict()
    assert Criteria.from_dict(stored) == own
    assert Criteria.from_dict(stored).version == own.version


def test_stored_criteria_that_were_altered_afterwards_are_refused():
    stored = json.loads(json.dumps(DEFAULT.to_dict()))
    for sign in stored["signs"]:
        if sign["code"] == "broken_wire":
            sign["measure"]["limit"] = 6.0
    with pytest.raises(ValueError, match="altered"):
        Criteria.from_dict(stored)


def test_criteria_stored_before_a_sign_existed_take_it_from_the_default():
    older = replace(DEFAULT, signs=tuple(s for s in DEFAULT.signs if s.code != "spot_bands"))
    older = older.changed("wire_drawn_out", limit=0.5)
    completed = older.completed_by(DEFAULT)
    assert completed["spot_bands"] == DEFAULT["spot_bands"]
    assert completed["wire_drawn_out"].measure.limit == 0.5
    assert DEFAULT.completed_by(older) is DEFAULT


@pytest.mark.parametrize("limit", [0, -1, float("nan"), float("inf")])
def test_a_limit_must_be_a_number_above_nothing(limit):
    with pytest.raises(ValueError, match="must be above 0"):
        DEFAULT.changed("wire_drawn_out", limit=limit)


def test_a_fleet_may_be_stricter_than_a_sign_never_milder():
    with pytest.raises(ValueError, match="stricter, not milder"):
        DEFAULT.changed("barrel_crack_along", outcome="watch")
    with pytest.raises(ValueError, match="stricter, not milder"):
        DEFAULT.changed("fibre_glazed", outcome="fine")


def test_a_sign_that_is_not_measured_takes_no_limit():
    with pytest.raises(ValueError, match="no limit to set"):
        DEFAULT.changed("wire_kink", limit=2)


def test_an_unknown_sign_is_named_with_the_nearest_known_ones():
    with pytest.raises(UnknownSign, match="did you mean broken_wire"):
        DEFAULT.sign("broken_wires")


def test_two_signs_with_one_code_are_refused():
    with pytest.raises(ValueError, match="same code"):
        Criteria(signs=(DEFAULT["notch"], DEFAULT["notch"]))


def test_a_measured_sign_must_name_its_measure_and_a_watch_its_interval():
    with pytest.raises(ValueError, match="names none"):
        replace(DEFAULT["pin_worn"], measure=None)
    with pytest.raises(ValueError, match="after how many days"):
        replace(DEFAULT["not_sure"], again_days=None)
    with pytest.raises(ValueError, match="must be one of"):
        replace(DEFAULT["notch"], outcome="perfect")


def test_a_limit_read_off_a_decimal_is_not_decided_by_its_last_bit():
    notch = Measure("depth", "mm", 0.1, of="wire")
    single_wire = 8 / 5
    assert 0.1 * single_wire > 0.16, "the case this guards against"
    assert notch.reached(0.16, notch.limit_in_units(single_wire))
    assert not notch.reached(0.159, notch.limit_in_units(single_wire))


def test_the_product_says_that_its_limits_are_the_fleets_rule_and_not_the_law():
    assert "not the law" in criteria.STANDING
