"""Pages of reminders: the first sending, people and words, set aside, no more mail, health."""

import datetime as dt
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from fleet.models import Boat, Change, WorkRow
from fleet.work import rounds as works
from inspections import delivery, jobs, mail_folder, rounds
from inspections.management.commands.check_health import NOT_LET_GO
from inspections.models import (
    Addressee,
    Heartbeat,
    Inspection,
    Notice,
    PartVerdict,
    Reminder,
    ReminderRules,
    RoundRun,
    SetAside,
    Wording,
)
from inspections.reminders import queue
from inspections.reminding import health, stopping
from tests import builders

TODAY = builders.TODAY
NOW = dt.datetime(2026, 10, 14, 6, 0, tzinfo=dt.UTC)
HOUR = dt.timedelta(hours=1)
pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def folder(settings, tmp_path):
    settings.EMAIL_FOLDER = tmp_path / "mail"
    settings.EMAIL_BACKEND = "inspections.mail_folder.MailFolder"
    settings.VAR_DIR = tmp_path
    return settings.EMAIL_FOLDER


@pytest.fixture
def fleet():
    """One late boat of Ida's; Mona manages, Bo is the bosun."""
    fleet = builders.empty_fleet("harbour", deck_check_months=900, aloft_months=900)
    builders.boat(fleet, owner_name="Ida Holm", owner_email="ida@example.org")
    builders.person("mona", fleet)
    builders.person("bo", fleet, "bosun")
    return fleet


def client_of(fleet, name: str) -> Client:
    client = Client()
    user = fleet.memberships.get(user__username=name).user
    client.force_login(user, "django.contrib.auth.backends.ModelBackend")
    return client


def at(name: str, **kwargs) -> str:
    return reverse(name, kwargs={"fleet": "harbour", **kwargs})


def text(client: Client, url: str, **query) -> str:
    response = client.get(url, query)
    assert response.status_code == 200
    return response.content.decode()


def test_the_first_sending_waits_until_somebody_has_seen_who_gets_what(fleet, folder):
    ReminderRules.objects.update(approved_at=None)
    mona = client_of(fleet, "mona")
    assert "Nothing has gone out yet" in text(mona, at("reminders"))
    page = text(mona, at("reminders_preview"))
    assert "3 reminders to 3 people with the next round" in page
    assert "What bo would read" in page
    page = text(mona, at("reminders_preview"), to="ida@example.org")
    assert "What Ida Holm would read" in page
    assert not Reminder.objects.exists()  # Looking writes nothing.
    assert "preview" in mona.post(at("reminders_again"))["Location"]
    mona.post(at("reminders_let_go"))
    works.work_through()
    assert len(list(folder.glob("*.eml"))) == 3
    assert ReminderRules.objects.get().approved_by == "mona"
    assert "Nobody gets anything" in text(mona, at("reminders_preview"))


def test_all_reminders_can_be_held_back_again(fleet):
    client_of(fleet, "bo").post(at("reminders_hold_back"))
    assert rounds.queue_and_send(fleet, NOW).held_back == 3


def test_a_test_goes_to_who_asks_alone_and_records_nothing(fleet, folder):
    mona = client_of(fleet, "mona")
    mona.post(at("reminders_test"))
    works.work_through()
    [kept] = folder.glob("*.eml")
    letter = mail_folder.read(kept.stem)
    assert letter.subject.startswith("[Test] Harbour: Tern, mast-down inspection")
    assert letter.to == "mona <mona@example.org>"
    assert not Reminder.objects.exists()


def test_a_person_hears_in_their_language_with_reasons_as_the_record_has_them(fleet):
    bo = client_of(fleet, "bo")
    url = f"{at('reminders_person')}?address=ida@example.org"
    bo.post(url, {"language": "de", "time_zone": "", "quiet_from": "", "quiet_until": ""})
    rounds.queue_and_send(fleet, NOW)
    letter = mail_folder.read(Reminder.objects.get(to_email="ida@example.org").message_id)
    assert "Harbour: Tern, Prüfung bei gelegtem Mast war am 1. April 2018 fällig" in letter.subject
    assert "Niemand steigt in ein verworfenes" in letter.text
    assert "None on record since the boat joined" in letter.text
    assert '<html lang="de">' in letter.html


