"""What every test may ask for: real servers, a real browser, and the rules of the house.

Skips are failures under CI=true. Tests that touch the database run a second time on PostgreSQL
(`--database-only`, which the test command passes).
"""

import importlib.util
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
import redis
from django.conf import settings
from django.db import connection
from django.test import TransactionTestCase

from tests.services import postgres, redis_server

pytest_plugins = ["tests.pages", "tests.demonstration", "tests.production"]

ON_CI = os.environ.get("CI", "").lower() in ("1", "true")
DATABASE_FIXTURES = {"db", "transactional_db", "live_server"}
SERVICE_FIXTURES = {"redis_url", "postgres_url", "smtp_sink", "production"}
BROWSER_FIXTURES = {"browser", "page_at"}
ONLY_TESTS_NEED = ("hypothesis", "playwright", "aiosmtpd")
# What they check is worked out in Python from rows that other tests put into both databases.
ONE_DATABASE_WILL_DO = (
    "tests/test_query_counts.py",
    "tests/test_whose_data.py",
    "tests/forecasting/papers/",
    "tests/forecasting/demo_fleet/",
    "tests/forecasting/test_ages.py",
    "tests/forecasting/orders/",
    "tests/forecasting/test_curves.py",
    "tests/forecasting/test_charts.py",
    "tests/forecasting/test_chart_titles.py",
    "tests/forecasting/test_hours_list.py",
    "tests/forecasting/test_life_data",
    "tests/forecasting/test_outlook_rows.py",
    "tests/forecasting/test_plan.py",
    "tests/forecasting/test_practice.py",
    "tests/forecasting/test_record_newer.py",
    "tests/forecasting/test_refresh_money.py",
    "tests/forecasting/test_refresh_books.py",
    "tests/forecasting/test_trust.py",
    "tests/forecasting/test_watches.py",
    "tests/forecasting/test_watched_pages.py",
    "tests/forecasting/test_yard_board_pages.py",
    "tests/forecasting/test_yard_limits_pages.py",
    "tests/forecasting/test_yard_plans.py",
    "tests/forecasting/test_budget_sheet.py",
    "tests/fleet/test_work_pages.py",
    "tests/forecasting/test_summary_mail.py",
    "tests/inspections/test_after_pages.py",
    "tests/inspections/test_alike.py",
    "tests/inspections/test_asked_sheets.py",
    "tests/inspections/test_boat_form.py",
    "tests/inspections/test_calendar_file.py",
    "tests/inspections/test_dock_form.py",
    "tests/inspections/test_due_chart.py",
    "tests/inspections/test_export_complete.py",
    "tests/inspections/test_import_page.py",
    "tests/inspections/test_inspection_pages.py",
    "tests/inspections/test_part_table.py",
    "tests/inspections/test_removals.py",
    "tests/inspections/test_whole_rig.py",
    "tests/inspections/test_hostile_words.py",
    "tests/inspections/test_import_faults.py",
    "tests/inspections/test_import_laws.py",
    "tests/inspections/test_import_match.py",
    "tests/inspections/test_kept_matches.py",
    "tests/inspections/test_limit_pages.py",
    "tests/inspections/test_match_",
)
# Minutes of processor for what others show too: tried when asked to be thorough.
WHEN_THOROUGH = (
    # The same journeys as on a phone, on a desk.
    "tests/inspections/test_import_match.py::test_a_bosun_matches_by_hand[1200]",
    "tests/inspections/test_import_page.py::test_a_manager_imports_by_hand[1200]",
    "tests/inspections/test_entry_in_browser.py::test_a_manager_puts_up_a_rig_on_two_sisters[1280]",
    "tests/inspections/test_entry_in_browser.py::test_a_wrong_line_is_put_right_on_the_spot[1280]",
    "tests/forecasting/demo_fleet/test_growth.py::test_a_thousand_boats_stand_on_twelve",
    "tests/test_demo.py::test_run_twice_the_demo_changes_nothing",
    "tests/forecasting/survival/test_chain.py::test_lives_that_are_told_to_the_week",
    "tests/test_bootstrap.py::test_an_environment_made_by_hand",
    "tests/test_bootstrap.py::test_a_set_up_killed_half_way",
    "tests/test_bootstrap.py::test_an_environment_whose_python_is_gone",
    "tests/test_serve.py::test_pages_and_ticker_end_together_when_asked[2]",
    "tests/test_serve.py::test_pages_without_their_ticker",
    "tests/fleet/test_serve.py::test_a_database_that_is_not_up_to_date",
    "tests/inspections/test_new_fleet_in_browser.py::test_base_boat_and_whole_rig_are_entered_by_"
    "hand_and_the_fleet_is_forecast[390]",
    "tests/test_pages.py::test_a_page_says_its_date_fits_the_screen_and_the_thumb_and_shuts_nobody_"
    "out[club",
)
THOROUGH = bool(os.environ.get("STAYWARD_TEST_THOROUGH"))
LONG = (
    "tests/test_pages.py",
    "tests/inspections/test_hostile_files.py",
    "tests/test_production.py",
    "tests/inspections/test_dock_phone.py",
    "tests/test_serve.py",
    "tests/test_tasks.py",
    "tests/fleet/test_serve.py",
    "tests/test_bootstrap.py",
    "tests/test_readme.py",
    "tests/test_suite.py",
    "tests/test_demo.py",
    "tests/forecasting/test_back_testing.py",
    "tests/forecasting/survival/",
)


