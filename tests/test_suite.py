"""The suite's own rules, tried on small test files planted outside it."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.__main__ import _verdict
from tests.services import postgres, redis_server

ROOT = Path(__file__).resolve().parent.parent
SUITE = ["-c", str(ROOT / ".pytest.ini")]
CONFTEST = "from tests.conftest import *\n"
VARIABLE = re.compile(r"STAYWARD_[A-Z_]+")
SKIPS = """
import pytest
def test_the_mast_is_up():
    pytest.skip("no mast on this machine")
"""
SKIPS_WHOLE = """
import pytest
pytest.importorskip("no_such_package")
def test_the_mast_is_up(): pass
"""
TOUCHES = """
import pytest
from django.db import connection
@pytest.mark.django_db
def test_reads_the_database(): assert connection.vendor
@pytest.mark.only_on("postgresql")
def test_takes_a_lock_only_postgres_has(): assert connection.vendor == "postgresql"
@pytest.mark.only_on("sqlite")
@pytest.mark.django_db
def test_keeps_a_file():
    assert connection.vendor == "sqlite"
    assert str(connection.settings_dict["NAME"]).endswith("test.sqlite3")
def test_adds(): assert 1 + 1 == 2
def test_opens_a_page(browser): assert browser
"""


@pytest.fixture
def planted(tmp_path: Path):
    """Return `run(source, *arguments, beside="", module="pytest", **variables)` -> (exit code,
    output); ``beside`` is the source of a second file."""

    def run(
        source: str, *arguments: str, beside: str = "", module: str = "pytest", **variables: str
    ):
        paths = [tmp_path / "test_planted.py", tmp_path / "test_beside.py"]
        for path, text in zip(paths, (source, beside), strict=True):
            path.write_text(text)
        (tmp_path / "conftest.py").write_text(CONFTEST)
        ours = ("CI", "STAYWARD_VAR")
        plain = {name: value for name, value in os.environ.items() if name not in ours}
        apart = ["--rootdir", tmp_path, "-o", f"cache_dir={tmp_path}"]
        done = subprocess.run(
            [sys.executable, "-m", module, *arguments, *SUITE, *apart, *paths],
            cwd=ROOT,
            env={**plain, **variables},
            capture_output=True,
            text=True,
            check=False,
        )
        return done.returncode, done.stdout + done.stderr

    return run


def test_a_skip_is_said_aloud_on_a_machine_of_ones_own_and_a_warning_is_an_error(planted):
    warns = "import warnings\ndef test_it(): warnings.warn('the swage is old', stacklevel=2)\n"
    code, output = planted(SKIPS, beside=warns)
    assert code == 1
    assert "1 failed, 1 skipped" in output
    assert "no mast on this machine" in output
    assert "the swage is old" in output


def test_a_skip_of_a_test_or_of_a_whole_file_is_a_failure_on_ci(planted):
    code, output = planted(SKIPS, "--continue-on-collection-errors", beside=SKIPS_WHOLE, CI="true")
    assert code != 0
    assert "1 failed, 1 error" in output
    assert output.count("CI=true allows no skip") >= 2


def test_on_sqlite_everything_runs_but_what_is_postgres_own(planted):
    code, output = planted(TOUCHES, "-m", "not browser", STAYWARD_DATABASE="")
    assert code == 0, output
    assert "3 passed, 2 deselected" in output


def test_on_postgres_what_touches_the_database_runs_again(planted, postgres_url):
    code, output = planted(TOUCHES, "--database-only", STAYWARD_DATABASE=postgres_url)
    assert code == 0, output
    assert "1 passed, 4 deselected" in output


@pytest.fixture
def servers(postgres_server: str, redis_server_url: str) -> dict[str, str]:
    """Those that already run, for a test command inside the test command."""
    return {postgres.GIVEN: postgres_server, redis_server.GIVEN: redis_server_url}


def test_the_command_fails_when_a_test_fails_on_one_of_the_databases(planted, servers):
    source = (
        TOUCHES + "@pytest.mark.django_db\ndef test_locks(): assert connection.vendor == 'sqlite'\n"
    )
    code, output = planted(source, "-k", "locks or keeps", module="tests", **servers)
    assert code == 1
    sqlite, _, postgresql = output.partition("== postgresql")
    assert "2 passed" in sqlite.partition("== sqlite")[2]
    assert "1 failed" in postgresql


@pytest.mark.parametrize(
    ("codes", "verdict"), [([0, 0], 0), ([0, 5], 0), ([5, 5], 5), ([0, 1], 1), ([2, 0], 2)]
)
def test_one_of_the_databases_may_have_nothing_to_run_but_not_both(codes, verdict):
    assert _verdict(codes) == verdict


def test_every_variable_the_program_reads_is_in_the_example():
    sources = [*ROOT.glob("fleet/project/*.py"), ROOT / "fleet/bootstrap.py"]
    sources += ROOT.glob("tests/services/*.py")
    read = {name for path in sources for name in VARIABLE.findall(path.read_text())}
    # Django's, made from the rest or fixed; and what `serve` hands down to what it starts.
    settings = {
        "STAYWARD_BESIDE",
        "STAYWARD_ENVIRONMENT",
        "STAYWARD_ONLY_HERE",
        "STAYWARD_PRODUCTION",
        "STAYWARD_HAS_SECRET_KEY",
        "STAYWARD_JOBS",
        "STAYWARD_ROUNDS",
    }
    named = set(VARIABLE.findall((ROOT / ".env.example").read_text()))
    assert read - settings == named
