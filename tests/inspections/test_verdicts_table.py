"""The decision table of signs, line by line, in the order in which it is written.

Every line is common practice in the trade without a published source, and every limit is the
fleet's own rule; what published rules say of ropes is in test_verdicts_outside.py.
"""

import datetime as dt

import pytest

from inspections.criteria import DEFAULT
from inspections.verdicts import FindingFacts as Finding
from inspections.verdicts import PartFacts, boat_level
from tests.inspections.rigs import (
    CHAINPLATE,
    DAY,
    FIBRE,
    MECHANICAL,
    ROD,
    SEVEN,
    SWAGED,
    T_TOP,
    TURNBUCKLE,
    before,
    look,
)


def within(days: int) -> dt.date:
    return DAY + dt.timedelta(days=days)


# Common practice, no source: signs that need no measure and no history.
PLAIN = [
    # swaged terminal: crack along the barrel or across it; barrel bent
    (SWAGED, "barrel_crack_along", "lower", "replace"),
    (SWAGED, "barrel_crack_along", "upper", "replace"),
    (SWAGED, "barrel_crack_across", "lower", "replace"),
    (SWAGED, "barrel_bent", "upper", "replace"),
    # T- or ball-end and its mast plate
    (T_TOP, "neck_crack", "upper", "replace"),
    (T_TOP, "end_unseated", "upper", "replace"),
    (T_TOP, "seat_plug_missing", "upper", "make_good"),
    # 1x19: one broken, lifted or cracked wire
    (SWAGED, "broken_wire", "run", "replace"),
    (SWAGED, "broken_wire", "lower", "replace"),
    # wire: corrosion from between wires away from the ends; bands
    (SWAGED, "rust_between_wires", "run", "replace"),
    (SWAGED, "spot_bands", "run", "replace"),
    # wire: tea stain that polishes off, slight loss of gloss
    (SWAGED, "tea_stain", "run", "keep"),
    (SWAGED, "dull_surface", "run", "keep"),
    # wire: kink, permanent bend, flattened, out of round
    (SWAGED, "wire_kink", "run", "replace"),
    (SWAGED, "wire_flattened", "run", "replace"),
    # rod: head crack, score, permanent bend
    (ROD, "rod_head_crack", "lower", "replace"),
    (ROD, "rod_score", "run", "replace"),
    (ROD, "rod_bend", "run", "replace"),
    # fibre: cut, glazed, stiff, cover gone; cut core
    (FIBRE, "fibre_cut", "run", "refer"),
    (FIBRE, "fibre_glazed", "run", "refer"),
    (FIBRE, "fibre_stiff", "run", "refer"),
    (FIBRE, "fibre_cover_gone", "lower", "refer"),
    (FIBRE, "fibre_core_cut", "run", "replace"),
    # turnbuckle, toggle
    (TURNBUCKLE, "fitting_cracked", "whole", "replace"),
    (TURNBUCKLE, "fitting_bent", "whole", "replace"),
    (TURNBUCKLE, "seized_off_axis", "whole", "replace"),
    (TURNBUCKLE, "thread_stripped", "whole", "replace"),
    (TURNBUCKLE, "lock_missing", "whole", "make_good"),
    (TURNBUCKLE, "toggle_missing", "whole", "make_good"),
    (TURNBUCKLE, "bad_lead", "whole", "make_good"),
    # clevis and split pin: bent, missing, undersized
    (TURNBUCKLE, "pin_bent", "whole", "make_good"),
    (SWAGED, "pin_undersized", "upper", "make_good"),
    (CHAINPLATE, "split_pin_missing", "whole", "make_good"),
    (CHAINPLATE, "tape_missing", "whole", "make_good"),
    # bronze or brass: zinc lost; plain tarnish
    (TURNBUCKLE, "zinc_lost", "whole", "replace"),
    (TURNBUCKLE, "bronze_tarnish", "whole", "keep"),
    # chainplate: crack, elongated hole, movement; leak
    (CHAINPLATE, "chainplate_crack", "whole", "replace"),
    (CHAINPLATE, "chainplate_hole", "whole", "replace"),
    (CHAINPLATE, "chainplate_movement", "whole", "replace"),
    (CHAINPLATE, "chainplate_leak", "whole", "refer"),
    # suspect: a rigger to look
    (SWAGED, "not_sure", "upper", "refer"),
]


