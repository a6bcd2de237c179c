"""Tests make their tables from the models: the migrations must make the same ones."""

import re
import sqlite3
from contextlib import closing

import pytest
from django.core.management import call_command
from django.db import connection

from tests.demonstration import DATABASE, manage

OURS = re.compile(r"^CREATE TABLE \"(fleet|inspections|forecasting)_|^CREATE (UNIQUE )?INDEX")
BETWEEN = re.compile(r"^CREATE TABLE \S+ \(|, (?![^()]*\))")  # Two columns or constraints.

pytestmark = [pytest.mark.django_db, pytest.mark.only_on("sqlite")]


def test_models_and_migrations_make_the_same_tables():
    call_command("makemigrations", "--check", "--dry-run", verbosity=0)


def test_the_checks_of_code_that_commands_leave_out_find_nothing():
    call_command("check", fail_level="WARNING")


def test_the_tables_that_migrations_make_are_those_of_the_models(tmp_path):
    """Column by column, constraint by constraint, index by index, in whatever order."""
    migrated = manage(tmp_path, "migrate", "-v0", "--skip-checks")
    assert migrated.returncode == 0, migrated.stderr
    with closing(sqlite3.connect(tmp_path / DATABASE)) as made, connection.cursor() as modelled:
        there, here = parts_of(made.cursor()), parts_of(modelled)
    assert len(there) > 250
    assert there == here


def parts_of(cursor) -> dict[str, list[str]]:
    """Return the columns, constraints and indexes of each table, without their order."""
    asked = "SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL"
    rows = [(name, sql) for name, sql in cursor.execute(asked).fetchall() if OURS.search(sql)]
    return {name: sorted(BETWEEN.split(sql.removesuffix(")"))) for name, sql in rows}
