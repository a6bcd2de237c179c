"""Reminders become mail: once per person and day, whatever happens in between."""

import datetime as dt
import email
import email.policy
import threading
from io import StringIO

import pytest
import vobject
from django.core.management import CommandError, call_command
from django.db import connection

from inspections import delivery, mail_folder, rounds
from inspections.models import Booking, Reminder
from inspections.reminders import queue
from tests import builders
from tests.inspections.docks import inspect, part, rigged_boat, saw

TODAY = builders.TODAY
NOW = dt.datetime(2026, 10, 14, 6, 0, tzinfo=dt.UTC)
MINUTE = dt.timedelta(minutes=1)
CROWD = 14  # So many that two workers meet: without the lock this then fails nearly always.
pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def folder(settings, tmp_path):
    """Deliver into a mail folder of the test's own."""
    settings.EMAIL_FOLDER = tmp_path / "mail"
    settings.EMAIL_BACKEND = "inspections.mail_folder.MailFolder"
    return settings.EMAIL_FOLDER


@pytest.fixture
def by_smtp(settings, smtp_sink):
    """Deliver to a real SMTP server instead."""
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = smtp_sink.host, smtp_sink.port
    return smtp_sink


def late_fleet(boats: int = 1, slug: str = "harbour"):
    """Return a fleet whose boats are all late for every look, with a manager and a bosun."""
    fleet = builders.empty_fleet(slug)
    for number in range(boats):
        builders.boat(fleet, f"Tern {number + 1}")
    builders.person(f"mona-{slug}", fleet, "manager")
    builders.person(f"bo-{slug}", fleet, "bosun")
    return fleet


def states() -> set[str]:
    return set(Reminder.objects.values_list("state", flat=True))


def test_each_person_gets_one_message_a_day_about_all_their_boats(folder):
    fleet = late_fleet(boats=3)
    done = rounds.queue_and_send(fleet, NOW).delivered
    assert (done.mails, done.reminders, done.failed) == (2, 18, 0)
    assert len(list(folder.glob("*.eml"))) == 2
    assert states() == {"sent"}


def test_sending_again_on_the_same_day_sends_nothing(folder):
    fleet = late_fleet()
    rounds.queue_and_send(fleet, NOW)
    again = rounds.queue_and_send(fleet, NOW).delivered
    assert (again.mails, again.waiting) == (0, 0)


def test_what_turns_up_after_the_days_message_waits_for_the_next_one():
    fleet = late_fleet()
    rounds.queue_and_send(fleet, NOW)
    builders.boat(fleet, "Late Comer")
    assert rounds.queue_and_send(fleet, NOW).delivered.waiting == 6
    fleet.as_of = TODAY + dt.timedelta(days=1)
    fleet.save()
    assert rounds.queue_and_send(fleet, NOW).delivered.mails == 2


def test_the_message_says_which_boat_what_and_why_and_where_to_record_it():
    fleet = late_fleet()
    rounds.queue_and_send(fleet, NOW)
    row = Reminder.objects.filter(kind="aloft", to_email__startswith="mona").get()
    letter = mail_folder.read(row.message_id)
    assert letter.subject == "Harbour: 3 things to do, 3 late"
    assert "mona-harbour" in letter.to
    for body in (letter.text, letter.html):
        assert "Tern 1: inspection aloft" in body
        assert "None on record since the boat joined on 1 Apr 2014" in body
        assert f"/harbour/boats/{row.boat_id}/inspect/?level=aloft" in body
        assert "not promise a life" in body


def test_what_has_a_date_lies_beside_the_message_as_the_events_of_the_feed(folder):
    """RFC 5545, read by vobject: of a held boat there is no day to keep."""
    fleet = late_fleet()
    tern = fleet.boats.get()
    inspect(tern, dt.date(2026, 4, 2), saw(builders.wire(tern), "broken_wire"))
    rounds.queue_and_send(fleet, NOW)
    message = email.message_from_bytes(
        next(folder.glob("*.eml")).read_bytes(), policy=email.policy.default
    )
    [file] = [each for each in message.iter_attachments() if each.get_filename()]
    assert (file.get_filename(), file.get_content_type()) == ("due.ics", "text/calendar")
    events = vobject.readOne(file.get_content()).vevent_list
    dated = Reminder.objects.filter(to_email=message["To"].addresses[0].addr_spec)
    dated = dated.exclude(kind="held")
    assert sorted(event.dtstart.value for event in events) == sorted(
        dated.values_list("due_on", flat=True)
    )
    assert len({event.uid.value for event in events}) == len(events)