@pytest.mark.parametrize(("part", "sign", "spot", "value"), PLAIN)
def test_a_sign_leads_to_its_verdict(part, sign, spot, value):
    result = look(part, Finding(sign, spot))
    assert result.value == value
    assert result.spot == (spot if value == "replace" else "")
    assert result.holds == (value in ("replace", "make_good") or sign == "chainplate_leak")
    assert "common practice, no source" in result.reasons[0]


def test_every_sign_of_the_criteria_has_its_line_in_these_tests():
    lines = {line[1] for line in PLAIN} | {line[0] for line in HOLDING}
    told_below = {
        "wire_drawn_out", "rust_at_mouth", "dark_wire", "small_spots", "notch", "pin_worn",
        "rod_heads_not_opened", "thread_engagement", "broken_wires_7x7", "broken_wires_7x19",
        "broken_wires_galvanised", "hanks_worn", "lashings_worn",
    }  # fmt: skip
    assert lines | told_below == set(DEFAULT)


# Mechanical terminal: wire drawn out by about 1 mm or more. Common practice, no source.
@pytest.mark.parametrize(
    ("drawn_mm", "value"),
    [(0.0, "watch"), (0.4, "watch"), (0.99, "watch"), (1.0, "replace"), (3, "replace"),
     (None, "replace")],
)  # fmt: skip
def test_a_wire_drawn_out_of_a_mechanical_terminal_by_a_millimetre_is_condemned(drawn_mm, value):
    result = look(MECHANICAL, Finding("wire_drawn_out", "lower", drawn_mm))
    assert result.value == value
    assert result.again_by == (within(28) if value == "watch" else None)


# Any terminal: rust at the mouth. Common practice, no source.
@pytest.mark.parametrize("part", [SWAGED, MECHANICAL, T_TOP])
def test_rust_at_the_mouth_that_cleans_away_the_first_time_is_watched_four_weeks(part):
    result = look(part, Finding("rust_at_mouth", "lower", cleaned=True))
    assert (result.value, result.again_by) == ("watch", within(28))
    assert not result.holds


def test_rust_at_the_mouth_that_cannot_be_cleaned_away_condemns():
    assert look(SWAGED, Finding("rust_at_mouth", "lower", cleaned=False)).value == "replace"


def test_rust_at_the_mouth_that_has_come_back_condemns_though_it_cleans_away_again():
    result = look(
        SWAGED,
        Finding("rust_at_mouth", "lower", cleaned=True),
        previous=(before("rust_at_mouth", "lower", days=28, cleaned=True),),
    )
    assert result.value == "replace"
    assert "has come back (first noted 4 Mar 2025)" in result.reasons[0]


def test_rust_at_the_other_end_is_not_rust_that_has_come_back():
    result = look(
        SWAGED,
        Finding("rust_at_mouth", "lower", cleaned=True),
        previous=(before("rust_at_mouth", "upper", cleaned=True),),
    )
    assert result.value == "watch"


def test_a_rigger_who_cleans_what_the_crew_reported_last_week_does_not_find_it_back():
    reported = before("rust_at_mouth", "lower", days=7)
    cleaned = Finding("rust_at_mouth", "lower", cleaned=True)
    assert look(SWAGED, cleaned, previous=(reported,)).value == "watch"


def test_rust_that_was_left_longer_than_the_four_weeks_given_counts_as_come_back():
    cleaned = Finding("rust_at_mouth", "lower", cleaned=True)
    left = before("rust_at_mouth", "lower", days=29)
    assert look(SWAGED, cleaned, previous=(left,)).value == "replace"


def test_rust_of_which_nobody_says_whether_it_cleans_away_is_for_a_rigger():
    result = look(SWAGED, Finding("rust_at_mouth", "lower"))
    assert (result.value, result.again_by) == ("refer", within(14))
    assert result.spots["lower"] == "unresolved"


# 7x7, 7x19: own limits, none by default: not assessed, never keep. Common practice, no source.
def test_a_clean_7x7_stay_is_not_assessed_and_never_kept():
    result = look(SEVEN)
    assert result.value == "not_assessed"
    assert set(result.spots.values()) == {"unresolved"}
    assert "No criteria for 7x7 wire: not assessed." in result.reasons


