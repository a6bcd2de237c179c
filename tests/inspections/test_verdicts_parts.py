"""What was seen, what was not, what decides, what is held, and what that means for the pair."""

import datetime as dt

import pytest

from inspections.criteria import DEFAULT, SPOTS
from inspections.verdicts import FindingFacts as Finding
from inspections.verdicts import PartFacts, boat_level, consequences, judge, reach
from tests.inspections.rigs import (
    CHAINPLATE,
    DAY,
    MECHANICAL,
    SEVEN,
    SWAGED,
    TURNBUCKLE,
    before,
    look,
)


def test_a_wire_seen_from_end_to_end_with_nothing_found_is_kept():
    result = look(SWAGED)
    assert result.value == "keep"
    assert result.spots == {"lower": "good", "run": "good", "upper": "good"}
    assert not result.holds
    assert result.again_by is None
    assert result.version == DEFAULT.version


def test_a_wire_of_which_nothing_was_seen_is_not_seen_and_never_kept():
    result = look(SWAGED, seen=())
    assert result.value == "not_seen"
    assert set(result.spots.values()) == {"not_seen"}
    assert "Not seen is no evidence of health." in result.reasons[0]


def test_a_wire_whose_top_was_not_seen_is_kept_only_for_what_was_and_says_so():
    result = look(SWAGED, seen=("lower", "run"))
    assert result.value == "keep"
    assert result.spots == {"lower": "good", "run": "good", "upper": "not_seen"}
    assert result.reasons == (
        "Nothing found (lower end, wire).",
        "Not seen: upper end. Not seen is no evidence of health.",
    )


def test_a_harmless_note_does_not_turn_an_unseen_wire_into_a_kept_one():
    result = look(SWAGED, Finding("tea_stain", "lower"), seen=())
    assert result.value == "not_seen"
    assert result.spots["lower"] == "not_seen"


def test_a_bottom_that_condemns_the_wire_need_not_be_followed_by_its_top():
    result = look(SWAGED, Finding("barrel_crack_along", "lower"), seen=("lower", "run"))
    assert (result.value, result.spot) == ("replace", "lower")
    assert result.spots == {"lower": "condemned", "run": "good", "upper": "not_seen"}
    assert any("need not be inspected to decide" in each for each in result.reasons)
    assert any("tang, pin and mast wall" in each for each in result.reasons)


def test_the_lowest_condemned_spot_is_the_one_that_decides():
    top, run = Finding("barrel_bent", "upper"), Finding("wire_kink", "run")
    assert look(SWAGED, top, run).spot == "run"
    assert look(SWAGED, top).spot == "upper"
    assert look(SWAGED, top, run, Finding("broken_wire", "lower")).spot == "lower"


def test_to_make_good_holds_the_boat_and_condemns_nothing():
    result = look(TURNBUCKLE, Finding("lock_missing", "whole"))
    assert (result.value, result.spot) == ("make_good", "")
    assert (result.holds, result.hold_scope) == (True, "sailing")
    assert result.spots == {"whole": "good"}


def test_a_referred_spot_is_unresolved_and_the_others_are_seen_good():
    result = look(SWAGED, Finding("not_sure", "run"))
    assert result.value == "refer"
    assert result.spots == {"lower": "good", "run": "unresolved", "upper": "good"}
    assert result.again_by == DAY + dt.timedelta(days=14)
    assert not result.holds


def test_a_watched_spot_counts_as_seen_good():
    result = look(SWAGED, Finding("small_spots", "run", 4))
    assert (result.value, result.spots["run"]) == ("watch", "good")


def test_the_earliest_date_to_look_again_is_kept_also_under_a_worse_verdict():
    pin, spots = Finding("pin_bent", "upper"), Finding("small_spots", "run", 4)
    drawn = Finding("wire_drawn_out", "lower", 0.3)
    result = look(MECHANICAL, pin, spots, drawn)
    assert (result.value, result.again_by) == ("make_good", DAY + dt.timedelta(days=28))


def test_the_wider_hold_wins_over_the_narrower():
    result = look(CHAINPLATE, Finding("chainplate_leak", "whole"), Finding("pin_bent", "whole"))
    assert result.hold_scope == "sailing"


def test_a_long_list_of_holds_stays_short_enough_to_read():
    signs = [sign for sign in DEFAULT.for_part("wire", "1x19") if sign.outcome == "replace"]
    findings = [Finding(sign.code, (sign.spots or ("run",))[0]) for sign in signs]
    result = look(SWAGED, *findings)
    assert result.hold_reason.endswith("more")
    assert len(result.hold_reason) < 300


def test_not_seen_at_two_comprehensive_inspections_running_holds_until_opened():
    once = look(SWAGED, seen=("lower", "run"), missed={"upper": 1})
    twice = look(SWAGED, seen=("lower", "run"), missed={"upper": 2})
    assert not once.holds
    assert (twice.holds, twice.hold_scope) == (True, "sailing")
    assert "held until opened" in twice.hold_reason
    assert twice.value == "keep"


def test_a_spot_that_is_seen_today_is_not_held_for_the_times_it_was_missed():
    assert not look(SWAGED, missed={"upper": 5}).holds


