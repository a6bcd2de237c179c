"""What cannot be delivered: tried again, missed, refused, come back; and who hears of it."""

import datetime as dt
import io

import pytest
from django.core.management import CommandError, call_command

from fleet.models import Boat, Fleet
from inspections import delivery, rounds
from inspections.models import Addressee, Notice, Reminder, ReminderRules
from inspections.reminders import queue
from inspections.reminding import bounces, preview
from tests import builders

TODAY = builders.TODAY
NOW = dt.datetime(2026, 10, 14, 6, 0, tzinfo=dt.UTC)
MINUTE = dt.timedelta(minutes=1)
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


def states() -> set[str]:
    return set(Reminder.objects.values_list("state", flat=True))


def one_owner(**facts) -> Fleet:
    """Return a fleet with one late boat of one owner, and a manager; its first round has run."""
    fleet = builders.empty_fleet("harbour", deck_check_months=900, aloft_months=900)
    builders.boat(fleet, owner_name="Ida Holm", owner_email="ida@example.org", **facts)
    builders.person("mona", fleet)
    builders.person("bo", fleet, "bosun")
    return fleet


def ida() -> Reminder:
    return Reminder.objects.get(to_email="ida@example.org")


def refusing(sink, reply: str, whom: str = "ida@"):
    sink.answer = lambda message: reply if whom in message["To"] else "250 kept"


def test_a_message_is_tried_later_and_later_until_it_is_missed_and_the_manager_hears(by_smtp):
    fleet, tries = one_owner(), []
    by_smtp.answer = lambda message: (
        tries.append(message) or "451 4.3.0 try later" if "ida@" in message["To"] else "250 kept"
    )
    for minute in range(0, 80 * 60, 30):
        delivery.send_due(fleet, NOW + minute * MINUTE) if minute else rounds.queue_and_send(
            fleet, NOW
        )
    assert ida().state == "missed"
    assert len(tries) == ida().attempts == 15  # 0, 5, 20, 80 and 260 minutes, then every six hours
    assert "4.3.0 try later" in ida().failure
    rounds.queue_and_send(fleet, NOW + 80 * 60 * MINUTE)
    told = [each for each in by_smtp.messages if "were missed" in each["Subject"]]
    assert {each["To"] for each in told} == {"mona <mona@example.org>", "bo <bo@example.org>"}
    assert "Tern: mast-down inspection, to Ida Holm" in told[0].get_body().get_content()


def test_an_address_refused_for_good_is_not_tried_again_and_the_manager_is_told_instead(by_smtp):
    fleet = one_owner()
    ReminderRules.objects.update(manager_after_days=365)
    Boat.objects.update(joined=TODAY - dt.timedelta(days=1500))
    refusing(by_smtp, "550 5.1.1 no such box")
    rounds.queue_and_send(fleet, NOW)
    assert (ida().state, ida().next_try_at) == ("refused", None)
    assert Addressee.objects.get().broken_words == (
        "The mail server refused it for good: 550 5.1.1 no such box"
    )
    [told] = [each for each in by_smtp.messages if "does not arrive" in each["Subject"]][:1]
    assert "Mail to Ida Holm, ida@example.org, does not arrive" in told.get_body().get_content()
    rounds.queue_and_send(fleet, NOW + 10 * MINUTE)
    mona = Reminder.objects.get(to_email="mona@example.org")
    assert (mona.state, mona.told_as) == ("sent", "manager")
    assert Reminder.objects.filter(to_email="ida@example.org").count() == 1


def test_a_message_refused_for_what_it_says_leaves_its_address_in_use(by_smtp):
    fleet = one_owner()
    refusing(by_smtp, "554 5.7.1 looks like spam")
    rounds.queue_and_send(fleet, NOW)
    assert ida().state == "refused"
    assert not Addressee.objects.exists()


