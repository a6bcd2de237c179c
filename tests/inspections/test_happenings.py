"""An event and a part that let go, put on record in a minute; what follows from each."""

import datetime as dt

import pytest
from django.core.exceptions import ValidationError

from fleet.models import Change, Installation
from fleet.spreadsheets import exporting
from fleet.spreadsheets.workbooks import NamedFile
from inspections import recording
from inspections.aftermath import alike, happenings
from inspections.aftermath.happenings import EVENTS, Event
from inspections.followups import Failure
from inspections.importing import SHEETS, import_workbook
from inspections.judgement.standing_verdicts import of_parts
from inspections.models import Hold
from tests import builders
from tests.inspections.docks import day, held, inspect, part, rigged_boat, saw

pytestmark = pytest.mark.django_db


def happened(boat, sign: str = "lightning", number: int = 0, **more):
    event = Event(sign, day(number), "at the mooring, aerials gone", "Skipper", **more)
    return happenings.record_event(boat.fleet, boat, event)


# -- events


@pytest.mark.parametrize("sign", [sign for sign, _ in EVENTS])
def test_an_event_holds_the_boat_until_a_rigger_found_the_whole_rig_sound(sign):
    boat = rigged_boat()
    inspect(boat, day(-3))
    happened(boat, sign)
    assert held(boat) == ["event"]
    inspect(boat, day(4))
    assert held(boat) == []


def test_the_events_are_those_of_the_trade():
    assert {sign for sign, _ in EVENTS} == {
        "lightning", "collision", "knock_down", "hard_grounding", "regatta_accident"
    }  # fmt: skip


def test_what_was_kept_before_an_event_is_not_seen_after_it():
    boat = rigged_boat()
    inspect(boat, day(-3), saw(part(boat), "rust_at_mouth", cleaned=True))
    port, starboard = part(boat).pk, part(boat, "starboard").pk
    assert of_parts([port, starboard])[starboard].value == "keep"
    happened(boat)
    now = of_parts([port, starboard])
    assert now[starboard].value == "not_seen"
    assert now[port].value == "watch", "what asked for something still asks for it"
    inspect(boat, day(4))
    assert of_parts([starboard])[starboard].value == "keep"


def test_an_event_is_no_look_at_anything():
    boat = rigged_boat()
    look = happened(boat)
    assert {row.value for row in look.verdicts.all()} == {"not_seen"}
    assert not boat.inspections.whole().exists()


def test_an_event_on_a_boat_without_parts_is_no_deck_check_either():
    boat = builders.boat(builders.empty_fleet("harbour"))
    happened(boat)
    assert held(boat) == ["event"]
    assert not boat.inspections.whole().exists()


def test_an_event_on_the_day_of_ones_own_deck_check_is_added_to_it_and_said():
    boat = rigged_boat()
    check = inspect(boat, day(0), level="deck", person="Skipper", competence="crew")
    assert happened(boat) == check
    assert held(boat) == ["event"]
    assert "added to the deck check" in Change.objects.get(boat=boat).what
    with pytest.raises(ValidationError, match="already on record"):
        happened(boat)


def test_after_an_event_what_a_rigger_condemns_and_somebody_renews_is_not_looked_at_twice():
    boat = rigged_boat()
    happened(boat)
    inspect(boat, day(4), saw(part(boat), "broken_wire", measure=1))
    assert sorted(held(boat)) == ["event", "pair", "replace"]
    recording.record_renewal(part(boat), fitted_on=day(9), fitter="Loft Yard", invoice="INV 7")
    inspect(boat, day(10), level="deck")
    assert held(boat) == []
    assert Hold.objects.get(boat=boat, cause="event").lifted_on == day(9)


def test_after_an_event_what_a_rigger_is_not_sure_of_keeps_the_boat_until_it_was_seen_sound():
    boat = rigged_boat()
    happened(boat)
    inspect(boat, day(4), saw(part(boat), "not_sure"))
    assert held(boat) == ["event"]
    skipped = saw(part(boat), "not_seen", "lower", note="boot")
    inspect(boat, day(6), skipped, person="Another")
    assert held(boat) == ["event"], "good there before the doubt, and not seen since"
    inspect(boat, day(8))
    assert held(boat) == []


def test_an_event_and_a_failure_exported_hold_the_boat_wherever_they_are_imported():
    boat = rigged_boat()
    bare = builders.boat(boat.fleet, "Knot")
    happened(boat)
    happened(bare)
    let_go(boat, 5)
    other = builders.empty_fleet("estuary")
    files = exporting.csv_files(boat.fleet, SHEETS)
    book = [NamedFile(name, text.encode("utf-8-sig")) for name, text in files.items()]
    report = import_workbook(other, book, dry_run=False)
    assert not report.faults
    for own in (boat, bare):
        again = other.boats.get(name=own.name)
        assert held(again) == held(own)
        assert not again.inspections.whole().exists()


# -- a part that let go


def let_go(boat, number: int = 3, spot: str = "lower", user=None) -> Failure:
    return happenings.record_failure(
        part(boat), day(number), spot, "parted in a gust", "Skipper", user
    )


def test_a_part_that_let_go_holds_the_boat_and_its_pair_until_renewed_and_looked_at():
    boat = rigged_boat()
    failure = let_go(boat)
    gone = failure.installation
    gone.refresh_from_db()
    assert (gone.removed_on, gone.removal_reason) == (day(3), "failed_in_service")
    assert held(boat) == ["replace", "pair"]
    recording.record_renewal(gone, fitted_on=day(6), fitter="Loft Yard", invoice="INV 9")
    assert held(boat) == ["pair"]
    inspect(boat, day(7), level="deck")
    assert held(boat) == []