def test_a_broken_wire_in_7x7_goes_to_a_rigger_while_the_fleet_has_no_limit_for_it():
    for sign in ("broken_wires_7x7", "broken_wire"):
        result = look(SEVEN, Finding(sign, "run", 1))
        assert result.value == "refer"
        assert "not assessed" in result.reasons[0]


def test_a_fleet_that_sets_its_own_limit_for_7x7_can_keep_watch_and_condemn_it():
    own = DEFAULT.changed("broken_wires_7x7", limit=2, reason="our rigger's limit")
    assert look(SEVEN, criteria=own).value == "keep"
    assert look(SEVEN, Finding("broken_wires_7x7", "run", 1), criteria=own).value == "watch"
    assert look(SEVEN, Finding("broken_wires_7x7", "run", 2), criteria=own).value == "replace"


def test_a_cracked_terminal_condemns_a_wire_of_any_construction():
    for construction in ("7x7", "7x19", "galvanised", "compacted", ""):
        part = PartFacts("wire", construction, "swaged", "swaged", diameter_mm=6)
        assert look(part, Finding("barrel_crack_along", "lower")).value == "replace"


def test_a_wire_of_unknown_construction_is_not_assessed():
    result = look(PartFacts("wire", "", "swaged", "swaged"))
    assert result.value == "not_assessed"
    assert "whose construction is not on record" in result.reasons[0]


# One wire darker than its neighbours. Common practice, no source.
@pytest.mark.parametrize(
    ("cleaned", "value"), [(True, "watch"), (False, "replace"), (None, "refer")]
)
def test_a_dark_wire_is_watched_if_it_polishes_clean_and_condemned_if_pitted(cleaned, value):
    assert look(SWAGED, Finding("dark_wire", "run", cleaned=cleaned)).value == value


def test_a_dark_wire_that_returns_after_polishing_condemns():
    polished = before("dark_wire", "run", days=60, cleaned=True)
    now = Finding("dark_wire", "run", cleaned=True)
    assert look(SWAGED, now, previous=(polished,)).value == "replace"


# Many small spots. Common practice, no source.
@pytest.mark.parametrize(
    ("earlier", "now", "value"),
    [((), 12, "watch"), ((), None, "watch"), ((12,), 13, "replace"), ((12,), 12, "watch"),
     ((12,), 5, "watch"), ((12,), None, "refer"), ((None,), 12, "refer"), ((12, 6), 9, "replace")],
)  # fmt: skip
def test_small_spots_are_watched_and_condemn_once_they_grow(earlier, now, value):
    previous = tuple(
        before("small_spots", "run", days=400 - 100 * i, measure=count)
        for i, count in enumerate(earlier)
    )
    assert look(SWAGED, Finding("small_spots", "run", now), previous=previous).value == value


def test_spots_of_a_later_day_are_no_history_of_an_earlier_inspection():
    later = Finding("small_spots", "run", 2, on=DAY + dt.timedelta(days=1))
    assert look(SWAGED, Finding("small_spots", "run", 9), previous=(later,)).value == "watch"


# Notches, against the single wire: 8 mm 1x19 has wires of 1.6 mm. Common practice, no source.
@pytest.mark.parametrize(
    ("depth_mm", "diameter_mm", "value"),
    [(0.15, 8, "watch"), (0.16, 8, "replace"), (0.15, 7, "replace"), (0.10, 4, "replace"),
     (None, 8, "replace"), (0.15, None, "replace")],
)  # fmt: skip
def test_a_notch_is_judged_by_its_depth_against_the_single_wire(depth_mm, diameter_mm, value):
    part = PartFacts("wire", "1x19", "swaged", "swaged", diameter_mm=diameter_mm)
    assert look(part, Finding("notch", "run", depth_mm)).value == value


def test_a_notch_in_a_wire_whose_single_wires_are_not_known_is_judged_on_the_safe_side():
    part = PartFacts("wire", "galvanised", "eye", "eye", diameter_mm=8)
    result = look(part, Finding("notch", "run", 0.01))
    assert result.value == "replace"
    assert "diameter of the single wire is not on record" in result.reasons[0]


