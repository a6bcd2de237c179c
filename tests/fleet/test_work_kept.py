"""What becomes of finished work: the list narrowed, files downloaded, old rows taken out."""

import datetime as dt
import io
from io import StringIO

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from python_calamine import CalamineWorkbook

from fleet.models import Boat, WorkRow
from fleet.work import asking, files, pruning, rounds
from fleet.work.doing import Running
from inspections.views import imports
from tests import builders

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


@pytest.fixture(autouse=True)
def folder(settings, tmp_path):
    settings.VAR_DIR = tmp_path
    return tmp_path


@pytest.fixture
def fleet():
    fleet = builders.empty_fleet("harbour")
    builders.wire(builders.boat(fleet))
    return fleet


def signed_in(fleet, role: str = "manager") -> Client:
    client = Client()
    client.force_login(
        builders.person(f"{role}-{fleet.slug}", fleet, role),
        "django.contrib.auth.backends.ModelBackend",
    )
    return client


def at(name: str, *arguments) -> str:
    return reverse(name, args=["harbour", *arguments])


def text(client: Client, address: str) -> str:
    return client.get(address).content.decode()


def row(fleet, state: str, days_ago: float, kind: str = "refresh", **facts) -> WorkRow:
    ended = timezone.now() - days_ago * DAY
    over = {} if state in ("waiting", "running") else {"ended_at": ended}
    return WorkRow.objects.create(
        fleet=fleet, kind=kind, state=state, asked_at=ended, **(over | facts)
    )


# -- the list


def test_the_list_is_narrowed_to_what_failed_and_to_one_kind(fleet):
    row(fleet, "failed", 2, outcome="The prices were blank.")
    row(fleet, "done", 1, outcome="Forecast made.")
    row(fleet, "done", 1, kind="export", outcome="Exported.")
    client = signed_in(fleet)
    page = text(client, f"{at('works')}?state=failed")
    assert "The prices were blank." in page
    assert "Forecast made." not in page
    page = text(client, f"{at('works')}?kind=export&state=done")
    assert ("Exported." in page, "Forecast made." in page) == (True, False)
    page = text(client, f"{at('works')}?kind=import")
    assert "No work of that kind and state is on record." in page


def test_a_long_list_comes_in_pages_and_keeps_what_was_narrowed(fleet):
    for number in range(30):
        row(fleet, "done", number / 100, outcome=f"Done number {number:02d}.")
    row(fleet, "failed", 0.5)
    page = text(signed_in(fleet), f"{at('works')}?state=done")
    assert "1 to 25 of 30" in page
    assert "state=done&amp;page=2" in page
    page = text(signed_in(fleet, "bosun"), f"{at('works')}?state=done&page=2")
    assert "Done number 29." in page
    assert "Done number 01." not in page


def test_work_of_the_whole_installation_is_on_no_page(fleet):
    backup = row(None, "done", 0, kind="backup", outcome="The database is kept in /srv/x.")
    client = signed_in(fleet)
    assert "/srv/x" not in text(client, at("works"))
    assert client.get(at("work", backup.pk)).status_code == 404
    assert client.get(at("work_file", backup.pk)).status_code == 404


# -- what is taken out after a while


def test_old_finished_work_is_taken_out_and_what_failed_is_kept_longer(fleet):
    kept = [row(fleet, "done", 29), row(fleet, "failed", 179), row(fleet, "cancelled", 29)]
    for state, days in (("done", 31), ("cancelled", 31), ("failed", 181)):
        row(fleet, state, days)
    pruning.prune(timezone.now())
    assert list(WorkRow.objects.order_by("pk")) == kept


def test_what_waits_or_is_in_hand_is_never_taken_out_however_old(fleet):
    open_rows = [row(fleet, "waiting", 999), row(fleet, "running", 999, kind="import")]
    pruning.prune(timezone.now())
    assert list(WorkRow.objects.order_by("pk")) == open_rows


