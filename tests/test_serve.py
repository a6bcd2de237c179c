"""`serve` in the embedded mode: pages and ticker, two processes that begin and end together."""

import os
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import pytest

from tests.demonstration import DATABASE, ROOT, copied, embedded, manage
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
    assert manage(folder, "migrate", "-v0").returncode == 0
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


def test_a_ticker_whose_serve_was_killed_ends_by_itself(serving):
    children = serving.children()
    serving.process.kill()
    serving.process.wait()
    try:
        wait_for(lambda: gone(children["ticker"]))
    finally:
        os.kill(children["gunicorn"], signal.SIGTERM)
        wait_for(lambda: gone(children["gunicorn"]))
