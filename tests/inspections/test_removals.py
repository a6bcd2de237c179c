"""A removal entered wrongly: corrected, or taken back when nothing rests on it; never silently."""

import datetime as dt

import pytest

from fleet.models import Change, Installation
from inspections import recording
from tests import builders
from tests.inspections.docks import address, held, inspect, part, read, saw, signed_in
from tests.inspections.part_pages import correct, now, shown, url
from tests.test_pages import too_small, too_wide

pytestmark = pytest.mark.django_db
D = dt.date


@pytest.fixture
def shroud(boat) -> Installation:
    """The port cap shroud of 2014, renewed by its age on 3 March 2026."""
    old = part(boat)
    recording.record_renewal(
        old, fitted_on=D(2026, 3, 3), fitter="A Rigger", invoice="R-9", reason="age_rule"
    )
    return now(old)


def amend(client, shroud, **said):
    return correct(client, shroud, row="gone", **said)


def test_the_day_the_reason_and_the_place_are_corrected_with_a_record(manager, boat, shroud):
    page = amend(manager, shroud, removed_on="2026-03-01", removal_reason="failed_in_service",
                 removal_spot="lower").content.decode()  # fmt: skip
    assert "1 part corrected." in page
    gone = now(shroud)
    assert (gone.removed_on, gone.removal_reason, gone.removal_spot) == (
        D(2026, 3, 1), "failed_in_service", "lower",
    )  # fmt: skip
    row = Change.objects.get()
    assert row.what == (
        "Cap shroud, port, came off: day 3 Mar 2026, now 1 Mar 2026; reason age rule, now failed "
        "in service; place blank, now lower end"
    )
    assert row.by.username == "manager-harbour"
    assert row.before["removed_on"] == "2026-03-03"
    assert "came off: day 3 Mar 2026, now 1 Mar 2026" in read(
        manager, address(boat, "boat", boat.pk)
    )


def test_an_untouched_table_writes_nothing(manager, boat, shroud):
    before = list(Installation.objects.order_by("pk").values())
    assert "Nothing changed." in amend(manager, shroud).content.decode()
    assert list(Installation.objects.order_by("pk").values()) == before
    assert not Change.objects.exists()


def test_a_place_on_record_that_no_wire_has_is_not_lost_by_saving_another_line(
    manager, boat, shroud
):
    Installation.objects.filter(pk=shroud.pk).update(removal_reason="condemned",
                                                     removal_spot="whole")  # fmt: skip
    assert "Nothing changed." in amend(manager, shroud).content.decode()
    amend(manager, shroud, removed_on="2026-03-01")
    assert (now(shroud).removed_on, now(shroud).removal_spot) == (D(2026, 3, 1), "whole")


@pytest.mark.parametrize(
    ("fault", "sentence"),
    [
        ({"removed_on": "2027-01-01"}, "1 Jan 2027 is still to come."),
        ({"removed_on": "2013-01-01"}, "This part was itself fitted on 1 Apr 2014."),
        ({"removed_on": "soon"}, "Enter a valid date."),
        ({"removed_on": ""}, "This field is required."),
        ({"removed_on": "2026-05-01"}, "The part after it went up earlier, on 3 Mar 2026."),
        ({"removal_reason": "condemned"}, "Say where the wire was condemned or failed"),
        ({"removal_spot": "upper"}, "Only a part that was condemned, looked poor or failed has"),
        ({"removal_reason": "tired"}, "tired is not one of the available choices"),
    ],
)
def test_a_fault_is_said_by_part_and_nothing_typed_is_lost(manager, boat, shroud, fault, sentence):
    sent = shown(manager, boat) | {f"part{part(boat, 'starboard').pk}-batch": "B77"}
    page = correct(manager, shroud, sent=sent, row="gone", **fault).content.decode()
    assert sentence in page
    assert "Cap shroud, port" in page
    assert 'value="B77"' in page
    assert '<details class="fold" open>' in page
    assert (now(shroud).removed_on, now(shroud).removal_reason) == (D(2026, 3, 3), "age_rule")
    assert not Installation.objects.filter(batch="B77").exists()


def test_both_ends_of_a_renewal_entered_for_the_wrong_day_are_moved_at_once(manager, boat, shroud):
    new = part(boat)
    sent = shown(manager, boat) | {f"part{new.pk}-fitted": "2026-05-01"}
    correct(manager, shroud, sent=sent, row="gone", removed_on="2026-05-01")
    assert (now(shroud).removed_on, now(new).fitted_on) == (D(2026, 5, 1), D(2026, 5, 1))
    assert Change.objects.count() == 2


def test_the_new_part_cannot_be_moved_before_the_corrected_removal(manager, boat, shroud):
    sent = shown(manager, boat) | {f"part{part(boat).pk}-fitted": "2026-02-01"}
    page = correct(manager, shroud, sent=sent, row="gone", removed_on="2026-02-20")
    assert "The part before it came off later, on 20 Feb 2026." in page.content.decode()


def test_what_was_found_on_a_part_comes_before_its_removal(manager, boat):
    old = part(boat)
    inspect(boat, D(2026, 5, 1), saw(old, "tea_stain", "run"))
    recording.record_renewal(old, fitted_on=D(2026, 6, 1), fitter="R", reason="age_rule")
    page = amend(manager, old, removed_on="2026-04-01").content.decode()
    assert "Something was found on this very part later, on 1 May 2026." in page


