"""An inspection that meets a changed record: kept, shown beside the other, decided by a person."""

import datetime as dt
import threading

import pytest
from django.db import connection
from django.test import Client

from fleet.models import Boat
from inspections import recording
from inspections.models import DockUpload, Finding, Inspection
from tests import builders
from tests.builders import TODAY
from tests.inspections.docks import address, inspect, part, read, saw, signed_in
from tests.inspections.drafts import draft, kit_of, send, sight

pytestmark = pytest.mark.django_db
BEFORE = TODAY - dt.timedelta(days=1)


@pytest.fixture
def bosun(boat) -> Client:
    return signed_in(boat)


def refused(client: Client, boat: Boat, body: dict) -> DockUpload:
    """Return the row of a draft that has to be decided on, and that is not on record."""
    before = Inspection.objects.count()
    response = send(client, boat, body)
    assert response.status_code == 409
    row = DockUpload.objects.get(pk=body["id"])
    assert response.json() == {
        "conflict": row.sentence, "url": address(boat, "dock_upload", row.pk)
    }  # fmt: skip
    assert Inspection.objects.count() == before
    return row


def decide(client: Client, boat: Boat, row: DockUpload, **said):
    return client.post(address(boat, "dock_upload", row.pk), said, follow=True)


def two_looks(boat: Boat, client: Client) -> DockUpload:
    """Return what was sent after somebody else had looked at the same boat."""
    kit, wire = kit_of(boat), part(boat)
    inspect(boat, TODAY, saw(wire, "small_spots", "run", measure=3))
    body = draft(boat, kit, sights=[sight(wire, "barrel_bent")], note="after the squall")
    return refused(client, boat, body)


def test_two_people_who_inspected_one_boat_are_shown_to_a_person(boat, bosun):
    row = two_looks(boat, bosun)
    assert row.sentence == (
        "A Rigger inspected Tern too (aloft, 14 Oct 2026), put on record after this phone got "
        "its boats."
    )
    page = read(bosun, address(boat, "dock_upload", row.pk))
    for words in ("Barrel or shank of the terminal bent: lower end", "after the squall",
                  'Would be <span class="verdict replace">', "Many small rust spots, 3 spots: wire",
                  '<span class="verdict watch">',
                  "Record it as well", "Set it aside"):  # fmt: skip
        assert words in page
    listed = read(bosun, address(boat, "dock_uploads"))
    assert "1 inspection sent from a phone waits for a person" in listed
    again = send(bosun, boat, row.payload)
    assert (again.status_code, again.json()["conflict"]) == (409, row.sentence)


def test_recorded_as_well_both_looks_count_and_the_phone_hears_of_it(boat, bosun):
    row = two_looks(boat, bosun)
    page = decide(bosun, boat, row, record="1")
    assert page.redirect_chain[-1][0] == address(boat, "inspection", Inspection.objects.first().pk)
    assert Inspection.objects.count() == 2
    assert part(boat).condemned_on == TODAY
    row.refresh_from_db()
    assert (row.state, row.decided_why) == ("recorded", "Recorded as well.")
    told = send(bosun, boat, row.payload)
    assert (told.status_code, told.json()["inspection"]) == (200, row.inspection_id)
    assert (
        "This is decided already: recorded."
        in decide(bosun, boat, row, record="1").content.decode()
    )


def test_what_is_set_aside_needs_a_reason_counts_for_nothing_and_stays_readable(boat, bosun):
    row = two_looks(boat, bosun)
    assert "Say why it is set aside" in decide(bosun, boat, row, why=" ").content.decode()
    decide(bosun, boat, row, why="Oskar saw the same, with a loupe")
    page = read(bosun, address(boat, "dock_upload", row.pk))
    assert "Set aside by bosun-harbour" in page
    assert "Oskar saw the same, with a loupe" in page
    assert "Barrel or shank of the terminal bent: lower end" in page
    assert "Record it as well" not in page
    assert (Inspection.objects.count(), part(boat).condemned_on) == (1, None)
    told = send(bosun, boat, row.payload)
    assert told.status_code == 200
    assert told.json()["set_aside"].endswith("Oskar saw the same, with a loupe")