def test_a_place_is_filled_once():
    boat = rigged_boat()
    gone = let_go(boat).installation
    with pytest.raises(ValidationError, match="came off on 4 Apr 2026"):
        recording.record_renewal(gone, fitted_on=day(2), fitter="Loft Yard")
    recording.record_renewal(gone, fitted_on=day(6), fitter="Loft Yard")
    with pytest.raises(ValidationError, match="already taken off"):
        recording.record_renewal(gone, fitted_on=day(7), fitter="Loft Yard")


REFUSED = {
    "to come": (dt.date(2027, 1, 1), "still to come"),
    "before it was fitted": (dt.date(2013, 1, 1), "itself fitted"),
    "before it was last seen": (day(-5), "found on this part"),
}


@pytest.mark.parametrize(("on", "sentence"), REFUSED.values(), ids=REFUSED.keys())
def test_a_part_cannot_have_let_go(on, sentence):
    boat = rigged_boat()
    inspect(boat, day(0), saw(part(boat), "rust_at_mouth", cleaned=True))
    with pytest.raises(ValidationError, match=sentence):
        happenings.record_failure(part(boat), on, "lower", "parted", "Skipper")
    assert held(boat) == []


def test_a_failure_entered_by_mistake_is_taken_back_while_nothing_rests_on_it():
    boat = rigged_boat()
    bo = builders.person("bo", boat.fleet, "bosun")
    failure = let_go(boat, user=bo)
    happenings.take_back_failure(failure, bo, failure.at)
    assert held(boat) == []
    assert part(boat).removed_on is None
    assert not Failure.objects.exists()
    assert "stands again" in Change.objects.filter(boat=boat).first().what


def test_a_failure_is_not_taken_back_after_a_look_or_a_renewal():
    boat = rigged_boat()
    bo = builders.person("bo", boat.fleet, "bosun")
    failure = let_go(boat, user=bo)
    inspect(boat, day(5))
    with pytest.raises(ValidationError, match="inspected since"):
        happenings.take_back_failure(failure, bo, failure.at)
    recording.record_renewal(failure.installation, fitted_on=day(6), fitter="Loft Yard")
    with pytest.raises(ValidationError, match="Another part"):
        happenings.take_back_failure(failure, bo, failure.at)


def test_nobody_else_and_nobody_later_releases_a_boat_by_taking_a_failure_back():
    boat = rigged_boat()
    bo, mona = (builders.person(name, boat.fleet) for name in ("bo", "mona"))
    failure = let_go(boat, user=bo)
    for who, when in ((mona, 0), (None, 0), (bo, 25)):
        with pytest.raises(ValidationError, match="Only who entered it"):
            happenings.take_back_failure(failure, who, failure.at + dt.timedelta(hours=when))
    assert "replace" in held(boat)


def test_a_part_that_stands_again_by_the_table_of_parts_can_let_go_later():
    boat = rigged_boat()
    old = let_go(boat).installation
    Installation.objects.filter(pk=old.pk).update(removed_on=None, removal_reason="",
                                                  removal_spot="")  # fmt: skip
    assert let_go(boat, 9).installation == old
    assert Failure.objects.count() == 1


def test_a_condemned_part_that_then_let_go_stays_condemned_when_that_is_taken_back():
    boat = rigged_boat()
    bo = builders.person("bo", boat.fleet, "bosun")
    inspect(boat, day(0), saw(part(boat), "broken_wire", measure=1))
    failure = let_go(boat, user=bo)
    happenings.take_back_failure(failure, bo, failure.at)
    assert "replace" in held(boat)


# -- parts like the one that went


def test_parts_of_its_batch_or_of_its_fitter_and_day_are_listed_with_the_look_since():
    boat = rigged_boat()
    sister, other = (builders.boat(boat.fleet, name) for name in ("Dunlin", "Knot"))
    job = {"fitter": "Loft Yard", "fitted_on": dt.date(2018, 3, 1), "fitted_certainty": "day"}
    went = builders.wire(boat, stay="backstay", side="", batch="B7", **job)
    batch = builders.wire(sister, stay="backstay", side="", batch="B7")
    same_job = builders.wire(other, **job)
    builders.wire(other, side="starboard", fitter="Loft Yard")
    gone = alike.Gone(went, day(3), "lower")
    listed = alike.of_fleet([gone], boat.fleet)[went.pk]
    assert [(each.part, each.why, each.looked) for each in listed] == [
        (batch, "same batch", None), (same_job, "same fitter and day", None),
    ]  # fmt: skip
    inspect(sister, day(1))
    inspect(other, day(4), saw(same_job, "not_seen", "lower", note="boot"))
    look = inspect(sister, day(5), level="deck")
    since = [each.looked for each in alike.of_fleet([gone], boat.fleet)[went.pk]]
    assert [row and row.inspection for row in since] == [look, None]


def test_the_same_place_on_boats_of_the_same_design_is_listed():
    boat = builders.boat(builders.empty_fleet("harbour"), design="Skerry 38")
    sister = builders.boat(boat.fleet, "Dunlin", design="Skerry 38")
    builders.wire(builders.boat(boat.fleet, "Knot", design="Skerry 40"))
    own, same = builders.wire(boat), builders.wire(sister)
    assert [each.part for each in alike.sisters(own, day(3))] == [same]
