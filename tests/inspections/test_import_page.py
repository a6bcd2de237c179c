"""The import page: hand in, see every fault, write; and who may do so."""

import io
import os
import re
import time

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from playwright.sync_api import expect
from python_calamine import CalamineWorkbook

from fleet.models import Boat, WorkRow
from fleet.work import rounds
from fleet.work.doing import Running
from forecasting.models import BoatOutlook
from inspections.importing import import_workbook
from inspections.spreadsheets import uploads
from tests import builders
from tests.workbooks import changed, contents, csv, small, xlsx

pytestmark = pytest.mark.django_db


@pytest.fixture
def fleet():
    return builders.empty_fleet("harbour")


def signed_in(fleet, role: str) -> Client:
    client = Client()
    client.force_login(
        builders.person(f"{role}-of-{fleet.slug}", fleet, role),
        "django.contrib.auth.backends.ModelBackend",
    )
    return client


@pytest.fixture
def manager(fleet) -> Client:
    return signed_in(fleet, "manager")


def at(name: str, fleet) -> str:
    return reverse(name, kwargs={"fleet": fleet.slug})


def hand_in(client, fleet, files, follow=True):
    sent = [SimpleUploadedFile(file.name, file.content) for file in files]
    return client.post(at("import", fleet), {"files": sent}, follow=follow)


def worked(client, fleet) -> str:
    """Do what waits, and return the page of the import asked for last."""
    rounds.work_through()
    row = WorkRow.objects.of(fleet).filter(kind="import").first()
    return client.get(reverse("work", args=[fleet.slug, row.pk])).content.decode()


def token_in(response) -> str:
    return re.search(r'name="file" value="([\w-]+)"', response.content.decode())[1]


def test_a_good_workbook_is_checked_and_then_written(fleet, manager):
    page = hand_in(manager, fleet, xlsx(small()))
    assert "All good: 19 new rows" in page.content.decode()
    assert not Boat.objects.exists()
    answer = {"file": token_in(page), "take": "all"}
    page = manager.post(at("import_check", fleet), answer, follow=True)
    assert "<h1>Import: waiting</h1>" in page.content.decode()
    assert not Boat.objects.exists(), "the page waits for nothing: a worker writes it"
    assert "Written: 19 new rows" in worked(manager, fleet)
    assert Boat.objects.of(fleet).count() == 2


def test_after_an_import_the_forecast_is_brought_up_to_date(fleet, manager):
    token = token_in(hand_in(manager, fleet, xlsx(small())))
    for _ in range(2):  # A second click asks for nothing more.
        manager.post(at("import_check", fleet), {"file": token, "take": "all"})
    rounds.work_through()
    rows = WorkRow.objects.of(fleet).order_by("pk").values_list("kind", "state")
    assert list(rows) == [("import", "done"), ("refresh", "done"), ("back_test", "done")]
    assert BoatOutlook.objects.of(fleet).count() == 2


def test_an_import_begun_again_after_it_was_written_ends_well(fleet, manager):
    """As after a worker killed between the writing and the recording of it."""
    token = token_in(hand_in(manager, fleet, xlsx(small())))
    manager.post(at("import_check", fleet), {"file": token, "take": "all"})
    import_workbook(fleet, xlsx(small()), dry_run=False)
    before = contents(fleet)
    assert "Written: 0 new rows, 0 changed" in worked(manager, fleet)
    assert contents(fleet) == before


def test_an_import_cancelled_after_the_reading_writes_nothing(fleet, manager, monkeypatch):
    token = token_in(hand_in(manager, fleet, xlsx(small())))
    manager.post(at("import_check", fleet), {"file": token, "take": "all"})
    row = WorkRow.objects.get()
    say = Running.say

    def cancelled_while_reading(running: Running, step: str) -> None:
        manager.post(reverse("work", args=[fleet.slug, row.pk]))
        say(running, step)

    monkeypatch.setattr(Running, "say", cancelled_while_reading)
    assert "Cancelled after this step: Read: 19 rows" in worked(manager, fleet)
    assert not Boat.objects.exists()