def test_mail_waits_until_quiet_hours_are_over_and_the_clock_then_asks_again(fleet):
    fleet.as_of = None
    fleet.save()
    Addressee.objects.create(
        fleet=fleet, email="ida@example.org", time_zone="America/New_York", quiet_from=22,
        quiet_until=7,
    )  # fmt: skip
    now = dt.datetime.combine(fleet.today(), dt.time(11), tzinfo=dt.UTC)  # 6 or 7 in New York
    asleep = now - 3 * HOUR
    assert rounds.queue_and_send(fleet, asleep).delivered.mails == 2
    assert not delivery.can_go(fleet, asleep)
    awake = now + 2 * HOUR
    jobs.ask_for_reminders(awake)
    assert WorkRow.objects.filter(kind="reminders").exists()
    assert delivery.send_due(fleet, awake).mails == 1


def test_quiet_hours_need_both_ends(fleet):
    url = f"{at('reminders_person')}?address=ida@example.org"
    said = {"language": "en", "time_zone": "", "quiet_from": "22", "quiet_until": ""}
    page = client_of(fleet, "bo").post(url, said).content.decode()
    assert "Quiet hours need both ends, or none." in page
    assert not Addressee.objects.exists()


def test_an_address_that_works_again_is_written_to_again(fleet):
    Addressee.objects.create(
        fleet=fleet, email="ida@example.org", broken_at=NOW, broken_words="550 no such box"
    )
    mona = client_of(fleet, "mona")
    assert "1 address does not work" in text(mona, at("reminders_people"))
    mona.post(f"{at('reminders_person')}?address=ida@example.org", {"step": "works"})
    assert "Every address works" in text(mona, at("reminders_people"))


def test_a_fleets_own_words_are_shown_first_kept_in_versions_and_sent(fleet):
    mona = client_of(fleet, "mona")
    words = {"language": "en", "subject": "{count} for {name}", "opening": "{oops}", "closing": ""}
    page = mona.post(at("reminders_words"), words | {"keep": ""}).content.decode()
    assert "Line 1, column 1: There is no {oops} to put in." in page
    words["opening"] = "Ahoy <b>{name}</b>"
    page = mona.post(at("reminders_words"), words | {"look": ""}).content.decode()
    assert "Ahoy &lt;b&gt;bo&lt;/b&gt;" in page
    assert not Wording.objects.exists()
    mona.post(at("reminders_words"), words | {"keep": ""})
    mona.post(at("reminders_words"), words | {"keep": ""})
    assert Wording.objects.count() == 2
    rounds.queue_and_send(fleet, NOW)
    letter = mail_folder.read(Reminder.objects.get(to_email="ida@example.org").message_id)
    assert letter.subject == "1 for Ida Holm"
    assert "Ahoy <b>Ida Holm</b>" in letter.text
    assert "Ahoy &lt;b&gt;Ida Holm&lt;/b&gt;" in letter.html
    assert "not promise a life" in " ".join(letter.text.split())


