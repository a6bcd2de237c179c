"""`serve` in the embedded mode: pages and ticker, two processes that begin and end together."""

import os
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from email import message_from_bytes, policy
from functools import partial
from pathlib import Path

import pytest

from fleet.management.commands.serve import is_free
from fleet.project.beside import end_when_gone
from tests.demonstration import DATABASE, ROOT, copied, embedded, manage
from tests.faults.stage import MADE
from tests.production import Visitor, answers, wait_for
from tests.services import processes
from tests.workbooks import small, xlsx


@dataclass
class Serving:
    """A running `serve`: its process, its var/ and its address."""

    folder: Path
    url: str
    process: subprocess.Popen

    @property
    def log(self) -> str:
        return (self.folder / "server.log").read_text()

    def children(self) -> dict[str, int]:
        """Return gunicorn's and the ticker's process ids."""
        pid = self.process.pid
        found = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
        names = {int(child): Path(f"/proc/{child}/cmdline").read_text() for child in found}
        return {
            name: child for child, line in names.items() for name in ("gunicorn", "ticker")
            if name in line
        }  # fmt: skip

    def sql(self, query: str) -> list[tuple]:
        with closing(sqlite3.connect(self.folder / DATABASE, timeout=20)) as database:
            rows = database.execute(query).fetchall()
            database.commit()
            return rows


@pytest.fixture(scope="module")
def club(tmp_path_factory) -> Iterator[tuple[Path, str]]:
    """A var/ with one empty fleet, and its manager's password."""
    folder = tmp_path_factory.mktemp("club")
    assert manage(folder, "migrate", "-v0", "--skip-checks").returncode == 0
    made = manage(folder, "new_fleet", "Our Club", "mona@example.org")
    assert made.returncode == 0, made.stderr
    return folder, made.stdout.split()[-1].rstrip(".")


@pytest.fixture
def serving(club, tmp_path) -> Iterator[Serving]:
    folder, port = copied(club[0], tmp_path / "var"), processes.free_port()
    url = f"http://127.0.0.1:{port}"
    command = [sys.executable, str(ROOT / "manage.py"), "serve", f"--port={port}"]
    answering = partial(answers, url)
    with processes.running(command, folder, answering, env=embedded(folder), seconds=90) as process:
        yield Serving(folder, url, process)


def gone(pid: int) -> bool:
    status = Path(f"/proc/{pid}/status")
    return not status.exists() or "State:\tZ" in status.read_text()


def test_the_ticker_writes_what_is_handed_in_on_the_pages(serving, club):
    mona = Visitor(serving.url)
    mona.sign_in("mona@example.org", club[1])
    mona.hand_in("/our-club/import/", xlsx(small())[0].content)
    mona.post(mona.at, file=mona.at.partition("file=")[2], take="all")
    work = mona.at
    wait_for(lambda: mona.json(f"{work}?as=json")["over"])
    assert "Written: 19 new rows" in mona.open(work)
    wait_for(lambda: serving.sql("SELECT state FROM fleet_workrow WHERE kind = 'refresh'"))
    wait_for(lambda: "Refresh of the forecast: done" in mona.open(f"{work[:-2]}{last(serving)}/"))

    # Reminders of the boats just written: their links name the port that serve took.
    mona.open("/our-club/reminders/")
    mona.post("/our-club/reminders/let-go/")
    letters = serving.folder / "mail"
    wait_for(lambda: list(letters.glob("*.eml")))
    letter = message_from_bytes(next(letters.glob("*.eml")).read_bytes(), policy=policy.default)
    text = letter.get_body(("plain",)).get_content()
    assert f"{serving.url}/our-club/" in text
    assert ":8000" not in text
    # The clock kept a copy of the database, whole and readable.
    [copy] = (serving.folder / "backups").iterdir()
    assert copy.stat().st_mode & 0o077 == 0
    with closing(sqlite3.connect(copy)) as database:
        assert database.execute("SELECT name FROM fleet_fleet").fetchall() == [("Our Club",)]


def last(serving: Serving) -> int:
    return serving.sql("SELECT id FROM fleet_workrow WHERE kind = 'refresh'")[0][0]


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
def test_pages_and_ticker_end_together_when_asked(serving, how):
    children = serving.children()
    assert set(children) == {"gunicorn", "ticker"}
    serving.process.send_signal(how)
    assert serving.process.wait(30) == 0
    assert all(gone(pid) for pid in children.values())
    assert "Traceback" not in serving.log
    assert not answers(serving.url)


def test_pages_without_their_ticker_are_not_left_standing(serving):
    children = serving.children()
    os.kill(children["ticker"], signal.SIGKILL)
    assert serving.process.wait(30) == 1
    assert gone(children["gunicorn"])
    assert "The process of the ticker ended by itself" in serving.log


def test_all_that_serve_started_ends_when_it_was_killed_and_could_end_nothing(serving):
    """With SIGKILL, which no program can catch; the port is free again for the next start."""
    everything = [*serving.children().values(), *workers_of(serving.children()["gunicorn"])]
    assert len(everything) >= 3, "gunicorn, its worker, the ticker"
    serving.process.kill()
    serving.process.wait()
    wait_for(lambda: all(gone(pid) for pid in everything))
    assert is_free("127.0.0.1", int(serving.url.rpartition(":")[2]))


def workers_of(pid: int) -> list[int]:
    return [int(child) for child in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def test_where_the_kernel_does_not_tell_a_watch_does():
    watched = subprocess.Popen(["sleep", "60"])
    ended = subprocess.Popen(["sleep", "60"])
    watch = end_when_gone(watched.pid, ended.pid)
    assert ended.poll() is None
    watched.kill()
    watched.wait()
    assert ended.wait(10) == -signal.SIGTERM
    watch.join(10)


def test_cron_twice_and_the_ticker_at_once_send_each_message_once(club, tmp_path, smtp_sink):
    """Three processes on one SQLite database; twelve owners and a bosun, all due."""
    folder = copied(club[0], tmp_path / "var")
    env = embedded(folder) | {"STAYWARD_MAIL": smtp_sink.url, "PYTHONPATH": str(ROOT)}
    made = MADE.format(slug="side", fleets=1, boats=12)
    assert manage(folder, "shell", "-c", made, PYTHONPATH=str(ROOT)).returncode == 0
    commands = (["send_reminders"], ["send_reminders"], ["ticker", "--once"])
    at_once = [
        subprocess.Popen(
            [sys.executable, str(ROOT / "manage.py"), *command], env=env,
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
        )
        for command in commands
    ]  # fmt: skip
    said = [process.communicate(timeout=120)[0] for process in at_once]
    assert [process.returncode for process in at_once] == [0, 0, 0], said
    ids = [message["Message-ID"] for message in smtp_sink.messages]
    assert len(ids) == len(set(ids)) == 13
    with closing(sqlite3.connect(folder / DATABASE)) as database:
        states = "SELECT state, count(*) FROM inspections_reminder GROUP BY state"
        assert database.execute(states).fetchall() == [("sent", 12 * 3 * 2)]