def test_several_csv_files_are_one_workbook(fleet, manager):
    page = hand_in(manager, fleet, csv(small()))
    assert "All good: 19 new rows" in page.content.decode()


def test_every_fault_is_shown_with_its_place_and_what_would_be_right(fleet, manager):
    page = hand_in(manager, fleet, xlsx(changed("boats", 3, length_m=-11.6))).content.decode()
    assert "<h1>4 things to put right" in page
    for words in ("length m", "-11.6", "The number is negative.", "between 2 and 99"):
        assert words in page
    assert "Write it" not in page
    assert "Take the good rows" in page


def test_the_good_rows_are_taken_when_the_user_says_so(fleet, manager):
    page = hand_in(manager, fleet, xlsx(changed("boats", 3, length_m=-11.6)))
    check = at("import_check", fleet)
    token = token_in(page)
    manager.post(check, {"file": token, "take": "all"})
    page = worked(manager, fleet)
    assert not Boat.objects.exists(), "with faults, writing all is refused and the faults shown"
    assert "4 things to put right" in page
    assert f"{check}?file={token}" in page
    manager.post(check, {"file": token, "take": "good"})
    assert "4 rows with faults were left out" in worked(manager, fleet)
    assert [boat.name for boat in Boat.objects.of(fleet)] == ["Tern"]


def test_a_workbook_that_says_nothing_new_offers_nothing_to_write(fleet, manager):
    import_workbook(fleet, xlsx(small()), dry_run=False)
    page = hand_in(manager, fleet, xlsx(small())).content.decode()
    assert "There is nothing to write." in page
    assert "Write it" not in page


def test_markup_in_a_cell_is_shown_and_not_obeyed(fleet, manager):
    page = hand_in(manager, fleet, xlsx(changed("boats", 3, base="<script>x</script>")))
    assert "&lt;script&gt;" in page.content.decode()
    assert "<script>x" not in page.content.decode()


@pytest.mark.parametrize("content", [b"", b"hello", b"PK\x03\x04"])
def test_what_is_no_workbook_is_told_so_on_the_page(fleet, manager, content):
    page = manager.post(
        at("import", fleet), {"files": SimpleUploadedFile("x.xlsx", content)}, follow=True
    )
    assert page.status_code == 200
    assert "Write it" not in page.content.decode()


def test_handing_in_nothing_is_told_so(fleet, manager):
    page = manager.post(at("import", fleet), {}, follow=True)
    assert "No file was chosen" in page.content.decode()


def test_all_faults_can_be_taken_as_a_list(fleet, manager):
    page = hand_in(manager, fleet, xlsx(changed("boats", 3, length_m=-11.6)))
    answer = manager.get(at("import_check", fleet), {"file": token_in(page), "csv": 1})
    lines = answer.content.decode("utf-8-sig").splitlines()
    assert lines[0] == "sheet,row,column,value,what is wrong,what would be right"
    assert len(lines) == 5


def test_a_look_at_the_check_writes_nothing(fleet, manager):
    page = hand_in(manager, fleet, xlsx(small()))
    before = contents(fleet)
    manager.get(at("import_check", fleet), {"file": token_in(page)})
    assert contents(fleet) == before


# -- whose file


def test_the_file_is_gone_once_it_is_written(fleet, manager):
    token = token_in(hand_in(manager, fleet, xlsx(small())))
    manager.post(at("import_check", fleet), {"file": token, "take": "all"})
    assert (uploads.folder() / token).exists()
    worked(manager, fleet)
    assert not (uploads.folder() / token).exists()
    assert manager.get(at("import_check", fleet), {"file": token}).status_code == 302


