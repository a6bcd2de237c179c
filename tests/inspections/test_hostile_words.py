"""Words and names that would do harm elsewhere: encodings, formulas, paths, links."""

import io
import re
import zipfile

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from fleet.models import Boat
from fleet.spreadsheets.encodings import read_as
from fleet.spreadsheets.workbooks import NamedFile, open_book
from inspections.importing import import_workbook
from inspections.spreadsheets import uploads
from tests import builders
from tests.workbooks import csv, small, xlsx

pytestmark = pytest.mark.django_db
FORMULAS = ['=HYPERLINK("http://x.example")', "=cmd|' /C calc'!A0", "+46 8", "-3", "@SUM(A1)"]


@pytest.fixture
def fleet():
    return builders.empty_fleet("harbour")


@pytest.fixture
def manager(fleet) -> Client:
    client = Client()
    mara = builders.person("mara", fleet)
    client.force_login(mara, "django.contrib.auth.backends.ModelBackend")
    return client


def jose() -> list[NamedFile]:
    """The small workbook as CSV in Windows-1252, one boat called José."""
    files = [(f.name, f.content.decode().replace("Skua", "José")) for f in csv(small())]
    return [NamedFile(name, text.encode("cp1252")) for name, text in files]


def handed_in(client: Client, files: list[NamedFile]):
    sent = []
    for file in files:
        each = io.BytesIO(file.content)
        each.name = file.name
        sent.append(each)
    return client.post("/harbour/import/", {"files": sent}, follow=True)


def test_the_page_shows_how_windows_1252_would_read_and_reads_it_when_told(fleet, manager):
    page = handed_in(manager, jose())
    assert "“José”" in page.content.decode()
    assert "Read it as Windows-1252" in page.content.decode()
    answer = {"file": page.context["token"], "encoding": "windows-1252"}
    page = manager.post("/harbour/import/encoding/", answer, follow=True)
    assert page.context["report"].faults == ()
    assert not Boat.objects.exists(), "shown first, written when somebody says so"
    files = uploads.kept(fleet, fleet.memberships.get().user, answer["file"])
    assert import_workbook(fleet, files, dry_run=False).written
    assert Boat.objects.filter(name="José").exists()


def test_an_encoding_nobody_asked_about_changes_nothing(fleet, manager):
    token = handed_in(manager, jose()).context["token"]
    before = uploads.kept(fleet, fleet.memberships.get().user, token)
    manager.post("/harbour/import/encoding/", {"file": token, "encoding": "cp037"})
    assert uploads.kept(fleet, fleet.memberships.get().user, token) == before


def test_the_command_reads_windows_1252_when_told(fleet, tmp_path, capsys):
    for file in jose():
        (tmp_path / file.name).write_bytes(file.content)
    with pytest.raises(SystemExit):
        call_command("import_fleet", "harbour", str(tmp_path), "--write")
    assert "if these are right: “José”" in capsys.readouterr().err
    assert not Boat.objects.exists()
    call_command("import_fleet", "harbour", str(tmp_path), "--write", "--encoding=windows-1252")
    assert Boat.objects.filter(name="José").exists()


def test_utf_8_is_left_alone_whatever_encoding_is_named():
    files = [NamedFile("boats.csv", "boat\nJosé\n".encode())]
    assert read_as(files, "windows-1252") == files


def test_utf_16_with_its_mark_proves_itself():
    book = open_book([NamedFile("boats.csv", "boat\tbase\nJosé\tQuay".encode("utf-16"))], ["boats"])
    assert book.sheets["boats"].rows[1] == ["José", "Quay"]


@pytest.mark.parametrize("text", FORMULAS)
@pytest.mark.parametrize("form", [xlsx, csv], ids=["xlsx", "csv"])
def test_a_formula_stays_text_and_comes_out_inert(fleet, text, form):
    tables = small()
    tables["boats"][1][2] = tables["boats"][2][2] = text
    assert import_workbook(fleet, form(tables), dry_run=False).written
    assert set(Boat.objects.values_list("design", flat=True)) == {text}
    client = Client()
    client.force_login(builders.person("mara", fleet), "django.contrib.auth.backends.ModelBackend")
    out = zipfile.ZipFile(io.BytesIO(client.get("/harbour/export/").content))
    assert not any(b"<f>" in out.read(name) for name in out.namelist())
    packed = zipfile.ZipFile(io.BytesIO(client.get("/harbour/export/?as=csv").content))
    assert b"'" + text[:1].encode() in packed.read("boats.csv")


@pytest.mark.parametrize("name", ["../../../etc/boats.csv", "/etc/boats.csv", "..\\..\\boats.csv"])
def test_a_path_in_the_name_of_an_upload_leads_nowhere(fleet, manager, name):
    body = (
        "--b\r\nContent-Disposition: form-data; "
        f'name="files"; filename="{name}"\r\n\r\nboat,base\r\nTern,Quay\r\n\r\n--b--\r\n'
    )
    page = manager.post(
        "/harbour/import/", body.encode(), "multipart/form-data; boundary=b", follow=True
    )
    assert page.context["files"] == "boats.csv"
    kept = {path.name for path in uploads.folder().rglob("*") if path.is_file()}
    assert all(re.fullmatch(r"[0-9]+\.bin|facts\.json", each) for each in kept)


@pytest.mark.parametrize("options", [[], ["--encoding=windows-1252"]])
def test_a_link_in_a_folder_of_csv_is_not_followed(fleet, tmp_path, capsys, options):
    secret = tmp_path / "secret.txt"
    secret.write_text("boat\nTern\n")
    folder = tmp_path / "csv"
    folder.mkdir()
    (folder / "boats.csv").symlink_to(secret)
    with pytest.raises((SystemExit, CommandError)) as ended:
        call_command("import_fleet", "harbour", str(folder), "--write", *options)
    told = capsys.readouterr().err + str(ended.value)
    assert "boats.csv in the folder is a link" in told
    assert not Boat.objects.exists()