def test_a_stay_renewed_meanwhile_is_not_written_onto_the_new_one(boat, bosun):
    kit, old = kit_of(boat), part(boat)
    recording.record_renewal(old, fitted_on=BEFORE, fitter="R. Knot", reason="age_rule")
    body = draft(boat, kit, sights=[sight(old, "tea_stain", cleaned=True)])
    row = refused(bosun, boat, body)
    assert row.sentence == ("Renewed or taken off meanwhile: Cap shroud, port, off on 13 Oct 2026.")
    page = read(bosun, address(boat, "dock_upload", row.pk))
    assert "off since 13 Oct 2026" in page
    decide(bosun, boat, row, record="1")
    new = part(boat)
    assert new.pk != old.pk
    assert Finding.objects.get(sign="tea_stain").installation_id == old.pk
    look = Inspection.objects.get()
    assert look.verdicts.get(installation=new).lower == "not_seen"
    assert look.verdicts.get(installation=part(boat, "starboard")).lower == "good"


def test_a_boat_that_left_meanwhile_is_shown_to_a_person(boat, bosun):
    kit = kit_of(boat)
    Boat.objects.update(left=BEFORE)
    row = refused(bosun, boat, draft(boat, kit))
    assert row.sentence == "Tern left the fleet on 13 Oct 2026."
    assert (
        "left the fleet on 13 Oct 2026, before this date"
        in decide(bosun, boat, row, record="1").content.decode()
    )
    assert not Inspection.objects.exists()


def test_ones_own_two_looks_written_without_signal_meet_no_conflict(boat, bosun):
    kit = kit_of(boat)
    first = draft(boat, kit, turn_round=True, on=str(BEFORE))
    second = draft(boat, kit, sights=[sight(part(boat), "barrel_bent")])
    assert [send(bosun, boat, each).status_code for each in (first, second)] == [201, 201]


def test_the_same_person_level_and_day_twice_is_decided_by_a_person(boat, bosun):
    kit = kit_of(boat)
    assert send(bosun, boat, draft(boat, kit)).status_code == 201
    row = refused(bosun, boat, draft(boat, kit))
    assert row.sentence.startswith("A Bosun has already recorded a look of this level")
    assert (
        "has already recorded this level" in decide(bosun, boat, row, record="1").content.decode()
    )
    assert Inspection.objects.count() == 1


def test_a_draft_that_does_not_say_what_it_was_written_from_is_decided_by_a_person(boat, bosun):
    row = refused(bosun, boat, draft(boat, record="yesterday's"))
    assert row.sentence == "It does not say from what record of the boat it was written."


def test_an_accountant_reads_what_is_to_be_decided_and_decides_nothing(boat, bosun):
    row = two_looks(boat, bosun)
    client = signed_in(boat, "accountant")
    page = decide(client, boat, row, record="1").content.decode()
    assert "Record it as well" not in page
    row.refresh_from_db()
    assert row.state == "conflict"


@pytest.mark.django_db(transaction=True)
def test_the_same_look_sent_six_times_at_once_is_one_inspection():
    boat = builders.boat(builders.empty_fleet("harbour"))
    wire, client = builders.wire(boat), signed_in(boat)
    body, answers = draft(boat, sights=[sight(wire, "barrel_bent")]), []
    start = threading.Barrier(6)

    def send_it() -> None:
        try:
            start.wait()
            response = send(client, boat, body)
            answers.append((response.status_code, response.json()))
        finally:
            connection.close()

    threads = [threading.Thread(target=send_it) for _ in range(6)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    assert sorted(status for status, _ in answers) == [200] * 5 + [201]
    assert all(told == answers[0][1] for _, told in answers)
    assert Inspection.objects.count() == Finding.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_two_looks_at_one_boat_arriving_at_once_are_not_both_taken_for_the_first():
    boat = builders.boat(builders.empty_fleet("harbour"))
    builders.wire(boat)
    clients, kit = [signed_in(boat), signed_in(boat, "manager")], kit_of(boat)
    bodies = [draft(boat, kit, person=person) for person in ("A Bosun", "A Manager")]
    start, statuses = threading.Barrier(2), []

    def send_it(client: Client, body: dict) -> None:
        try:
            start.wait()
            statuses.append(send(client, boat, body).status_code)
        finally:
            connection.close()

    pairs = zip(clients, bodies, strict=True)
    threads = [threading.Thread(target=send_it, args=pair) for pair in pairs]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    assert sorted(statuses) == [201, 409]
    assert Inspection.objects.count() == 1
