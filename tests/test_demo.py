"""The first command of the README, as a stranger runs it, and once more."""

import json
import re
import sqlite3
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest

from forecasting.demo_fleet.truth import TRUTH
from tests.demonstration import DATABASE, PASSWORD, Demo, copied, manage, rows_of

pytestmark = pytest.mark.only_on("sqlite")
SECONDS = r"\(\d+\.\d s\)$"
# What each fleet is taken through, each step with what came of it and its seconds.
STEPS = (
    rf"  Workbook imported: [1-9]\d* new rows, \d+ boats, \d+ inspections {SECONDS}",
    rf"  What its people put on record since: \d+ events and looks, [1-9]\d* photos, .+ {SECONDS}",
    rf"  Record read: \d+ boats, [\d,]+ inspections up to 14 Oct 2026 {SECONDS}",
    rf"  Life of wires: [\d,]+ spots, \d+ condemned, [\d,]+ left out; .+ {SECONDS}",
    rf"  Life of turnbuckles: .+ {SECONDS}",
    rf"  Life of chainplates: .+ {SECONDS}",
    rf"  What becomes of a watch: \d+ of \d+ watches followed up; .+ {SECONDS}",
    rf"  Outlook: [\d,]+ parts on \d+ boats {SECONDS}",
    rf"  Refit list: [1-9]\d* parts on \d+ boats {SECONDS}",
    rf"  Budget: 10 fiscal years by fleet, base and boat {SECONDS}",
    rf"  Other ways to keep the rigs: as planned, on condition alone, at a fixed age {SECONDS}",
    rf"  Weeks of the yard: [1-9]\d* boats have their weeks.*, gap 0\.\d\d % {SECONDS}",
    rf"  Ages and intervals that cost least: [1-9]\d* groups of parts, \d+ kinds of look {SECONDS}",
    rf"  Plans of the coming off seasons: [02] plans worked out {SECONDS}",
    rf"  Books kept: [1-9]\d* invoices, a reserve, a frozen budget {SECONDS}",
    rf"  Work ordered: (7|no) work orders {SECONDS}",
    rf"  Reminders queued: [1-9]\d* waiting to be sent {SECONDS}",
)
RESULT = (
    r": \d+ boats, \d+ held, \d+ to look at now\.$",
    r"  Off season 2026/27: renew [1-9]\d* parts on \d+ boats, [\d,]+ EUR\.$",
    r"  Budget (2026/27|2027): most likely [\d,]+ to [\d,]+ EUR\.$",
    r"  Past forecasts: their test begins when the pages are served, and takes a minute or two\.$",
)


def count(demo: Demo, query: str) -> int:
    with closing(sqlite3.connect(demo.folder / DATABASE)) as database:
        return database.execute(query).fetchone()[0]


@pytest.mark.parametrize("step", STEPS)
def test_the_demo_says_each_step_of_both_fleets_with_its_seconds(demo: Demo, step: str):
    assert len(re.findall(step, demo.said, re.MULTILINE)) == 2


@pytest.mark.parametrize("line", RESULT)
def test_the_demo_ends_in_a_result_a_manager_understands(demo: Demo, line: str):
    result = demo.said.partition("\nThe result\n")[2]
    assert len(re.findall(line, result, re.MULTILINE)) == 2
    assert "A forecast never clears a part" in result


def test_the_charter_group_has_two_plans_and_every_job_says_why(demo: Demo):
    planned = "SELECT count(*) FROM forecasting_seasonscenario WHERE planned_at IS NOT NULL"
    assert count(demo, planned) == 2
    jobs = "SELECT count(*) FROM forecasting_scenariojob WHERE"
    assert count(demo, f"{jobs} reason = ''") == 0
    assert count(demo, f"{jobs} code = 'pinned' AND season = 1") >= 1
    assert count(demo, f"{jobs} code = 'condemned'") >= 2