def test_a_condemned_shroud_cannot_have_come_off_for_its_age(manager, boat):
    old = part(boat)
    inspect(boat, D(2026, 5, 1), saw(old, "barrel_crack_along", "lower"))
    recording.record_renewal(now(old), fitted_on=D(2026, 6, 1), fitter="R")
    page = amend(manager, old, removal_reason="age_rule", removal_spot="").content.decode()
    assert "It was condemned at the inspection of 1 May 2026" in page


# -- taken back


def test_a_part_that_never_came_off_stands_again_and_its_replacement_goes(manager, boat, shroud):
    new = part(boat)
    page = manager.get(url(boat)).content.decode()
    assert "It still stands; the wire fitted 3 Mar 2026 goes off the record" in page
    amend(manager, shroud, stands="on")
    assert part(boat) == shroud
    assert (now(shroud).removal_reason, now(shroud).removal_spot) == ("", "")
    assert not Installation.objects.filter(pk=new.pk).exists()
    row = Change.objects.get()
    assert row.what == (
        "Cap shroud, port: stands again; it was on record as off on 3 Mar 2026 (age rule); the "
        "wire fitted 3 Mar 2026 is off the record"
    )
    assert row.before["replacement"]["invoice"] == "R-9"


def test_a_removal_without_a_replacement_is_taken_back(manager, boat):
    backstay = builders.wire(boat, stay="backstay", side="", removed_on=D(2026, 3, 1),
                             removal_reason="unknown")  # fmt: skip
    assert "> It still stands<" in manager.get(url(boat)).content.decode()
    amend(manager, backstay, stands="on")
    assert now(backstay).removed_on is None


def test_a_condemned_shroud_that_stands_again_holds_its_boat_again(manager, boat):
    old = part(boat)
    inspect(boat, D(2026, 5, 1), saw(old, "barrel_crack_along", "lower"))
    recording.record_renewal(now(old), fitted_on=D(2026, 6, 1), fitter="R", invoice="7")
    assert "replace" not in held(boat)
    amend(manager, old, stands="on")
    assert "replace" in held(boat)


def test_a_look_since_the_removal_keeps_it_from_being_taken_back(manager, boat, shroud):
    inspect(boat, D(2026, 5, 1))
    page = amend(manager, shroud, stands="on").content.decode()
    assert "The boat was inspected since, on 1 May 2026, and nobody looked at this part" in page
    assert now(shroud).removed_on == D(2026, 3, 3)


def test_a_finding_on_the_replacement_keeps_it_from_being_lost(manager, boat, shroud):
    inspect(boat, D(2026, 5, 1), saw(part(boat), "tea_stain", "run"))
    page = amend(manager, shroud, stands="on").content.decode()
    assert "Something was found on the part after it on 1 May 2026" in page
    assert part(boat) != shroud


def test_only_the_last_of_two_removals_is_taken_back(manager, boat, shroud):
    second = part(boat)
    recording.record_renewal(second, fitted_on=D(2026, 4, 4), fitter="R", reason="damage")
    page = amend(manager, shroud, stands="on").content.decode()
    assert "The part after it came off too, on 4 Apr 2026: take that back first." in page
    amend(manager, second, stands="on")
    assert part(boat) == second


def test_a_removal_is_not_corrected_and_taken_back_at_once(manager, boat, shroud):
    page = amend(manager, shroud, stands="on", removal_reason="damage").content.decode()
    assert "Either correct its removal or say that it still stands, not both." in page
    sent = shown(manager, boat) | {f"part{part(boat).pk}-batch": "B77"}
    page = correct(manager, shroud, sent=sent, row="gone", stands="on").content.decode()
    assert "The part after it is corrected in the same table. Do one of the two." in page


def test_what_somebody_else_corrected_meanwhile_is_shown_and_not_overwritten(manager, boat, shroud):
    stale = shown(manager, boat)
    Installation.objects.filter(pk=shroud.pk).update(removal_reason="damage")
    page = correct(manager, shroud, sent=stale, row="gone", removed_on="2026-03-02")
    assert "Somebody else changed this part since you opened the page" in page.content.decode()
    assert now(shroud).removed_on == D(2026, 3, 3)


@pytest.mark.parametrize("role", ["bosun", "accountant"])
def test_only_a_manager_corrects_removals(boat, shroud, manager, role):
    sent = shown(manager, boat) | {f"gone{shroud.pk}-stands": "on"}
    assert signed_in(boat, role).post(url(boat), sent).status_code == 403
    assert now(shroud).removed_on == D(2026, 3, 3)


@pytest.mark.parametrize("width", [390, 1280])
def test_a_removal_is_taken_back_in_the_browser(
    page_at, accessibility_faults, live_server, boat, shroud, width
):
    page = page_at(width, user=builders.person("mara", boat.fleet))
    page.goto(url(boat))
    page.get_by_text("1 part that came off").click()
    page.get_by_label("It still stands, Cap shroud, port").check()
    assert accessibility_faults(page) + too_wide(page) + too_small(page) == []
    page.get_by_role("button", name="Save the corrections").click()
    page.get_by_text("1 part corrected.").wait_for()
    assert now(shroud).removed_on is None