def test_the_top_of_a_condemned_wire_is_not_held_for_not_being_seen():
    cracked = Finding("barrel_crack_along", "lower")
    result = look(SWAGED, cracked, seen=("lower",), missed={"upper": 3})
    assert "not seen" not in result.hold_reason


def test_what_was_seen_goes_before_what_is_on_record():
    result = look(MECHANICAL, Finding("barrel_crack_along", "lower"))
    assert result.value == "replace"
    assert "terminal recorded as mechanical: correct the record" in result.reasons[0]
    strands = look(PartFacts("wire", "rod"), Finding("broken_wire", "run", 1))
    assert strands.value == "replace"
    assert "recorded as rod: correct the record" in strands.reasons[0]


def test_a_sign_of_another_kind_of_part_goes_to_a_rigger():
    result = look(SWAGED, Finding("chainplate_crack", "lower"))
    assert result.value == "refer"
    assert "a sign of a chainplate, recorded at a wire" in result.reasons[0]


def test_the_measure_and_its_limit_are_told_with_the_verdict():
    (reason, *_) = look(SWAGED, Finding("notch", "run", 0.2)).reasons
    assert "0.2 mm (limit 0.16 mm: 0.1 x diameter of the single wire)" in reason


def test_a_fleets_own_limit_decides_and_is_named_with_its_date():
    own = DEFAULT.changed(
        "wire_drawn_out", limit=0.25, since=dt.date(2025, 1, 1), reason="two wires pulled out"
    )
    result = look(MECHANICAL, Finding("wire_drawn_out", "lower", 0.3), criteria=own)
    assert result.value == "replace"
    assert "the fleet's own rule since 2025-01-01 (two wires pulled out)" in result.reasons[0]
    assert result.version == own.version != DEFAULT.version


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: look(TURNBUCKLE, Finding("fitting_bent", "upper")), "has no 'upper'"),
        (lambda: look(TURNBUCKLE, seen=("lower",)), "has no 'lower'"),
        (lambda: look(SWAGED, Finding("wobbly", "run")), "no sign called 'wobbly'"),
        (lambda: look(SWAGED, Finding("tang_crack", "upper")), "belongs to the boat"),
        (lambda: boat_level([Finding("wire_kink")], DEFAULT, DAY), "belongs to a part"),
        (lambda: Finding("notch", "run", -0.1), "give a number"),
        (lambda: Finding("notch", "run", float("nan")), "give a number"),
        (lambda: PartFacts("boom"), "none of them"),
        (lambda: reach("telescope", "wire"), "none of them"),
    ],
)
def test_what_cannot_be_judged_is_refused_in_a_sentence(call, words):
    with pytest.raises(ValueError, match=words):
        call()


# What a level of inspection sees. Common practice, no source.
def test_a_deck_check_sees_lower_ends_and_turnbuckles_and_no_chainplate():
    assert reach("deck", "wire") == {"lower"}
    assert reach("deck", "turnbuckle") == {"whole"}
    assert reach("deck", "chainplate") == frozenset()


def test_going_aloft_sees_the_wire_and_both_ends_unless_a_foil_hides_them():
    assert reach("aloft", "wire") == {"lower", "run", "upper"}
    assert reach("aloft", "wire", inside_foil=True) == {"lower"}
    assert reach("aloft", "chainplate") == frozenset()


def test_mast_down_and_opened_sees_everything():
    for kind, spots in SPOTS.items():
        assert reach("mast_down", kind, inside_foil=True) == set(spots)


def test_the_pair_of_a_condemned_shroud_is_held_until_inspected():
    pair = consequences(SWAGED, look(SWAGED, Finding("wire_kink", "run")))
    assert (pair.stay, pair.side, pair.mast) == ("cap_shroud", "starboard", "main")
    assert pair.reason == "Its pair, cap shroud port, was condemned: held until inspected."


def test_the_pair_of_a_shroud_that_failed_in_service_is_held_too():
    assert consequences(SWAGED, look(SWAGED), failed=True).side == "starboard"


def test_no_pair_is_held_for_a_kept_shroud_a_centreline_stay_or_a_turnbuckle():
    condemned = look(SWAGED, Finding("wire_kink", "run"))
    forestay = PartFacts("wire", "1x19", stay="forestay")
    turnbuckle = PartFacts("turnbuckle", stay="cap_shroud", side="port")
    assert consequences(SWAGED, look(SWAGED)) is None
    assert consequences(forestay, condemned) is None
    assert consequences(turnbuckle, look(turnbuckle, Finding("fitting_bent", "whole"))) is None


def test_an_unassessed_wire_with_something_to_make_good_still_holds_the_boat():
    result = look(SEVEN, Finding("split_pin_missing", "lower"))
    assert (result.value, result.holds) == ("make_good", True)
    assert result.spots["lower"] == "unresolved"


def test_findings_of_an_earlier_inspection_alone_condemn_nothing_today():
    rust = before("rust_at_mouth", "lower", cleaned=True)
    assert judge(SWAGED, frozenset(SWAGED.spots), [], [rust], DEFAULT, DAY).value == "keep"
