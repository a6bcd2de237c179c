"""The pages of long work: who asks, who cancels, what is shown with a script and without."""

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import WorkRow
from fleet.work import asking, claiming, doing, rounds
from inspections.models import Reminder
from tests import builders

pytestmark = pytest.mark.django_db


@pytest.fixture
def fleet():
    fleet = builders.empty_fleet("harbour")
    builders.wire(builders.boat(fleet))
    return fleet


def signed_in(fleet, role: str = "manager") -> Client:
    client = Client()
    client.force_login(
        builders.person(role, fleet, role), "django.contrib.auth.backends.ModelBackend"
    )
    return client


def at(name: str, *arguments) -> str:
    return reverse(name, args=["harbour", *arguments])


def text(client: Client, address: str) -> str:
    return client.get(address).content.decode()


def test_a_manager_and_a_bosun_refresh_the_forecast_and_read_what_came_of_it(fleet):
    for role in ("manager", "bosun"):
        client = signed_in(fleet, role)
        assert "Refresh the forecast" in text(client, at("how"))
        page = client.post(at("refresh"))
        row = WorkRow.objects.first()
        assert page["Location"] == at("work", row.pk)
        rounds.work_through()
        done = text(client, at("work", row.pk))
        assert "1 part on 1 boat" in done
        assert f'href="{at("outlook")}"' in done
    assert "Nothing had changed." in done
    assert "1 part on 1 boat" in text(client, at("works"))


def test_an_accountant_reads_what_is_under_way_and_starts_and_stops_nothing(fleet):
    client = signed_in(fleet, "accountant")
    row = asking.ask(fleet, "refresh")
    assert "Refresh the forecast" not in text(client, at("how"))
    assert "Send what is due now" not in text(client, at("reminders"))
    assert "Cancel it" not in text(client, at("work", row.pk))
    for address in (at("refresh"), at("reminders_again"), at("work", row.pk)):
        assert client.post(address).status_code == 403
    assert WorkRow.objects.get().cancel_asked is False


def test_what_waits_is_cancelled_and_says_by_whom(fleet):
    client = signed_in(fleet)
    row = asking.ask(fleet, "refresh")
    assert "Cancel it" in text(client, at("work", row.pk))
    page = client.post(at("work", row.pk), follow=True).content.decode()
    assert "Cancelled by manager before it began." in page
    page = client.post(at("work", row.pk), follow=True).content.decode()
    assert "It was over before it could be cancelled." in page


def test_a_look_at_work_changes_nothing(fleet):
    client = signed_in(fleet)
    row = asking.ask(fleet, "refresh")
    before = list(WorkRow.objects.values())
    for address in (at("works"), at("work", row.pk), f"{at('work', row.pk)}?as=json"):
        assert client.get(address).status_code == 200
    assert client.get(at("refresh")).status_code == 405
    assert list(WorkRow.objects.values()) == before


def test_the_script_is_told_how_far_the_work_is(fleet):
    client = signed_in(fleet)
    asking.ask(fleet, "refresh")
    running = doing.Running(claiming.claim(WorkRow.objects.get().asked_at), bool)
    running.plan(8)
    running.say("Record read")
    answer = client.get(at("work", running.row.pk), {"as": "json"}).json()
    assert answer == {"over": False, "begun": True, "steps": 8, "done": 1, "step": "Record read"}


def test_without_a_script_the_page_of_open_work_loads_itself_anew(fleet):
    client = signed_in(fleet)
    row = asking.ask(fleet, "refresh")
    anew = '<noscript><meta http-equiv="refresh" content="3"></noscript>'
    assert anew in text(client, at("work", row.pk))
    rounds.work_through()
    assert anew not in text(client, at("work", row.pk))


def test_failed_and_half_sent_reminders_are_seen_and_tried_again(fleet, settings, tmp_path):
    settings.EMAIL_FOLDER = tmp_path / "mail"
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 9  # Nobody listens there.
    client = signed_in(fleet)
    row = WorkRow.objects.get(pk=client.post(at("reminders_again"))["Location"].split("/")[-2])
    rounds.work_through()
    row.refresh_from_db()
    assert "3 failed. Each that failed says why." in row.outcome
    page = text(client, at("reminders"))
    assert "3 reminders could not be sent" in page
    assert "refused" in text(client, at("reminders_outbox"))
    assert "Try again now" in page
    Reminder.objects.update(state="sending", claimed_at="2026-10-14T00:00Z", failure="")
    page = text(client, at("reminders"))
    assert "The program that sends ended while 3 reminders were in its hands" in page
    settings.EMAIL_BACKEND = "inspections.mail_folder.MailFolder"
    client.post(at("reminders_again"))
    rounds.work_through()
    assert set(Reminder.objects.values_list("state", flat=True)) == {"sent"}
    page = text(client, at("reminders"))
    assert "could not be sent" not in page
    assert "in its hands" not in page


def test_the_list_of_a_new_fleet_says_what_will_show_there(fleet):
    assert "an import or a refresh shows here" in text(signed_in(fleet), at("works"))
