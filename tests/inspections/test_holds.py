"""What keeps a boat in harbour, and the one thing that ends it."""

import pytest
from django.core.exceptions import ValidationError

from fleet.models import Stay
from inspections import recording
from inspections.models import SKIPPED, Hold
from tests import builders
from tests.inspections.docks import day, held, inspect, part, rigged_boat, saw

pytestmark = pytest.mark.django_db


def hold(boat, cause: str) -> Hold:
    return Hold.objects.get(boat=boat, cause=cause)


def condemn(boat, number: int = 0, place: str = "lower"):
    return inspect(boat, day(number), saw(part(boat), "broken_wire", place, measure=1))


def test_a_condemned_shroud_holds_the_boat_until_it_is_renewed():
    boat = rigged_boat()
    condemn(boat)
    for number in (10, 20):
        inspect(boat, day(number))
    assert "replace" in held(boat)
    recording.record_renewal(part(boat), fitted_on=day(30), fitter="Loft Yard", invoice="INV 7")
    ended = hold(boat, "replace")
    assert (ended.lifted_on, ended.lifted_by) == (day(30), "Loft Yard")
    assert "INV 7" in ended.lifted_how


def test_taking_a_condemned_shroud_off_without_a_new_one_releases_nothing():
    boat = rigged_boat()
    condemn(boat)
    old = part(boat)
    old.removed_on, old.removal_reason = day(3), "condemned"
    old.save()
    recording.settle([boat.pk])
    assert "replace" in held(boat)


def test_a_shroud_that_let_go_holds_the_boat_until_it_is_renewed():
    boat = rigged_boat()
    old = part(boat)
    old.removed_on, old.removal_reason = day(3), "failed_in_service"
    old.save()
    recording.settle([boat.pk])
    assert held(boat) == ["replace", "pair"]
    builders.wire(boat, fitted_on=day(9))
    recording.settle([boat.pk])
    assert hold(boat, "replace").lifted_on == day(9)


def test_nothing_on_record_releases_a_condemned_part_but_a_renewal():
    boat = rigged_boat()
    look = condemn(boat)
    finding = look.findings.get()
    with pytest.raises(ValidationError, match="Nothing waits to be made good"):
        recording.make_good_done(finding, day(1), "Somebody")
    assert "replace" in held(boat)


def test_the_pair_of_a_condemned_shroud_is_held_until_looked_at_on_a_later_day():
    boat = rigged_boat()
    condemn(boat)
    assert "pair" in held(boat)
    assert hold(boat, "pair").installation == part(boat, "starboard")
    inspect(boat, day(0), person="Another", level="deck")
    assert "pair" in held(boat)
    inspect(boat, day(2), level="deck")
    assert "pair" not in held(boat)
    assert "deck check by A Rigger" in hold(boat, "pair").lifted_how


def test_a_pair_is_not_released_by_a_look_elsewhere_than_where_the_other_went():
    boat = rigged_boat()
    condemn(boat, place="upper")
    inspect(boat, day(2), level="deck")
    assert "pair" in held(boat)
    inspect(boat, day(3))
    assert "pair" not in held(boat)


def test_a_pair_renewed_with_the_condemned_shroud_is_not_held():
    boat = rigged_boat()
    starboard = part(boat, "starboard")
    starboard.removed_on, starboard.removal_reason = day(0), "with_set"
    starboard.save()
    condemn(boat)
    assert "pair" not in held(boat)


def test_a_backstay_has_no_pair():
    boat = rigged_boat()
    backstay = builders.wire(boat, stay="backstay", side="")
    inspect(boat, day(0), saw(backstay, "broken_wire", measure=1))
    assert held(boat) == ["replace"]


def test_a_missing_split_pin_holds_the_boat_until_made_good_and_condemns_nothing():
    boat = rigged_boat()
    look = inspect(boat, day(0), saw(part(boat), "split_pin_missing"))
    inspect(boat, day(20))
    assert held(boat) == ["make_good"]
    assert part(boat).condemned_on is None
    recording.make_good_done(look.findings.get(), day(21), "Bo Sun")
    assert held(boat) == []
    ended = hold(boat, "make_good")
    assert (ended.lifted_on, ended.lifted_by) == (day(21), "Bo Sun")


def test_two_things_to_make_good_on_one_turnbuckle_are_two_holds():
    boat = rigged_boat()
    screw = builders.wire(boat, kind="turnbuckle", construction="", upper_terminal="")
    look = inspect(
        boat, day(0), saw(screw, "lock_missing", "whole"), saw(screw, "toggle_missing", "whole")
    )
    recording.make_good_done(look.findings.get(sign="lock_missing"), day(1), "Bo Sun")
    assert held(boat) == ["make_good"]


REFUSED = {
    "before it was found": ((day(-1), "Bo Sun"), "found on"),
    "by nobody": ((day(1), " "), "who made it good"),
}


@pytest.mark.parametrize(("done", "sentence"), REFUSED.values(), ids=REFUSED.keys())
def test_work_that_cannot_have_been_done_releases_nothing(done, sentence):
    boat = rigged_boat()
    look = inspect(boat, day(0), saw(part(boat), "split_pin_missing"))
    with pytest.raises(ValidationError, match=sentence):
        recording.make_good_done(look.findings.get(), *done)
    assert held(boat) == ["make_good"]