# -- the rules of the house


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--database-only",
        action="store_true",
        help="only the tests that touch the database, without those in a browser",
    )


def pytest_configure(config: pytest.Config) -> None:
    missing = [name for name in ONLY_TESTS_NEED if importlib.util.find_spec(name) is None]
    if missing:
        raise pytest.UsageError(
            f"not installed: {', '.join(missing)}. Run: python3 manage.py test "
            "(it installs tests/requirements.txt first)"
        )
    _use_scratch_folder(Path(tempfile.mkdtemp(prefix="stayward-tests-")))


def pytest_unconfigure(config: pytest.Config) -> None:
    shutil.rmtree(os.environ["STAYWARD_VAR"], ignore_errors=True)


def _use_scratch_folder(folder: Path) -> None:
    """Keep the database, mail and pictures of tests, and of what they start, out of var/."""
    os.environ["STAYWARD_VAR"] = str(folder)
    settings.VAR_DIR = folder
    settings.EMAIL_FOLDER = folder / "mail"
    settings.STAYWARD_BACKUPS = 0  # A test that looks for the daily copy asks for it.
    settings.STATIC_ROOT = folder / "static"
    settings.STATIC_ROOT.mkdir()


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    for item in items:
        _mark(item)
    items.sort(key=_turn)
    short = [item for item in items if THOROUGH or not item.nodeid.startswith(WHEN_THOROUGH)]
    kept = [item for item in short if _belongs_here(item, config.getoption("--database-only"))]
    if len(kept) < len(items):
        config.hook.pytest_deselected(items=[item for item in items if item not in kept])
        items[:] = kept


def _turn(item: pytest.Item) -> int:
    """Files that take minutes go first, so that no worker waits at the end for the last of them.

    A file stays whole, and its tests in their order: the sort keeps what is equal as it was.
    """
    turns = (turn for turn, file in enumerate(LONG) if item.nodeid.startswith(file))
    return next(turns, len(LONG))


def _mark(item: pytest.Item) -> None:
    fixtures = set(getattr(item, "fixturenames", ()))
    if fixtures & BROWSER_FIXTURES:
        item.add_marker(pytest.mark.browser)
    if fixtures & SERVICE_FIXTURES:
        item.add_marker(pytest.mark.services)


def _belongs_here(item: pytest.Item, database_only: bool) -> bool:
    only_on = item.get_closest_marker("only_on")
    if only_on and connection.vendor not in only_on.args:
        return False
    if not database_only:
        return True
    of_one = item.nodeid.startswith(ONE_DATABASE_WILL_DO)
    return _touches_database(item) and not _in_browser(item) and not of_one


def _touches_database(item: pytest.Item) -> bool:
    of_django = issubclass(getattr(item, "cls", None) or object, TransactionTestCase)
    marked = item.get_closest_marker("django_db") is not None
    return of_django or marked or bool(set(item.fixturenames) & DATABASE_FIXTURES)


def _in_browser(item: pytest.Item) -> bool:
    return item.get_closest_marker("browser") is not None


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo):
    return _no_skip_on_ci((yield))


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report(collector: pytest.Collector):
    return _no_skip_on_ci((yield))


def _no_skip_on_ci(report):
    if ON_CI and report.skipped and not hasattr(report, "wasxfail"):
        reason = report.longrepr[-1] if isinstance(report.longrepr, tuple) else report.longrepr
        report.outcome = "failed"
        report.longrepr = f"CI=true allows no skip, and {report.nodeid} skipped itself: {reason}"
    return report


# -- the database


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings_parallel_suffix: None) -> None:
    """SQLite in a file, as in use (in memory, locking would differ); no connection is kept."""
    database = settings.DATABASES["default"]
    database["CONN_MAX_AGE"] = 0
    if connection.vendor == "sqlite":
        database["TEST"]["NAME"] = str(Path(os.environ["STAYWARD_VAR"]) / "test.sqlite3")


# -- real servers


@pytest.fixture(scope="session")
def redis_server_url() -> Iterator[str]:
    with redis_server.running() as url:
        yield url


@pytest.fixture
def redis_url(redis_server_url: str, worker_id: str) -> Iterator[str]:
    """URL of an empty database of a real Redis; each worker of xdist has its own."""
    number = 0 if worker_id == "master" else 1 + int(worker_id.removeprefix("gw"))
    url = f"{redis_server_url}/{number}"
    with redis.Redis.from_url(url) as client:
        client.flushdb()
        yield url
        client.flushdb()


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    with postgres.running() as url:
        yield url


@pytest.fixture
def postgres_url(postgres_server: str) -> Iterator[str]:
    """URL of a new, empty database on a real PostgreSQL, as STAYWARD_DATABASE takes it.

    For what is started as a process of its own. Tests in this process use Django's database,
    which the second run of the test command puts on PostgreSQL.
    """
    with postgres.fresh_database(postgres_server) as url:
        yield url


@pytest.fixture
def smtp_sink():
    """A real SMTP server: .url for STAYWARD_MAIL, .messages in order, .answer to refuse."""
    from tests.services import smtp

    with smtp.running() as sink:
        yield sink