def test_tea_stain_that_does_not_polish_off_is_for_a_rigger():
    assert look(SWAGED, Finding("tea_stain", "run", cleaned=False)).value == "refer"
    stained_before = before("tea_stain", "run", cleaned=True)
    again = look(SWAGED, Finding("tea_stain", "run", cleaned=True), previous=(stained_before,))
    assert again.value == "keep", "tea stain comes back every season and means nothing"


# Rod: heads opened every 5 to 7 years. Common practice, no source.
@pytest.mark.parametrize(("years", "value"), [(2, "keep"), (5, "refer"), (9, "refer")])
def test_rod_heads_that_were_not_opened_for_five_years_are_for_a_rigger(years, value):
    assert look(ROD, Finding("rod_heads_not_opened", "lower", years)).value == value


# Thread engagement under 1.5 diameters. Common practice, no source.
@pytest.mark.parametrize(
    ("engaged_mm", "value"), [(23.9, "make_good"), (24, "keep"), (40, "keep"), (None, "make_good")]
)
def test_thread_engaged_for_less_than_one_and_a_half_diameters_is_made_good(engaged_mm, value):
    result = look(TURNBUCKLE, Finding("thread_engagement", "whole", engaged_mm))
    assert (result.value, result.spot) == (value, "")


def test_the_pin_stands_for_a_thread_that_is_not_on_record_and_nothing_for_both():
    enough = Finding("thread_engagement", "whole", 24)
    assert look(PartFacts("turnbuckle", pin_mm=16), enough).value == "keep"
    assert look(PartFacts("turnbuckle"), enough).value == "make_good"


# Clevis pin worn over 5 % of its diameter. Common practice, no source.
@pytest.mark.parametrize(
    ("wear_mm", "pin_mm", "value"),
    [(0.8, 16, "keep"), (0.81, 16, "make_good"), (0.635, 12.7, "keep"), (None, 16, "make_good"),
     (0.1, None, "make_good")],
)  # fmt: skip
def test_a_clevis_pin_worn_over_five_percent_of_its_diameter_is_made_good(wear_mm, pin_mm, value):
    part = PartFacts("turnbuckle", pin_mm=pin_mm)
    assert look(part, Finding("pin_worn", "whole", wear_mm)).value == value


def test_a_leaking_chainplate_holds_from_offshore_by_a_date_and_is_not_seen_good():
    result = look(CHAINPLATE, Finding("chainplate_leak", "whole"))
    assert (result.holds, result.hold_scope) == (True, "offshore")
    assert result.again_by == within(90)
    assert result.spots == {"whole": "unresolved"}


# Places of the boat that are no part: hold. Common practice, no source.
HOLDING = [
    ("mast_wall_crack", False),
    ("bulkhead_soft", False),
    ("tie_rod_weld_crack", False),
    ("tang_crack", False),
    ("tang_hole", False),
    ("spreader_root_crack", False),
    ("spreader_tip_loose", False),
    ("spreader_not_bisecting", False),
    ("foil_jam", False),
    ("halyard_wrap", False),
    ("lightning", True),
    ("collision", True),
    ("knock_down", True),
    ("hard_grounding", True),
    ("regatta_accident", True),
]


@pytest.mark.parametrize(("sign", "voids"), HOLDING)
def test_a_finding_on_the_structure_or_an_event_holds_the_boat(sign, voids):
    result = boat_level([Finding(sign, "port")], DEFAULT, DAY)
    assert result.holds
    assert len(result.hold_reasons) == 1
    assert result.voids_earlier is voids
    assert ("Earlier results are void" in result.hold_reasons[0]) is voids


def test_a_jammed_furler_asks_for_the_top_swivel_and_leaves_the_forestay_not_seen():
    (reason,) = boat_level([Finding("foil_jam")], DEFAULT, DAY).hold_reasons
    assert "Open the top swivel" in reason
    assert "forestay inside counts as not seen" in reason


def test_worn_hanks_are_counted_and_renewed_and_hold_nothing():
    found = [Finding("hanks_worn", "jib", 3), Finding("hanks_worn", "staysail", 2)]
    result = boat_level([*found, Finding("lashings_worn")], DEFAULT, DAY)
    assert not result.holds
    assert result.consumables == {"hanks_worn": 5, "lashings_worn": 1}
    assert "Replace the hank, not the stay." in result.reasons[0]
