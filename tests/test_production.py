"""Production with its real servers: the pages ask, workers do, two of each double nothing."""

import io
import re
import subprocess
import sys
import threading
import time
from collections import Counter
from contextlib import ExitStack
from dataclasses import replace

import psycopg
import pytest
from python_calamine import CalamineWorkbook

from tests.demonstration import ROOT
from tests.faults import kills, stage, tally, traps
from tests.production import Production, Visitor, wait_for
from tests.services import postgres, processes, redis_server
from tests.workbooks import small, xlsx

TICKS = "fleet.tasks.tick"
OPEN = "SELECT count(*) FROM fleet_workrow WHERE state IN ('waiting', 'running')"


WORK = """SELECT w.kind, w.state, w.tries, w.outcome FROM fleet_workrow w
    JOIN fleet_fleet f ON f.id = w.fleet_id WHERE f.slug = 'our-club' ORDER BY w.id"""
LET_GO = """INSERT INTO inspections_reminderrules (fleet_id, manager_after_days,
    manager_of_holds, tried_for_hours, approved_at, approved_by)
    SELECT id, 7, true, 72, now(), 'Mona' FROM fleet_fleet WHERE slug = 'our-club'
    ON CONFLICT (fleet_id) DO UPDATE SET approved_at = now()"""
STATES = "SELECT DISTINCT state FROM inspections_reminder"


@pytest.fixture(scope="module")
def mona(production: Production) -> Visitor:
    """The manager of a new fleet, who has handed in a workbook and seen it written."""
    said = production.manage("new_fleet", "Our Club", "mona@example.org")
    mona = Visitor(production.url)
    mona.sign_in("mona@example.org", said.split()[-1].rstrip("."))
    mona.hand_in("/our-club/import/", xlsx(small())[0].content)
    assert "All good: 19 new rows" in mona.page
    mona.post(mona.at, file=mona.at.partition("file=")[2], take="all")
    assert "<h1>Import: " in mona.page
    work = mona.at
    wait_for(lambda: mona.json(f"{work}?as=json")["over"])
    assert "Written: 19 new rows" in mona.open(work)
    return mona


def test_a_workbook_handed_in_is_written_and_forecast_by_the_workers(production, mona):
    wait_for(lambda: production.sql(OPEN) == [(0,)])
    written, forecast = production.sql(WORK)[:2]
    assert written[:3] == ("import", "done", 1)
    assert forecast[:3] == ("refresh", "done", 1)
    assert "on 2 boats" in forecast[3]
    assert "Tern" in mona.open("/our-club/outlook/")


def done(production, mona, address: str, **said: str) -> str:
    """Ask for work on a page, and return its page when a worker has done it."""
    mona.post(address, **said)
    work = mona.at
    wait_for(lambda: mona.json(f"{work}?as=json")["over"])
    return mona.open(work)


def test_the_workers_plan_anew_and_make_the_export(production, mona):
    production.sql("UPDATE fleet_fleet SET price_growth = 0.2 WHERE slug = 'our-club'")
    assert "Plan anew" in mona.open("/our-club/refit/")
    assert "Planned as of" in done(production, mona, "/our-club/refit/plan/")
    assert "Plan anew" not in mona.open("/our-club/refit/")
    mona.open("/our-club/import/")
    page = done(production, mona, "/our-club/export/ask/")
    [download] = re.findall(r'href="(/our-club/work/\d+/file/)"', page)
    with mona.opener.open(production.url + download) as answer:
        book = CalamineWorkbook.from_filelike(io.BytesIO(answer.read()))
    assert "Tern" in [row[0] for row in book.get_sheet_by_name("boats").to_python()]


def test_two_beats_and_a_worker_killed_while_it_sends_double_nothing(production, mona):
    """Killed with SIGKILL between handing the message over and hearing that it arrived."""
    handed_over, killed = threading.Event(), threading.Event()

    def hold(message) -> str:
        handed_over.set()
        killed.wait(20)
        return "250 kept"

    production.sink.answer = hold
    production.sql(LET_GO)
    production.sql("UPDATE fleet_fleet SET reminders_from = 0")
    with production.beat("beat-1"), production.beat("beat-2"):
        for _ in range(3):
            production.ring(TICKS)
        assert handed_over.wait(30)
        assert production.kill_hands() == 2
        killed.set()
        # Nobody takes it up while it may still be in hand: two minutes the work, 15 the mail.
        production.ring(TICKS)
        time.sleep(2)
        assert production.sql(STATES) == [("sending",)]
        assert len(production.sink.messages) == 1
        let_the_leases_run_out(production)
        for _ in range(3):
            production.ring(TICKS)
        wait_for(lambda: production.sql(STATES) == [("sent",)])
        ticks = ("beat-1", "beat-2")
        wait_for(lambda: all("Sending due task tick" in production.log(each) for each in ticks))
        time.sleep(2)
        wait_for(lambda: production.sql(OPEN) == [(0,)])
    first, again = production.sink.messages
    assert first["Message-ID"] == again["Message-ID"]
    assert "mona@example.org" in first["To"] == again["To"]
    # What the clock asked for besides, while one lay half-sent, found nothing left to do.
    rounds = [row for row in production.sql(WORK) if row[0] == "reminders"]
    assert ("reminders", "done", 2) in [row[:3] for row in rounds], rounds


