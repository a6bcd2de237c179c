"""The copy of the whole database: made while in use, opened, compared, kept for a week."""

import datetime as dt
import os
import sqlite3
import subprocess
from contextlib import closing
from io import StringIO
from pathlib import Path

import psycopg
import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.utils import timezone

from fleet import backup, jobs
from fleet.models import Boat, Fleet, WorkRow
from fleet.work import claiming, rounds
from tests import builders
from tests.services import postgres

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def fleet(settings, tmp_path) -> Fleet:
    settings.VAR_DIR = tmp_path / "var"
    return builders.one_of_each("harbour").fleet


def rows(database) -> dict[str, list[tuple]]:
    """Return table -> its rows, of every table that either database has."""
    names = connection.introspection.table_names()
    return {
        name: sorted(database.execute(f'SELECT * FROM "{name}"').fetchall(), key=repr)
        for name in names
    }


@pytest.mark.only_on("sqlite")
def test_a_copy_of_sqlite_holds_every_row_of_every_table(fleet, tmp_path):
    copy, out = tmp_path / "copy.sqlite3", StringIO()
    with closing(sqlite3.connect(connection.settings_dict["NAME"])) as reader:
        reader.execute("BEGIN")  # Somebody has a page open meanwhile.
        reader.execute("SELECT count(*) FROM fleet_boat").fetchall()
        call_command("backup", str(copy), stdout=out)
        assert f"The database is in {copy}" in out.getvalue()
        assert copy.stat().st_mode & 0o777 == 0o600, "it holds every member's sign-in"
        with closing(sqlite3.connect(copy)) as copied:
            found = rows(copied)
            assert found == rows(reader)
    assert len(found["fleet_boat"]) == Boat.objects.count() == 1
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".backup")] == []


@pytest.mark.only_on("sqlite")
def test_a_copy_of_sqlite_put_in_its_place_is_served_from(fleet, tmp_path):
    """As the README says: stop, put the copy in place of the database, start."""
    place = tmp_path / "restored"
    place.mkdir()
    backup.write(place / "stayward.sqlite3")
    Boat.objects.update(name="written after the copy")
    with closing(sqlite3.connect(place / "stayward.sqlite3")) as restored:
        assert restored.execute("SELECT name FROM fleet_boat").fetchall() == [("harbour one",)]
        restored.execute("UPDATE fleet_boat SET name = 'Tern'")
        restored.commit()


@pytest.mark.only_on("postgresql")
def test_a_copy_of_postgresql_is_restored_with_every_row_of_every_table(
    fleet, tmp_path, monkeypatch
):
    # pg_dump must be as new as the server.
    monkeypatch.setenv("PATH", f"{postgres.find()}:{os.environ['PATH']}")
    copy = tmp_path / "copy.dump"
    call_command("backup", str(copy), stdout=StringIO())
    assert copy.stat().st_mode & 0o777 == 0o600
    facts = connection.settings_dict
    server = f"postgresql://{facts['USER']}:{facts['PASSWORD']}@{facts['HOST']}:{facts['PORT']}"
    with postgres.fresh_database(f"{server}/{facts['NAME']}") as url:
        restored = [
            postgres.find() / "pg_restore",
            "--no-owner",
            "--exit-on-error",
            f"--dbname={url}",
            str(copy),
        ]
        subprocess.run(restored, check=True, capture_output=True)
        with psycopg.connect(url) as there, psycopg.connect(f"{server}/{facts['NAME']}") as here:
            assert rows(there) == rows(here)


@pytest.mark.only_on("postgresql")
def test_without_pg_dump_it_says_what_to_run_where_it_is(fleet, tmp_path, monkeypatch):
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(backup.NotBackedUp) as reason:
        backup.write(tmp_path / "copy.dump")
    words = str(reason.value)
    assert "pg_dump --format=custom --no-owner --file=stayward.dump" in words
    assert f"dbname={connection.settings_dict['NAME']}" in words
    assert "password=" not in words
    assert list(tmp_path.glob("copy*")) == []


def test_a_file_that_is_there_is_not_written_over(fleet, tmp_path):
    taken = tmp_path / "copy"
    taken.write_text("last week's")
    with pytest.raises(CommandError, match="is there already: name another file"):
        call_command("backup", str(taken))
    assert taken.read_text() == "last week's"


def test_a_folder_that_is_not_there_is_told_so(fleet, tmp_path):
    with pytest.raises(CommandError, match="cannot be written: No such file or directory"):
        call_command("backup", str(tmp_path / "nowhere" / "copy"))


@pytest.mark.only_on("sqlite")
def test_the_clock_keeps_a_copy_a_day_and_the_newest_seven(fleet, settings):
    settings.STAYWARD_BACKUPS = 7
    today = timezone.now()
    for number in range(9):
        for _ in range(2):
            jobs.ask_for_backup(today + dt.timedelta(days=number))
    rounds.work_through()
    assert set(WorkRow.objects.of(None).values_list("state", "tries")) == {("done", 1)}
    assert WorkRow.objects.of(None).count() == 9
    kept = sorted(path.name for path in (Path(settings.VAR_DIR) / "backups").iterdir())
    days = [(today + dt.timedelta(days=number)).date() for number in range(2, 9)]
    assert kept == [f"stayward-{day}.sqlite3" for day in days]


def test_turned_off_the_clock_asks_for_none(fleet, settings):
    settings.STAYWARD_BACKUPS = 0
    jobs.ask_for_backup(timezone.now())
    assert not WorkRow.objects.of(None).exists()


def test_the_table_itself_refuses_a_second_copy_under_way_or_of_a_day(fleet, settings):
    settings.STAYWARD_BACKUPS = 7
    now = timezone.now()
    jobs.ask_for_backup(now)
    jobs.ask_for_backup(now + dt.timedelta(days=1))
    first, second = WorkRow.objects.of(None).order_by("pk")
    assert claiming.take(first, now)
    assert not claiming.take(second, now)