def test_a_message_names_the_last_free_day_where_the_boat_is_booked():
    fleet = builders.empty_fleet("harbour", deck_check_months=151, aloft_months=900)
    boat = builders.boat(fleet)  # Of 1 April 2014: a deck check is due by 1 November 2026.
    builders.person("bo", fleet, "bosun")
    Booking.objects.create(
        boat=boat, first=dt.date(2026, 10, 30), last=dt.date(2026, 11, 6), source="sheet"
    )
    rounds.queue_and_send(fleet, NOW)
    letter = mail_folder.read(Reminder.objects.get(kind="deck").message_id)
    for body in (letter.text, letter.html):
        assert "Booked 30 Oct 2026 to 6 Nov 2026: the last free day before it is 29 Oct" in body


def test_a_name_with_markup_is_shown_as_it_was_typed():
    fleet = builders.empty_fleet("harbour")
    builders.boat(fleet, "<b>Tern & Co</b>", owner_email="ida@example.org", owner_name="Holm, Ida")
    rounds.queue_and_send(fleet, NOW)
    letter = mail_folder.read(Reminder.objects.first().message_id)
    assert "<b>Tern & Co</b>" in letter.text
    assert "&lt;b&gt;Tern &amp; Co&lt;/b&gt;" in letter.html
    assert letter.to == '"Holm, Ida" <ida@example.org>'


def test_a_line_break_in_a_boats_name_adds_no_header():
    fleet = builders.empty_fleet("harbour", deck_check_months=900, aloft_months=900)
    builders.boat(fleet, "Tern\nBcc: all@example.org", owner_email="ida@example.org")
    rounds.queue_and_send(fleet, NOW)
    content = next(mail_folder.path_of("x").parent.glob("*.eml")).read_text()
    assert "\nBcc:" not in content.partition("\n\n")[0]


def test_a_held_boat_comes_first_and_leads_to_what_holds_it():
    boat = rigged_boat()
    builders.person("mona", boat.fleet)
    inspect(boat, TODAY, saw(part(boat), "broken_wire", measure=1))
    rounds.queue_and_send(boat.fleet, NOW)
    text = mail_folder.read(Reminder.objects.first().message_id).text
    assert text.index("boat held since") < text.index("mast-down")
    assert "/harbour/not-released/" in text


def test_a_real_mail_server_gets_the_message_under_its_own_message_id(by_smtp):
    fleet = late_fleet()
    rounds.queue_and_send(fleet, NOW)
    row = Reminder.objects.filter(to_email__startswith="bo").first()
    [message] = [each for each in by_smtp.messages if "bo-" in each["To"]]
    assert message["Message-ID"] == row.message_id
    kinds = [part.get_content_type() for part in message.walk() if not part.is_multipart()]
    assert kinds == ["text/plain", "text/html", "text/calendar"]
    assert mail_folder.read(row.message_id).subject == message["Subject"]


def test_a_server_that_refuses_one_person_does_not_keep_the_mail_from_the_other(by_smtp):
    by_smtp.answer = lambda message: "550 no such box" if "mona" in message["To"] else "250 kept"
    done = rounds.queue_and_send(late_fleet(), NOW).delivered
    assert (done.mails, done.failed) == (1, 3)
    failed = Reminder.objects.filter(state="refused")
    assert {row.to_email for row in failed} == {"mona-harbour@example.org"}
    assert "no such box" in failed.first().failure