def test_every_boat_of_the_list_has_its_weeks_and_none_goes_over_what_the_yard_has(demo: Demo):
    boats = count(demo, "SELECT COUNT(DISTINCT boat_id) FROM forecasting_refitjob")
    placed = "SELECT COUNT(*) FROM forecasting_yardvisit WHERE first_week IS NOT NULL"
    assert count(demo, placed) == boats
    lacking = "SELECT COUNT(*) FROM forecasting_yardplan WHERE json_array_length(found, '$.lacks')"
    assert count(demo, lacking) == 0
    down = "SELECT base_id, first_week FROM forecasting_yardvisit WHERE mast_down"
    most = f"SELECT MAX(n) FROM (SELECT COUNT(*) AS n FROM ({down}) GROUP BY base_id, first_week)"
    assert count(demo, most) <= 2  # a crane day a week


def test_the_result_is_what_the_database_holds(demo: Demo):
    held, parts = (
        int(number)
        for number in re.search(
            r"Vessmark Charter: \d+ boats, (\d+) held.*\n.*renew (\d+) parts", demo.said
        ).groups()
    )
    of_boats = "JOIN fleet_boat b ON b.id = x.boat_id JOIN fleet_fleet f ON f.id = b.fleet_id"
    vessmark = f"{of_boats} WHERE f.slug = 'vessmark'"
    assert held == count(
        demo,
        f"SELECT count(DISTINCT x.boat_id) FROM inspections_hold x {vessmark} "
        "AND x.lifted_on IS NULL",
    )
    assert parts == count(
        demo, f"SELECT count(x.installation_id) FROM forecasting_refitjob x {vessmark}"
    )


def of_fleet(demo: Demo, slug: str, table: str, *columns: str) -> tuple:
    """Return the first row of a table of one fleet's."""
    query = (
        f"SELECT {', '.join(f'x.{name}' for name in columns)} FROM {table} x "
        f"JOIN fleet_fleet f ON f.id = x.fleet_id WHERE f.slug = '{slug}'"
    )
    with closing(sqlite3.connect(demo.folder / DATABASE)) as database:
        return database.execute(query).fetchone()


def test_the_charter_group_finds_the_delay_its_defects_were_simulated_with(demo: Demo):
    state, result = of_fleet(demo, "vessmark", "forecasting_conditionrun", "state", "result")
    assert state == "fitted"
    sample = np.array(json.loads(result)["condition"]["sample"])
    low, high = np.quantile(sample, (0.01, 0.99), axis=0)
    truth = np.array([TRUTH.delay, TRUTH.detection, TRUTH.false_watch])
    assert np.all((low < truth) & (truth < high)), (low, high)


def test_the_club_has_too_few_watches_and_is_told_so(demo: Demo):
    columns = ("state", "followed", "sentence")
    state, followed, sentence = of_fleet(demo, "lysnevik", "forecasting_conditionrun", *columns)
    assert (state, followed < 20) == ("refused", True)
    assert f"{followed} of them looked at again or condemned since; 20 are needed" in sentence


@pytest.mark.parametrize("slug", ["vessmark", "lysnevik"])
def test_stays_fail_in_service_at_the_published_order(demo: Demo, slug: str):
    """0.54 % dismastings per vessel-year, about 350 inspected sail vessels in 8 years (US Coast
    Guard inspector training, July 2014); here for boats nobody looks at all season."""
    (chance,) = of_fleet(demo, slug, "forecasting_failingrate", "chance")
    assert 0.0054 / 4 < chance < 0.0054 * 4


def test_the_test_of_past_forecasts_waits_for_the_pages_once_for_each_fleet(demo: Demo):
    waiting = "SELECT count(*) FROM fleet_workrow WHERE kind = 'back_test' AND state = 'waiting'"
    assert count(demo, waiting) == 2
    assert count(demo, "SELECT count(*) FROM fleet_workrow") == 2


def test_three_people_are_told_how_to_sign_in(demo: Demo):
    logins = demo.said.partition("\nSign in as\n")[2]
    people = {tuple(line) for line in re.findall(r"^  (\w+) / (\S+) +(\S.*) of ", logins, re.M)}
    assert people == {
        ("maren", PASSWORD, "base manager"),
        ("oskar", PASSWORD, "bosun"),
        ("joana", PASSWORD, "accountant"),
    }