def test_a_file_is_given_back_only_to_who_handed_it_in_and_for_its_fleet(fleet, manager):
    token = token_in(hand_in(manager, fleet, xlsx(small())))
    other_fleet = builders.empty_fleet("estuary")
    bosun, stranger = signed_in(fleet, "bosun"), signed_in(other_fleet, "manager")
    for client, place in ((bosun, fleet), (stranger, other_fleet), (stranger, fleet)):
        for answer in (
            client.get(at("import_check", place), {"file": token}),
            client.post(at("import_check", place), {"file": token, "take": "all"}),
        ):
            # Sent back to hand it in again, or told that there is no such fleet.
            own_fleet = client is bosun or place == other_fleet
            assert answer.status_code == (302 if own_fleet else 404)
            assert not Boat.objects.exists()


@pytest.mark.parametrize("token", ["..", "../../etc/passwd", "x" * 32, "%2e%2e"])
def test_a_made_up_token_finds_nothing(fleet, manager, token):
    assert manager.get(at("import_check", fleet), {"file": token}).status_code == 302


def test_without_a_file_the_check_asks_for_one(fleet, manager):
    page = manager.get(at("import_check", fleet))
    assert f'action="{at("import", fleet)}"' in page.content.decode()


def test_a_file_handed_in_and_never_written_is_swept_after_a_day(fleet, manager):
    token = token_in(hand_in(manager, fleet, xlsx(small())))
    uploads.sweep()
    assert (uploads.folder() / token).exists()
    os.utime(uploads.folder() / token, (time.time() - 90_000,) * 2)
    uploads.sweep()
    assert not (uploads.folder() / token).exists()


def test_an_accountant_exports_and_does_not_import(fleet):
    accountant = signed_in(fleet, "accountant")
    page = accountant.get(at("import", fleet))
    assert page.status_code == 200
    assert 'type="file"' not in page.content.decode()
    assert hand_in(accountant, fleet, xlsx(small())).status_code == 403
    assert accountant.get(at("import_check", fleet), {"file": "x" * 32}).status_code == 403
    assert accountant.get(at("export", fleet)).status_code == 200
    assert accountant.get(at("import_template", fleet)).status_code == 200


def test_what_the_page_exports_goes_in_again(fleet, manager):
    import_workbook(fleet, xlsx(small()), dry_run=False)
    answer = manager.get(at("export", fleet))
    assert 'filename="harbour-2026-10-14.xlsx"' in answer["Content-Disposition"]
    book = CalamineWorkbook.from_filelike(io.BytesIO(answer.content))
    assert book.sheet_names[:4] == ["grounds", "bases", "boats", "parts"]
    page = hand_in(manager, fleet, [type(xlsx(small())[0])("again.xlsx", answer.content)])
    assert "There is nothing to write." in page.content.decode()
    assert manager.get(at("export", fleet), {"as": "csv"}).content.startswith(b"PK")


@pytest.mark.parametrize("width", [390, 1200])
def test_a_manager_imports_by_hand(page_at, accessibility_faults, live_server, width, tmp_path):
    fleet = builders.empty_fleet("harbour")
    user = builders.person("mara", fleet)
    path = tmp_path / "fleet.xlsx"
    path.write_bytes(xlsx(small())[0].content)
    page = page_at(width, user=user)
    page.goto(at("import", fleet))
    assert not accessibility_faults(page)
    page.get_by_label("One workbook (XLSX)").set_input_files(path)
    page.get_by_role("button", name="Check it").click()
    expect(page.locator("h1")).to_have_text("All good: 19 new rows, 0 changed")
    assert not accessibility_faults(page)
    wide = page.evaluate("document.documentElement.scrollWidth > innerWidth")
    assert not wide
    page.get_by_role("button", name="Write it").click()
    page.get_by_role("heading", name="Import: waiting").wait_for()
    assert not accessibility_faults(page)
    rounds.work_through()  # The page finds out by itself.
    page.get_by_text("Written: 19 new rows").wait_for()
    assert not accessibility_faults(page)
