"""What an inspection puts on record, part by part and spot by spot."""

import datetime as dt

import pytest
from django.core.exceptions import ValidationError

from fleet.models import Installation, Stay
from inspections import recording
from inspections.criteria import DEFAULT
from inspections.models import CriteriaVersion, Finding, Inspection, PartVerdict
from tests import builders
from tests.inspections.docks import (
    day,
    every_row,
    held,
    inspect,
    part,
    rigged_boat,
    saw,
    verdict,
)

pytestmark = pytest.mark.django_db


def test_a_broken_wire_condemns_the_shroud_and_holds_the_boat():
    boat = rigged_boat()
    look = inspect(boat, day(0), saw(part(boat), "broken_wire", measure=1))
    row = verdict(look, part(boat))
    assert (row.value, row.spot, row.lower, row.upper) == ("replace", "lower", "condemned", "good")
    assert "broken" in row.reasons[0]
    assert part(boat).condemned_on == day(0)
    assert "replace" in held(boat)


def test_a_deck_check_sees_the_lower_end_and_no_more():
    boat = rigged_boat()
    row = verdict(inspect(boat, day(0), level="deck"), part(boat))
    assert (row.value, row.lower, row.run, row.upper) == ("keep", "good", "not_seen", "not_seen")


def test_from_aloft_a_forestay_inside_its_foil_shows_its_lower_end_only():
    boat = rigged_boat()
    stay = builders.wire(boat, stay="forestay", side="")
    Stay.objects.filter(pk=stay.stay_id).update(in_foil=True)
    row = verdict(inspect(boat, day(0)), stay)
    assert (row.lower, row.run, row.upper) == ("good", "not_seen", "not_seen")
    row = verdict(inspect(boat, day(9), level="mast_down"), stay)
    assert (row.lower, row.run, row.upper) == ("good", "good", "good")


def test_a_spot_reported_as_not_seen_is_not_seen_good():
    boat = rigged_boat()
    look = inspect(boat, day(0), saw(part(boat), "not_seen", "upper", note="boot not taken off"))
    assert verdict(look, part(boat)).upper == "not_seen"
    assert verdict(look, part(boat, "starboard")).upper == "good"


def test_a_sign_to_watch_is_kept_with_its_spot_and_the_spot_counts_as_seen_good():
    boat = rigged_boat()
    rust = saw(part(boat), "rust_at_mouth", "upper", cleaned=True)
    stain = saw(part(boat), "tea_stain", "run", cleaned=True)
    row = verdict(inspect(boat, day(0), rust, stain), part(boat))
    assert (row.value, row.watched, row.upper) == ("watch", ["upper"], "good")
    assert verdict(inspect(boat, day(9)), part(boat)).watched == []


def test_a_spot_that_condemns_is_not_watched_whatever_else_is_seen_there():
    boat = rigged_boat()
    rust = saw(part(boat), "rust_at_mouth", "lower", cleaned=True)
    broken = saw(part(boat), "broken_wire", "lower", measure=2)
    spots = saw(part(boat), "small_spots", "run", measure=5)
    row = verdict(inspect(boat, day(0), rust, broken, spots), part(boat))
    assert (row.value, row.watched) == ("replace", ["run"])


def test_a_stay_not_looked_at_shows_no_spot_as_good():
    boat = rigged_boat()
    look = inspect(boat, day(0), saw(part(boat), "not_seen", "whole", note="not looked at"))
    row = verdict(look, part(boat))
    assert (row.value, row.lower, row.run, row.upper) == ("not_seen",) + ("not_seen",) * 3


def test_a_suspect_spot_is_neither_good_nor_condemned():
    boat = rigged_boat()
    row = verdict(inspect(boat, day(0), saw(part(boat), "not_sure", "run")), part(boat))
    assert (row.value, row.spot, row.run, row.lower) == ("refer", "run", "unresolved", "good")
    assert row.again_by == day(14)


def test_rust_that_comes_back_after_cleaning_condemns_the_wire():
    boat = rigged_boat()
    first = inspect(boat, day(0), saw(part(boat), "rust_at_mouth", cleaned=True))
    assert verdict(first, part(boat)).value == "watch"
    second = inspect(boat, day(28), saw(part(boat), "rust_at_mouth", cleaned=True))
    assert verdict(second, part(boat)).value == "replace"