# Each phase once, and how what it began ends; ``python -m tests.faults reminders`` does 200.
SOME = [("claiming", "undone"), ("sending", "not accepted"), ("recording", "undone"),
        ("sending", "accepted"), ("recording", "committed")]  # fmt: skip


def test_workers_killed_in_each_phase_lose_no_reminder_and_double_none_but_in_the_window(
    production, mona
):
    """SIGKILL while claiming, sending and recording; 60 reminders to eleven people."""
    production.sink.answer = lambda message: "250 kept"
    stage.fleets_due(production, "killed", 1, 10)
    traps.set_up(production)
    done = kills.kill(production, SOME, seed=1)
    traps.take_down(production)
    kills.to_the_end(production, "killed", 60)
    result = tally.tally(production, "killed")
    assert result.faults(done) == []
    assert (result.reminders, result.messages, result.copies) == (60, 11, 2)


def test_two_commands_beside_two_workers_send_each_message_once(production, mona):
    stage.fleets_due(production, "beside", 1, 10)
    command = [sys.executable, str(ROOT / "manage.py"), "send_reminders", "--fleet", "beside-0"]
    quiet = {"env": production.env, "stdout": subprocess.DEVNULL}
    commands = [subprocess.Popen(command, **quiet) for _ in range(2)]
    production.ring(TICKS)
    assert [each.wait(60) for each in commands] == [0, 0]
    kills.to_the_end(production, "beside", 60)
    result = tally.tally(production, "beside")
    assert result.faults(Counter()) == []
    assert result.copies == 0


def test_a_forked_worker_draws_charts_and_sets_papers_again_and_again(production, mona):
    """Three mails over two prefork children: one of them draws a second time, and does not hang."""
    production.sink.answer = lambda message: "250 kept"
    before = len(production.sink.messages)
    for _ in range(3):
        mona.open("/our-club/budget/")
        mona.post("/our-club/summary/")
        work = mona.at
        wait_for(lambda: mona.json(f"{work}?as=json")["over"], 90)  # noqa: B023
        assert "Sent to mona@example.org" in mona.open(work)
    messages = production.sink.messages[before:]
    assert len({message["Message-ID"] for message in messages}) == 3
    pictures = set()
    for message in messages:
        types = [part.get_content_type() for part in message.walk()]
        assert types.count("application/pdf") == 2
        [image] = [part for part in message.walk() if part.get_content_type() == "image/png"]
        pictures.add(image.get_content())
    assert len(pictures) == 1  # of one record, whichever process drew it


def let_the_leases_run_out(site: Production) -> None:
    site.sql("UPDATE fleet_workrow SET lease_until = lease_until - interval '3 minutes' "
             "WHERE state = 'running'")  # fmt: skip
    site.sql("UPDATE inspections_reminder SET claimed_at = claimed_at - interval '16 minutes'")


# -- after the reminders of the day: a tick would send them earlier


def test_a_worker_keeps_the_copy_of_the_day_and_it_can_be_restored(
    production, mona, postgres_server
):
    for _ in range(3):
        production.ring(TICKS)
    copies = production.folder / "var" / "backups"
    [copy] = wait_for(lambda: list(copies.glob("*.dump")))
    kept = "SELECT state FROM fleet_workrow WHERE kind = 'backup'"
    wait_for(lambda: production.sql(kept) == [("done",)])
    with postgres.fresh_database(postgres_server) as url:
        restore = [
            postgres.find() / "pg_restore",
            "--no-owner",
            "--exit-on-error",
            f"--dbname={url}",
            copy,
        ]
        subprocess.run(restore, check=True, capture_output=True)
        everything = "SELECT name, base_id, joined FROM fleet_boat ORDER BY id"
        with psycopg.connect(url) as restored:
            boats = restored.execute(everything).fetchall()
    # Fleets set up after the copy of the day are not in it.
    fleets = {base for _, base, _ in boats}
    assert boats
    assert boats == [row for row in production.sql(everything) if row[1] in fleets]


ASK = """from fleet.models import Fleet
from fleet.work import asking
asking.ask(Fleet.objects.get(slug="our-club"), "refresh")"""


def test_a_redis_that_goes_down_and_forgets_everything_loses_no_work(production, mona, tmp_path):
    """Its queue is gone, and what is asked meanwhile rings nobody: the rows are still there."""
    last = "SELECT state, tries FROM fleet_workrow WHERE kind = 'refresh' ORDER BY id DESC LIMIT 1"
    port = processes.free_port()
    broker = {**production.env, "STAYWARD_REDIS": f"redis://127.0.0.1:{port}/0"}
    site = replace(production, env=broker, folder=tmp_path, workers=[])
    with ExitStack() as stack:
        _, server = stack.enter_context(redis_server.running_on(port))
        stack.enter_context(site.celery("worker", "worker", "--concurrency=1", "-n", "third@%h"))
        stack.enter_context(site.beat("beat"))
        wait_for(lambda: " ready." in site.log("worker"), 90)
        wait_for(lambda: "Sending due task tick" in site.log("beat"), 30)
        server.kill()
        server.wait()
        site.manage("shell", "-c", ASK)
        assert site.sql(last) == [("waiting", 0)]
        stack.enter_context(redis_server.running_on(port))
        wait_for(lambda: site.sql(last) == [("done", 1)], 60)
    assert production.sql(OPEN) == [(0,)]