def test_one_click_stops_the_mail_of_an_owner_without_signing_in(fleet, settings):
    settings.STAYWARD_SITE = "https://rigging.example.org"
    queue(fleet, TODAY)
    rows = delivery.claim(fleet, "ida@example.org", TODAY, NOW)
    headers = delivery.digest.letter(fleet, rows, TODAY).extra_headers
    assert headers["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    link = headers["List-Unsubscribe"].strip("<>").removeprefix(settings.STAYWARD_SITE)
    reader = Client(enforce_csrf_checks=True)  # A mail reader: no cookies, no token.
    assert "No more reminders to ida@example.org?" in reader.get(link).content.decode()
    assert not Addressee.objects.exists()
    assert reader.post(link, {"List-Unsubscribe": "One-Click"}).status_code == 200
    assert Addressee.objects.get(email="ida@example.org").stopped_at
    queue(fleet, TODAY + dt.timedelta(days=7))
    told = set(Reminder.objects.filter(state="queued").values_list("to_email", flat=True))
    assert told == {"bo@example.org", "mona@example.org"}
    reader.post(link, {"again": "1"})
    assert Addressee.objects.get(email="ida@example.org").stopped_at is None


def test_who_is_in_charge_cannot_stop_it_and_is_told_why(fleet):
    link = stopping.link(fleet, "bo@example.org").partition("//")[2].partition("/")[2]
    page = Client().get(f"/{link}").content.decode()
    assert "somebody must hear of a mast that is due" in page
    assert Client().post(f"/{link}").status_code == 403
    assert not Addressee.objects.exists()


def test_a_link_somebody_made_up_opens_nothing(fleet):
    for token in ("x", "WzEsImlkYUBleGFtcGxlLm9yZyJd:1abc:forged"):
        assert Client().post(f"/mail/stop/{token}/").status_code == 404


def test_without_https_there_is_a_link_and_no_one_click(fleet):
    assert "List-Unsubscribe-Post" not in stopping.headers(fleet, "ida@example.org", "owner")
    assert stopping.headers(fleet, "bo@example.org", "bosun") == {}


def aside(client: Client, boat: Boat, kind: str = "mast_down", **said):
    url = f"{at('set_aside')}?boat={boat.pk}&kind={kind}&about="
    return client.post(url, {"reason": "On the hard.", **said})


def due_to_be_said(fleet, days: int = 0) -> int:
    queue(fleet, TODAY + dt.timedelta(days=days))
    return Reminder.objects.filter(state="queued").count()


def test_a_snooze_keeps_reminders_back_until_its_day_and_can_be_undone(fleet):
    bo, boat = client_of(fleet, "bo"), fleet.boats.get()
    assert due_to_be_said(fleet) == 3
    aside(bo, boat, how="snooze", until=str(TODAY + dt.timedelta(days=20)))
    assert "On the hard." in text(bo, at("reminders"))
    assert due_to_be_said(fleet) == 0
    assert due_to_be_said(fleet, days=20) == 3
    row = SetAside.objects.get()
    assert "not now, until 03 Nov 2026: On the hard." in Change.objects.get().what
    bo.post(at("set_aside_decide", pk=row.pk), {"step": "undo"})
    assert due_to_be_said(fleet) == 3


@pytest.mark.parametrize("until", ["", str(TODAY), str(TODAY + dt.timedelta(days=61)), "soon"])
def test_a_snooze_needs_a_day_within_two_months(fleet, until):
    page = aside(client_of(fleet, "bo"), fleet.boats.get(), how="snooze", until=until)
    assert "Not saved yet." in page.content.decode()
    assert not SetAside.objects.exists()


def test_a_held_boat_cannot_be_set_aside(fleet):
    boat = fleet.boats.get()
    boat.holds.create(cause="make_good", reason="split pin missing", since=TODAY)
    page = aside(client_of(fleet, "bo"), boat, kind="held", how="snooze", until="2026-10-20")
    assert "until facts on record end it" in page.content.decode()
    SetAside.objects.create(
        boat=boat, kind="held", due_on=TODAY, how="snooze", state="stands", reason="no",
        until=TODAY + dt.timedelta(days=9), at=NOW, by_name="x",
    )  # fmt: skip
    queue(fleet, TODAY)
    assert Reminder.objects.filter(kind="held").exists()


def test_done_elsewhere_waits_for_the_bosun_and_invents_no_sight(fleet):
    mona, boat = client_of(fleet, "mona"), fleet.boats.get()
    said = {"how": "elsewhere", "done_on": str(TODAY), "evidence": builders.pdf_file()}
    aside(mona, boat, **said)
    assert due_to_be_said(fleet) == 3  # Nobody has accepted it.
    row = SetAside.objects.get()
    bo = client_of(fleet, "bo")
    assert "Said to be done elsewhere: accept it?" in text(bo, at("reminders"))
    got = bo.get(at("set_aside_evidence", pk=row.pk))
    assert b"".join(got) == builders.PDF
    bo.post(at("set_aside_decide", pk=row.pk), {"step": "accept", "words": "Seen the paper."})
    assert due_to_be_said(fleet) == 0
    assert not Inspection.objects.exists()
    assert not PartVerdict.objects.exists()
    assert "1 boat late for a look" in text(bo, at("reminders"))
    assert row.until == dt.date(2030, 10, 14)  # The fleet's 48 months on.
    bo.post(at("set_aside_decide", pk=row.pk), {"step": "accept"})
    assert SetAside.objects.get().decision == "Seen the paper."


def test_what_is_neither_a_pdf_nor_a_photo_is_not_kept(fleet):
    bad = builders.pdf_file(b"MZ not a paper", "survey.pdf")
    said = {"how": "elsewhere", "done_on": str(TODAY), "evidence": bad}
    page = aside(client_of(fleet, "bo"), fleet.boats.get(), **said)
    assert "Neither a whole PDF nor a photo" in page.content.decode()
    assert not SetAside.objects.exists()


def test_health_says_when_the_clock_is_dead_and_the_command_ends_with_a_code(fleet):
    fleet.as_of = None
    fleet.save()
    ReminderRules.objects.update(approved_at=timezone.now() - 30 * HOUR)
    bo = client_of(fleet, "bo")
    page = text(bo, at("reminders_health"))
    assert "Nothing has ticked ever" in page
    assert "No round since" in page
    with pytest.raises(CommandError, match="Reminders of 1 fleet do not run"):
        call_command("check_health", "--tell", stdout=StringIO())
    assert Notice.objects.filter(state="sent").count() == 2
    health.beat(timezone.now())
    RoundRun.objects.create(fleet=fleet, begun_at=timezone.now(), ended_at=timezone.now())
    out = StringIO()
    call_command("check_health", stdout=out)
    assert out.getvalue() == "Harbour: reminders run.\n"
    assert "Reminders run" in text(bo, at("reminders_health"))


def test_of_a_demonstration_not_let_go_the_command_does_not_say_that_reminders_run(fleet):
    ReminderRules.objects.update(approved_at=None)
    out = StringIO()
    call_command("check_health", stdout=out)
    assert out.getvalue() == f"Harbour: {NOT_LET_GO}\n"


def test_whoever_ticks_first_after_a_day_of_nothing_tells_who_is_in_charge(fleet):
    fleet.as_of = None
    fleet.save()
    jobs.ask_for_reminders(NOW)
    jobs.ask_for_reminders(NOW + 24 * HOUR)
    assert not Notice.objects.exists()
    for _ in range(2):
        jobs.ask_for_reminders(NOW + 50 * HOUR)
    assert sorted(Notice.objects.values_list("to_name", flat=True)) == ["bo", "mona"]
    assert "did not run" in Notice.objects.first().text


def test_a_clock_that_was_put_back_is_heard_of_all_the_same(fleet):
    health.beat(NOW + 24 * 365 * HOUR)
    health.beat(NOW)
    assert Heartbeat.objects.get().at == NOW


def test_the_clock_asks_for_a_days_round_once_and_again_when_it_broke_off(fleet):
    fleet.as_of = None
    fleet.save()
    day = fleet.today()
    noon = dt.datetime.combine(day, dt.time(12), tzinfo=dt.UTC)
    for minute in (0, 1, 2):
        jobs.ask_for_reminders(noon + minute * HOUR / 60)
    [row] = WorkRow.objects.filter(kind="reminders")
    WorkRow.objects.update(state="failed", ended_at=noon)
    jobs.ask_for_reminders(noon + HOUR / 60)
    assert WorkRow.objects.count() == 1  # Not at once.
    jobs.ask_for_reminders(noon + HOUR / 10)
    again = WorkRow.objects.exclude(pk=row.pk).get()
    assert (again.key, again.state) == ("again", "waiting")


def test_the_outbox_says_why_and_how_often(fleet):
    queue(fleet, TODAY)
    Reminder.objects.filter(to_email="ida@example.org").update(
        state="refused", failure="550 no such box", attempts=1
    )
    page = text(client_of(fleet, "bo"), at("reminders_outbox"), state="refused")
    assert "1 reminder did not arrive" in page
    assert "550 no such box" in page
