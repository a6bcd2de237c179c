"""The demonstration as a user has it: run once by its command, then served by the real server."""

import fcntl
import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

import pytest

from tests.services import processes

ROOT = Path(__file__).resolve().parent.parent
PASSWORD = "stayward-demo"
DATABASE = "stayward.sqlite3"


def manage(
    folder: Path, *arguments: str, seconds: float = 600, **variables: str
) -> subprocess.CompletedProcess:
    """Run a command of manage.py whose var/ is `folder`; return what it said and its exit code.

    Raises subprocess.TimeoutExpired: a server that should have refused would go on for ever.
    """
    return subprocess.run(
        [sys.executable, str(ROOT / "manage.py"), *arguments],
        check=False,
        cwd=ROOT,
        env={**embedded(folder), **variables},
        capture_output=True,
        text=True,
        stdin=subprocess.DEVNULL,
        timeout=seconds,
    )


def embedded(folder: Path) -> dict[str, str]:
    """The environment of the embedded mode, with this interpreter and var/ elsewhere."""
    plain = {name: value for name, value in os.environ.items() if not name.startswith("STAYWARD_")}
    plain.pop("DJANGO_SETTINGS_MODULE", None)
    ours = {"STAYWARD_NO_VENV": "1", "STAYWARD_VAR": str(folder), "STAYWARD_PAGE_WORKERS": "1"}
    return {**plain, **ours}


def copied(folder: Path, to: Path) -> Path:
    """Return a copy of a var/ that nobody writes to."""
    shutil.copytree(folder, to)
    return to


@dataclass(frozen=True)
class Demo:
    """The demonstration after its first run: `folder` is its var/, not to be written to."""

    folder: Path

    @property
    def said(self) -> str:
        return (self.folder / "said.txt").read_text()


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> Demo:
    """`manage.py demo --no-serve`, run once for all workers of the suite."""
    base = tmp_path_factory.getbasetemp()
    shared = base if worker_id == "master" else base.parent
    folder = shared / "demo"
    with (shared / "demo.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not folder.exists():
            _run_demo(folder)
    return Demo(folder)


def _run_demo(folder: Path) -> None:
    making = folder.with_name("demo-in-the-making")
    making.mkdir()
    done = manage(making, "demo", "--no-serve")
    assert done.returncode == 0, done.stdout + done.stderr
    (making / "said.txt").write_text(done.stdout + done.stderr)
    making.rename(folder)


@dataclass
class Served:
    """A demonstration that is being served: its address, its var/, and who is signed in."""

    url: str
    folder: Path
    sessions: dict[str, dict] = field(default_factory=dict)

    def ask(self, query: str, *values: object) -> list[tuple]:
        """Return the rows of a query, read beside the server."""
        with closing(sqlite3.connect(self.folder / DATABASE)) as database:
            return database.execute(query, values).fetchall()

    def one(self, query: str, *values: object) -> object:
        """Return the first value of the first row."""
        return self.ask(query, *values)[0][0]

    def manage(self, *arguments: str) -> subprocess.CompletedProcess:
        return manage(self.folder, *arguments)


@contextmanager
def served(folder: Path) -> Iterator[Served]:
    """Serve a var/ by `manage.py serve`; what broke on the server breaks the test.

    The test of past forecasts the demonstration asked for is taken back: for a minute nothing else
    would be done, and every server would do it anew. Tests of its own make it.
    """
    _take_back_the_test_of_past_forecasts(folder)
    port = processes.free_port()
    url = f"http://127.0.0.1:{port}"
    command = [sys.executable, str(ROOT / "manage.py"), "serve", f"--port={port}"]
    ready = {"env": embedded(folder), "seconds": 120}  # it starts slowly beside a busy suite
    with processes.running(command, folder, lambda: _answers(url), **ready):
        yield Served(url, folder)
    log = (folder / "server.log").read_text()
    assert "Traceback" not in log, log


def _take_back_the_test_of_past_forecasts(folder: Path) -> None:
    query = "UPDATE fleet_workrow SET state = 'cancelled' WHERE kind = 'back_test'"
    with closing(sqlite3.connect(folder / DATABASE)) as database, database:
        database.execute(query)


def _answers(url: str) -> bool:
    try:
        with urlopen(f"{url}/account/login/", timeout=60) as response:
            return response.status == 200
    except (URLError, ConnectionError):
        return False


@pytest.fixture(scope="session")
def demo_server(demo: Demo, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The demonstration served for reading; tests that write serve a copy of their own."""
    folder = copied(demo.folder, tmp_path_factory.mktemp("served") / "var")
    with served(folder) as server:
        yield server


@pytest.fixture
def demo_page(page_at: Callable) -> Callable:
    """Return `open_page(server, who, width)`: a page on which one of the demo's people signed in.

    `who` is "" for nobody. Further arguments go to the browser's context.
    """

    def open_page(server: Served, who: str, width: int, **context):
        if who and who not in server.sessions:
            page = page_at(1280, base_url=server.url)
            sign_in(page, who)
            server.sessions[who] = page.context.storage_state()
        return page_at(
            width, base_url=server.url, storage_state=server.sessions.get(who), **context
        )

    return open_page


def sign_in(page, who: str) -> None:
    """Sign in by the form, as the demo's last lines say."""
    page.goto("/account/login/")
    page.get_by_label("Name or e-mail").fill(who)
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("button", name="Sign out").wait_for()


def rows_of(database: Path, leave_out: Sequence[str] = ()) -> dict[str, list[tuple]]:
    """Return table -> its rows, sorted, of every table of a SQLite file but those left out."""
    with closing(sqlite3.connect(database)) as connection:
        names = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        tables = sorted(name for (name,) in names if name not in leave_out)
        return {
            table: sorted(connection.execute(f'SELECT * FROM "{table}"').fetchall(), key=repr)
            for table in tables
        }