def test_both_fleets_believe_it_is_their_own_date(demo: Demo):
    assert count(demo, "SELECT count(*) FROM fleet_fleet WHERE as_of = '2026-10-14'") == 2
    assert (
        count(demo, "SELECT count(*) FROM inspections_inspection WHERE \"on\" > '2026-10-14'") == 0
    )


OF_BOAT = """boat_id IN
    (SELECT b.id FROM fleet_boat b JOIN fleet_fleet f ON f.id = b.fleet_id WHERE f.slug = ?)"""
OF_REPORT = f"report_id IN (SELECT id FROM inspections_report WHERE {OF_BOAT})"
OF_LOOK = f"inspection_id IN (SELECT id FROM inspections_inspection WHERE {OF_BOAT})"
AFTER_A_FIND = {
    "a boat held by an event": f"inspections_hold WHERE {OF_BOAT} AND cause = 'event' "
    "AND lifted_on IS NULL",
    "an event riggers have looked at since": f"inspections_hold WHERE {OF_BOAT} "
    "AND cause = 'event' AND lifted_on > '2026-08-01'",
    "a report": f"inspections_report WHERE {OF_BOAT}",
    "a recommendation done": f"inspections_recommendation WHERE {OF_REPORT} AND state = 'done'",
    "one late": f"inspections_recommendation WHERE {OF_REPORT} AND state = 'open' "
    "AND by_when < '2026-10-14'",
    "a mast signed for twice": f"inspections_stepping WHERE {OF_BOAT} AND second_on IS NOT NULL",
    "one not re-tensioned": f"inspections_stepping WHERE {OF_BOAT} AND retensioned_on IS NULL",
    "an inspection sent from a phone": f"inspections_dockupload WHERE {OF_BOAT}",
    "a hand-in": f"inspections_handin WHERE {OF_BOAT}",
    "a photo of what was found": f"inspections_photo WHERE {OF_LOOK} AND finding_id IS NOT NULL",
    "a part in store": "fleet_spare WHERE base_id IN (SELECT a.id FROM fleet_base a "
    "JOIN fleet_fleet f ON f.id = a.fleet_id WHERE f.slug = ?)",
}


@pytest.mark.parametrize("slug", ["vessmark", "lysnevik"])
def test_no_page_of_what_follows_a_find_opens_empty(demo: Demo, slug: str):
    with closing(sqlite3.connect(demo.folder / DATABASE)) as database:
        found = {
            what: database.execute(f"SELECT count(*) FROM {rows}", [slug]).fetchone()[0]
            for what, rows in AFTER_A_FIND.items()
        }
    assert [what for what, number in found.items() if not number] == []


def test_the_charter_group_has_a_conflict_a_second_judgement_and_a_part_that_let_go(demo: Demo):
    assert count(demo, "SELECT count(*) FROM inspections_dockupload WHERE state = 'conflict'") == 1
    assert count(demo, "SELECT count(*) FROM inspections_rejudgement WHERE value = 'replace'") == 1
    assert count(demo, "SELECT count(*) FROM inspections_failure") == 1
    assert count(demo, "SELECT count(*) FROM inspections_yardmove") == 1


def test_every_photo_and_report_of_the_demo_has_its_file(demo: Demo):
    photos = count(demo, "SELECT count(*) FROM inspections_photo")
    assert len(list(demo.folder.glob("photos/*/*-small.jpg"))) == photos > 10
    reports = count(demo, "SELECT count(*) FROM inspections_report")
    assert len(list(demo.folder.glob("reports/*/*.pdf"))) == reports > 2


def test_run_twice_the_demo_changes_nothing(demo: Demo, tmp_path: Path):
    again = copied(demo.folder, tmp_path / "var")
    done = manage(again, "demo", "--no-serve")
    assert done.returncode == 0, done.stderr
    assert done.stdout.count("Workbook imported: 0 new rows") == 2
    assert done.stdout.count("put on record since: nothing new") == 2
    assert done.stdout.count("Saved: nothing changed") == 2
    before, after = rows_of(demo.folder / DATABASE), rows_of(again / DATABASE)
    assert sum(map(len, before.values())) > 50_000
    assert [table for table in before if before[table] != after[table]] == []
    assert before.keys() == after.keys()