def test_the_ticker_takes_it_out(fleet):
    row(fleet, "done", 31)
    call_command("ticker", "--once", stdout=StringIO())
    assert not WorkRow.objects.exists()


# -- export as work


def exported(fleet, client: Client, form: str = "xlsx") -> WorkRow:
    page = client.post(at("export_ask"), {"as": form})
    made = WorkRow.objects.of(fleet).first()
    assert page["Location"] == at("work", made.pk)
    rounds.work_through()
    made.refresh_from_db()
    assert (made.state, made.steps_done) == ("done", made.steps), made.outcome
    return made


def test_a_member_has_the_fleet_made_into_a_workbook_and_downloads_it(fleet):
    client = signed_in(fleet, "accountant")
    made = exported(fleet, client)
    page = text(client, at("work", made.pk))
    assert f"Download harbour-{builders.TODAY}.xlsx" in page
    answer = client.get(at("work_file", made.pk))
    content = b"".join(answer)
    assert answer["Content-Disposition"] == f'attachment; filename="harbour-{builders.TODAY}.xlsx"'
    book = CalamineWorkbook.from_filelike(io.BytesIO(content))
    assert book.get_sheet_by_name("boats").to_python()[1][0] == "Tern"
    straight = client.get(at("export")).content
    assert content == straight, "made as work or at once: the same bytes"


def test_the_csv_files_come_as_one_archive(fleet):
    client = signed_in(fleet)
    made = exported(fleet, client, "csv")
    assert made.made.endswith(".zip")
    assert (
        b"".join(client.get(at("work_file", made.pk)))
        == client.get(f"{at('export')}?as=csv").content
    )


def test_nobody_of_another_fleet_downloads_it(fleet):
    made = exported(fleet, signed_in(fleet))
    stranger = signed_in(builders.empty_fleet("estuary"))
    assert stranger.get(at("work_file", made.pk)).status_code == 404
    theirs = reverse("work_file", args=["estuary", made.pk])
    assert stranger.get(theirs).status_code == 404


def test_after_some_days_the_file_is_gone_and_its_page_says_so(fleet, folder):
    client = signed_in(fleet)
    made = exported(fleet, client)
    WorkRow.objects.update(ended_at=timezone.now() - files.KEPT - DAY)
    pruning.prune(timezone.now())
    assert list((folder / "made").iterdir()) == []
    assert client.get(at("work_file", made.pk))["Location"] == at("work", made.pk)
    assert "The file is not kept here any more." in text(client, at("work", made.pk))


def test_a_fleet_keeps_its_five_newest_files(fleet, folder):
    client = signed_in(fleet)
    for _ in range(files.MOST_OF_A_FLEET + 2):
        exported(fleet, client)
    pruning.prune(timezone.now())
    assert WorkRow.objects.exclude(made="").count() == files.MOST_OF_A_FLEET
    assert len(list((folder / "made").iterdir())) == files.MOST_OF_A_FLEET


def test_cancelled_on_the_way_it_leaves_no_half_file(fleet, folder, monkeypatch):
    say = Running.say

    def cancelled_at_the_boats(running, step: str) -> None:
        if step.startswith("boats"):
            WorkRow.objects.filter(pk=running.row.pk).update(cancel_asked=True)
        say(running, step)

    monkeypatch.setattr(Running, "say", cancelled_at_the_boats)
    asked = asking.ask(fleet, "export", key="xlsx", form="xlsx")
    rounds.work_through()
    asked.refresh_from_db()
    assert asked.outcome == "Cancelled after this step: boats: 1 row"
    assert list((folder / "made").iterdir()) == []


def test_a_large_fleet_is_not_kept_waiting_for_its_export(fleet, monkeypatch):
    client = signed_in(fleet)
    assert "This fleet as a workbook" in text(client, at("import"))
    monkeypatch.setattr(imports, "BOATS_AT_ONCE", Boat.objects.count() - 1)
    page = text(client, at("import"))
    assert "Make a workbook of this fleet" in page
    assert "This fleet as a workbook" not in page