def test_a_message_the_server_did_not_take_goes_with_the_next_days(by_smtp):
    """One message a person and day, also after days without a mail server."""
    fleet = one_owner()
    refusing(by_smtp, "451 try later")
    rounds.queue_and_send(fleet, NOW)
    builders.boat(fleet, "Late Comer", owner_name="Ida", owner_email="ida@example.org")
    fleet.as_of = TODAY + dt.timedelta(days=1)
    fleet.save()
    by_smtp.answer = lambda message: "250 kept"
    rounds.queue_and_send(fleet, NOW + 24 * 60 * MINUTE)
    [message] = [each for each in by_smtp.messages if "ida@" in each["To"]]
    assert "Tern" in message.get_body().get_content()
    assert "Late Comer" in message.get_body().get_content()


def test_when_no_mail_server_answers_the_rest_is_put_off_without_trying(settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 9
    rounds.queue_and_send(one_owner(), NOW)
    attempts = sorted(Reminder.objects.values_list("attempts", "failure"))
    assert [tries for tries, _ in attempts] == [0, 0, 1]
    assert attempts[0][1].startswith("Not tried, since another just failed: No mail server answers")


def test_a_full_disk_is_a_recorded_failure_and_the_message_goes_when_there_is_room(
    by_smtp, settings, tmp_path
):
    """A file where the folder should be: nothing can be written there, whoever writes."""
    fleet = one_owner()
    settings.EMAIL_FOLDER = tmp_path / "full" / "mail"
    (tmp_path / "full").write_text("")
    rounds.queue_and_send(fleet, NOW)
    assert (states(), by_smtp.messages) == ({"failed"}, [])
    assert "NotADirectoryError" in ida().failure
    (tmp_path / "full").unlink()
    rounds.queue_and_send(fleet, NOW + 6 * MINUTE)
    assert states() == {"sent"}


def test_one_message_that_cannot_be_written_does_not_keep_the_others(by_smtp):
    fleet = one_owner()
    queue(fleet, TODAY)
    Reminder.objects.filter(to_email="bo@example.org").update(to_name="Bo\nBcc: all@example.org")
    assert delivery.send_due(fleet, NOW).mails == 2
    row = Reminder.objects.get(to_email="bo@example.org")
    assert row.state in ("failed", "refused")
    assert row.failure


def test_nothing_is_sent_about_a_boat_that_left_not_even_again(by_smtp):
    fleet = one_owner()
    queue(fleet, TODAY)
    delivery.claim(fleet, "ida@example.org", TODAY, NOW)
    Boat.objects.update(left=TODAY)
    assert delivery.send_due(fleet, NOW + 20 * MINUTE).mails == 0
    assert states() == {"withdrawn"}
    assert ida().failure == "The boat left the fleet before it went out."


def test_a_claim_from_a_clock_that_was_put_back_is_taken_up_again(by_smtp):
    fleet = one_owner()
    queue(fleet, TODAY)
    delivery.claim(fleet, "ida@example.org", TODAY, NOW + dt.timedelta(days=365))
    assert delivery.send_due(fleet, NOW).mails == 3
    assert states() == {"sent"}


def test_a_wait_from_a_clock_that_was_put_back_is_over_at_once(by_smtp):
    fleet = one_owner()
    queue(fleet, TODAY)
    Reminder.objects.update(state="failed", next_try_at=NOW + dt.timedelta(days=365))
    assert delivery.send_due(fleet, NOW).mails == 3


def test_nothing_goes_before_somebody_let_the_first_sending_go(by_smtp):
    fleet = one_owner()
    ReminderRules.objects.update(approved_at=None)
    done = rounds.queue_and_send(fleet, NOW)
    assert (done.held_back, by_smtp.messages) == (3, [])
    assert "3 wait for somebody to look at the first sending" in str(done)
    preview.approve(fleet, "Mona", NOW)
    assert rounds.queue_and_send(fleet, NOW).delivered.mails == 3


def test_a_message_nobody_can_finish_is_reported_once_to_who_is_in_charge(by_smtp):
    fleet = one_owner()
    queue(fleet, TODAY)
    for number in range(3):
        delivery.claim(fleet, "ida@example.org", TODAY, NOW + 16 * number * MINUTE)
    for _ in range(2):
        rounds.queue_and_send(fleet, NOW + 33 * MINUTE)
    told = [each["To"] for each in by_smtp.messages if "is stuck" in each["Subject"]]
    assert sorted(told) == ["bo <bo@example.org>", "mona <mona@example.org>"]


# -- mail that came back


def bounce(message_id: str, email: str, status: str = "5.1.1", action: str = "failed") -> bytes:
    """A delivery status message after the example of RFC 3464, appendix E.1."""
    return f"""\
From: MAILER-DAEMON@mx.example.org
To: stayward@localhost
Subject: Undelivered Mail Returned to Sender
Auto-Submitted: auto-replied
MIME-Version: 1.0
Content-Type: multipart/report; report-type=delivery-status; boundary="b"

--b
Content-Type: text/plain

I'm sorry to have to inform you that your message could not be delivered.

--b
Content-Type: message/delivery-status

Reporting-MTA: dns; mx.example.org
Arrival-Date: Wed, 14 Oct 2026 06:00:02 +0000

Final-Recipient: rfc822; {email}
Action: {action}
Status: {status}
Diagnostic-Code: smtp; 550 {status} <{email}>: user unknown

--b
Content-Type: message/rfc822

Message-ID: {message_id}
To: {email}
Subject: Harbour

Hello
--b--
""".encode()


@pytest.fixture
def delivered(folder):
    fleet = one_owner()
    rounds.queue_and_send(fleet, NOW)
    return fleet


def test_mail_that_came_back_is_recorded_and_the_manager_is_told_by_another_message(delivered):
    said = bounces.record(bounce(ida().message_id, "ida@example.org"), NOW)
    assert said.startswith("1 reminders to ida@example.org came back: It came back (5.1.1). 550")
    assert ida().state == "bounced"
    assert Addressee.objects.get().broken_at == NOW
    notice = Notice.objects.get(to_email="mona@example.org")
    assert "Tell them by another way" in notice.text
    bounces.record(bounce(ida().message_id, "ida@example.org"), NOW)
    assert Notice.objects.filter(to_email="mona@example.org").count() == 1


@pytest.mark.parametrize("status", ["5.2.2", "5.7.1", "4.4.7"])
def test_a_full_mailbox_or_one_message_refused_leaves_the_address_in_use(delivered, status):
    bounces.record(bounce(ida().message_id, "ida@example.org", status), NOW)
    assert ida().state == "bounced"
    assert not Addressee.objects.exists()


def test_a_delay_that_is_reported_changes_nothing(delivered):
    bounces.record(bounce(ida().message_id, "ida@example.org", "4.4.1", "delayed"), NOW)
    assert ida().state == "sent"


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"Subject: hello\n\nhello", "no delivery status message"),
        (b"\xff\x00" * 500, "no delivery status message"),
        (bounce("<x@y>", "ida@example.org"), "No reminder has the Message-ID"),
        (bounce("", "ida@example.org"), "No reminder has the Message-ID"),
    ],
)
def test_what_is_no_bounce_of_ours_is_said_so(delivered, content, why):
    with pytest.raises(bounces.NotABounce, match=why):
        bounces.record(content, NOW)


def test_a_forged_bounce_for_somebody_else_changes_nothing(delivered):
    with pytest.raises(bounces.NotABounce, match="not sent to"):
        bounces.record(bounce(ida().message_id, "mona@example.org"), NOW)
    assert states() == {"sent"}


def test_a_mail_server_pipes_a_bounce_into_the_command(delivered, monkeypatch):
    content = io.TextIOWrapper(io.BytesIO(bounce(ida().message_id, "ida@example.org")))
    monkeypatch.setattr("sys.stdin", content)
    out = io.StringIO()
    call_command("record_bounce", stdout=out)
    assert "The address is not written to any more." in out.getvalue()
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(b"hello")))
    with pytest.raises(CommandError, match="no delivery status message"):
        call_command("record_bounce")