def test_after_a_failure_the_next_run_sends_the_same_message(by_smtp):
    fleet = late_fleet()
    tried = set()

    def answer(message) -> str:
        tried.add(message["Message-ID"])
        return "451 try later"

    by_smtp.answer = answer
    rounds.queue_and_send(fleet, NOW)
    by_smtp.answer = lambda message: "250 kept"
    assert rounds.queue_and_send(fleet, NOW + 4 * MINUTE).delivered.mails == 0
    assert rounds.queue_and_send(fleet, NOW + 6 * MINUTE).delivered.mails == 2
    assert {message["Message-ID"] for message in by_smtp.messages} == tried


def test_a_server_that_is_not_there_is_a_recorded_failure(settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 9
    assert rounds.queue_and_send(late_fleet(), NOW).delivered.failed == 6
    assert "refused" in Reminder.objects.first().failure


def test_a_message_left_half_sent_by_a_killed_worker_goes_out_again_as_the_same(by_smtp):
    fleet = late_fleet()
    queue(fleet, TODAY)
    email = "mona-harbour@example.org"
    claimed = delivery.claim(fleet, email, TODAY, NOW)
    assert delivery.send_due(fleet, NOW + dt.timedelta(minutes=5)).mails == 1
    assert delivery.send_due(fleet, NOW + dt.timedelta(minutes=20)).mails == 1
    [again] = [each for each in by_smtp.messages if "mona" in each["To"]]
    assert again["Message-ID"] == claimed[0].message_id
    assert states() == {"sent"}


def test_a_message_in_hand_is_not_claimed_a_second_time():
    fleet = late_fleet()
    queue(fleet, TODAY)
    email = "mona-harbour@example.org"
    assert len(delivery.claim(fleet, email, TODAY, NOW)) == 3
    assert delivery.claim(fleet, email, TODAY, NOW) == []


def test_a_persons_mail_from_one_fleet_names_nothing_of_another():
    one, other = late_fleet(slug="harbour"), late_fleet(slug="estuary")
    one.memberships.create(user=other.memberships.first().user, role="bosun")
    queue(one, TODAY)
    queue(other, TODAY)
    delivery.send_due(one, NOW)
    assert states() == {"sent", "queued"}
    assert set(Reminder.objects.of(other).values_list("state", flat=True)) == {"queued"}


@pytest.mark.django_db(transaction=True)
def test_two_workers_at_once_send_each_message_once(by_smtp):
    fleet = late_fleet(boats=6)
    for number in range(CROWD):
        builders.person(f"helper{number}", fleet, "bosun")
    queue(fleet, TODAY)
    start, faults = threading.Barrier(2), []

    def work() -> None:
        try:
            start.wait()
            delivery.send_due(fleet, NOW)
        except Exception as fault:  # noqa: BLE001 a thread's fault would be lost otherwise
            faults.append(fault)
        finally:
            connection.close()

    workers = [threading.Thread(target=work) for _ in range(2)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    assert not faults
    ids = [message["Message-ID"] for message in by_smtp.messages]
    assert len(ids) == len(set(ids)) == CROWD + 2
    assert states() == {"sent"}


def test_a_message_id_cannot_lead_out_of_the_mail_folder(folder):
    assert mail_folder.path_of("<../../settings>").parent == folder
    assert mail_folder.read("<../../settings>") is None


def test_the_command_says_what_it_did_and_twice_does_it_once():
    late_fleet(boats=2)
    out = StringIO()
    call_command("send_reminders", stdout=out)
    call_command("send_reminders", "--fleet", "harbour", stdout=out)
    first, second = out.getvalue().splitlines()
    assert first == "Harbour: 12 queued, 0 withdrawn; 12 sent in 2 messages."
    assert second == "Harbour: 0 queued, 0 withdrawn; 0 sent in 0 messages."


def test_queueing_alone_sends_nothing(folder):
    late_fleet()
    call_command("queue_reminders", stdout=StringIO())
    assert states() == {"queued"}
    assert not folder.exists()


def test_the_command_names_the_fleets_when_there_is_no_such_one():
    late_fleet()
    with pytest.raises(CommandError, match="no fleet 'habour'"):
        call_command("send_reminders", "--fleet", "habour")