def test_an_earlier_inspection_recorded_late_changes_the_verdicts_after_it():
    boat = rigged_boat()
    later = inspect(boat, day(28), saw(part(boat), "rust_at_mouth", cleaned=True))
    assert verdict(later, part(boat)).value == "watch"
    inspect(boat, day(0), saw(part(boat), "rust_at_mouth", cleaned=True))
    assert verdict(later, part(boat)).value == "replace"


def test_a_later_look_does_not_clear_a_condemned_part():
    boat = rigged_boat()
    inspect(boat, day(0), saw(part(boat), "wire_kink", "run"))
    row = verdict(inspect(boat, day(30)), part(boat))
    assert (row.value, row.run) == ("replace", "not_seen")
    assert "not clear" in row.reasons[0]
    assert part(boat).condemned_on == day(0)


def test_on_the_day_of_a_change_the_old_part_is_the_one_inspected():
    boat = rigged_boat()
    old = part(boat)
    old.removed_on, old.removal_reason = day(10), "age_rule"
    old.save()
    new = builders.wire(boat, fitted_on=day(10))
    on_the_day, after = inspect(boat, day(10)), inspect(boat, day(11))
    assert set(on_the_day.verdicts.values_list("installation", flat=True)) >= {old.pk}
    assert new.pk not in on_the_day.verdicts.values_list("installation", flat=True)
    assert verdict(after, new).value == "keep"
    assert old.pk not in after.verdicts.values_list("installation", flat=True)


def test_a_part_of_unknown_date_was_up_since_the_part_before_it_came_off():
    boat = rigged_boat()
    old = part(boat)
    old.removed_on, old.removal_reason = day(10), "unknown"
    old.save()
    new = builders.wire(boat, fitted_on=None, fitted_certainty="unknown")
    before, after = inspect(boat, day(5)), inspect(boat, day(20))
    assert verdict(before, old)
    assert not PartVerdict.objects.filter(inspection=before, installation=new).exists()
    assert verdict(after, new)


def test_a_chainplate_is_said_nothing_of_until_the_mast_is_down():
    boat = rigged_boat()
    plate = builders.wire(boat, kind="chainplate", construction="", upper_terminal="")
    aloft, down = inspect(boat, day(0)), inspect(boat, day(60), level="mast_down")
    assert not PartVerdict.objects.filter(inspection=aloft, installation=plate).exists()
    assert verdict(down, plate).whole == "good"


def test_judging_an_unchanged_history_again_changes_no_row():
    boat = rigged_boat()
    inspect(boat, day(0), saw(part(boat), "rust_at_mouth", cleaned=True))
    inspect(boat, day(40), saw(part(boat), "broken_wire", measure=2), level="deck")
    before = every_row()
    written = recording.judge([boat.pk])
    assert (written.changed, written.verdicts) == (0, 4)
    assert every_row() == before


def test_importing_a_history_and_recording_it_day_by_day_give_the_same_rows():
    slow, fast = rigged_boat("slow", "Tern"), rigged_boat("fast", "Teal")
    sights = {0: "rust_at_mouth", 28: "rust_at_mouth", 90: "split_pin_missing"}
    for number, sign in sights.items():
        inspect(slow, day(number), saw(part(slow), sign, cleaned=True))
        look = Inspection.objects.create(
            boat=fast, on=day(number), level="aloft", person="A Rigger", competence="rigger"
        )
        Finding.objects.create(
            inspection=look, installation=part(fast), place="lower", sign=sign, cleaned=True
        )
    recording.judge([fast.pk])

    def rows(boat):
        looks = PartVerdict.objects.filter(inspection__boat=boat).order_by(
            "inspection__on", "installation__stay__side"
        )
        holds = boat.holds.order_by("since", "cause").values_list("cause", "reason", "since")
        return list(looks.values_list("value", "lower", "run", "upper", "reasons")), list(holds)

    assert rows(slow) == rows(fast)
    assert rows(slow)[1]


