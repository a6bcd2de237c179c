"""Tests make their tables from the models: the migrations must make the same ones."""

import pytest
from django.core.management import call_command

pytestmark = [pytest.mark.django_db, pytest.mark.only_on("sqlite")]


def test_models_and_migrations_make_the_same_tables():
    call_command("makemigrations", "--check", "--dry-run", verbosity=0)


def test_the_checks_of_code_that_commands_leave_out_find_nothing():
    call_command("check", fail_level="WARNING")