def test_a_cracked_tang_holds_the_boat_until_made_good():
    boat = rigged_boat()
    look = inspect(boat, day(0), recording.Sight("tang_crack", "tang", side="port"))
    inspect(boat, day(20))
    assert held(boat) == ["finding"]
    assert "Tang port" in hold(boat, "finding").reason
    recording.make_good_done(look.findings.get(), day(25), "Loft Yard")
    assert held(boat) == []


def test_worn_hanks_hold_no_boat():
    boat = rigged_boat()
    inspect(boat, day(0), recording.Sight("hanks_worn", "hanks", measure=3))
    assert held(boat) == []


def struck_by_lightning(boat):
    sight = recording.Sight("lightning", "whole_rig")
    return inspect(boat, day(0), sight, level="deck", person="Skipper", competence="crew")


NOT_ENOUGH = {
    "a deck check": {"level": "deck"},
    "a look by the crew": {"competence": "crew"},
    "the same day": {"on": day(0)},
}


@pytest.mark.parametrize("facts", NOT_ENOUGH.values(), ids=NOT_ENOUGH.keys())
def test_after_lightning_this_does_not_release_the_boat(facts):
    boat = rigged_boat()
    struck_by_lightning(boat)
    inspect(boat, **({"on": day(3)} | facts))
    assert held(boat) == ["event"]


def test_after_lightning_a_rigger_aloft_who_finds_all_sound_releases_the_boat():
    boat = rigged_boat()
    event = struck_by_lightning(boat)
    with pytest.raises(ValidationError, match="Record that inspection"):
        recording.make_good_done(event.findings.get(), day(2), "Skipper")
    inspect(boat, day(3))
    assert held(boat) == []
    assert "Found sound" in hold(boat, "event").lifted_how


def test_after_lightning_a_top_not_seen_keeps_the_boat_held():
    boat = rigged_boat()
    struck_by_lightning(boat)
    inspect(boat, day(3), saw(part(boat), "not_seen", "upper", note="boot"))
    assert held(boat) == ["event"]


def test_an_inspection_before_the_lightning_counts_for_nothing():
    boat = rigged_boat()
    inspect(boat, day(-3))
    struck_by_lightning(boat)
    assert held(boat) == ["event"]


def test_a_top_not_seen_at_two_inspections_aloft_running_holds_the_boat_until_seen():
    boat = rigged_boat()
    missed = saw(part(boat), "not_seen", "upper", note="boot")
    inspect(boat, day(0), missed)
    assert held(boat) == []
    inspect(boat, day(20), level="deck")
    inspect(boat, day(90), missed)
    assert held(boat) == ["not_seen"]
    inspect(boat, day(95))
    assert held(boat) == []
    assert hold(boat, "not_seen").since == day(90)


def test_a_top_seen_in_between_is_not_missed_twice_running():
    boat = rigged_boat()
    missed = saw(part(boat), "not_seen", "upper", note="boot")
    for number, sights in ((0, [missed]), (60, []), (120, [missed])):
        inspect(boat, day(number), *sights)
    assert held(boat) == []


def test_looks_at_one_stay_alone_do_not_hold_the_boat_for_the_stays_they_left_out():
    boat = rigged_boat()
    left_out = saw(part(boat), "not_seen", "whole", note=SKIPPED)
    for number in (0, 60):
        inspect(boat, day(number), left_out)
    assert held(boat) == []


def test_a_forestay_hidden_in_its_foil_is_no_omission_of_those_who_go_aloft():
    boat = rigged_boat()
    stay = builders.wire(boat, stay="forestay", side="")
    Stay.objects.filter(pk=stay.stay_id).update(in_foil=True)
    for number in (0, 60, 120):
        inspect(boat, day(number))
    assert held(boat) == []


def test_a_leak_at_a_chainplate_keeps_the_boat_inshore_until_it_is_drawn():
    boat = rigged_boat()
    plate = builders.wire(boat, kind="chainplate", construction="", upper_terminal="")
    inspect(boat, day(0), saw(plate, "chainplate_leak", "whole"))
    assert hold(boat, "finding").reason.startswith("Not offshore")
    inspect(boat, day(10))
    assert held(boat) == ["finding"]
    inspect(boat, day(20), level="mast_down")
    assert held(boat) == []


def test_a_boat_that_left_the_fleet_is_held_by_it_no_longer():
    boat = rigged_boat()
    condemn(boat)
    boat.left = day(40)
    boat.save()
    recording.settle([boat.pk])
    assert held(boat) == []
    assert hold(boat, "replace").lifted_how == "The boat left the fleet."


def test_a_hold_is_withdrawn_when_the_finding_it_rests_on_is_struck_from_the_record():
    boat = rigged_boat()
    look = inspect(boat, day(0), saw(part(boat), "split_pin_missing"))
    look.findings.all().delete()
    recording.judge([boat.pk])
    assert not Hold.objects.exists()