def test_a_fleets_own_limit_holds_from_its_day_on_and_not_before():
    boat = rigged_boat()
    stricter = DEFAULT.changed("dull_surface", outcome="refer", again_days=14)
    CriteriaVersion.objects.create(
        fleet=boat.fleet, since=day(10), reason="club rule", decided_by="B", data=stricter.to_dict()
    )
    before = inspect(boat, day(0), saw(part(boat), "dull_surface", "run"))
    after = inspect(boat, day(20), saw(part(boat), "dull_surface", "run"))
    assert verdict(before, part(boat)).value == "keep"
    assert verdict(after, part(boat)).value == "refer"
    before.refresh_from_db()
    after.refresh_from_db()
    assert before.criteria_fingerprint == DEFAULT.version
    assert (after.criteria_fingerprint, after.criteria.reason) == (stricter.version, "club rule")


def test_a_hundred_more_inspections_cost_no_more_queries(django_assert_max_num_queries):
    boats = [rigged_boat(f"fleet-{number}") for number in range(3)]
    looks = [
        Inspection(boat=boat, on=day(-number), level="aloft", person="R", competence="rigger")
        for boat in boats
        for number in range(40)
    ]
    Inspection.objects.bulk_create(looks)
    with django_assert_max_num_queries(20):
        written = recording.judge([boat.pk for boat in boats])
    assert written.verdicts == 240


def test_a_renewal_fits_the_same_again_and_ends_the_life_of_the_old_wire():
    boat = rigged_boat()
    old = part(boat)
    inspect(boat, day(0), saw(old, "broken_wire", "upper", measure=1))
    new = recording.record_renewal(old, fitted_on=day(5), fitter="Loft Yard", invoice="INV 7")
    old.refresh_from_db()
    assert (old.removed_on, old.removal_reason, old.removal_spot) == (day(5), "condemned", "upper")
    assert (new.diameter_mm, new.upper_terminal, new.fitted_certainty) == (8, "t_ball", "day")
    assert "replace" not in held(boat)


def test_a_thicker_wire_can_be_fitted_in_place_of_the_old_one():
    boat = rigged_boat()
    new = recording.record_renewal(
        part(boat), fitted_on=day(5), fitter="R", reason="age_rule", changes={"diameter_mm": 10}
    )
    assert (new.diameter_mm, new.construction) == (10, "1x19")


REFUSED = {
    "in the future": ({"on": builders.TODAY + dt.timedelta(days=1)}, "today is 14 Oct 2026"),
    "by nobody": ({"on": day(0), "person": "  "}, "who looked"),
    "at no known level": ({"on": day(0), "level": "keelhaul"}, "keelhaul"),
}


@pytest.mark.parametrize(("facts", "sentence"), REFUSED.values(), ids=REFUSED.keys())
def test_an_inspection_that_cannot_be_is_refused_with_a_sentence(facts, sentence):
    boat = rigged_boat()
    with pytest.raises(ValidationError, match=sentence):
        inspect(boat, **facts)
    assert not Inspection.objects.exists()


def test_the_same_look_is_not_recorded_twice():
    boat = rigged_boat()
    inspect(boat, day(0))
    with pytest.raises(ValidationError, match="already recorded"):
        inspect(boat, day(0))


def test_a_finding_on_another_boats_part_is_refused():
    boat, other = rigged_boat(), rigged_boat("estuary")
    with pytest.raises(ValidationError, match="not on this boat"):
        inspect(boat, day(0), saw(part(other), "broken_wire"))


def test_a_boat_of_another_fleet_is_refused():
    boat, other = rigged_boat(), rigged_boat("estuary")
    look = recording.Look(day(0), "deck", "R", "crew")
    with pytest.raises(ValidationError, match="not in this fleet"):
        recording.record(other.fleet, boat, look, [])


BAD_RENEWALS = {
    "before it was condemned": ({"fitted_on": day(-1)}, "condemned on"),
    "tomorrow": ({"fitted_on": builders.TODAY + dt.timedelta(days=1)}, "today is"),
}


@pytest.mark.parametrize(("facts", "sentence"), BAD_RENEWALS.values(), ids=BAD_RENEWALS.keys())
def test_a_renewal_that_cannot_be_is_refused_with_a_sentence(facts, sentence):
    boat = rigged_boat()
    inspect(boat, day(0), saw(part(boat), "broken_wire", measure=1))
    with pytest.raises(ValidationError, match=sentence):
        recording.record_renewal(part(boat), fitter="R", **facts)
    assert Installation.objects.count() == 2


def test_a_part_that_was_not_condemned_is_not_renewed_without_a_reason():
    with pytest.raises(ValidationError, match="why"):
        recording.record_renewal(part(rigged_boat()), fitted_on=day(0), fitter="R")
